package views_test

import (
	"fmt"
	"testing"

	"sapwell/entries"
	"sapwell/internal/daybook"
	"sapwell/journal"
	"sapwell/views"
)

// book is a long history, in its places, by what it speaks of.
func book(b testing.TB, n int) (items []views.Item, about map[entries.Subject][]views.Item) {
	b.Helper()
	about = map[entries.Subject][]views.Item{}
	held := map[journal.Hash]int64{}
	pages := daybook.Book{Seed: 1, Trees: 2000, Devices: daybook.Unsigned(1, 5), Start: 1_780_000_000_000}
	for line, err := range pages.Entries() {
		if err != nil {
			b.Fatal(err)
		}
		e, err := entries.Read(line)
		if err != nil {
			b.Fatal(err)
		}
		held[e.Device] = max(held[e.Device], e.Time)
		it := views.Item{Entry: e, Place: views.Place{Time: held[e.Device], Device: e.Device, Seq: e.Seq, Hash: e.Hash}}
		items = append(items, it)
		for _, s := range e.Body.About(e.ID) {
			about[s] = append(about[s], it)
		}
		if len(items) == n {
			return items, about
		}
	}
	return nil, nil
}

// A crew's book leaves nothing that does not fit.
func TestBookFits(t *testing.T) {
	_, about := book(t, 20_000)
	flags := map[string]int{}
	for s, items := range about {
		row, err := views.Fold(s, items)
		if err != nil {
			t.Fatal(err)
		}
		st, err := views.Read(row)
		if err != nil {
			t.Fatal(err)
		}
		switch st := st.(type) {
		case *views.Tree:
			count(flags, st.Flags)
		case *views.Visit:
			count(flags, st.Flags)
		case *views.Lot:
			count(flags, st.Flags)
		}
	}
	if len(flags) > 0 {
		t.Error(flags)
	}
}

func count(flags map[string]int, of []views.Flag) {
	for _, f := range of {
		flags[f.Code]++
	}
}

// BenchmarkFold folds the rows of a long history, each from all its entries.
func BenchmarkFold(b *testing.B) {
	const n = 100_000
	_, about := book(b, n)
	for b.Loop() {
		for s, items := range about {
			if _, err := views.Fold(s, items); err != nil {
				b.Fatal(err)
			}
		}
	}
	b.ReportMetric(n*float64(b.N)/b.Elapsed().Seconds(), "entries/s")
}

// BenchmarkExtend lifts the last unit of a visit of so many.
func BenchmarkExtend(b *testing.B) {
	for _, units := range []int{5, 50, 500} {
		row, lift := visit(b, units)
		b.Run(fmt.Sprint(units), func(b *testing.B) {
			for b.Loop() {
				if _, ok, err := views.Extend(row, []views.Item{lift}); !ok || err != nil {
					b.Fatal(ok, err)
				}
			}
			b.SetBytes(int64(len(row.State)))
		})
		b.Run(fmt.Sprint(units, "/read"), func(b *testing.B) {
			for b.Loop() {
				if _, err := views.Read(row); err != nil {
					b.Fatal(err)
				}
			}
			b.SetBytes(int64(len(row.State)))
		})
	}
}

// visit is the row of a visit before its last unit is lifted, and the lifting.
func visit(b *testing.B, units int) (views.Row, views.Item) {
	var last journal.ID
	var items []views.Item
	say := func(body entries.Body) journal.ID {
		now := int64(1_780_000_000_000 + 1000*len(items))
		id, err := journal.NewID(last, now, [10]byte{1, 2, 3, 4, 5, 6, 7, 8, 9, byte(len(items))})
		if err != nil {
			b.Fatal(err)
		}
		last = id
		e := entries.Entry{ID: id, Seq: int64(len(items) + 1), Time: now, Body: body}
		items = append(items, views.Item{Entry: e, Place: views.Place{Time: now, Seq: e.Seq}})
		return id
	}
	thing := say(entries.Note{}) // the id of grounds, tree, plan, lot, person
	items = nil
	h := entries.Head{V: 1, By: thing}
	v := say(entries.VisitOpened{Head: h, Grounds: thing, Certified: thing, Jobs: []entries.Job{{Tree: thing, Plan: thing}}})
	var all []journal.ID
	for i := range units {
		hole := say(entries.Hole{Head: h, Visit: v, Tree: thing, Mark: i + 1, Around: int64(i) * 150e6, Height: 300e6, Depth: 15e6, Bit: 5e6})
		all = append(all, say(entries.UnitSeated{Head: h, Visit: v, Hole: hole, Lot: thing, Fill: 3e6}))
		say(entries.UnitPressurised{Head: h, Visit: v, Unit: all[i], Gauge: 69_000})
	}
	for _, u := range all {
		say(entries.UnitDrained{Head: h, Visit: v, Unit: u})
		say(entries.UnitLifted{Head: h, Visit: v, Unit: u})
	}
	n := len(items) - 1
	row, err := views.Fold(entries.Subject{Kind: entries.OfVisit, ID: v.String()}, items[:n])
	if err != nil {
		b.Fatal(err)
	}
	return row, items[n]
}
