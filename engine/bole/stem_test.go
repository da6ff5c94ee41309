package bole

import (
	"testing"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// A tree has several stems: a finding must say whose it is, or the applicator
// looks at the wrong one. A tree of one stem needs no name.
func TestOfStem(t *testing.T) {
	two := []Stem{{Name: "pond side"}, {}}
	f := why.Finding{Code: "marks.wide_gap", Place: "marks[3]", Terms: []why.Term{why.T("gap", 9*quantity.Inch)}}
	for i, want := range []struct{ place, stem string }{{"stems[0].marks[3]", "pond side"}, {"stems[1].marks[3]", "2"}} {
		g := OfStem(f, two, i)
		if g.Place != want.place || len(g.Terms) != 2 || g.Terms[1] != why.T("stem", want.stem) {
			t.Errorf("stem %d: %+v", i, g)
		}
	}
	if len(f.Terms) != 1 || f.Place != "marks[3]" {
		t.Errorf("the finding handed in changed: %+v", f)
	}
	if g := OfStem(f, two[:1], 0); g.Place != f.Place || len(g.Terms) != 1 {
		t.Errorf("one stem: %+v", g)
	}
	if g := OfStem(why.Finding{Code: "dose.rate_missing"}, two, 1); g.Place != "stems[1]" {
		t.Errorf("without a place: %q", g.Place)
	}
}

func TestTreeCheckNamesTheStem(t *testing.T) {
	good := Stem{Name: "a", Ring: Ring{Girth: Girth{Around: 40 * quantity.Inch, Height: quantity.Foot}}}
	bad := good
	bad.Name, bad.Ring.Fissures = "b", []quantity.Length{41 * quantity.Inch}
	fs := Tree{Stems: []Stem{good, bad}}.Check()
	if len(fs) != 1 || fs[0].Code != "bole.off_ring" || fs[0].Place != "stems[1].ring.fissures[0]" || fs[0].Terms[len(fs[0].Terms)-1] != why.T("stem", "b") {
		t.Errorf("%+v", fs)
	}
}
