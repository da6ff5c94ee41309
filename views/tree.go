package views

import (
	"slices"
	"time"

	"sapwell/engine/quantity"
	"sapwell/entries"
	"sapwell/journal"
)

// Key is the id of the grounds, "|", the tag.
func (t *Tree) Key() string { return t.Facts.Grounds.String() + "|" + t.Facts.Tag }

func (t *Tree) take(e entries.Entry) {
	switch b := e.Body.(type) {
	case entries.Tree:
		t.replace(&t.FactsBy, e, b.Over)
		t.Facts = b
	case entries.Measurement:
		t.Measurement = &Measured{Entry: e.ID, Facts: b}
	case entries.Condition:
		t.Condition = &b
	case entries.Wound:
		t.hole(e, OldHole{Stem: b.Stem, Around: b.Around, Width: b.Width, Height: b.Height, Made: b.Made})
	case entries.Closure:
		t.closure(e, b)
	case entries.Plan:
		t.plan(e, b)
	case entries.Hole:
		if t.Facts.Gone {
			t.flag("tree.gone", e)
		}
		t.hole(e, OldHole{Visit: b.Visit, Stem: b.Stem, Around: b.Around, Width: b.Bit, Height: b.Height, Made: day(e.When())})
	case entries.VisitClosed:
		t.closed(e, b)
	}
}

// day is the calendar day of a moment, in UTC: a view knows no time zone.
func day(ms int64) entries.Date {
	y, m, d := time.UnixMilli(ms).UTC().Date()
	return quantity.NewDate(y, m, d)
}

// at finds a hole, or where to put it.
func (t *Tree) at(id journal.ID) (int, bool) {
	return slices.BinarySearchFunc(t.Holes, id, func(h OldHole, id journal.ID) int { return compareIDs(h.ID, id) })
}

// hole keeps a hole or wound. It may have been looked at before, by the clocks.
func (t *Tree) hole(e entries.Entry, h OldHole) {
	h.ID = e.ID
	i, there := t.at(e.ID)
	if !there {
		t.Holes = slices.Insert(t.Holes, i, h)
		return
	}
	h.Closure = t.Holes[i].Closure
	if h.Closure != nil && h.Closure.Width > 0 {
		h.Width = h.Closure.Width
	}
	t.Holes[i] = h
}

func (t *Tree) closure(e entries.Entry, c entries.Closure) {
	i, there := t.at(c.Hole)
	if !there {
		t.flag("closure.no_hole", e)
		t.Holes = slices.Insert(t.Holes, i, OldHole{ID: c.Hole})
	}
	t.Holes[i].Closure = &c
	if c.Width > 0 {
		t.Holes[i].Width = c.Width
	}
}

func (t *Tree) plan(e entries.Entry, p entries.Plan) {
	if t.Measurement == nil || t.Measurement.Entry != p.Measurement {
		t.flag("plan.measurement", e)
	}
	t.Plan, t.PlanDay = e.ID, p.Day
}

// closed keeps what the closed visit gave this tree; a visit closed again
// replaces what it said before.
func (t *Tree) closed(e entries.Entry, c entries.VisitClosed) {
	before := len(t.Treatments)
	t.Treatments = slices.DeleteFunc(t.Treatments, func(o Treatment) bool { return o.Visit == c.Visit })
	if len(t.Treatments) < before {
		t.flag("visit.closed_twice", e)
	}
	self := t.self()
	for _, given := range c.Trees {
		if given.Tree == self {
			t.Treatments = append(t.Treatments, Treatment{Treated: given, Visit: c.Visit, At: e.When()})
		}
	}
}
