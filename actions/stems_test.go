package actions

import (
	"slices"
	"testing"

	"sapwell/engine/bole"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

func stemOf(f why.Finding) any {
	for _, t := range f.Terms {
		if t.Name == "stem" {
			return t.Value
		}
	}
	return nil
}

// Of three stems one has most of its ring closed: what is found there is found
// on that stem, and what holds for all three is said once.
func TestFindingsNameTheirStem(t *testing.T) {
	job := ash(t, 40*inch)
	stem := job.Tree.Stems[0]
	stem.Bark = stem.Bark[:1] // a note on each: the bark was probed once
	job.Tree.Stems = []bole.Stem{stem, stem, stem}
	for i, name := range []string{"a", "b", "c"} {
		job.Tree.Stems[i].Name = name
	}
	job.Tree.Stems[1].Ring.Arcs = []bole.Arc{{From: 2 * inch, To: 38 * inch, Kind: bole.Crack}}
	o := NewPlanner(Settings{System: quantity.Imperial}).Tree(job).Opinion
	many := slices.IndexFunc(o.Findings, func(f why.Finding) bool { return f.Code == "marks.too_many" })
	if many < 0 || stemOf(o.Findings[many]) != "b" || o.Findings[many].Place != "stems[1].count" {
		t.Errorf("%+v", o.Findings)
	}
	var once []any
	for _, f := range o.Notes {
		if f.Code == "bore.one_bark_reading" {
			once = append(once, stemOf(f))
		}
	}
	if len(once) != 1 || once[0] != nil {
		t.Errorf("a note that holds for all stems: %v", once)
	}
}

// A mark near an old hole is set higher, but the label's highest hole binds.
// The label here has holes from 6 to 18 in and the girth at 12 in.
func TestRaisedMarksStayOnTheLabel(t *testing.T) {
	for _, c := range []struct{ highest, want quantity.Length }{
		{18 * inch, 2 * inch}, {14 * inch, 2 * inch}, {13 * inch, inch}, {12 * inch, 0}, {10 * inch, 0},
	} {
		job := ash(t, 48*inch)
		job.Label.Hole.HeightMax = c.highest
		job.Label.Hole.HeightMin = min(job.Label.Hole.HeightMin, c.highest)
		job.Tree.Stems[0].Ring.Wounds = []bole.Wound{{At: 6 * inch, Made: quantity.NewDate(2016, 5, 1)}}
		m := NewPlanner(Settings{System: quantity.Imperial}).Tree(job).Stems[0].Marks
		if got := slices.Max(m.Raise); got != c.want {
			t.Errorf("holes up to %v: raised by %v, want %v", c.highest, got, c.want)
		}
	}
}
