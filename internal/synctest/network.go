package synctest

import (
	"bytes"
	"context"
	"slices"

	"sapwell/actions"
	"sapwell/journal"
	"sapwell/store"
)

// admit is how the office lets entries in.
func admit(r store.Reader, e journal.Entry) (string, error) { return actions.Admit(r, e) }

// send brings to the office what it lacks of a device.
func (w *world) send(d *device) { w.meet(d.ledger, w.office, admit) }

// fetch brings to a device what it lacks of the office.
func (w *world) fetch(d *device) { w.meet(w.office, d.ledger, nil) }

// meet sends a gift over the network. A request is sent again when there is more,
// or not.
func (w *world) meet(from, to store.Ledger, admit store.Admit) {
	limits := []int{1, 1500, 6000, 1 << 20}
	limit := limits[w.random.IntN(len(limits))]
	for range w.random.IntN(6) + 1 {
		offer, err := to.Offer(context.Background())
		w.must(err)
		lines, more, err := from.Missing(context.Background(), offer, limit)
		w.must(err)
		w.carry(gift{to, admit, lines})
		if !more {
			return
		}
	}
}

// carry is the network.
func (w *world) carry(g gift) {
	w.gifts++
	switch n := w.random.IntN(100); {
	case n < 10:
		w.lostOnTheWay++
		return
	case n < 25:
		w.tally.late++
		w.late = append(w.late, g)
		return
	case n < 40:
		w.cut++
		g.lines = w.cutOff(g.lines)
	case n < 55:
		w.shuffled++
		g.lines = slices.Clone(g.lines)
		w.random.Shuffle(len(g.lines), func(i, j int) { g.lines[i], g.lines[j] = g.lines[j], g.lines[i] })
	case n < 70:
		w.twice++
		w.arrive(g)
	}
	w.arrive(g)
}

// cutOff is what is left of a request that ended at any byte, the half line too.
func (w *world) cutOff(lines [][]byte) [][]byte {
	body := bytes.Join(lines, []byte("\n"))
	if len(body) == 0 {
		return nil
	}
	return bytes.Split(body[:w.random.IntN(len(body))], []byte("\n"))
}

// arrive merges a gift. What is not sound is named, and the rest taken.
func (w *world) arrive(g gift) {
	before, err := g.to.Size(context.Background())
	w.must(err)
	m, err := g.to.Merge(context.Background(), g.lines, w.Now(), g.admit)
	w.must(err)
	if got := len(m.Added) + m.Known + len(m.Aside) + len(m.Refused); got != len(g.lines) {
		w.Fatalf("of %d lines %d are accounted for: %+v", len(g.lines), got, m)
	}
	if m.Size != before+int64(len(m.Added)) {
		w.Fatalf("size %d after %d with %d added", m.Size, before, len(m.Added))
	}
}

// lateOnesCome delivers some of what is late, in any order.
func (w *world) lateOnesCome() {
	for len(w.late) > 0 {
		i := w.random.IntN(len(w.late))
		w.arrive(w.late[i])
		w.late = slices.Delete(w.late, i, i+1)
		if w.chance(40) {
			return
		}
	}
}
