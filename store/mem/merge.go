package mem

import (
	"cmp"
	"context"
	"maps"
	"slices"

	"sapwell/journal"
	"sapwell/store"
)

// apart is what was set aside. Its log holds the lines and all below them in
// their chains, so that what follows one can be checked too.
type apart struct {
	log   journal.Journal
	lines map[journal.Hash]store.Aside
}

func (a *apart) drop(h journal.Hash) { delete(a.lines, h) }

// check tells whether an entry is sound, with the chain it follows taken from
// the log where it is not here yet.
func (a *apart) check(e journal.Entry, log *journal.Journal) error {
	var below []journal.Entry
	for prev := e.Prev; ; {
		p, ok := log.Entry(prev)
		if _, here := a.log.Entry(prev); here || !ok {
			break
		}
		below = append(below, p)
		prev = p.Prev
	}
	for _, p := range slices.Backward(below) {
		if _, err := a.log.Add(p.Line); err != nil {
			return err
		}
	}
	_, err := a.log.Add(e.Line)
	return err
}

// gift is lines on their way in.
type gift struct {
	lines []given
	why   map[journal.Hash]string // of every new one: why it is set aside, or ""
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
	g := &gift{why: make(map[journal.Hash]string)}
	for i, line := range lines {
		e, err := journal.ReadEntry(line)
		if err != nil {
			g.refuse(i+1, "", err)
			continue
		}
		g.lines = append(g.lines, given{i + 1, e})
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
	aside := make(map[journal.Hash]store.Aside)
	for _, e := range g.lines {
		l.receive(g, e, at, aside)
	}
	if err := l.arrive(g.Added, nil, at); err != nil {
		return store.Merged{}, cmp.Or(l.undo(g.Added), err)
	}
	maps.Copy(l.apart.lines, aside)
	slices.SortFunc(g.Refused, func(a, b *journal.Fault) int { return cmp.Compare(a.Line, b.Line) })
	g.Size = l.tree.Size()
	return g.Merged, nil
}

// ask finds out of every new entry whether it may stand in the journal, before
// anything of the gift is taken.
func (l *Ledger) ask(g *gift, admit store.Admit) error {
	for _, e := range g.lines {
		if _, known := l.known[e.Hash()]; known {
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
	if _, aside := l.apart.lines[e.Prev]; here && before != "" || !here && aside {
		return "after", nil
	}
	if why, asked := g.why[e.Hash()]; asked || admit == nil {
		return why, nil
	}
	return admit(reader{l}, e)
}

// receive puts one entry where it belongs.
func (l *Ledger) receive(g *gift, e given, at int64, aside map[journal.Hash]store.Aside) {
	h, why := e.Hash(), g.why[e.Hash()]
	_, taken := l.log.Entry(h)
	_, held := aside[h]
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
		if err := l.apart.check(e.Entry, &l.log); err != nil {
			g.refuse(e.n, e.ID.String(), err)
			return
		}
		aside[h] = store.Aside{Device: e.Device, Seq: e.Seq, Line: e.Line, Why: why, Time: at}
		g.Aside = append(g.Aside, aside[h])
	}
}

// Aside: see store.Ledger.
func (l *Ledger) Aside(ctx context.Context) ([]store.Aside, error) {
	l.mu.RLock()
	defer l.mu.RUnlock()
	all := slices.Collect(maps.Values(l.apart.lines))
	slices.SortFunc(all, func(a, b store.Aside) int {
		return cmp.Or(compare(a.Device, b.Device), cmp.Compare(a.Seq, b.Seq), slices.Compare(a.Line, b.Line))
	})
	return all, ctx.Err()
}
