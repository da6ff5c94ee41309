package actions

import (
	"cmp"
	"fmt"
	"slices"

	"sapwell/engine/why"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

type visitTally struct {
	Visit journal.ID         `json:"visit" doc:"the visit"`
	Lots  []entries.TallyLot `json:"lots" doc:"for each lot: taken from the store, seated, lifted, lost, broken before, unused"`
	Note  string             `json:"note,omitempty" doc:"anything to remember"`
	At    int64              `json:"at,omitempty" doc:"when, if not now; ms since 1970"`
}

// tallyVisit keeps a count by hand. It is worth something only because it is not
// worked out from the journal: so it is held against it, and where the two differ
// nothing is written until somebody has looked again. While a unit is
// out there is nothing to count yet.
func tallyVisit(d *desk, in visitTally) (Made, error) {
	v, err := d.workable(in.Visit)
	if err != nil {
		return Made{}, err
	}
	h, err := d.headIn(v, in.At)
	if err != nil {
		return Made{}, err
	}
	for i, l := range in.Lots {
		if err := d.checkTallyLot(in.Lots[:i], l, fmt.Sprintf("lots[%d]", i)); err != nil {
			return Made{}, err
		}
	}
	if err := d.noneOut(v); err != nil {
		return Made{}, err
	}
	if err := d.lotsCounted(v, in.Lots); err != nil {
		return Made{}, err
	}
	if off, ok := miscount(v, in.Lots); ok {
		return Made{}, d.contradicts(off, in.Lots)
	}
	return d.made(entries.Tally{Head: h, Visit: in.Visit, Over: v.TallyBy, Lots: in.Lots, Note: in.Note})
}

// checkTallyLot looks at the count of one lot by itself.
func (d *desk) checkTallyLot(before []entries.TallyLot, l entries.TallyLot, field string) error {
	if _, err := d.lot(l.Lot, field+".lot"); err != nil {
		return err
	}
	number := d.lotNumber(l.Lot)
	if slices.ContainsFunc(before, func(o entries.TallyLot) bool { return o.Lot == l.Lot }) {
		return refuse(BadInput, "tally.lot_twice", field+".lot", fmt.Sprintf("%s.lot: %s is given twice", field, number), why.T("lot", number))
	}
	if n := l.Seated + l.Broken + l.Unused; l.Taken != n {
		return refuse(Conflict, "tally.not_even", field+".taken",
			fmt.Sprintf("%s.taken: %d of lot %s, but %d seated, %d broken and %d unused make %d: count again", field, l.Taken, number, l.Seated, l.Broken, l.Unused, n),
			why.T("lot", number), why.T("count", l.Taken), why.T("have", n))
	}
	return nil
}

// lotsCounted refuses a count that leaves out a lot of an earlier one: the lot
// would keep what it was counted at then. With zeros it is counted at none.
func (d *desk) lotsCounted(v *views.Visit, told []entries.TallyLot) error {
	for _, lot := range v.CountedLots() {
		if !slices.ContainsFunc(told, func(l entries.TallyLot) bool { return l.Lot == lot }) {
			return d.lotMissing(lot)
		}
	}
	return nil
}

func (d *desk) lotMissing(lot journal.ID) error {
	number := d.lotNumber(lot)
	return refuse(Conflict, "tally.lot_missing", "lots",
		fmt.Sprintf("lots: lot %s is not counted; it was seated from or counted before in this visit: want it too, if only with zeros", number),
		why.T("lot", number))
}

// off is a figure of a count that is not what the journal says.
type off struct {
	lot    journal.ID
	figure string // seated, lifted, lost
	told   int
	have   int
}

// lotCounts are the units of a visit by lot, in the order of the lots' ids.
func lotCounts(v *views.Visit) []entries.TallyLot {
	var counts []entries.TallyLot
	for _, u := range v.Units {
		if u.Seated == 0 { // the entry that says from which lot is not here
			continue
		}
		i, ok := slices.BinarySearchFunc(counts, u.Lot, func(l entries.TallyLot, id journal.ID) int { return cmp.Compare(l.Lot.String(), id.String()) })
		if !ok {
			counts = slices.Insert(counts, i, entries.TallyLot{Lot: u.Lot})
		}
		c := &counts[i]
		c.Seated++
		if u.Lifted != 0 {
			c.Lifted++
		} else if u.Lost != 0 {
			c.Lost++
		}
	}
	return counts
}

// miscount finds the first figure in which a count and the journal differ. A lot
// that is not counted counts as none.
func miscount(v *views.Visit, told []entries.TallyLot) (off, bool) {
	have := lotCounts(v)
	for _, l := range told {
		if !slices.ContainsFunc(have, func(h entries.TallyLot) bool { return h.Lot == l.Lot }) {
			have = append(have, entries.TallyLot{Lot: l.Lot})
		}
	}
	for _, h := range have {
		var t entries.TallyLot
		if i := slices.IndexFunc(told, func(l entries.TallyLot) bool { return l.Lot == h.Lot }); i >= 0 {
			t = told[i]
		}
		for _, o := range []off{{h.Lot, "seated", t.Seated, h.Seated}, {h.Lot, "lifted", t.Lifted, h.Lifted}, {h.Lot, "lost", t.Lost, h.Lost}} {
			if o.told != o.have {
				return o, true
			}
		}
	}
	return off{}, false
}

// contradicts refuses a count that the journal does not bear out.
func (d *desk) contradicts(o off, told []entries.TallyLot) error {
	i := slices.IndexFunc(told, func(l entries.TallyLot) bool { return l.Lot == o.lot })
	if i < 0 {
		return d.lotMissing(o.lot)
	}
	number := d.lotNumber(o.lot)
	field := fmt.Sprintf("lots[%d].%s", i, o.figure)
	return refuse(Conflict, "tally.contradicts", field,
		fmt.Sprintf("%s: %d of lot %s, but the journal says %d: look again, or note what is not noted yet", field, o.told, number, o.have),
		o.terms(number)...)
}

func (o off) terms(number string) []why.Term {
	return []why.Term{why.T("lot", number), why.T("figure", o.figure), why.T("count", o.told), why.T("have", o.have)}
}
