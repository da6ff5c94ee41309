package actions

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

// What becomes of units after they were seated. Each deed takes one unit or a
// list, so that a whole tree is done by one press; all of the list or none of it.

type unitPressurise struct {
	Visit journal.ID        `json:"visit" doc:"the visit"`
	Unit  journal.ID        `json:"unit,omitzero" doc:"the unit"`
	Units []journal.ID      `json:"units,omitempty" doc:"or several"`
	Gauge quantity.Pressure `json:"gauge,omitempty" doc:"pressure over the air, where it was read"`
	At    int64             `json:"at,omitempty" doc:"when, if not now; ms since 1970"`
}

type unitDrain struct {
	Visit journal.ID   `json:"visit" doc:"the visit"`
	Unit  journal.ID   `json:"unit,omitzero" doc:"the unit"`
	Units []journal.ID `json:"units,omitempty" doc:"or several"`
	At    int64        `json:"at,omitempty" doc:"when it was seen empty, if not now; ms since 1970"`
}

type unitStick struct {
	Visit journal.ID      `json:"visit" doc:"the visit"`
	Unit  journal.ID      `json:"unit,omitzero" doc:"the unit"`
	Units []journal.ID    `json:"units,omitempty" doc:"or several"`
	Left  quantity.Volume `json:"left" doc:"liquid left in each"`
	Why   string          `json:"why,omitempty" doc:"such as: sap in the hole, bark split, no pressure"`
	At    int64           `json:"at,omitempty" doc:"when, if not now; ms since 1970"`
}

type unitLift struct {
	Visit journal.ID       `json:"visit" doc:"the visit"`
	Unit  journal.ID       `json:"unit,omitzero" doc:"the unit"`
	Units []journal.ID     `json:"units,omitempty" doc:"or several"`
	Left  *quantity.Volume `json:"left,omitempty" doc:"liquid left in each; may be left out of units that were seen empty"`
	At    int64            `json:"at,omitempty" doc:"when, if not now; ms since 1970"`
}

type unitLose struct {
	Visit  journal.ID   `json:"visit" doc:"the visit"`
	Unit   journal.ID   `json:"unit,omitzero" doc:"the unit"`
	Units  []journal.ID `json:"units,omitempty" doc:"or several"`
	Why    string       `json:"why" doc:"what became of it, as far as is known"`
	Signed string       `json:"signed" doc:"name of who answers for it"`
	At     int64        `json:"at,omitempty" doc:"when it was missed, if not now; ms since 1970"`
}

// wrote is the result of a deed that writes one entry for each unit.
type wrote struct {
	Entries []journal.ID `json:"entries"`
}

func pressuriseUnits(d *desk, in unitPressurise) (wrote, error) {
	return d.forUnits(in.Visit, in.Unit, in.Units, in.At, func(u picked, h entries.Head) (entries.Body, error) {
		return entries.UnitPressurised{Head: h, Visit: in.Visit, Unit: u.ID, Gauge: int64(math.Round(float64(in.Gauge)))}, d.notLost(u)
	})
}

func drainUnits(d *desk, in unitDrain) (wrote, error) {
	return d.forUnits(in.Visit, in.Unit, in.Units, in.At, func(u picked, h entries.Head) (entries.Body, error) {
		return entries.UnitDrained{Head: h, Visit: in.Visit, Unit: u.ID}, cmp.Or(d.notLost(u), d.notDrained(u))
	})
}

func stickUnits(d *desk, in unitStick) (wrote, error) {
	return d.forUnits(in.Visit, in.Unit, in.Units, in.At, func(u picked, h entries.Head) (entries.Body, error) {
		b := entries.UnitStuck{Head: h, Visit: in.Visit, Unit: u.ID, Left: int64(in.Left), Why: in.Why}
		return b, cmp.Or(d.notLost(u), d.notDrained(u), d.leftFits(u, b.Left))
	})
}

// liftUnits takes units back. A unit that was seen empty has nothing left unless
// the input says otherwise; of any other somebody must look and say.
//
// One that was given up for lost and is found is lifted too.
func liftUnits(d *desk, in unitLift) (wrote, error) {
	return d.forUnits(in.Visit, in.Unit, in.Units, in.At, func(u picked, h entries.Head) (entries.Body, error) {
		if u.Lost != 0 {
			d.tell("unit.was_lost", why.Note, u.field, why.T("mark", u.mark), why.T("tag", d.tag(u.Tree)))
		}
		b := entries.UnitLifted{Head: h, Visit: in.Visit, Unit: u.ID}
		switch {
		case in.Left != nil:
			b.Left = int64(*in.Left)
		case u.Drained == 0:
			return nil, d.refuseUnit(BadInput, "unit.left_missing", "left", u, "was not seen empty: say how much is left in it")
		}
		return b, d.leftFits(u, b.Left)
	})
}

