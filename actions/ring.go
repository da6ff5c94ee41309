package actions

import (
	"fmt"
	"math"
	"slices"

	"sapwell/engine/bole"
	"sapwell/engine/host"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

// RingAsked is which ring of holes is to be drawn, and from where.
type RingAsked struct {
	Tree  journal.ID `json:"tree"`
	Plan  journal.ID `json:"plan,omitzero"`  // whose marks are shown; left out: none
	Visit journal.ID `json:"visit,omitzero"` // whose holes and units are shown; left out: none
	Stem  string     `json:"stem,omitempty"`
	Stand float64    `json:"stand,omitempty"` // where one stands: degrees from the zero face, clockwise from above
	Now   int64      `json:"now,omitempty"`   // ms since 1970
}

// Ring is a trunk from above, worked out so that it only has to be drawn. Points are
// millimetres from its middle, x to the right and y down, turned so that whoever
// stands at Stand is at the bottom. Angles are degrees from the zero face, clockwise
// from above, whichever way the tape runs.
type Ring struct {
	Tag              string          `json:"tag"`
	Stem             string          `json:"stem,omitempty"`
	Girth            quantity.Length `json:"girth"`
	Height           quantity.Length `json:"height"`
	Radius           float64         `json:"radius_mm"` // as if the trunk were round
	Face             string          `json:"face,omitempty"`
	CounterClockwise bool            `json:"counter_clockwise,omitempty"`
	Zero             Spot            `json:"zero"`
	Marks            []RingMark      `json:"marks"`
	Arcs             []RingArc       `json:"arcs"`
	Wounds           []Spot          `json:"wounds"` // old holes; those of the visit are among the marks
	Fissures         []Spot          `json:"fissures"`
}

// Spot is a place on the ring.
type Spot struct {
	At    quantity.Length `json:"at"` // on the tape, from the zero
	Angle float64         `json:"angle"`
	X     float64         `json:"x_mm"`
	Y     float64         `json:"y_mm"`
}

// RingArc is a stretch where no hole may go, from one end to the other in the
// direction of the tape. Sweep is how far it goes round, in degrees; below zero it
// goes counter-clockwise.
type RingArc struct {
	Kind  string  `json:"kind"`
	From  Spot    `json:"from"`
	To    Spot    `json:"to"`
	Sweep float64 `json:"sweep"`
}

// RingMark is a mark of the plan, or a hole that is not of it (Number 0), with what
// was done there.
type RingMark struct {
	Spot
	Number  int             `json:"number"`
	Height  quantity.Length `json:"height"`
	State   string          `json:"state"` // planned, bored, seated, draining, drained, stuck, lifted, lost
	Hole    journal.ID      `json:"hole,omitzero"`
	Unit    journal.ID      `json:"unit,omitzero"`
	Since   int64           `json:"since,omitempty"`  // when it came into this state; ms since 1970, as the next two
	Likely  int64           `json:"likely,omitempty"` // half of such units are empty by then; 0: no forecast
	Late    int64           `json:"late,omitempty"`   // nine in ten are
	Overdue bool            `json:"overdue,omitempty"`
}

// RingOf works out a ring from what the journal knows.
func RingOf(v Reader, asked RingAsked) (Ring, error) {
	d := &desk{Reader: v}
	t, err := d.tree(asked.Tree, "tree")
	if err != nil {
		return Ring{}, err
	}
	if t.Measurement == nil {
		return Ring{}, refuse(Conflict, "tree.not_measured", "tree", fmt.Sprintf("tree: %s was not measured yet", t.Facts.Tag), why.T("tag", t.Facts.Tag))
	}
	stem, err := d.ringToday(t, asked)
	if err != nil {
		return Ring{}, err
	}
	c := compass{stem.Ring, asked.Stand}
	r := c.outline(t.Facts.Tag, stem)
	if asked.Plan == (journal.ID{}) {
		return r, nil
	}
	plan, err := d.planEntry(asked.Plan, "plan")
	if err != nil {
		return Ring{}, err
	}
	r.Marks, err = d.marksOn(c, plan, stem.Name, asked)
	return r, err
}

// ringToday is the stem as it was measured last, with every old hole but those of
// the visit asked for.
func (d *desk) ringToday(t *views.Tree, asked RingAsked) (bole.Stem, error) {
	i := stemNamed(t.Measurement.Facts.Stems, asked.Stem)
	if i < 0 {
		return bole.Stem{}, refuse(NotFound, "ring.no_stem", "stem",
			fmt.Sprintf("stem: %q: tree %s has no such stem", asked.Stem, t.Facts.Tag), why.T("tag", t.Facts.Tag), why.T("stem", asked.Stem))
	}
	p, err := d.past(asked.Tree)
	if err != nil {
		return bole.Stem{}, err
	}
	before := *t
	before.Holes = keepIf(t.Holes, func(h views.OldHole) bool { return h.Visit != asked.Visit || h.Visit == journal.ID{} })
	return d.boleOf(&before, p, host.Species{}).Stems[i], nil
}

// compass turns readings of a tape into directions and points.
type compass struct {
	ring  bole.Ring
	stand float64
}

func (c compass) radius() float64 { return c.ring.Girth.Around.Millimetres() / (2 * math.Pi) }

// way is how far round a length of tape goes, in degrees, clockwise from above.
func (c compass) way(tape quantity.Length) float64 {
	turn := 360 * float64(tape) / float64(c.ring.Girth.Around)
	if c.ring.Zero.CounterClockwise {
		return -turn
	}
	return turn
}

// spot is a place on the ring. Clockwise from above goes from the bottom of the
// picture to its left.
func (c compass) spot(at quantity.Length) Spot {
	angle := math.Mod(c.way(at)+360, 360)
	sin, cos := math.Sincos((angle - c.stand) * math.Pi / 180)
	return Spot{At: at, Angle: tidy(angle), X: tidy(-c.radius() * sin), Y: tidy(c.radius() * cos)}
}

// tidy rounds to a thousandth, more than anybody draws.
func tidy(f float64) float64 { return math.Round(f*1000)/1000 + 0 } // + 0: there is no -0

// outline is the ring without marks.
func (c compass) outline(tag string, stem bole.Stem) Ring {
	girth := c.ring.Girth
	r := Ring{
		Tag: tag, Stem: stem.Name, Girth: girth.Around, Height: girth.Height, Radius: tidy(c.radius()),
		Face: c.ring.Zero.Face, CounterClockwise: c.ring.Zero.CounterClockwise, Zero: c.spot(0),
		Marks: []RingMark{}, Arcs: []RingArc{}, Wounds: []Spot{}, Fissures: []Spot{},
	}
	for _, a := range c.ring.Arcs {
		along := a.To - a.From
		if along < 0 {
			along += girth.Around
		}
		r.Arcs = append(r.Arcs, RingArc{string(a.Kind), c.spot(a.From), c.spot(a.To), tidy(c.way(along))})
	}
	for _, w := range c.ring.Wounds {
		r.Wounds = append(r.Wounds, c.spot(w.At))
	}
	for _, at := range c.ring.Fissures {
		r.Fissures = append(r.Fissures, c.spot(at))
	}
	return r
}

// marksOn are the marks of a plan on its ring, and the holes bored beside them, each
// with what the visit knows of it.
func (d *desk) marksOn(c compass, plan entries.Plan, stem string, asked RingAsked) ([]RingMark, error) {
	i := slices.IndexFunc(plan.Stems, func(s entries.PlanStem) bool { return s.Name == stem })
	if i < 0 {
		return []RingMark{}, nil
	}
	visit := new(views.Visit)
	if asked.Visit != (journal.ID{}) {
		var err error
		if visit, err = d.visit(asked.Visit, "visit"); err != nil {
			return nil, err
		}
	}
	marks := []RingMark{}
	for m, at := range plan.Stems[i].Marks {
		mark := RingMark{Spot: c.spot(quantity.Length(at)), Number: m + 1, State: "planned"}
		if m < len(plan.Stems[i].Heights) {
			mark.Height = quantity.Length(plan.Stems[i].Heights[m])
		}
		marks = append(marks, mark)
	}
	for _, h := range visit.Holes {
		if h.Facts.Tree == asked.Tree && h.Facts.Stem == stem {
			marks = putHole(marks, c, h)
		}
	}
	for m := range marks {
		marks[m].follow(visit.Units, plan.Stems[i], asked.Now)
	}
	return marks, nil
}

// putHole notes a hole at its mark, where it was really bored; one that is not of
// the plan, or a second one there, is a mark of its own.
func putHole(marks []RingMark, c compass, h views.Bored) []RingMark {
	hole := RingMark{
		Spot: c.spot(quantity.Length(h.Facts.Around)), Number: h.Facts.Mark, Height: quantity.Length(h.Facts.Height),
		State: "bored", Hole: h.ID, Since: h.At,
	}
	if n := h.Facts.Mark; n > 0 && n <= len(marks) && marks[n-1].State == "planned" {
		marks[n-1] = hole
		return marks
	}
	return append(marks, hole)
}

// follow adds what became of the unit in a hole.
func (m *RingMark) follow(units []views.Unit, by entries.PlanStem, now int64) {
	i := slices.IndexFunc(units, func(u views.Unit) bool { return m.Hole != journal.ID{} && u.Hole == m.Hole })
	if i < 0 {
		return
	}
	u := units[i]
	m.Unit = u.ID
	switch {
	case u.Lifted != 0:
		m.State, m.Since = "lifted", u.Lifted
	case u.Lost != 0:
		m.State, m.Since = "lost", u.Lost
	case u.Drained != 0:
		m.State, m.Since = "drained", u.Drained
	case u.Stuck != 0:
		m.State, m.Since = "stuck", u.Stuck
	case u.Pressurised != 0:
		m.State, m.Since = "draining", u.Pressurised
	default:
		m.State, m.Since = "seated", u.Seated
	}
	if by.P90 > 0 && (m.State == "draining" || m.State == "seated") {
		m.Likely, m.Late = m.Since+by.P50, m.Since+by.P90
		m.Overdue = now > m.Late
	}
}
