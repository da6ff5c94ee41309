package mem

import (
	"cmp"
	"context"
	"maps"
	"slices"

	"sapwell/journal"
	"sapwell/store"
)

// kept is an entry that was set aside.
type kept struct {
	entry journal.Entry
	aside store.Aside
}

// gift is lines on their way in.
type gift struct {
	lines []given
	keys  map[journal.Hash][]byte // of the devices whose first entry is in it
	why   map[journal.Hash]string // of every new one: why it is set aside, or ""
	apart map[journal.Hash]kept
	store.Merged
}

type given struct {
	n int // from 1
	journal.Entry
}

func (g *gift) refuse(n int, id string, reason error) {
	g.Refused = append(g.Refused, &journal.Fault{Line: n, ID: id, Reason: reason})
}

func unpack(lines [][]byte) *gift {
	g := &gift{
		keys:  make(map[journal.Hash][]byte),
		why:   make(map[journal.Hash]string),
		apart: make(map[journal.Hash]kept),
	}
	for i, line := range lines {
		e, err := journal.ReadEntry(line)
		if err != nil {
			g.refuse(i+1, "", err)
			continue
		}
		g.lines = append(g.lines, given{i + 1, e})
		if e.Seq == 1 {
			g.keys[e.Device] = e.Key
		}
	}
	// The one before an entry has a smaller number, so it comes first.
	slices.SortStableFunc(g.lines, func(a, b given) int { return cmp.Compare(a.Seq, b.Seq) })
	return g
}

// Merge: see store.Ledger.
func (l *Ledger) Merge(ctx context.Context, lines [][]byte, at int64, admit store.Admit) (store.Merged, error) {
	g := unpack(lines)
	l.mu.Lock()
	defer l.mu.Unlock()
	err := l.ask(g, admit)
	if err = cmp.Or(err, ctx.Err()); err != nil {
		return store.Merged{}, err
	}
	for _, e := range g.lines {
		l.receive(g, e, at)
	}
	if err := l.arrive(g.Added, nil, at); err != nil {
		return store.Merged{}, cmp.Or(l.undo(g.Added), err)
	}
	l.setAside(g)
	slices.SortFunc(g.Refused, func(a, b *journal.Fault) int { return cmp.Compare(a.Line, b.Line) })
	g.Size = l.tree.Size()
	return g.Merged, nil
}

// ask finds out of every new entry whether it may stand in the journal, before
// anything of the gift is taken.
func (l *Ledger) ask(g *gift, admit store.Admit) error {
	for _, e := range g.lines {
		if _, there := l.log.Entry(e.Hash()); there {
			continue
		}
		why, err := l.whyAside(g, e.Entry, admit)
		if err != nil {
			return err
		}
		g.why[e.Hash()] = why
	}
	return nil
}

func (l *Ledger) whyAside(g *gift, e journal.Entry, admit store.Admit) (string, error) {
	before, here := g.why[e.Prev]
	if _, aside := l.apart[e.Prev]; here && before != "" || !here && aside {
		return "after", nil
	}
	if why, asked := g.why[e.Hash()]; asked || admit == nil {
		return why, nil
	}
	return admit(reader{l}, e)
}

// receive puts one entry where it belongs.
func (l *Ledger) receive(g *gift, e given, at int64) {
	h, why := e.Hash(), g.why[e.Hash()]
	_, taken := l.log.Entry(h)
	_, held := g.apart[h]
	switch {
	case taken || held:
		g.Known++
	case why == "":
		if _, err := l.log.Add(e.Line); err != nil {
			g.refuse(e.n, e.ID.String(), err)
			return
		}
		g.Added = append(g.Added, e.Entry)
	default:
		if err := l.check(g, e.Entry); err != nil {
			g.refuse(e.n, e.ID.String(), err)
			return
		}
		aside := store.Aside{Device: e.Device, Seq: e.Seq, Line: e.Line, Why: why, Time: at}
		g.apart[h], g.Aside = kept{e.Entry, aside}, append(g.Aside, aside)
	}
}

// check tells whether an entry that goes aside is sound. What is before it may
// have gone there too.
func (l *Ledger) check(g *gift, e journal.Entry) error {
	before, ok := l.log.Entry(e.Prev)
	for _, apart := range []map[journal.Hash]kept{l.apart, g.apart} {
		if k, there := apart[e.Prev]; there {
			before, ok = k.entry, true
		}
	}
	key := g.keys[e.Device]
	if key == nil {
		key = l.keys[e.Device]
	}
	known := journal.Known{Device: before.Device, Hash: before.Hash(), Seq: before.Seq}
	return cmp.Or(e.Follows(known, ok), e.SignedBy(key))
}

// setAside keeps what was set aside. A line that was sent again has its latest
// reason.
func (l *Ledger) setAside(g *gift) {
	for h, k := range g.apart {
		l.apart[h] = k
		if k.entry.Seq == 1 {
			l.keys[k.entry.Device] = k.entry.Key
		}
	}
}

// Aside: see store.Ledger.
func (l *Ledger) Aside(ctx context.Context) ([]store.Aside, error) {
	l.mu.RLock()
	defer l.mu.RUnlock()
	var all []store.Aside
	for _, h := range slices.SortedFunc(maps.Keys(l.apart), compare) {
		all = append(all, l.apart[h].aside)
	}
	slices.SortStableFunc(all, func(a, b store.Aside) int {
		return cmp.Or(compare(a.Device, b.Device), cmp.Compare(a.Seq, b.Seq))
	})
	return all, ctx.Err()
}
