package storetest

import (
	"cmp"
	"fmt"
	"slices"
	"testing"

	"sapwell/entries"
	"sapwell/store"
	"sapwell/views"
)

var readChecks = []check{
	{"View, Entry, Entries and Tip of what is not there", func(t *testing.T, w *world) {
		w.tell(grove)
		w.read(func(r store.Reader) {
			oak := entries.Subject{Kind: entries.OfTree, ID: w.ID("oak").String()}
			if _, ok, err := r.View(oak); ok || err != nil {
				t.Errorf("view: %v %v", ok, err)
			}
			if _, ok, err := r.View(entries.Subject{Kind: "moon", ID: "x"}); ok || err != nil {
				t.Errorf("view of no kind: %v %v", ok, err)
			}
			if _, ok, err := r.Entry(w.ID("oak")); ok || err != nil {
				t.Errorf("entry: %v %v", ok, err)
			}
			if told, err := r.Entries(oak); len(told) > 0 || err != nil {
				t.Errorf("entries: %d %v", len(told), err)
			}
			if _, ok, err := r.Tip(w.Device("phone")); ok || err != nil {
				t.Errorf("tip: %v %v", ok, err)
			}
			if rows, err := r.List(entries.OfBag, "", "", "", 9); len(rows) > 0 || err != nil {
				t.Errorf("list: %d %v", len(rows), err)
			}
		})
	}},
	{"Entries are in the order of folding", func(t *testing.T, w *world) {
		w.take(grove)
		w.take(`
			office: ann person applicator
			clock: phone -24h
			phone: early note tree oak
			clock: phone 24h
			phone: late note tree oak
			clock: phone -24h
			phone: back note tree oak
			office: now note tree oak`)
		w.read(func(r store.Reader) {
			told, err := r.Entries(entries.Subject{Kind: entries.OfTree, ID: w.ID("oak").String()})
			// The phone's third was written by a clock set back: it stands no earlier
			// than its second.
			want := []string{"early", "oak", "tape", "plan", "now", "late", "back"}
			if got := w.called(told); err != nil || !slices.Equal(got, want) {
				t.Errorf("entries %v %v, want %v", got, err, want)
			}
		})
	}},
	{"Held and Since know number and place", func(t *testing.T, w *world) {
		w.take(grove)
		w.take(`
			office: ann person applicator
			clock: phone 24h
			phone: late note tree oak
			clock: phone -24h
			phone: back note tree oak`)
		w.read(func(r store.Reader) {
			all, err := r.Since(0, 1000)
			if err != nil || int64(len(all)) != w.size() {
				t.Fatalf("since 0: %d %v, want %d", len(all), err, w.size())
			}
			for i, h := range all {
				if h.N != int64(i) {
					t.Errorf("entry %d has number %d", i, h.N)
				}
			}
			if tail, err := r.Since(3, 2); err != nil || len(tail) != 2 || tail[0].N != 3 || tail[0].Hash() != all[3].Hash() {
				t.Errorf("since 3: %v %v", tail, err)
			}
			if none, err := r.Since(w.size(), 9); err != nil || len(none) > 0 {
				t.Errorf("since the end: %v %v", none, err)
			}
			told, err := r.Held(entries.Subject{Kind: entries.OfTree, ID: w.ID("oak").String()})
			if err != nil || len(told) < 2 {
				t.Fatalf("held: %v %v", told, err)
			}
			late, back := told[len(told)-2], told[len(told)-1]
			// The second was written by a clock set back: it is held at the first.
			if late.ID != w.ID("late") || back.ID != w.ID("back") || late.Held != late.Time || back.Held != late.Time || back.Time >= back.Held {
				t.Errorf("late %d held at %d, back %d held at %d", late.Time, late.Held, back.Time, back.Held)
			}
		})
	}},
	{"An entry is the bytes that were stored", func(t *testing.T, w *world) {
		w.take(grove)
		w.read(func(r store.Reader) {
			for _, name := range w.Names() {
				want := w.Entry(name)
				e, ok, err := r.Entry(want.ID)
				if err != nil || !ok || string(e.Line) != string(want.Line) || e.Hash() != want.Hash() || e.Kind != want.Kind || string(e.Body) != string(want.Body) || e.Seq != want.Seq || e.Prev != want.Prev || e.Time != want.Time {
					t.Errorf("%s: %+v %v %v", name, e, ok, err)
				}
			}
		})
	}},
	{"List is by key in byte order, then by id", listsInOrder},
	{"List goes from a key to before a key", listsBetween},
	{"List goes on where it stopped", listsInPages},
	{"A row moves when its key changes", func(t *testing.T, w *world) {
		w.take(grove + "office: elm tree park")
		w.take("office: oak2 again oak tag=zzz")
		w.read(func(r store.Reader) {
			rows, err := r.List(entries.OfTree, "", "", "", 9)
			if err != nil || len(rows) != 2 || rows[0].Subject.ID != w.ID("elm").String() || rows[1].Subject.ID != w.ID("oak").String() {
				t.Errorf("%d rows %v, want the elm and then the oak", len(rows), err)
			}
		})
	}},
	{"Changed names what entries speak of", changes},
}

// tags are in byte order, which neither a collation nor UTF-16 keeps.
var tags = []string{"", "10", "2", "Z", "a", "a|b", "ab", "b", "ß", "é", "\uffee", "\U0001d4b3"}

