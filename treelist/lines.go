package treelist

import (
	"bytes"
	"errors"
	"io"

	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"
)

// maxLine is the longest line, and the longest object, that is read. A line of
// a tree list is a few hundred bytes; one of a mebibyte is another kind of file.
const maxLine = 1 << 20

// errLong says that a line passed maxLine and was left out.
var errLong = errors.New("line too long")

// lines hands out the physical lines of a text, ended by LF, CRLF or a lone CR
// in any mixture, in constant memory.
type lines struct {
	r        io.Reader
	buf      []byte
	from, to int // the bytes of buf not yet handed out
	lf       int // place of the first LF at or after from; -1: none in buf; below from: not looked for
	err      error
	n        int     // number of the line last handed out
	again    []taken // lines given back, to be handed out once more
}

// taken is what next returned.
type taken struct {
	text string
	err  error
}

func newLines(r io.Reader) *lines {
	return &lines{r: r, buf: make([]byte, 64<<10), lf: -2}
}

// decoded strips a byte order mark and turns UTF-16 with a mark into UTF-8.
// Anything else is passed on as it stands: what is not UTF-8 is named later,
// line by line, and never guessed at.
func decoded(r io.Reader) (io.Reader, error) {
	head := make([]byte, 3)
	n, err := io.ReadFull(r, head)
	if err != nil && err != io.EOF && err != io.ErrUnexpectedEOF {
		return nil, err
	}
	head = head[:n]
	rest := io.MultiReader(bytes.NewReader(head), r)
	switch {
	case bytes.HasPrefix(head, []byte{0xEF, 0xBB, 0xBF}):
		return r, nil
	case bytes.HasPrefix(head, []byte{0xFE, 0xFF}), bytes.HasPrefix(head, []byte{0xFF, 0xFE}):
		return transform.NewReader(rest, unicode.UTF16(unicode.BigEndian, unicode.UseBOM).NewDecoder()), nil
	}
	return rest, nil
}

// next returns the next line without its end, io.EOF after the last, or errLong
// with the beginning of a line that is too long to read.
func (l *lines) next() (string, error) {
	if len(l.again) > 0 {
		t := l.again[0]
		l.again = l.again[1:]
		l.n++
		return t.text, t.err
	}
	for {
		if end, skip := l.end(); end >= 0 {
			s := string(l.buf[l.from:end])
			l.from = end + skip
			l.n++
			return s, nil
		}
		if l.err != nil {
			return "", l.err
		}
		if l.to-l.from >= maxLine {
			return l.skipLong()
		}
		l.fill()
	}
}

// unread gives the last lines handed out back, oldest first.
func (l *lines) unread(s []taken) {
	l.again = append(s, l.again...)
	l.n -= len(s)
}

// end finds the end of the line that begins at from: its place and the length
// of its mark, or -1 when more bytes are needed to tell.
func (l *lines) end() (place, skip int) {
	if l.lf != -1 && l.lf < l.from {
		l.lf = find(l.buf, '\n', l.from, l.to)
	}
	stop := l.lf
	if stop < 0 {
		stop = l.to
	}
	cr := find(l.buf, '\r', l.from, stop)
	switch {
	case cr >= 0 && cr+1 < l.to && l.buf[cr+1] == '\n':
		return cr, 2
	case cr >= 0 && (cr+1 < l.to || l.err != nil):
		return cr, 1
	case cr >= 0:
		return -1, 0
	case l.lf >= 0:
		return l.lf, 1
	case l.err == io.EOF && l.to > l.from:
		return l.to, 0
	}
	return -1, 0
}

func find(buf []byte, b byte, from, to int) int {
	if i := bytes.IndexByte(buf[from:to], b); i >= 0 {
		return from + i
	}
	return -1
}

// fill reads more, after moving what is left to the front.
func (l *lines) fill() {
	if l.from > 0 {
		copy(l.buf, l.buf[l.from:l.to])
		l.from, l.to = 0, l.to-l.from
	}
	if l.to == len(l.buf) {
		l.buf = append(l.buf, make([]byte, len(l.buf))...)
	}
	for range 100 { // as bufio does: a reader that never gives anything is broken
		n, err := l.r.Read(l.buf[l.to:])
		l.to += n
		l.err = err
		if n > 0 || err != nil {
			l.lf = -2
			return
		}
	}
	l.err = io.ErrNoProgress
}

// skipLong drops the rest of a line that is too long and returns its beginning.
func (l *lines) skipLong() (string, error) {
	head := string(l.buf[l.from : l.from+80])
	for {
		if end, skip := l.end(); end >= 0 {
			l.from = end + skip
			l.n++
			return head, errLong
		}
		if l.err != nil {
			l.from = l.to
			l.n++
			return head, errLong
		}
		l.from = max(l.from, l.to-1) // keep the last byte: it may be the CR of a CRLF
		l.fill()
	}
}
