package actions

import (
	"math"
	"testing"

	"sapwell/engine/bole"
	"sapwell/engine/quantity"
	"sapwell/entries"
)

// A tape of 96 in lies on a circle of 96/(2π) in. A quarter of it, 24 in, is 90°:
// clockwise from above, whoever stands at the zero has it to the left; the tape that
// runs counter-clockwise has it to the right. Reckoned by hand.
func TestCompass(t *testing.T) {
	r := 96 * 25.4 / (2 * math.Pi)
	for _, c := range []struct {
		counter bool
		stand   float64
		at      quantity.Length
		angle   float64
		x, y    float64
	}{
		{false, 0, 0, 0, 0, r},
		{false, 0, 24 * inch, 90, -r, 0},
		{false, 0, 48 * inch, 180, 0, -r},
		{false, 0, 72 * inch, 270, r, 0},
		{false, 0, 96 * inch, 0, 0, r},
		{false, 0, 12 * inch, 45, -r * math.Sqrt2 / 2, r * math.Sqrt2 / 2},
		{true, 0, 24 * inch, 270, r, 0},
		{true, 0, 72 * inch, 90, -r, 0},
		{true, 0, 96 * inch, 0, 0, r},
		{false, 90, 24 * inch, 90, 0, r}, // one stands there
		{false, 90, 0, 0, r, 0},          // and has the zero to the right
		{true, 270, 24 * inch, 270, 0, r},
	} {
		ring := bole.Ring{Girth: bole.Girth{Around: 96 * inch}, Zero: bole.Zero{CounterClockwise: c.counter}}
		s := compass{ring, c.stand}.spot(c.at)
		if math.Abs(s.Angle-c.angle) > 0.001 || math.Abs(s.X-c.x) > 0.001 || math.Abs(s.Y-c.y) > 0.001 || s.At != c.at {
			t.Errorf("%+v: %+v", c, s)
		}
	}
}

// An arc goes from one end to the other as the tape runs, through the zero too.
func TestRingOutline(t *testing.T) {
	for counter, want := range map[bool][2]float64{false: {45, 90}, true: {-45, -90}} {
		stem := bole.Stem{Ring: bole.Ring{
			Girth: bole.Girth{Around: 96 * inch, Height: 12 * inch}, Zero: bole.Zero{Face: "N", CounterClockwise: counter},
			Arcs: []bole.Arc{{From: 90 * inch, To: 6 * inch, Kind: bole.Cavity}, {From: 24 * inch, To: 48 * inch, Kind: bole.Crack}},
		}}
		r := compass{stem.Ring, 0}.outline("A-1", stem)
		if len(r.Arcs) != 2 || r.Arcs[0].Sweep != want[0] || r.Arcs[1].Sweep != want[1] || r.Arcs[0].Kind != "cavity" || r.Face != "N" {
			t.Errorf("%+v", r)
		}
		if math.Abs(r.Radius-388.083) > 0.001 {
			t.Errorf("radius %v", r.Radius)
		}
	}
}

