package actions

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

type visitClose struct {
	Visit     journal.ID        `json:"visit" doc:"the visit"`
	Signature entries.Signature `json:"signature" doc:"who vouches for what, in which words"`
	At        int64             `json:"at,omitempty" doc:"when, if not now; ms since 1970"`
}

type visitIsClosed struct {
	ID    journal.ID        `json:"id"`
	Trees []entries.Treated `json:"trees"` // what each was given
}

// closeVisit ends a visit. Nothing may be unaccounted for then: each unit was
// lifted, or recorded as lost with a reason and a name, and a count by hand says
// the same as the journal.
func closeVisit(d *desk, in visitClose) (visitIsClosed, error) {
	v, err := d.workable(in.Visit)
	if err != nil {
		return visitIsClosed{}, err
	}
	h, err := d.headIn(v, in.At)
	if err != nil {
		return visitIsClosed{}, err
	}
	if err := cmp.Or(d.noneOut(v), d.tallied(v), checkSignature(in.Signature)); err != nil {
		return visitIsClosed{}, err
	}
	trees, err := d.treated(v)
	if err != nil {
		return visitIsClosed{}, err
	}
	d.tellClocks(v)
	d.tellUntreated(v, trees)
	d.tellLost(v)
	id, err := d.write(entries.VisitClosed{Head: h, Visit: in.Visit, Trees: trees, Signature: in.Signature})
	return visitIsClosed{id, trees}, err
}

// noneOut refuses while a unit is out, and says on which trees.
func (d *desk) noneOut(v *views.Visit) error {
	n := 0
	var trees []string
	for _, u := range v.Units {
		if !u.Out() {
			continue
		}
		n++
		if tag := d.tag(u.Tree); !slices.Contains(trees, tag) {
			trees = append(trees, tag)
		}
	}
	if n == 0 {
		return nil
	}
	on := strings.Join(trees, ", ")
	return refuse(Conflict, "visit.unit_out", "visit",
		fmt.Sprintf("visit: units still out: %d, on trees: %s; lift them, or record them as lost", n, on), why.T("n", n), why.T("tags", on))
}

// tallied refuses without a count that is still true.
func (d *desk) tallied(v *views.Visit) error {
	if v.Tally == nil {
		return refuse(Conflict, "visit.tally_missing", "visit", "visit: the units were not counted; make the tally first, also when none were used")
	}
	if o, ok := miscount(v, v.Tally.Lots); ok {
		number := d.lotNumber(o.lot)
		return refuse(Conflict, "visit.tally_stale", "visit",
			fmt.Sprintf("visit: the last tally has %d %s of lot %s, the journal %d: count again", o.told, o.figure, number, o.have), o.terms(number)...)
	}
	return nil
}

func checkSignature(s entries.Signature) error {
	switch {
	case strings.TrimSpace(s.Name) == "":
		return refuse(BadInput, "visit.not_signed", "signature.name", "signature.name: empty; want the name of who vouches for it")
	case strings.TrimSpace(s.Meaning) == "":
		return refuse(BadInput, "visit.not_signed", "signature.meaning", "signature.meaning: empty; want what is vouched for, such as: done as recorded")
	}
	return nil
}

// treated works out what each tree was given, in the order of the jobs. A tree
// that was only bored is in it, with nothing given; one that was left alone is not.
func (d *desk) treated(v *views.Visit) ([]entries.Treated, error) {
	trees := []entries.Treated{}
	for _, job := range v.Facts.Jobs {
		t := entries.Treated{Tree: job.Tree}
		for _, b := range v.Holes {
			if b.Facts.Tree == job.Tree {
				t.Holes++
			}
		}
		for _, u := range v.Units {
			if u.Tree == job.Tree {
				addUnit(&t, u)
			}
		}
		if t.Units == 0 && t.Holes == 0 {
			continue
		}
		plan, err := d.planEntry(job.Plan, "visit")
		if err != nil {
			return nil, err
		}
		t.Label = plan.Label
		trees = append(trees, t)
	}
	return trees, d.allOnTrees(v, trees)
}

// tellClocks says on which trees a unit came back before it was seated, by the
// clocks. Units are counted, not clocks, so the visit closes all the same.
func (d *desk) tellClocks(v *views.Visit) {
	told := map[journal.ID]bool{}
	for _, u := range v.Units {
		if max(u.Lifted, u.Lost) < u.Seated && !told[u.Tree] {
			told[u.Tree] = true
			d.tell("visit.clocks", why.Warn, "visit", why.T("tag", d.tag(u.Tree)))
		}
	}
}

// allOnTrees refuses where a unit belongs to no tree of the visit: what was given
// would not add up. It comes of entries that do not fit together, never of deeds
// that were done here.
func (d *desk) allOnTrees(v *views.Visit, trees []entries.Treated) error {
	n := len(v.Units)
	for _, t := range trees {
		n -= t.Units
	}
	if n == 0 {
		return nil
	}
	return refuse(Conflict, "visit.unit_nowhere", "visit",
		fmt.Sprintf("visit: units in no tree of the visit: %d; amend their holes, or the trees of the visit", n), why.T("n", n))
}

// addUnit counts one unit in. The treatment ends with the last unit that came back
// or was given up.
func addUnit(t *entries.Treated, u views.Unit) {
	t.Units++
	t.Given += given(u)
	if t.Start == 0 || u.Seated < t.Start {
		t.Start = u.Seated
	}
	if u.Lifted != 0 {
		t.Lifted++
	} else {
		t.Lost++
	}
	t.End = max(t.End, u.Lifted, u.Lost, t.Start) // no clock makes it end before it began
}

// given is the liquid that is known to have left a unit: what it held less what
// was left when it was lifted. Of a lost unit counts what was last seen of it: all
// if it was seen empty, what had left if it was seen stuck, otherwise nothing. The
// doubt is told when the visit is closed, and the count of lost units stays beside
// the figure.
func given(u views.Unit) int64 {
	switch {
	case u.Lifted == 0 && u.Drained != 0:
		return u.Fill
	case u.Left != nil:
		return u.Fill - *u.Left
	}
	return 0
}

// tellUntreated notes the trees that were on the list and got nothing.
func (d *desk) tellUntreated(v *views.Visit, trees []entries.Treated) {
	for _, job := range v.Facts.Jobs {
		if !slices.ContainsFunc(trees, func(t entries.Treated) bool { return t.Tree == job.Tree && t.Units > 0 }) {
			d.tell("visit.tree_untreated", why.Note, "visit", why.T("tag", d.tag(job.Tree)))
		}
	}
}

// tellLost says how much more than is recorded the lost units may have given.
func (d *desk) tellLost(v *views.Visit) {
	var n int
	var more int64
	for _, u := range v.Units {
		if u.Lifted == 0 && u.Lost != 0 {
			n, more = n+1, more+u.Fill-given(u)
		}
	}
	if more > 0 {
		d.tell("visit.lost_unknown", why.Warn, "visit", why.T("n", n), why.T("volume", quantity.Volume(more)))
	}
}
