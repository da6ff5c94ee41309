package actions

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"sapwell/engine/quantity"
	"sapwell/entries"
	"sapwell/journal"
)

// The ash of these tests has 96 in of girth and 16 marks, evenly 6 in apart, read in
// eighths of an inch. What is expected is worked out by hand on that ring.

// adjusted does plan.adjust on the plan of the day and returns what was written.
func (d *ashDay) adjusted(more string) (planAdjusted, entries.Plan, []string) {
	d.t.Helper()
	out := d.done(d.app, "plan.adjust", d.with(`{"plan":"$plan","why":"a nail"`+more+`}`))
	r := out.Result.(planAdjusted)
	e, ok, err := d.Entry(r.ID)
	if err != nil || !ok {
		d.t.Fatal(ok, err)
	}
	read, err := entries.Read(e)
	if err != nil {
		d.t.Fatal(err)
	}
	return r, read.Body.(entries.Plan), findings(out.Findings)
}

// With one mark pinned at 2 in the even spread is 2, 8, 14 … 92 in.
func TestAMarkIsMoved(t *testing.T) {
	d := newAshDay(t)
	r, p, found := d.adjusted(`,"pins":["2 in"]`)
	var want []int64
	for at := 2 * inch; at < 96*inch; at += 6 * inch {
		want = append(want, int64(at))
	}
	if !slices.Equal(p.Stems[0].Marks, want) || len(p.Stems[0].Heights) != 16 || len(r.Marks.Positions) != 16 {
		t.Errorf("marks %v, want %v", p.Stems[0].Marks, want)
	}
	if len(found) > 0 || p.Overall != "nothing_found" {
		t.Errorf("overall %s, found %v", p.Overall, found)
	}
	for _, part := range []string{`"adjusted":{`, `"a nail"`, `"opinion":{`, `"dose":{`} {
		if !strings.Contains(p.Full, part) {
			t.Errorf("the whole answer has no %s", part)
		}
	}
	tree, err := (&desk{Reader: d}).tree(d.tree, "")
	if err != nil || tree.Plan != r.ID {
		t.Errorf("the last plan of the tree is %s, want %s (%v)", tree.Plan, r.ID, err)
	}
}

// A spot is skipped with 1/8 in to each side, and 1/2 in of clearance beside: no mark
// lies within 5/8 in of it, and 16 marks still fit evenly, 6 in apart.
func TestASpotIsSkipped(t *testing.T) {
	d := newAshDay(t)
	for _, at := range []quantity.Length{0, 6 * inch, 47*inch + 3*inch/8, 96 * inch} {
		_, p, _ := d.adjusted(fmt.Sprintf(`,"skips":["%v mm"]`, at.Millimetres()))
		marks := p.Stems[0].Marks
		for i, m := range marks {
			next := marks[(i+1)%len(marks)]
			if gap := (quantity.Length(next-m) + 96*inch) % (96 * inch); gap != 6*inch {
				t.Errorf("skip %v: gap of %v mm after mark %d", at, gap.Millimetres(), i+1)
			}
			if near := apart(quantity.Length(m), at, 96*inch); near <= 5*inch/8 {
				t.Errorf("skip %v: mark %d is %v mm away", at, i+1, near.Millimetres())
			}
		}
	}
}

// The hand has the last word, and is told what speaks against it.
func TestAMarkIsMovedTooClose(t *testing.T) {
	d := newAshDay(t)
	_, p, found := d.adjusted(`,"pins":["0 in","2 in"]`)
	if !slices.Equal(found[:1], []string{"marks.pin_too_close"}) || p.Overall != "warn" || !slices.Contains(p.Findings, "marks.pin_too_close") {
		t.Errorf("found %v, overall %s, kept %v", found, p.Overall, p.Findings)
	}
	if m := p.Stems[0].Marks; len(m) != 16 || m[0] != 0 || m[1] != int64(2*inch) {
		t.Errorf("marks %v, want the two where they were set", m)
	}
}

// A hole that was bored stays where it is and keeps its number.
func TestAdjustingKeepsWhatWasBored(t *testing.T) {
	d := newAshDay(t)
	d.do(d.app, "hole.bore", d.with(`{"visit":"$visit","tree":"$tree","mark":3}`))
	third := d.view().Holes[0].Facts.Around
	_, p, _ := d.adjusted(fmt.Sprintf(`,"skips":["%v mm"]`, quantity.Length(third).Millimetres()+152.4)) // mark 4, 6 in on
	if p.Stems[0].Marks[2] != third {
		t.Errorf("mark 3 is at %d, was bored at %d", p.Stems[0].Marks[2], third)
	}
	// Four marks set before it, 3 in apart each, would make it the fifth at least.
	var pins []string
	for k := range quantity.Length(4) {
		pins = append(pins, fmt.Sprintf(`"%v mm"`, ((quantity.Length(third)-3*(k+1)*inch+96*inch)%(96*inch)).Millimetres()))
	}
	d.refused(d.app, "plan.adjust", d.with(`{"plan":"$plan","why":"a nail","pins":[`+strings.Join(pins, ",")+`]}`), "plan.adjust_bored", "plan")
}

func TestAdjustingIsRefused(t *testing.T) {
	d := newAshDay(t)
	adjust := func(more string) string { return d.with(`{"plan":"$plan","why":"a nail"` + more + `}`) }
	d.refused(d.app, "plan.adjust", d.with(`{"plan":"$plan","why":" ","pins":["1 in"]}`), "plan.adjust_no_reason", "why")
	d.refused(d.app, "plan.adjust", d.with(`{"plan":"$tree","why":"x"}`), "plan.unknown", "plan")
	d.refused(d.app, "plan.adjust", adjust(`,"stem":"7"`), "hole.stem_unknown", "stem")
	d.refused(d.app, "plan.adjust", adjust(`,"skips":["97 in"]`), "input.value", "skips[0]")
	d.refused(d.app, "plan.adjust", adjust(`,"pins":["97 in"]`), "plan.adjust_impossible", "pins[0]")
	var pins []string
	for at := range 17 {
		pins = append(pins, fmt.Sprintf(`"%d in"`, 5*at))
	}
	d.refused(d.app, "plan.adjust", adjust(`,"pins":[`+strings.Join(pins, ",")+`]`), "plan.adjust_impossible", "pins")
	d.refused(d.train, "plan.adjust", adjust(`,"pins":["1 in"]`), "person.not_entitled", "")
	d.do(d.app, "tree.measure", d.with(`{"tree":"$tree","stems":[{"ring":{"girth":{"around":"98 in","height":"12 in"}}}]}`))
	d.refused(d.app, "plan.adjust", adjust(`,"pins":["1 in"]`), "plan.adjust_measured", "plan")
}

// A plan that was adjusted can be adjusted again.
func TestAdjustingTwice(t *testing.T) {
	d := newAshDay(t)
	r, _, _ := d.adjusted(`,"pins":["2 in"]`)
	d.name("again", r.ID)
	out := d.done(d.app, "plan.adjust", d.with(`{"plan":"$again","why":"still a nail","pins":["3 in"]}`))
	if at := out.Result.(planAdjusted).Marks.Positions[0]; at != 3*inch {
		t.Errorf("the first mark is at %v mm, want 3 in", at.Millimetres())
	}
	if out.Result.(planAdjusted).ID == (journal.ID{}) {
		t.Error("no id")
	}
}
