package marks

import (
	"slices"

	"sapwell/engine/bole"
	"sapwell/engine/why"
)

// Spread re-plans the ring with some marks fixed where the applicator put them
// and spreads the rest in the best way that leaves the pins alone. A pin is read
// to the nearest tick. It is kept wherever it lies on the ring, for that is the
// applicator's call; findings say what it breaks:
//
//	marks.pin_in_defect    warn   on an arc, or within the clearance of one
//	marks.pin_near_wound   warn   in what an old hole blocks
//	marks.pin_too_close    warn   less than the least gap from the next pin
//	marks.pin_off_ring     block  not on the tape; it is left out
//	marks.pins_over_count  block  more pins than marks wanted
//	marks.pins_leave_no_room  block  the rest does not fit between the pins
func (s *Solver) Spread(ring bole.Ring, count int, pins []Pin, rules Rules) (Plan, error) {
	g, in, plan, err := stage(ring, count, rules)
	if err != nil {
		return Plan{}, err
	}
	fixed := plan.pin(g, pins, rules)
	if len(fixed) == 0 {
		found := plan.Findings
		plan, err = s.Place(ring, count, rules)
		plan.Findings = append(found, plan.Findings...)
		return plan, err
	}
	sol := s.pinned(in, fixed)
	plan.Most, plan.Cost = sol.Most, sol.Cost
	plan.lay(g, sol.Positions, rules)
	if !sol.Feasible {
		code := "marks.pins_leave_no_room"
		if len(fixed) > count {
			code = "marks.pins_over_count"
		}
		plan.find(code, why.Block, "pins", why.T("wanted", count), why.T("pins", len(fixed)), why.T("most", sol.Most))
	}
	plan.explain(g, rules, s.blockedPercent(in))
	plan.Why.Inputs = append(plan.Why.Inputs, why.T("pins", len(fixed)))
	return plan, nil
}

// pin returns the ticks of the pins that lie on the ring, ascending, each once,
// and reports what they break.
func (p *Plan) pin(g grid, pins []Pin, rules Rules) []int {
	var ticks []int
	for i, pin := range pins {
		if !g.on(pin.At) {
			p.find("marks.pin_off_ring", why.Block, place("pins", i), why.T("at", pin.At), why.T("girth", g.girth))
			continue
		}
		x := g.nearest(pin.At)
		ticks = append(ticks, x)
		p.pinBlocked(g, i, x)
	}
	slices.Sort(ticks)
	for i, x := range ticks[:max(0, len(ticks)-1)] {
		p.pinGap(g, x, ticks[i+1], rules)
	}
	if n := len(ticks); n > 1 {
		p.pinGap(g, ticks[n-1], ticks[0]+g.n, rules)
	}
	return slices.Compact(ticks)
}

// pinGap warns if the pins at ticks x and next, which may be one turn on, are
// nearer than the least gap.
func (p *Plan) pinGap(g grid, x, next int, rules Rules) {
	if next-x < g.up(rules.MinGap) {
		p.find("marks.pin_too_close", why.Warn, "pins", why.T("at", g.at(x)), why.T("next", g.at(next%g.n)),
			why.T("gap", g.at(next-x)), why.T("min_gap", rules.MinGap))
	}
}

// pinBlocked warns once for a defect and once for a wound at tick x.
func (p *Plan) pinBlocked(g grid, i, x int) {
	said := map[string]bool{}
	for _, b := range p.Blocked {
		code := "marks.pin_in_defect"
		if b.Kind == woundKind {
			code = "marks.pin_near_wound"
		}
		if !said[code] && b.holds(g.at(x)) {
			said[code] = true
			p.find(code, why.Warn, place("pins", i), why.T("at", g.at(x)), why.T("from", b.From), why.T("to", b.To))
		}
	}
}
