package actions

import (
	"fmt"
	"slices"
	"strings"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

type bagSeal struct {
	Visits    []journal.ID     `json:"visits" doc:"the visits the units are from"`
	Mark      string           `json:"mark" doc:"what stands on the bag"`
	Units     int              `json:"units" doc:"how many are in it"`
	LeftLow   *quantity.Volume `json:"left_low,omitempty" doc:"liquid left in all of them, at least; left out: by what was noted"`
	LeftHigh  *quantity.Volume `json:"left_high,omitempty" doc:"the same, at most"`
	Hazardous string           `json:"hazardous,omitempty" enum:"yes,no" doc:"left out: not determined"`
	Code      string           `json:"code,omitempty" doc:"waste code, where one was determined"`
	At        int64            `json:"at,omitempty" doc:"when, if not now; ms since 1970"`
}

// sealBag closes a bag of lifted units. It can hold no more than were lifted and
// are not in another bag.
func sealBag(d *desk, in bagSeal) (Made, error) {
	h, err := d.head(in.At)
	if err != nil {
		return Made{}, err
	}
	if in.Units < 1 {
		return Made{}, refuse(BadInput, "bag.no_unit", "units", fmt.Sprintf("units: %d; want at least 1", in.Units))
	}
	visits, err := d.bagVisits(in.Visits)
	if err != nil {
		return Made{}, err
	}
	if err := d.enoughLifted(visits, in.Units); err != nil {
		return Made{}, err
	}
	if err := d.tellMark(in.Mark); err != nil {
		return Made{}, err
	}
	low, high := leftIn(visits, in.Units)
	set(&low, (*int64)(in.LeftLow))
	set(&high, (*int64)(in.LeftHigh))
	if high < low {
		lowest, highest := quantity.Volume(low), quantity.Volume(high)
		return Made{}, refuse(BadInput, "bag.left_range", "left_low",
			fmt.Sprintf("left_low: %v mL, with left_high: %v mL; want no more than left_high", lowest.Millilitres(), highest.Millilitres()),
			why.T("low", lowest), why.T("high", highest))
	}
	return d.made(entries.BagSealed{
		Head: h, Visits: in.Visits, Mark: in.Mark, Units: in.Units,
		LeftLow: low, LeftHigh: high, Hazardous: in.Hazardous, Code: in.Code,
	})
}

// bagVisits are the visits that are named, each once.
func (d *desk) bagVisits(ids []journal.ID) ([]*views.Visit, error) {
	if len(ids) == 0 {
		return nil, refuse(BadInput, "bag.no_visit", "visits", "visits: none; want the visits the units are from")
	}
	var visits []*views.Visit
	for i, id := range ids {
		field := fmt.Sprintf("visits[%d]", i)
		if slices.Contains(ids[:i], id) {
			return nil, refuse(BadInput, "bag.visit_twice", field, field+": given twice")
		}
		v, err := d.visit(id, field)
		if err != nil {
			return nil, err
		}
		visits = append(visits, v)
	}
	return visits, nil
}

// enoughLifted refuses more units than can be in the bag. Bags may be filled from
// several visits, and nobody says how many from which: so all visits are taken
// together that share bags with those named, and all bags filled from them.
func (d *desk) enoughLifted(visits []*views.Visit, units int) error {
	lifted := 0
	for _, v := range visits {
		lifted += countLifted(v)
	}
	free, bagged, err := d.freeLifted(visits)
	if err != nil || units <= min(lifted, free) {
		return err
	}
	return refuse(Conflict, "bag.too_many", "units",
		fmt.Sprintf("units: %d; the visits have %d lifted and %d in bags already: want at most %d", units, lifted, bagged, max(0, min(lifted, free))),
		why.T("count", units), why.T("lifted", lifted), why.T("bagged", bagged), why.T("most", max(0, min(lifted, free))))
}

// freeLifted counts what was lifted and bagged in all visits that hang together
// by their bags.
func (d *desk) freeLifted(visits []*views.Visit) (free, bagged int, err error) {
	seen := map[string]bool{}
	for todo := slices.Clone(visits); len(todo) > 0; {
		v := todo[0]
		todo = todo[1:]
		if seen[v.ID] {
			continue
		}
		seen[v.ID] = true
		free += countLifted(v)
		for _, id := range v.Bags {
			if seen[id.String()] {
				continue
			}
			seen[id.String()] = true
			bag, err := d.bag(id, "visits")
			if err != nil {
				return 0, 0, err
			}
			bagged += bag.Facts.Units
			for _, other := range bag.Facts.Visits {
				o, err := d.visit(other, "visits")
				if err != nil {
					return 0, 0, err
				}
				todo = append(todo, o)
			}
		}
	}
	return free - bagged, bagged, nil
}

func countLifted(v *views.Visit) (n int) {
	for _, u := range v.Units {
		if u.Lifted != 0 {
			n++
		}
	}
	return n
}

// leftIn is the least and the most that so many of the lifted units can hold:
// which of them are in the bag nobody notes.
func leftIn(visits []*views.Visit, units int) (low, high int64) {
	var left []int64
	for _, v := range visits {
		for _, u := range v.Units {
			if u.Lifted != 0 && u.Left != nil {
				left = append(left, *u.Left)
			}
		}
	}
	slices.Sort(left)
	for i := range min(units, len(left)) {
		low += left[i]
		high += left[len(left)-1-i]
	}
	return low, high
}

// tellMark asks about a mark that stands on another bag that is still here.
func (d *desk) tellMark(mark string) error {
	return each(d, entries.OfBag, "sealed|", "sealed}", func(b *views.Bag) error {
		if b.Facts.Mark == mark {
			d.tell("bag.mark_again", why.Ask, "mark", why.T("value", mark))
		}
		return nil
	})
}

type bagHand struct {
	Bag   journal.ID `json:"bag" doc:"the bag"`
	To    string     `json:"to" doc:"who took it"`
	Proof string     `json:"proof,omitempty" doc:"number of the receipt or transfer note"`
	At    int64      `json:"at,omitempty" doc:"when, if not now; ms since 1970"`
}

// handBag notes a bag given away.
func handBag(d *desk, in bagHand) (Made, error) {
	h, err := d.head(in.At)
	if err != nil {
		return Made{}, err
	}
	bag, err := d.bag(in.Bag, "bag")
	if err != nil {
		return Made{}, err
	}
	if bag.Handed != nil {
		return Made{}, refuse(Conflict, "bag.handed_already", "bag",
			fmt.Sprintf("bag: %s was handed to %s already", bag.Facts.Mark, bag.Handed.To), why.T("value", bag.Facts.Mark), why.T("name", bag.Handed.To))
	}
	if strings.TrimSpace(in.To) == "" {
		return Made{}, refuse(BadInput, "bag.nobody", "to", "to: empty; want who took it")
	}
	if in.Proof == "" {
		d.tell("bag.no_proof", why.Ask, "proof", why.T("value", bag.Facts.Mark))
	}
	return d.made(entries.BagHanded{Head: h, Bag: in.Bag, To: in.To, Proof: in.Proof})
}
