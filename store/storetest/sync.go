package storetest

import (
	"bytes"
	"slices"
	"testing"

	"sapwell/journal"
)

var syncChecks = []check{
	{"Offer is what the format says", func(t *testing.T, w *world) {
		w.take(grove + round + phone)
		w.take("phone/day2: h9 hole day2 oak 900")
		j := w.journal()
		offer, err := w.l.Offer(w.ctx)
		if err != nil || !slices.Equal(offer, j.Offer()) {
			t.Errorf("offer %v %v, want %v", offer, err, j.Offer())
		}
	}},
	{"Missing is all that an offer lacks", func(t *testing.T, w *world) {
		w.take(grove + round + phone)
		w.tell("phone/day2: h9 hole day2 oak 900\nstray: a note tree oak")
		w.give("h9")
		for _, has := range []string{"", "firm", "firm boss desk park oak", "ann", "firm boss desk park oak a", "h9 day2", "h8 day2", "a"} {
			var other journal.Journal
			other.Merge(w.Lines(has))
			j := w.journal()
			got, more, err := w.l.Missing(w.ctx, other.Offer(), 1<<30)
			if err != nil || more {
				t.Fatalf("more %v, %v", more, err)
			}
			var want []journal.Hash
			for _, e := range j.Missing(other.Offer()) {
				want = append(want, e.Hash())
			}
			for _, line := range got {
				i := slices.Index(want, journal.HashLine(line))
				if i < 0 {
					t.Fatalf("who has %q is sent %s, needlessly or twice", has, w.Name(journal.HashLine(line)))
				}
				want = slices.Delete(want, i, i+1)
				if _, err := other.Add(line); err != nil {
					t.Fatalf("who has %q: %v", has, err)
				}
			}
			if len(want) > 0 {
				t.Fatalf("who has %q is not sent %d of what is missing", has, len(want))
			}
		}
	}},
	{"Missing keeps to its limit, and ends with both equal", missingInParts},
	{"Two ledgers meet", func(t *testing.T, w *world) {
		other := found(t, w.s, "two")
		w.take(grove + phone)
		other.take(grove)
		for range 2 {
			meet(w, other, 2000)
			meet(other, w, 1)
		}
		a, b := entryLines(w.export()), entryLines(other.export())
		if !slices.Equal(a, b) {
			t.Error("they are not equal after they met")
		}
		if Rows(t, w.l) != Rows(t, other.l) {
			t.Error("their views are not equal")
		}
		Sound(t, w.l)
		Sound(t, other.l)
	}},
}

// journal is the ledger as package journal has it.
func (w *world) journal() *journal.Journal {
	w.Helper()
	var j journal.Journal
	for _, line := range entryLines(w.export()) {
		_, err := j.Add([]byte(line[:len(line)-1]))
		w.must(err)
	}
	return &j
}

// meet sends to the second what it lacks, in parts.
func meet(from, to *world, limit int) {
	for range 1000 {
		offer, err := to.l.Offer(to.ctx)
		to.must(err)
		lines, more, err := from.l.Missing(from.ctx, offer, limit)
		from.must(err)
		if m := to.merge(lines, nil); len(m.Refused) > 0 {
			to.Fatalf("refused %v", m.Refused)
		}
		if !more {
			return
		}
	}
	from.Fatal("there is no end to what is missing")
}

func missingInParts(t *testing.T, w *world) {
	w.take(grove + round + phone)
	w.take("phone/day2: h9 hole day2 oak 900\nphone: u9 seated day2 h9 lot")
	for _, limit := range []int{-1, 0, 1, 700, 1500, 5000, 1 << 20} {
		var other journal.Journal
		gifts := 0
		for more := true; more; gifts++ {
			var lines [][]byte
			var err error
			lines, more, err = w.l.Missing(w.ctx, other.Offer(), limit)
			w.must(err)
			if sum := len(bytes.Join(lines, nil)); sum > limit && len(lines) != 1 || len(lines) == 0 {
				t.Fatalf("limit %d: %d lines of %d bytes", limit, len(lines), sum)
			}
			for _, line := range lines { // each after the one before it
				if _, err := other.Add(line); err != nil {
					t.Fatalf("limit %d: %v", limit, err)
				}
			}
		}
		if int64(len(other.Entries())) != w.size() {
			t.Errorf("limit %d: %d entries after %d gifts, want %d", limit, len(other.Entries()), gifts, w.size())
		}
		if lines, more, err := w.l.Missing(w.ctx, other.Offer(), limit); len(lines) > 0 || more || err != nil {
			t.Errorf("limit %d: %d lines to one who has all, more %v, %v", limit, len(lines), more, err)
		}
	}
}
