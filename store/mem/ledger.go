package mem

import (
	"cmp"
	"context"
	"crypto"
	"errors"
	"fmt"
	"maps"
	"slices"
	"sync"

	"sapwell/entries"
	"sapwell/journal"
	"sapwell/store"
	"sapwell/views"
)

// Ledger is the journal of one organisation in memory. What is handed to Read,
// Write and Merge must not call the ledger's other methods: they wait for it.
type Ledger struct {
	org journal.ID

	mu       sync.RWMutex // guards all below; what is kept is never changed in place
	log      journal.Journal
	lent     map[journal.Hash]journal.Entry // see Lend
	receipts []journal.Receipt
	tree     journal.Tree
	heads    []head
	known    map[journal.Hash]arrival
	first    map[journal.ID]journal.Hash // of several entries with one id the first to come
	tips     map[journal.Hash]journal.Entry
	present  present
	apart    map[journal.Hash]kept   // what Merge set aside
	keys     map[journal.Hash][]byte // of the devices, by the first entry of each
	blobs    map[journal.Hash][]byte
}

// arrival is what is known of an entry beside itself: the number of its receipt,
// and the time of its place in the order of folding.
type arrival struct{ n, time int64 }

type head struct {
	size int64
	line []byte
}

// NewLedger makes an empty ledger: what a device has before its first sync.
func NewLedger(org journal.ID) *Ledger {
	return &Ledger{
		org:     org,
		lent:    make(map[journal.Hash]journal.Entry),
		known:   make(map[journal.Hash]arrival),
		first:   make(map[journal.ID]journal.Hash),
		tips:    make(map[journal.Hash]journal.Entry),
		present: newPresent(),
		apart:   make(map[journal.Hash]kept),
		keys:    make(map[journal.Hash][]byte),
		blobs:   make(map[journal.Hash][]byte),
	}
}

var _ store.Ledger = (*Ledger)(nil)

// Org: see store.Ledger.
func (l *Ledger) Org() journal.ID { return l.org }

// Write: see store.Ledger.
func (l *Ledger) Write(ctx context.Context, signer crypto.Signer, at int64, decide func(store.Reader) ([]journal.Draft, error)) ([]journal.Entry, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	drafts, err := decide(reader{l})
	if err = cmp.Or(err, ctx.Err()); err != nil {
		return nil, err
	}
	var written []journal.Entry
	for _, d := range drafts {
		e, err := l.log.Append(signer, d)
		if err != nil {
			return nil, cmp.Or(l.undo(written), err)
		}
		written = append(written, e)
	}
	if err := l.arrive(written, nil, at); err != nil {
		return nil, cmp.Or(l.undo(written), err)
	}
	return written, nil
}

// undo takes entries out of the log again that did not arrive. It is slow, and
// only for the rare case that half of a deed could not be written.
func (l *Ledger) undo(written []journal.Entry) error {
	if len(written) == 0 {
		return nil
	}
	gone := make(map[journal.Hash]bool)
	for _, e := range written {
		gone[e.Hash()] = true
	}
	var log journal.Journal
	for _, e := range l.log.Entries() {
		if gone[e.Hash()] {
			continue
		}
		if _, err := log.Add(e.Line); err != nil {
			return fmt.Errorf("undo: %w", err)
		}
	}
	l.log = log
	return nil
}

// arrive gives entries that stand in the log their receipts, of the time that is
// known for them or else of now, and folds them into the views: all of them or,
// with an error, none.
func (l *Ledger) arrive(added []journal.Entry, times map[journal.Hash]int64, now int64) error {
	arrivals := l.places(added)
	if err := l.present.take(added, arrivals, l.entry); err != nil {
		return err
	}
	for i, e := range added {
		r := journal.Receipt{Entry: e.Hash(), N: l.tree.Size(), Time: now}
		if t, ok := times[e.Hash()]; ok {
			r.Time = t
		}
		l.receipts = append(l.receipts, r)
		l.tree.Append(journal.HashLine(r.Line()))
		l.note(e, arrivals[i])
	}
	return nil
}

// places works out where entries stand that come in in this order.
func (l *Ledger) places(added []journal.Entry) []arrival {
	all := make([]arrival, len(added))
	byChain := make([]int, len(added)) // each below the one before it
	for i := range added {
		byChain[i] = i
	}
	slices.SortFunc(byChain, func(a, b int) int { return cmp.Compare(added[a].Seq, added[b].Seq) })
	fresh := make(map[journal.Hash]int64)
	for _, i := range byChain {
		e := added[i]
		before, ok := fresh[e.Prev]
		if !ok {
			before = l.known[e.Prev].time
		}
		fresh[e.Hash()] = max(e.Time, before)
		all[i] = arrival{n: l.tree.Size() + int64(i), time: fresh[e.Hash()]}
	}
	return all
}

func (l *Ledger) note(e journal.Entry, a arrival) {
	l.known[e.Hash()] = a
	if _, ok := l.first[e.ID]; !ok {
		l.first[e.ID] = e.Hash()
	}
	l.noteTip(e)
	if e.Seq == 1 {
		l.keys[e.Device] = e.Key
	}
	delete(l.apart, e.Hash())
	delete(l.lent, e.Hash())
}