// forest plants two trees of every tag.
func (w *world) forest() {
	w.take("office: park grounds\noffice: wood grounds")
	for i, tag := range slices.Backward(tags[1:]) {
		w.take(fmt.Sprintf("office: t%d tree park tag='%s'\noffice: s%d tree park tag='%s'\noffice: w%d tree wood tag='%s'", i, tag, i, tag, i, tag))
	}
}

func compareRows(a, b views.Row) int {
	return cmp.Or(cmp.Compare(a.Key, b.Key), cmp.Compare(a.Subject.ID, b.Subject.ID))
}

func listsInOrder(t *testing.T, w *world) {
	w.forest()
	w.read(func(r store.Reader) {
		rows, err := r.List(entries.OfTree, "", "", "", 1000)
		if err != nil || len(rows) != 3*len(tags[1:]) || !slices.IsSortedFunc(rows, compareRows) {
			t.Errorf("%d rows %v, or not in order", len(rows), err)
		}
		for _, row := range rows {
			st, err := views.Read(row)
			if err != nil || st.Key() != row.Key || row.Subject.Kind != entries.OfTree {
				t.Errorf("row %s: %v", row.Key, err)
			}
		}
		if rows, err := r.List(entries.OfTree, "", "", "", 0); len(rows) > 0 || err != nil {
			t.Errorf("at most none: %d %v", len(rows), err)
		}
	})
}

func listsBetween(t *testing.T, w *world) {
	w.forest()
	of := func(tag string) string { return w.ID("park").String() + "|" + tag }
	w.read(func(r store.Reader) {
		all, err := r.List(entries.OfTree, "", "", "", 1000)
		w.must(err)
		for i, from := range tags {
			for _, to := range append(slices.Clone(tags[i:]), "\xff") {
				var want []views.Row
				for _, row := range all {
					if row.Key >= of(from) && row.Key < of(to) {
						want = append(want, row)
					}
				}
				got, err := r.List(entries.OfTree, of(from), of(to), "", 1000)
				if err != nil || !slices.EqualFunc(got, want, func(a, b views.Row) bool { return a.Subject == b.Subject }) {
					t.Fatalf("from %q to %q: %d rows %v, want %d", from, to, len(got), err, len(want))
				}
			}
		}
		if rows, err := r.List(entries.OfGrounds, "park", "", "", 9); err != nil || len(rows) != 2 {
			t.Errorf("from a key with no end: %d %v", len(rows), err)
		}
	})
}

func listsInPages(t *testing.T, w *world) {
	w.forest()
	w.read(func(r store.Reader) {
		all, err := r.List(entries.OfTree, "", "", "", 1000)
		w.must(err)
		for _, limit := range []int{1, 2, 3, 7} {
			var got []views.Row
			from, after := "", ""
			for {
				page, err := r.List(entries.OfTree, from, "", after, limit)
				w.must(err)
				if len(page) == 0 {
					break
				}
				if len(page) > limit {
					t.Fatalf("%d rows, want at most %d", len(page), limit)
				}
				got = append(got, page...)
				from, after = page[len(page)-1].Key, page[len(page)-1].Subject.ID
			}
			if !slices.EqualFunc(got, all, func(a, b views.Row) bool { return a.Subject == b.Subject }) {
				t.Errorf("in pages of %d: %d rows, want %d", limit, len(got), len(all))
			}
		}
	})
}

func changes(t *testing.T, w *world) {
	w.take(grove)
	n := w.size()
	w.take(round)
	tree := entries.Subject{Kind: entries.OfTree, ID: w.ID("oak").String()}
	visit := entries.Subject{Kind: entries.OfVisit, ID: w.ID("day").String()}
	lot := entries.Subject{Kind: entries.OfLot, ID: w.ID("lot").String()}
	bag := entries.Subject{Kind: entries.OfBag, ID: w.ID("bag").String()}
	for _, c := range []struct {
		from  int64
		limit int
		want  []entries.Subject
	}{
		{n, 1000, []entries.Subject{tree, visit, lot, bag}},
		{n, 1, []entries.Subject{visit}},
		{n, 2, []entries.Subject{tree, visit}},
		{w.size() - 1, 1000, []entries.Subject{bag, visit}},
		{w.size(), 1000, nil},
	} {
		got, size, err := w.l.Changed(w.ctx, c.from, c.limit)
		if err != nil || size != w.size() || !sameSubjects(got, c.want) {
			t.Errorf("from %d at most %d: %v, size %d, %v; want %v, %d", c.from, c.limit, got, size, err, c.want, w.size())
		}
	}
	for _, from := range []int64{-1, w.size() + 1} {
		if _, _, err := w.l.Changed(w.ctx, from, 9); err == nil {
			t.Errorf("from %d of %d: no error", from, w.size())
		}
	}
	w.tell("office: moon unknown")
	w.give("moon")
	if got, size, err := w.l.Changed(w.ctx, w.size()-1, 9); err != nil || len(got) != 0 || size != w.size() {
		t.Errorf("an unknown kind changed %v, size %d, %v", got, size, err)
	}
}

func sameSubjects(got, want []entries.Subject) bool {
	byKind := func(a, b entries.Subject) int { return cmp.Or(cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.ID, b.ID)) }
	return slices.Equal(slices.SortedFunc(slices.Values(got), byKind), slices.SortedFunc(slices.Values(want), byKind))
}
