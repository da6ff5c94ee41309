package mem

import (
	"bufio"
	"bytes"
	"context"
	"io"
	"slices"

	"sapwell/journal"
)

// Export: see store.Ledger.
func (l *Ledger) Export(ctx context.Context, w io.Writer) error {
	out := bufio.NewWriter(w)
	for _, line := range l.lines() {
		if err := ctx.Err(); err != nil {
			return err
		}
		// The first error of the writer stays and comes out of Flush.
		_, _ = out.Write(line)
		_ = out.WriteByte('\n')
	}
	return out.Flush()
}

// lines is the whole export of one moment.
func (l *Ledger) lines() [][]byte {
	l.mu.RLock()
	defer l.mu.RUnlock()
	var all [][]byte
	for _, e := range l.log.Entries() {
		all = append(all, e.Line)
	}
	heads := l.heads
	for size := int64(0); ; size++ {
		for len(heads) > 0 && heads[0].size == size {
			all, heads = append(all, heads[0].line), heads[1:]
		}
		if size == l.tree.Size() {
			return all
		}
		all = append(all, l.receipts[size].Line())
	}
}

// restore makes a ledger of an export that journal.Verify has passed.
func restore(export []byte, at int64) (*Ledger, error) {
	l := NewLedger(journal.ID{})
	var bare []journal.Entry // without a receipt so far
	var receipts []journal.Receipt
	for line := range bytes.Lines(export) {
		line = bytes.TrimSuffix(line, []byte("\n"))
		if e, err := l.log.Add(line); err == nil {
			bare = append(bare, e)
		} else if r, err := journal.ReadReceipt(line); err == nil {
			receipts = append(receipts, r)
		} else if h, err := journal.ReadTreeHead(line); err == nil {
			l.heads = append(l.heads, head{h.Size, bytes.Clone(line)})
		} else {
			return nil, err
		}
	}
	return l, l.receipt(receipts, bare, at)
}

// receipt lets all entries arrive: those with receipts in the order of these,
// then the others, the founding one first.
func (l *Ledger) receipt(receipts []journal.Receipt, all []journal.Entry, at int64) error {
	times := make(map[journal.Hash]int64)
	var order []journal.Entry
	for _, r := range receipts {
		e, _ := l.log.Entry(r.Entry)
		times[r.Entry], order = r.Time, append(order, e)
	}
	bare := slices.DeleteFunc(all, func(e journal.Entry) bool { _, ok := times[e.Hash()]; return ok })
	if i := slices.IndexFunc(bare, founds); i > 0 {
		bare = slices.Concat(bare[i:i+1], bare[:i], bare[i+1:])
	}
	order = append(order, bare...)
	i := slices.IndexFunc(order, founds)
	if i < 0 {
		return errNoOrg
	}
	l.org = order[i].ID
	return l.arrive(order, times, at)
}
