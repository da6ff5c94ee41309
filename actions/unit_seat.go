package actions

import (
	"cmp"
	"fmt"

	"sapwell/engine/quantity"
	"sapwell/engine/stock"
	"sapwell/engine/why"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

type unitSeat struct {
	Visit journal.ID      `json:"visit" doc:"the visit"`
	Hole  journal.ID      `json:"hole" doc:"the hole it is set into"`
	Lot   journal.ID      `json:"lot" doc:"the lot it is from"`
	Fill  quantity.Volume `json:"fill,omitempty" doc:"liquid in it; left out: that of the plan, which must be the lot's"`
	At    int64           `json:"at,omitempty" doc:"when, if not now; ms since 1970"`
}

// seatUnit notes a unit set into a hole.
func seatUnit(d *desk, in unitSeat) (Made, error) {
	v, err := d.workable(in.Visit)
	if err != nil {
		return Made{}, err
	}
	hole, ok := holeOf(v, in.Hole)
	if !ok {
		return Made{}, refuse(NotFound, "hole.unknown", "hole", fmt.Sprintf("hole: there is no hole %s in this visit", in.Hole))
	}
	h, err := d.headIn(v, in.At)
	if err != nil {
		return Made{}, err
	}
	plan, err := d.planOfTree(v, hole.Tree, "hole")
	if err != nil {
		return Made{}, err
	}
	stem, err := d.stemOf(plan, hole.Stem)
	if err != nil {
		return Made{}, err
	}
	again, err := d.holeFree(v, in.Hole, hole, "hole")
	if err != nil {
		return Made{}, err
	}
	fill, err := d.fitLot(v, plan, stem, in.Lot, in.Fill)
	if err != nil {
		return Made{}, err
	}
	d.tellDose(v, hole.Tree, stem, fill)
	return d.made(entries.UnitSeated{Head: h, Visit: in.Visit, Hole: in.Hole, Lot: in.Lot, Fill: fill, Again: again})
}

// holeFree refuses a hole with a unit in it. One whose unit was taken back may
// have another, and that is told: it is a second dose by the same way. The last one
// that was in it is returned.
func (d *desk) holeFree(v *views.Visit, id journal.ID, hole entries.Hole, field string) (again journal.ID, err error) {
	for _, u := range v.Units {
		if u.Hole == id && u.Out() {
			return again, refuse(Conflict, "hole.has_unit", field,
				fmt.Sprintf("%s: there is a unit in it; lift it or record it as lost first", field),
				why.T("tag", d.tag(hole.Tree)), why.T("mark", hole.Mark))
		}
	}
	if last := v.LastIn(id); last != nil {
		again = last.ID
		d.tell("hole.had_unit", why.Warn, field, why.T("tag", d.tag(hole.Tree)), why.T("mark", hole.Mark))
	}
	return again, nil
}

// fitLot refuses a lot that must not go into the tree, and works out how much
// liquid is in each of its units.
func (d *desk) fitLot(v *views.Visit, plan entries.Plan, stem entries.PlanStem, id journal.ID, fill quantity.Volume) (int64, error) {
	lot, err := d.lot(id, "lot")
	if err != nil {
		return 0, err
	}
	l, err := d.label(plan.Label, "lot")
	if err != nil {
		return 0, err
	}
	f := lot.Facts
	if f.Label != l.Facts.Name {
		return 0, refuse(Conflict, "unit.other_label", "lot",
			fmt.Sprintf("lot: %s is of the label %s, the plan of tree %s is by %s", f.Number, f.Label, d.tag(plan.Tree), l.Facts.Name),
			why.T("lot", f.Number), why.T("label", f.Label), why.T("tag", d.tag(plan.Tree)), why.T("other", l.Facts.Name))
	}
	if err := d.goodLot(f, l, v.Facts.Day); err != nil {
		return 0, err
	}
	return d.fill(f, stem, int64(fill))
}

// goodLot refuses a lot that stock.Check blocks, in its words and with its code.
func (d *desk) goodLot(f entries.Lot, version *views.Label, day entries.Date) error {
	l, err := d.labelOf(version)
	if err != nil {
		return err
	}
	lot := stock.Lot{ID: f.Number, Label: f.Label, Size: quantity.Volume(f.Size), Expires: f.Expires,
		Coldest: kelvin(f.Coldest), Warmest: kelvin(f.Warmest)}
	for _, found := range stock.Check(lot, l.Storage, day) {
		switch {
		case found.Severity != why.Block:
			d.note(found)
		case found.Code == "lot.expired":
			return refuse(Conflict, "lot.expired", "lot",
				fmt.Sprintf("lot: %s was good until %s, the visit is on %s", f.Number, f.Expires, day), found.Terms...)
		default:
			return refuse(Conflict, "lot.storage_out_of_range", "lot",
				fmt.Sprintf("lot: %s was stored colder or warmer than the label says", f.Number), found.Terms...)
		}
	}
	return nil
}

func kelvin(mk *int64) *quantity.Temperature {
	if mk == nil {
		return nil
	}
	t := quantity.Temperature(float64(*mk) / 1000)
	return &t
}

// fill is the liquid in a unit: a sealed unit holds what its lot says. Where the
// plan wants another amount nobody decides but the person, by saying it.
func (d *desk) fill(f entries.Lot, stem entries.PlanStem, given int64) (int64, error) {
	fill := cmp.Or(given, stem.PerUnit, f.Size)
	size, planned := quantity.Volume(f.Size), quantity.Volume(stem.PerUnit)
	switch {
	case given > f.Size:
		return 0, refuse(BadInput, "unit.over_size", "fill",
			fmt.Sprintf("fill: %v mL: a unit of lot %s holds %v mL", quantity.Volume(fill).Millilitres(), f.Number, size.Millilitres()), why.T("lot", f.Number), why.T("size", size))
	case given == 0 && fill != f.Size:
		return 0, refuse(Conflict, "unit.other_size", "lot",
			fmt.Sprintf("lot: a unit of %s holds %v mL, the plan has %v mL; say fill to seat it all the same", f.Number, size.Millilitres(), planned.Millilitres()),
			why.T("lot", f.Number), why.T("size", size), why.T("planned", planned))
	case stem.PerUnit != 0 && fill != stem.PerUnit:
		d.tell("unit.other_fill", why.Warn, "fill", why.T("value", quantity.Volume(fill)), why.T("planned", planned))
	}
	return fill, nil
}

// tellDose warns where the units of a stem come to more than was planned. What is
// known to have been lifted unspent does not count. The plan stays within the
// label, more may not.
func (d *desk) tellDose(v *views.Visit, tree journal.ID, stem entries.PlanStem, more int64) {
	total := more
	for _, u := range v.Units {
		if hole, ok := holeOf(v, u.Hole); !ok || hole.Tree != tree || hole.Stem != stem.Name {
			continue
		}
		total += u.Fill
		if u.Lifted != 0 && u.Left != nil {
			total -= *u.Left
		}
	}
	if total > stem.Total {
		d.tell("unit.over_plan", why.Warn, "lot", why.T("tag", d.tag(tree)),
			why.T("volume", quantity.Volume(total)), why.T("planned", quantity.Volume(stem.Total)))
	}
}
