package storetest

import (
	"fmt"
	"slices"
	"testing"

	"sapwell/entries"
	"sapwell/store"
	"sapwell/views"
)

// state reads the view of what a named entry began.
func state[S views.State](w *world, kind entries.SubjectKind, name string) S {
	w.Helper()
	var st views.State
	w.read(func(r store.Reader) {
		row, ok, err := r.View(entries.Subject{Kind: kind, ID: w.ID(name).String()})
		if err != nil || !ok {
			w.Fatalf("view of %s: %v %v", name, ok, err)
		}
		st, err = views.Read(row)
		w.must(err)
	})
	return st.(S)
}

func flags(c views.Common) []string {
	var codes []string
	for _, f := range c.Flags {
		codes = append(codes, f.Code)
	}
	return codes
}

var viewChecks = []check{
	{"Views are what the entries fold to, and Rebuild changes no byte", func(t *testing.T, w *world) {
		for _, part := range []string{grove, round, phone, "office: fix amended h1 at_nm=5", "office: old retired day"} {
			w.take(part)
			Sound(t, w.l)
		}
	}},
	{"A visit goes from open to closed", func(t *testing.T, w *world) {
		w.take(grove + round)
		visit := state[*views.Visit](w, entries.OfVisit, "day")
		if visit.Closed == nil || len(visit.Holes) != 2 || len(visit.Units) != 2 || visit.Units[0].Out() || visit.Units[1].Out() || len(visit.Bags) != 1 || len(visit.Flags) > 0 {
			t.Errorf("visit %+v", visit)
		}
		if tree := state[*views.Tree](w, entries.OfTree, "oak"); len(tree.Treatments) != 1 || len(tree.Holes) != 2 {
			t.Errorf("tree %+v", tree)
		}
		if lot := state[*views.Lot](w, entries.OfLot, "lot"); lot.OnHand != 10 || lot.Used != 2 { // 12 came, 2 are seated
			t.Errorf("lot %+v", lot)
		}
	}},
	{"An amendment changes what is shown and not what was written", amends},
	{"An amendment takes a hole from one tree to another", func(t *testing.T, w *world) {
		w.take(grove + "office: elm tree park")
		w.take(round)
		w.take(fmt.Sprintf("office: fix amended h1 tree=%s", w.ID("elm")))
		if tree := state[*views.Tree](w, entries.OfTree, "oak"); len(tree.Holes) != 1 {
			t.Errorf("the oak has %d holes, want 1", len(tree.Holes))
		}
		if tree := state[*views.Tree](w, entries.OfTree, "elm"); len(tree.Holes) != 1 || tree.Holes[0].ID != w.ID("h1") {
			t.Errorf("the elm has %+v, want the hole", tree.Holes)
		}
		Sound(t, w.l)
	}},
	{"Two corrections of one fact are both kept and flagged", func(t *testing.T, w *world) {
		w.take(grove + round)
		w.tell("office: mine amended h1 at_nm=111\nphone: theirs amended h1 at_nm=222")
		w.give("theirs")
		w.give("mine")
		visit := state[*views.Visit](w, entries.OfVisit, "day")
		if len(visit.Amended) != 2 || len(visit.Flags) == 0 {
			t.Errorf("amended %+v, flags %v; want two and a flag", visit.Amended, flags(visit.Common))
		}
		if visit.Holes[0].Facts.Around != 222 { // the later one
			t.Errorf("the hole is at %d, want what was said last", visit.Holes[0].Facts.Around)
		}
		Sound(t, w.l)
	}},
	{"What was done after the visit was closed is kept and flagged", func(t *testing.T, w *world) {
		w.take(grove + round)
		w.take("phone: h5 hole day oak 300\nphone: u5 seated day h5 lot")
		visit := state[*views.Visit](w, entries.OfVisit, "day")
		if len(visit.Units) != 3 || !visit.Units[2].Out() || !slices.Contains(flags(visit.Common), "unit.after_close") {
			t.Errorf("units %+v, flags %v", visit.Units, flags(visit.Common))
		}
		Sound(t, w.l)
	}},
	{"A label edited after the treatment does not change the old visit", func(t *testing.T, w *world) {
		w.take(grove + round)
		visit, tree := w.row(entries.OfVisit, "day"), w.row(entries.OfTree, "oak")
		w.take("office: text2 label version=2026-07-01")
		w.take("office: typo amended text reg_no=0-1")
		if w.row(entries.OfVisit, "day") != visit || w.row(entries.OfTree, "oak") != tree {
			t.Error("visit or tree changed with the label")
		}
		if used := state[*views.Tree](w, entries.OfTree, "oak").Treatments[0].Label; used != w.ID("text") {
			t.Errorf("treated by label %s, want the version of that day", used)
		}
		if label := state[*views.Label](w, entries.OfLabel, "text"); label.Facts.RegNo != "0-1" || len(label.Amended) != 1 {
			t.Errorf("label %+v", label)
		}
		Sound(t, w.l)
	}},
}

func (w *world) row(kind entries.SubjectKind, name string) string {
	w.Helper()
	var text string
	w.read(func(r store.Reader) {
		row, _, err := r.View(entries.Subject{Kind: kind, ID: w.ID(name).String()})
		w.must(err)
		text = rowText(row)
	})
	return text
}

func amends(t *testing.T, w *world) {
	w.take(grove + round)
	w.take("office: fix amended l2 left_nl=400000 why=scale")
	visit := state[*views.Visit](w, entries.OfVisit, "day")
	if left := visit.Units[1].Left; left == nil || *left != 400_000 {
		t.Errorf("left %v, want what the amendment says", left)
	}
	if len(visit.Amended) != 1 || visit.Amended[0].Of != w.ID("l2") || visit.Amended[0].Why != "scale" || visit.Amended[0].By != w.ID("boss") {
		t.Errorf("marks %+v", visit.Amended)
	}
	w.read(func(r store.Reader) {
		e, ok, err := r.Entry(w.ID("l2"))
		if err != nil || !ok || string(e.Line) != string(w.Entry("l2").Line) {
			t.Errorf("the entry is no longer what was written: %v %v", ok, err)
		}
	})
	w.take("office: fix2 amended fix left_nl=300000")
	visit = state[*views.Visit](w, entries.OfVisit, "day")
	if left := visit.Units[1].Left; left == nil || *left != 300_000 || len(visit.Amended) != 2 || len(visit.Flags) > 0 {
		t.Errorf("amended again: left %v, %+v, flags %v", left, visit.Amended, flags(visit.Common))
	}
	Sound(t, w.l)
}