// A day's work as it shows on the ring, and the clock of what drains.
func TestRingOfADay(t *testing.T) {
	d := newAshDay(t)
	asked := RingAsked{Tree: d.tree, Visit: d.visit, Now: d.now}
	ring := func() Ring {
		t.Helper()
		v := d.view()
		asked.Plan = v.Facts.Jobs[0].Plan
		r, err := RingOf(d, asked)
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	state := func(want ...string) Ring {
		t.Helper()
		r := ring()
		for i, w := range want {
			if m := r.Marks[i]; m.State != w || w != "planned" && m.Since == 0 {
				t.Errorf("mark %d is %s since %d, want %s", i+1, m.State, m.Since, w)
			}
		}
		return r
	}
	if r := state("planned", "planned"); len(r.Marks) != 16 || r.Marks[15].Number != 16 || r.Tag != "Q-01" || len(r.Wounds) > 0 {
		t.Errorf("%+v", r)
	}
	d.do(d.app, "hole.bore", d.with(`{"visit":"$visit","tree":"$tree","mark":1,"around":"1 in"}`))
	d.do(d.app, "hole.bore", d.with(`{"visit":"$visit","tree":"$tree","around":"50 in","height":"20 in"}`))
	r := state("bored", "planned")
	if r.Marks[0].At != inch || len(r.Marks) != 17 || r.Marks[16].Number != 0 || r.Marks[16].At != 50*inch || r.Marks[16].Height != 20*inch {
		t.Errorf("bored: %+v", r.Marks)
	}
	d.install()
	d.on("unit.pressurise", 1, 6, "")
	d.on("unit.drain", 2, 2, "")
	d.on("unit.stick", 3, 3, `,"left":"1 mL"`)
	d.on("unit.lift", 4, 4, `,"left":"0 mL"`)
	d.on("unit.lose", 5, 5, `,"why":"gone","signed":"Bo Muster"`)
	r = state("draining", "drained", "stuck", "lifted", "lost", "draining", "seated")
	if len(r.Wounds) > 0 {
		t.Errorf("holes of the visit are shown as old ones: %+v", r.Wounds)
	}
	m := r.Marks[0]
	if !(m.Since < m.Likely && m.Likely < m.Late) || m.Overdue || r.Marks[1].Late != 0 {
		t.Errorf("clock: %+v", m)
	}
	for now, overdue := range map[int64]bool{m.Late: false, m.Late + 1: true} {
		if asked.Now = now; ring().Marks[0].Overdue != overdue {
			t.Errorf("overdue at %d: want %v", now-m.Late, overdue)
		}
	}
	asked.Visit = d.tree // no visit of that id
	if _, err := RingOf(d, asked); !isRefusal(err) {
		t.Errorf("of no visit: %v", err)
	}
}

func TestRingRefused(t *testing.T) {
	d := newAshDay(t)
	bare := d.do(d.app, "tree.add", d.with(`{"grounds":"$grounds","tag":"B-1","species":"Fraxinus americana"}`))
	two := d.do(d.app, "tree.add", d.with(`{"grounds":"$grounds","tag":"B-2","species":"Fraxinus americana"}`))
	d.do(d.app, "tree.measure", `{"tree":"`+two.String()+`","stems":[{"name":"1","ring":{"girth":{"around":"40 in","height":"12 in"}}},{"name":"2","ring":{"girth":{"around":"30 in","height":"12 in"}}}]}`)
	for code, asked := range map[string]RingAsked{
		"tree.not_measured": {Tree: bare}, "ring.no_stem": {Tree: two, Stem: "7"}, "tree.unknown": {Tree: d.visit},
	} {
		_, err := RingOf(d, asked)
		if r, ok := err.(*Refusal); !ok || r.Code != code {
			t.Errorf("%s: %v", code, err)
		}
	}
}

// What is due, by hand: 40 and 90 minutes after the clocks began; the later late, no
// forecast last, nothing that does not run.
func TestWhatIsDue(t *testing.T) {
	const minute = 60_000
	p50, p90, p91 := 40*quantity.Minute, 90*quantity.Minute, 91*quantity.Minute
	round := []OpenVisit{{Trees: []TreeOnRound{
		{Tag: "none", Running: 2, Since: 1},
		{Tag: "later", Running: 1, Since: 10 * minute, P50: &p50, P90: &p91},
		{Tag: "first", Running: 3, Since: 10 * minute, P50: &p50, P90: &p90},
		{Tag: "empty", Out: 3, Drained: 3, P50: &p50, P90: &p90},
	}}}
	due := WhatIsDue(round, 100*minute+1)
	if len(due) != 3 || due[0].Tag != "first" || due[1].Tag != "later" || due[2].Tag != "none" {
		t.Fatalf("%+v", due)
	}
	if d := due[0]; d.Likely != 50*minute || d.Late != 100*minute || !d.Overdue || d.Running != 3 {
		t.Errorf("%+v", d)
	}
	if due[1].Overdue || due[2].Overdue || due[2].Late != 0 {
		t.Errorf("%+v", due[1:])
	}
	if none := WhatIsDue(nil, 0); none == nil || len(none) > 0 {
		t.Errorf("%v, want an empty list", none)
	}
}

func TestHistory(t *testing.T) {
	d := newAshDay(t)
	grounds := d.do(d.app, "note.add", d.with(`{"on":{"kind":"tree","id":"$tree"},"text":"leans"}`))
	amended := d.do(d.boss, "amend", `{"of":"`+grounds.String()+`","why":"it does not","after":{"on":{"kind":"tree","id":"`+d.tree.String()+`"},"text":"stands"}}`)
	told, err := History(d, entries.Subject{Kind: entries.OfTree, ID: d.tree.String()})
	if err != nil || len(told) < 4 {
		t.Fatal(told, err)
	}
	for _, s := range told {
		switch s.ID {
		case grounds:
			if len(s.AmendedBy) != 1 || s.AmendedBy[0] != amended || s.By != d.app || s.Kind != "note" {
				t.Errorf("the note: %+v", s)
			}
		default:
			if len(s.AmendedBy) > 0 {
				t.Errorf("%+v is amended", s)
			}
		}
	}
}
