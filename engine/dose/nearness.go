package dose

import (
	"sort"

	"sapwell/engine/label"
	"sapwell/engine/quantity"
)

// nearness tries the reading's doubt, and looks for the nearest girths at which
// the dose changes. It is told, not judged: a reading on an edge is no fault.
func nearness(in Input, around quantity.Length) Nearness {
	n := Nearness{Tape: in.Tape}
	if n.Tape <= 0 {
		n.Tape = halfInch
	}
	n.UnitsLow = unitsAt(in, around-n.Tape)
	n.UnitsHigh = unitsAt(in, around+n.Tape)
	n.ToFewer, n.ToMore = changes(in, around)
	return n
}

func unitsAt(in Input, around quantity.Length) int {
	if around <= 0 {
		return 0
	}
	return apply(in.Label, in.Size, around).units
}

// changes searches by halving, which is right where the dose never falls as
// girth grows. It may fall where a dose per diameter is spread over holes by
// spacing: there no distances are given.
func changes(in Input, around quantity.Length) (fewer, more quantity.Length) {
	rate := in.Label.Rate
	if rate.Kind == label.DosePerDia && rate.Spacing > 0 {
		return 0, 0
	}
	p := pulse{l: in.Label, size: in.Size, totals: map[quantity.Volume]int64{}}
	here := p.at(around)
	fewer = least(around-1, func(x quantity.Length) bool { return p.at(around-x) != here })
	more = least(maxGirth-around, func(x quantity.Length) bool { return p.at(around+x) != here })
	return fewer, more
}

// pulse tells cheaply whether two girths get the same dose: a search asks
// seventy times, and needs no reasons.
type pulse struct {
	l      label.Label
	size   quantity.Volume
	totals map[quantity.Volume]int64 // of a stated dose, for it takes longest
}

// at is the same number for girths of the same dose; -1 where there is none.
func (p pulse) at(around quantity.Length) int64 {
	j, rate := job{p.l, p.size, around}, p.l.Rate
	if belowMin(p.l, around) != nil {
		return -1
	}
	switch rate.Kind {
	case label.BySpacing, label.FixedPerHole:
		return count(around, rate.Spacing, rate.Rounding)
	case label.ByDiameter:
		return count(j.diameter(), rate.PerUnit, rate.Rounding)
	case label.ByClass:
		row, fs := j.row()
		if fs != nil {
			return -1
		}
		return int64(row.From)
	}
	stated, _, _ := j.stated()
	if total, known := p.totals[stated]; known {
		return total
	}
	total := int64(j.perDiameter().total())
	p.totals[stated] = total
	return total
}

// least returns the least x of 1..limit at which changed holds, or 0. changed
// must stay true once it is.
func least(limit quantity.Length, changed func(quantity.Length) bool) quantity.Length {
	if limit < 1 {
		return 0
	}
	x := sort.Search(int(limit), func(i int) bool { return changed(quantity.Length(i + 1)) })
	if x == int(limit) {
		return 0
	}
	return quantity.Length(x + 1)
}
