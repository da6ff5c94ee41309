package synctest

import (
	"bytes"
	"context"
	"slices"

	"sapwell/entries"
	"sapwell/journal"
	"sapwell/store"
	"sapwell/store/storetest"
	"sapwell/views"
)

// end lets everybody meet, and counts.
func (w *world) end() {
	for len(w.late) > 0 {
		w.lateOnesCome()
	}
	w.meetAll()
	w.equal()
	w.nothingLost()
	w.oldHeadsHold()
	w.conflictsListed()
}

// meetAll lets every device and every old journal give and take twice, without
// a fault on the way.
func (w *world) meetAll() {
	all := slices.Concat(w.devices, w.ghosts)
	for range 2 {
		for _, d := range all {
			w.settle(d.ledger, w.office, admit)
		}
		for _, d := range all {
			w.settle(w.office, d.ledger, nil)
		}
	}
}

// settle sends all that is lacking. On this way nothing is refused.
func (w *world) settle(from, to store.Ledger, admit store.Admit) {
	offer, err := to.Offer(context.Background())
	w.must(err)
	lines, _, err := from.Missing(context.Background(), offer, 1<<40)
	w.must(err)
	m, err := to.Merge(context.Background(), lines, w.Now(), admit)
	w.must(err)
	if len(m.Refused) > 0 {
		w.Fatalf("refused: %v", m.Refused)
	}
}

// equal demands of all journals the same entries, and of all views that they are
// the same, and those that the entries fold to.
func (w *world) equal() {
	export := storetest.Sound(w.T, w.office)
	rep, err := journal.Verify(bytes.NewReader(export))
	w.must(err)
	w.tally.forks = len(rep.Forks)
	office, rows := w.lines(w.office), storetest.Rows(w.T, w.office)
	for _, d := range slices.Concat(w.devices, w.ghosts) {
		storetest.Sound(w.T, d.ledger)
		if d.name == w.revoked {
			continue // it has what is aside in the office: nothingLost sees to that
		}
		if !slices.EqualFunc(w.lines(d.ledger), office, bytes.Equal) {
			w.Errorf("%s does not have the entries of the office", d.name)
		}
		if storetest.Rows(w.T, d.ledger) != rows {
			w.Errorf("%s does not have the views of the office", d.name)
		}
	}
}

// nothingLost demands every acknowledged entry in the office's journal, or aside
// if the device was revoked: then from some number on all are there and no other.
func (w *world) nothingLost() {
	in := make(map[journal.Hash]bool)
	for _, line := range w.lines(w.office) {
		in[journal.HashLine(line)] = true
	}
	aside, err := w.office.Aside(context.Background())
	w.must(err)
	w.tally.aside = len(aside)
	for i, a := range aside {
		if a.Device != w.Device(w.revoked) || i == 0 && a.Why != "revoked" || a.Why != "revoked" && a.Why != "after" {
			w.Errorf("aside for %q: number %d of a device that was not revoked", a.Why, a.Seq)
		}
		if in[journal.HashLine(a.Line)] {
			w.Errorf("number %d is in the journal and aside", a.Seq)
		}
		in[journal.HashLine(a.Line)] = true
	}
	for _, e := range w.written {
		if !in[e.Hash()] {
			w.Errorf("lost: %s of %s, number %d", w.Name(e.Hash()), e.Device, e.Seq)
		}
	}
	if len(in) != len(w.written) {
		w.Errorf("%d entries, %d were written", len(in), len(w.written))
	}
}

// oldHeadsHold checks all that the office ever signed against what it has now.
func (w *world) oldHeadsHold() {
	line, err := w.office.Head(context.Background(), w.Signer("office"), w.Now())
	w.must(err)
	now, err := journal.ReadTreeHead(line)
	w.must(err)
	for i, old := range w.heads {
		proof, err := w.office.Consistency(context.Background(), old.Size, now.Size)
		w.must(err)
		w.must(journal.VerifyConsistency(old.Root, old.Size, now.Root, now.Size, proof))
		p := w.proofs[i]
		w.must(journal.VerifyInclusion(old.Root, old.Size, p.N, journal.HashLine(p.Receipt), p.Inclusion))
	}
}

// conflictsListed demands a flag wherever two entries cannot both be as they say,
// and both of them in the view.
func (w *world) conflictsListed() {
	err := w.office.Read(context.Background(), func(r store.Reader) error {
		seats, corrections := make(map[journal.ID][]journal.ID), make(map[string][]journal.ID)
		subjects := make(map[journal.ID]entries.Subject) // of what was seated or amended
		for _, t := range w.things {
			if _, there, err := r.Entry(t.id); err != nil || !there {
				continue // aside
			}
			switch b := t.body.(type) {
			case entries.UnitSeated:
				seats[b.Hole] = append(seats[b.Hole], t.id)
				subjects[b.Hole] = b.About(t.id)[0]
			case entries.Amendment:
				key := b.Of.String() + string(b.Before)
				corrections[key] = append(corrections[key], t.id)
				subjects[t.id] = b.About(t.id)[0]
			}
		}
		for hole, units := range seats {
			if len(units) > 1 {
				w.tally.doubles++
				w.flagged(r, subjects[hole], "hole.two_units", units, false)
			}
		}
		for _, amendments := range corrections {
			if len(amendments) > 1 {
				w.tally.crossed++
				w.flagged(r, subjects[amendments[0]], "amendment.crossed", amendments, true)
			}
		}
		return nil
	})
	w.must(err)
}

// flagged demands all of the contenders in a view, and a flag on at least all
// but one of them.
func (w *world) flagged(r store.Reader, s entries.Subject, code string, contenders []journal.ID, amendments bool) {
	row, ok, err := r.View(s)
	if err != nil || !ok {
		w.Fatalf("view of %v: %v %v", s, ok, err)
	}
	st, err := views.Read(row)
	w.must(err)
	c := common(st)
	w.tally.flags += len(c.Flags)
	flags, kept := 0, 0
	for _, id := range contenders {
		if slices.ContainsFunc(c.Flags, func(f views.Flag) bool { return f.Code == code && f.Entry == id }) {
			flags++
		}
		if amendments && slices.ContainsFunc(c.Amended, func(m views.Mark) bool { return m.Entry == id }) {
			kept++
		}
		if v, is := st.(*views.Visit); is && slices.ContainsFunc(v.Units, func(u views.Unit) bool { return u.ID == id }) {
			kept++
		}
	}
	if kept != len(contenders) || flags < len(contenders)-1 {
		w.Errorf("%s of %v: of %d entries %d are in the view and %d flagged; flags %v", code, s, len(contenders), kept, flags, c.Flags)
	}
}