func loseUnits(d *desk, in unitLose) (wrote, error) {
	if strings.TrimSpace(in.Why) == "" {
		return wrote{}, refuse(BadInput, "unit.no_reason", "why", "why: empty; say what became of the unit, as far as is known")
	}
	if strings.TrimSpace(in.Signed) == "" {
		return wrote{}, refuse(BadInput, "unit.not_signed", "signed", "signed: empty; want the name of who answers for it")
	}
	return d.forUnits(in.Visit, in.Unit, in.Units, in.At, func(u picked, h entries.Head) (entries.Body, error) {
		return entries.UnitLost{Head: h, Visit: in.Visit, Unit: u.ID, Why: in.Why, Signed: in.Signed}, d.notLost(u)
	})
}

// picked is a unit that the input names, and where.
type picked struct {
	views.Unit
	field string
	mark  int
}

// refuseUnit says of a unit, by tree and mark, why a deed was not done.
func (d *desk) refuseUnit(kind RefusalKind, code, field string, u picked, says string, terms ...why.Term) *Refusal {
	tag := d.tag(u.Tree)
	return refuse(kind, code, field, fmt.Sprintf("%s: the unit at mark %d of tree %s %s", field, u.mark, tag, says),
		append([]why.Term{why.T("mark", u.mark), why.T("tag", tag)}, terms...)...)
}

// forUnits writes one entry for each of the units that the input names.
func (d *desk) forUnits(visit, one journal.ID, many []journal.ID, at int64, say func(picked, entries.Head) (entries.Body, error)) (wrote, error) {
	v, err := d.workable(visit)
	if err != nil {
		return wrote{}, err
	}
	units, err := d.pick(v, one, many)
	if err != nil {
		return wrote{}, err
	}
	h, err := d.headIn(v, at)
	if err != nil {
		return wrote{}, err
	}
	done := wrote{Entries: []journal.ID{}}
	for _, u := range units {
		if at != 0 && at < u.Seated {
			return wrote{}, d.refuseUnit(BadInput, "unit.before_seated", "at", u,
				fmt.Sprintf("was seated at %s; want a moment from then on", d.minute(u.Seated)), why.T("moment", d.minute(u.Seated)))
		}
		b, err := say(u, h)
		if err != nil {
			return wrote{}, err
		}
		id, err := d.write(b)
		if err != nil {
			return wrote{}, err
		}
		done.Entries = append(done.Entries, id)
	}
	return done, nil
}

// pick finds the units that are named; none may have been lifted.
func (d *desk) pick(v *views.Visit, one journal.ID, many []journal.ID) ([]picked, error) {
	var units []picked
	if one != (journal.ID{}) {
		u, err := d.pickOne(v, one, "unit")
		if err != nil {
			return nil, err
		}
		units = append(units, u)
	}
	for i, id := range many {
		u, err := d.pickOne(v, id, fmt.Sprintf("units[%d]", i))
		if err != nil {
			return nil, err
		}
		if slices.ContainsFunc(units, func(p picked) bool { return p.ID == id }) {
			return nil, d.refuseUnit(BadInput, "unit.twice", u.field, u, "is given twice")
		}
		units = append(units, u)
	}
	if len(units) == 0 {
		return nil, refuse(BadInput, "unit.none", "unit", "unit: missing; want a unit, or units")
	}
	return units, nil
}

func (d *desk) pickOne(v *views.Visit, id journal.ID, field string) (picked, error) {
	i := slices.IndexFunc(v.Units, func(u views.Unit) bool { return u.ID == id })
	if i < 0 {
		return picked{}, refuse(NotFound, "unit.unknown", field, fmt.Sprintf("%s: there is no unit %s in this visit", field, id))
	}
	hole, _ := holeOf(v, v.Units[i].Hole)
	u := picked{v.Units[i], field, hole.Mark}
	if u.Lifted != 0 {
		return u, d.refuseUnit(Conflict, "unit.is_lifted", field, u, "was lifted already")
	}
	return u, nil
}

// notLost refuses what cannot be seen on a unit that is gone.
func (d *desk) notLost(u picked) error {
	if u.Lost == 0 {
		return nil
	}
	return d.refuseUnit(Conflict, "unit.is_lost", u.field, u, "was recorded as lost; if it was found, lift it")
}

// notDrained refuses what cannot be said of a unit that was seen empty.
func (d *desk) notDrained(u picked) error {
	if u.Drained == 0 {
		return nil
	}
	return d.refuseUnit(Conflict, "unit.is_drained", u.field, u, "was seen empty at "+d.minute(u.Drained), why.T("moment", d.minute(u.Drained)))
}

// leftFits refuses more liquid in a unit than was ever in it.
func (d *desk) leftFits(u picked, left int64) error {
	full := quantity.Volume(u.Fill)
	if left <= u.Fill {
		return nil
	}
	return d.refuseUnit(BadInput, "unit.left_range", "left", u, fmt.Sprintf("held %v mL; %v mL cannot be left in it", full.Millilitres(), quantity.Volume(left).Millilitres()),
		why.T("left", quantity.Volume(left)), why.T("most", full))
}
