package journal

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
)

// Report is what a sound export holds. It says nothing of whose keys these are,
// nor of what was left out at the end: hold Tips and Head against what you know.
type Report struct {
	Entries  int64
	Receipts int64
	Tips     []Known   // the ends of every chain
	Head     *TreeHead // the last one, nil where there is none
	Forks    []Fork
}

// Verify reads an export, as doc/journal-format.md has it, and trusts nothing
// but the reader. It stops at the first bad line with a *Fault. Other errors
// are the reader's.
func Verify(r io.Reader) (Report, error) {
	var v verifier
	lines := bufio.NewReaderSize(r, maxLine+1)
	for n := 1; ; n++ {
		line, err := lines.ReadSlice('\n')
		switch {
		case err == io.EOF && len(line) == 0:
			return v.report(), nil
		case err == io.EOF:
			err = &Fault{Line: n, Reason: errors.New("the export ends within this line; want a line feed")}
		case err == bufio.ErrBufferFull:
			err = &Fault{Line: n, Reason: fmt.Errorf("more than %d bytes", maxLine)}
		case err == nil:
			err = v.line(n, line[:len(line)-1])
		default:
			err = fmt.Errorf("read line %d: %w", n, err)
		}
		if err != nil {
			return Report{}, err
		}
	}
}

// verifier holds what the lines so far have said.
type verifier struct {
	index     index
	tree      peaks
	receipted []bool // by position
	head      *TreeHead
}

func (v *verifier) line(n int, line []byte) error {
	var id string
	var err error
	switch {
	case bytes.HasPrefix(line, []byte(entryOpen)):
		id, err = v.entry(line)
	case bytes.HasPrefix(line, []byte(receiptOpen)):
		err = v.receipt(line)
	case bytes.HasPrefix(line, []byte(headOpen)):
		err = v.treeHead(line)
	default:
		err = fmt.Errorf("want %s, %s or %s at the beginning", entryOpen, receiptOpen, headOpen)
	}
	if err != nil {
		return &Fault{Line: n, ID: id, Reason: err}
	}
	return nil
}

func (v *verifier) entry(line []byte) (id string, err error) {
	e, err := ReadEntry(line)
	if err != nil {
		return "", err
	}
	if _, ok := v.index.find(e.hash); ok {
		return e.ID.String(), errTwice
	}
	return e.ID.String(), v.index.add(e)
}

func (v *verifier) receipt(line []byte) error {
	r, err := ReadReceipt(line)
	if err != nil {
		return err
	}
	if r.N != v.tree.size {
		return fmt.Errorf("receipt %d, want %d", r.N, v.tree.size)
	}
	i, ok := v.index.find(r.Entry)
	if !ok {
		return fmt.Errorf("receipt %d: no entry %s above it", r.N, r.Entry)
	}
	v.receipted = append(v.receipted, make([]bool, len(v.index.all)-len(v.receipted))...)
	if v.receipted[i] {
		return fmt.Errorf("receipt %d: entry %s has one already", r.N, r.Entry)
	}
	v.receipted[i] = true
	v.tree.append(HashLine(line))
	return nil
}

func (v *verifier) treeHead(line []byte) error {
	h, err := ReadTreeHead(line)
	if err != nil {
		return err
	}
	if h.Size != v.tree.size {
		return fmt.Errorf("head of size %d below %d receipts", h.Size, v.tree.size)
	}
	if root := v.tree.root(); root != h.Root {
		return fmt.Errorf("root %s, want that of the receipts above, %s", h.Root, root)
	}
	v.head = &h
	return nil
}

func (v *verifier) report() Report {
	rep := Report{Entries: int64(len(v.index.all)), Receipts: v.tree.size, Head: v.head, Forks: v.index.forks()}
	for _, c := range v.index.lines {
		for tip := range c.tips {
			rep.Tips = append(rep.Tips, v.index.known(tip))
		}
	}
	sortKnown(rep.Tips)
	return rep
}
