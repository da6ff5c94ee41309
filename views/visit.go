package views

import (
	"slices"

	"sapwell/entries"
	"sapwell/journal"
)

// Key is the status, "|", the day, "|", the id.
func (v *Visit) Key() string { return v.status() + "|" + v.Facts.Day.String() + "|" + v.ID }

func (v *Visit) status() string {
	switch {
	case v.Retired != nil:
		return "retired"
	case v.Closed != nil:
		return "closed"
	}
	return "open"
}

func (v *Visit) take(e entries.Entry) {
	switch b := e.Body.(type) {
	case entries.VisitOpened:
		v.Facts, v.Opened = b, moment(e)
	case entries.Hole:
		v.hole(e, b)
	case entries.UnitSeated:
		v.seat(e, b)
	case entries.Tally:
		v.tally(e, b)
	case entries.VisitClosed:
		v.closed(e, b)
	case entries.BagSealed:
		if !slices.Contains(v.Bags, e.ID) {
			v.Bags = append(v.Bags, e.ID)
		}
	case entries.Retired:
		if v.Closed == nil {
			v.flag("visit.retired_open", e)
		}
		v.Retired = &b
	default:
		v.act(e)
	}
}

// moment is when it happened; never 0, which means that it did not.
func moment(e entries.Entry) int64 { return max(1, e.When()) }

// holeAt finds a hole, or where to put it.
func (v *Visit) holeAt(id journal.ID) (int, bool) {
	return slices.BinarySearchFunc(v.Holes, id, func(h Bored, id journal.ID) int { return compareIDs(h.ID, id) })
}

// LastAt is the hole bored last at a mark of the plan, or nil: a second one there
// names it as Again.
func (v *Visit) LastAt(tree journal.ID, stem string, mark int) (last *Bored) {
	for i := range v.Holes {
		b := &v.Holes[i]
		same := b.Facts.Mark == mark && b.Facts.Tree == tree && b.Facts.Stem == stem
		if mark > 0 && same && (last == nil || b.At >= last.At) {
			last = b
		}
	}
	return last
}

func (v *Visit) hole(e entries.Entry, h entries.Hole) {
	if v.Closed != nil {
		v.flag("hole.after_close", e)
	}
	if !slices.ContainsFunc(v.Facts.Jobs, func(j entries.Job) bool { return j.Tree == h.Tree }) {
		v.flag("hole.off_jobs", e)
	}
	if last := v.LastAt(h.Tree, h.Stem, h.Mark); last != nil && last.ID != h.Again {
		v.flag("hole.mark_twice", e)
	}
	n := Bored{ID: e.ID, At: moment(e), Facts: h}
	i, there := v.holeAt(e.ID)
	if there {
		v.flag("hole.same_id", e)
		v.Holes[i] = n
	} else {
		v.Holes = slices.Insert(v.Holes, i, n)
	}
	for i := range v.Units { // seated before the hole was bored, by the clocks
		if v.Units[i].Hole == e.ID {
			v.Units[i].Tree = h.Tree
		}
	}
}

// tally is held against what is known of the units by now.
func (v *Visit) tally(e entries.Entry, t entries.Tally) {
	if v.Closed != nil {
		v.flag("tally.after_close", e)
	}
	if v.Tally != nil && t.Over != v.TallyBy {
		v.flag("tally.again", e)
	}
	if !slices.ContainsFunc(t.Lots, sumsWrong) {
		if !v.agrees(t) {
			v.flag("tally.units", e)
		}
	} else {
		v.flag("tally.sum", e)
	}
	v.LeftOut = lotsLeftOut(v.CountedLots(), t)
	v.Tally, v.TallyBy = &t, e.ID
}

// CountedLots are those of all tallies so far. A tally replaces the one before it,
// but the view of a lot hears only of tallies that name it: so each has to name
// them all.
func (v *Visit) CountedLots() []journal.ID {
	lots := slices.Clone(v.LeftOut)
	if v.Tally != nil {
		for _, l := range v.Tally.Lots {
			lots = append(lots, l.Lot)
		}
	}
	return lots
}

func lotsLeftOut(lots []journal.ID, t entries.Tally) []journal.ID {
	named := func(id journal.ID) bool {
		return slices.ContainsFunc(t.Lots, func(l entries.TallyLot) bool { return l.Lot == id })
	}
	left := slices.DeleteFunc(lots, named)
	if len(left) == 0 {
		return nil
	}
	return left
}

// sumsWrong: what was taken was seated, broken or brought back; what was seated
// was lifted or lost (common practice, no source).
func sumsWrong(l entries.TallyLot) bool {
	return l.Taken != l.Seated+l.Broken+l.Unused || l.Seated != l.Lifted+l.Lost
}

// agrees tells whether the tally says of every lot what its units say.
func (v *Visit) agrees(t entries.Tally) bool {
	seated := 0
	for _, l := range t.Lots {
		said := counts{seated: l.Seated, lifted: l.Lifted, lost: l.Lost}
		if said != count(v.Units, func(u Unit) bool { return u.Lot == l.Lot }) {
			return false
		}
		seated += l.Seated
	}
	return seated == count(v.Units, anyUnit).seated // no unit of another lot
}

// closed is held against what is known of the units by now.
func (v *Visit) closed(e entries.Entry, c entries.VisitClosed) {
	if v.Closed != nil {
		v.flag("visit.closed_twice", e)
	}
	if slices.ContainsFunc(v.Units, Unit.Out) {
		v.flag("visit.units_out", e)
	}
	if v.Tally == nil {
		v.flag("visit.no_tally", e)
	}
	if !v.sumsUp(c.Trees) {
		v.flag("visit.sums", e)
	}
	v.Closed, v.ClosedAt = &c, moment(e)
}

// sumsUp tells whether each tree was given what its holes and units say.
func (v *Visit) sumsUp(trees []entries.Treated) bool {
	holes, units := 0, 0
	for _, t := range trees {
		if said(trees, t.Tree) != v.seen(t.Tree) {
			return false
		}
		holes, units = holes+t.Holes, units+t.Units
	}
	return holes == len(v.Holes) && units == count(v.Units, anyUnit).seated // nothing on another tree
}

// said is what one tree was given, all labels together.
func said(trees []entries.Treated, tree journal.ID) (n counts) {
	for _, t := range trees {
		if t.Tree == tree {
			n.holes, n.seated, n.lifted, n.lost = n.holes+t.Holes, n.seated+t.Units, n.lifted+t.Lifted, n.lost+t.Lost
		}
	}
	return n
}

func (v *Visit) seen(tree journal.ID) counts {
	n := count(v.Units, func(u Unit) bool { return u.Tree == tree })
	for _, h := range v.Holes {
		if h.Facts.Tree == tree {
			n.holes++
		}
	}
	return n
}
