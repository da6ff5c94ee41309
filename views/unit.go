package views

import (
	"slices"

	"sapwell/entries"
	"sapwell/journal"
)

// counts are holes and units, each unit in one pile: what was lifted after it was
// given up for lost is lifted.
type counts struct{ holes, seated, lifted, lost int }

func anyUnit(Unit) bool { return true }

func count(units []Unit, which func(Unit) bool) (n counts) {
	for _, u := range units {
		if u.Seated == 0 || !which(u) {
			continue
		}
		n.seated++
		switch {
		case u.Lifted != 0:
			n.lifted++
		case u.Lost != 0:
			n.lost++
		}
	}
	return n
}

// unitAt finds a unit, or where to put it.
func (v *Visit) unitAt(id journal.ID) (int, bool) {
	return slices.BinarySearchFunc(v.Units, id, func(u Unit, id journal.ID) int { return compareIDs(u.ID, id) })
}

func (v *Visit) seat(e entries.Entry, s entries.UnitSeated) {
	if v.Closed != nil {
		v.flag("unit.after_close", e)
	}
	if !v.holeFree(e, s) {
		v.flag("hole.two_units", e)
	}
	i, there := v.unitAt(e.ID)
	if !there {
		v.Units = slices.Insert(v.Units, i, Unit{ID: e.ID})
	}
	u := &v.Units[i]
	if u.Seated != 0 {
		v.flag("unit.same_id", e)
	}
	u.handled(e)
	u.Hole, u.Lot, u.Fill, u.Seated, u.Tree = s.Hole, s.Lot, s.Fill, moment(e), journal.ID{}
	if h, bored := v.holeAt(s.Hole); bored {
		u.Tree = v.Holes[h].Facts.Tree
	} else {
		v.flag("unit.no_hole", e)
	}
}

// LastIn is the unit seated last in a hole, or nil: a second one there names it as
// Again.
func (v *Visit) LastIn(hole journal.ID) (last *Unit) {
	for i := range v.Units {
		u := &v.Units[i]
		if u.Hole == hole && (last == nil || u.Seated >= last.Seated) {
			last = u
		}
	}
	return last
}

// holeFree tells whether a unit was seated in a hole with none in it, and by
// somebody who knew of those that had been there: what they gave is in the tree.
func (v *Visit) holeFree(e entries.Entry, s entries.UnitSeated) bool {
	inIt := func(u Unit) bool { return u.Hole == s.Hole && u.ID != e.ID && !u.goneBy(moment(e)) }
	if slices.ContainsFunc(v.Units, inIt) {
		return false
	}
	last := v.LastIn(s.Hole)
	return last == nil || last.ID == e.ID || last.ID == s.Again
}

// goneBy tells whether the unit was lifted or given up for lost by a moment.
func (u Unit) goneBy(ms int64) bool {
	return u.Lifted != 0 && u.Lifted <= ms || u.Lost != 0 && u.Lost <= ms
}

// act folds what was seen or done to a unit that was seated. One that was not,
// by the clocks, is kept until its seating comes.
func (v *Visit) act(e entries.Entry) {
	id, ok := unitOf(e.Body)
	if !ok {
		return
	}
	if v.Closed != nil {
		v.flag("unit.after_close", e)
	}
	i, there := v.unitAt(id)
	if !there {
		v.Units = slices.Insert(v.Units, i, Unit{ID: id})
	}
	u := &v.Units[i]
	if u.Seated == 0 || moment(e) < u.Seated {
		v.flag("unit.before_seat", e)
	}
	if code := u.misfit(e.Body); code != "" {
		v.flag(code, e)
	}
	u.take(e)
}

// unitOf is the unit an act speaks of.
func unitOf(b entries.Body) (journal.ID, bool) {
	switch b := b.(type) {
	case entries.UnitPressurised:
		return b.Unit, true
	case entries.UnitDrained:
		return b.Unit, true
	case entries.UnitStuck:
		return b.Unit, true
	case entries.UnitLifted:
		return b.Unit, true
	case entries.UnitLost:
		return b.Unit, true
	}
	return journal.ID{}, false
}

// misfit says what an act contradicts.
func (u *Unit) misfit(b entries.Body) string {
	switch b := b.(type) {
	case entries.UnitLost:
		switch {
		case u.Lost != 0:
			return "unit.lost_twice"
		case u.Lifted != 0:
			return "unit.lifted_and_lost"
		}
	case entries.UnitLifted:
		switch {
		case u.Lifted != 0:
			return "unit.lifted_twice"
		case u.Lost != 0:
			return "unit.lifted_and_lost"
		}
		return u.tooMuch(b.Left)
	case entries.UnitStuck:
		switch {
		case !u.Out():
			return "unit.after_lift"
		case u.Drained != 0:
			return "unit.stuck_drained"
		}
		return u.tooMuch(b.Left)
	default:
		if !u.Out() {
			return "unit.after_lift"
		}
	}
	return ""
}

// tooMuch: no more can be left than was in it.
func (u *Unit) tooMuch(left int64) string {
	if u.Seated != 0 && left > u.Fill {
		return "unit.left_over_fill"
	}
	return ""
}

// take: what ends a unit, and that it was seen empty, stands as it was said
// first; of what is seen on the way the last counts.
func (u *Unit) take(e entries.Entry) {
	switch b := e.Body.(type) {
	case entries.UnitPressurised:
		u.handled(e)
		u.Pressurised, u.Gauge = moment(e), b.Gauge
	case entries.UnitDrained:
		if u.Drained == 0 {
			u.Drained = moment(e)
		}
	case entries.UnitStuck:
		u.Stuck, u.StuckWhy = moment(e), b.Why
		if u.Lifted == 0 {
			u.Left = &b.Left
		}
	case entries.UnitLifted:
		u.handled(e)
		if u.Lifted == 0 {
			u.Lifted, u.Left = moment(e), &b.Left
		}
	case entries.UnitLost:
		if u.Lost == 0 {
			u.Lost, u.LostWhy, u.LostSigned = moment(e), b.Why, b.Signed
		}
	}
}

// handled keeps whose hands were on the unit. Who only saw that it is empty, stuck or
// gone had none on it.
func (u *Unit) handled(e entries.Entry) {
	if by := e.Body.Said().By; by != (journal.ID{}) && !slices.Contains(u.Hands, by) {
		u.Hands = append(u.Hands, by)
	}
}