// noteTip keeps the end of a chain; of one that forked, as section 8 of the format
// has it, the greatest number, then the least hash.
func (l *Ledger) noteTip(e journal.Entry) {
	tip, ok := l.tips[e.Device]
	if !ok || e.Seq > tip.Seq || e.Seq == tip.Seq && compare(e.Hash(), tip.Hash()) < 0 {
		l.tips[e.Device] = e
	}
}

// Offer: see store.Ledger.
func (l *Ledger) Offer(ctx context.Context) ([]journal.Known, error) {
	l.mu.RLock()
	defer l.mu.RUnlock()
	return l.log.Offer(), ctx.Err()
}

// Missing: see store.Ledger.
func (l *Ledger) Missing(ctx context.Context, offer []journal.Known, limit int) (lines [][]byte, more bool, err error) {
	l.mu.RLock()
	defer l.mu.RUnlock()
	for _, e := range l.log.Missing(offer) {
		if limit -= len(e.Line); limit < 0 && len(lines) > 0 {
			return lines, true, ctx.Err()
		}
		lines = append(lines, e.Line)
	}
	return lines, false, ctx.Err()
}

// Read: see store.Ledger.
func (l *Ledger) Read(ctx context.Context, look func(store.Reader) error) error {
	l.mu.RLock()
	defer l.mu.RUnlock()
	if err := ctx.Err(); err != nil {
		return err
	}
	return look(reader{l})
}

// Size: see store.Ledger.
func (l *Ledger) Size(ctx context.Context) (int64, error) {
	l.mu.RLock()
	defer l.mu.RUnlock()
	return l.tree.Size(), ctx.Err()
}

// Changed: see store.Ledger.
func (l *Ledger) Changed(ctx context.Context, n int64, limit int) ([]entries.Subject, int64, error) {
	l.mu.RLock()
	defer l.mu.RUnlock()
	size := l.tree.Size()
	if n < 0 || n > size {
		return nil, size, fmt.Errorf("number %d: want 0 to %d", n, size)
	}
	var changed []entries.Subject
	seen := make(map[entries.Subject]bool)
	for _, r := range l.receipts[n:min(size, n+int64(limit))] {
		e, _ := l.log.Entry(r.Entry)
		for _, s := range about(e) {
			if !seen[s] {
				seen[s] = true
				changed = append(changed, s)
			}
		}
	}
	return changed, size, ctx.Err()
}

// Rebuild: see store.Ledger.
func (l *Ledger) Rebuild(ctx context.Context) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	if err := ctx.Err(); err != nil {
		return err
	}
	all := slices.AppendSeq(l.log.Entries(), maps.Values(l.lent))
	arrivals := make([]arrival, len(all))
	for i, e := range all {
		arrivals[i] = l.known[e.Hash()]
	}
	again := newPresent()
	if err := again.take(all, arrivals, l.entry); err != nil {
		return err
	}
	l.present = again
	return nil
}

// reader looks at a ledger whose lock is held.
type reader struct{ l *Ledger }

// View: see store.Reader.
func (r reader) View(s entries.Subject) (views.Row, bool, error) {
	row, ok := r.l.present.rows[s]
	return row, ok, nil
}

// List: see store.Reader.
func (r reader) List(kind entries.SubjectKind, from, to, after string, limit int) ([]views.Row, error) {
	return r.l.present.list(kind, from, to, after, limit), nil
}

// Entry: see store.Reader.
func (r reader) Entry(id journal.ID) (journal.Entry, bool, error) {
	h, ok := r.l.first[id]
	if !ok {
		return journal.Entry{}, false, nil
	}
	e, ok := r.l.entry(h)
	return e, ok, nil
}

// Entries: see store.Reader.
func (r reader) Entries(s entries.Subject) ([]journal.Entry, error) {
	var all []journal.Entry
	for _, p := range r.l.present.told[s] {
		e, _ := r.l.entry(p.Hash)
		all = append(all, e)
	}
	return all, nil
}

// Held: see store.Reader. What was lent has the number -1.
func (r reader) Held(s entries.Subject) ([]store.Held, error) {
	all := make([]store.Held, 0, len(r.l.present.told[s]))
	for _, p := range r.l.present.told[s] {
		e, _ := r.l.entry(p.Hash)
		all = append(all, r.l.held(e))
	}
	return all, nil
}

// Since: see store.Reader.
func (r reader) Since(n int64, limit int) ([]store.Held, error) {
	from := min(max(n, 0), r.l.tree.Size())
	receipts := r.l.receipts[from:min(from+int64(limit), r.l.tree.Size())]
	all := make([]store.Held, len(receipts))
	for i, receipt := range receipts {
		e, _ := r.l.log.Entry(receipt.Entry)
		all[i] = r.l.held(e)
	}
	return all, nil
}

func (l *Ledger) held(e journal.Entry) store.Held {
	a := l.known[e.Hash()]
	return store.Held{Entry: e, N: a.n, Held: a.time}
}

// Tip: see store.Reader.
func (r reader) Tip(device journal.Hash) (journal.Entry, bool, error) {
	e, ok := r.l.tips[device]
	return e, ok, nil
}

func compare(a, b journal.Hash) int { return slices.Compare(a[:], b[:]) }

var (
	errTwice = errors.New("this line stands above already")
	errNoOrg = errors.New("the first entry must be one of kind org that begins an organisation")
)
