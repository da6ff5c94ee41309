package dose

import (
	"sort"

	"sapwell/engine/label"
	"sapwell/engine/quantity"
)

// nearness tries the reading's doubt, and looks for the nearest girths at which
// the dose changes. It is told, not judged: a reading on an edge is no fault.
func nearness(in Input, around quantity.Length, at plan) Nearness {
	n := Nearness{Tape: in.Tape}
	if n.Tape <= 0 {
		n.Tape = halfInch
	}
	n.UnitsLow = unitsAt(in, around-n.Tape)
	n.UnitsHigh = unitsAt(in, around+n.Tape)
	n.ToFewer, n.ToMore = changes(in, around, at)
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
// spacing: there no distances are given. In a table the row changes.
func changes(in Input, around quantity.Length, at plan) (fewer, more quantity.Length) {
	rate, here := in.Label.Rate, key(at)
	changed := func(g quantity.Length) bool { return key(apply(in.Label, in.Size, g)) != here }
	switch {
	case rate.Kind == label.DosePerDia && rate.Spacing > 0:
		return 0, 0
	case rate.Kind == label.ByClass:
		row, _ := job{in.Label, in.Size, around}.row()
		changed = func(g quantity.Length) bool {
			other, fs := job{in.Label, in.Size, g}.row()
			return fs != nil || other != row
		}
	}
	fewer = least(around-1, func(x quantity.Length) bool { return changed(around - x) })
	more = least(maxGirth-around, func(x quantity.Length) bool { return changed(around + x) })
	return fewer, more
}

// key orders plans: by total, or by count where no size is chosen yet.
func key(p plan) int64 {
	if v := p.total(); v > 0 {
		return int64(v)
	}
	return int64(p.units)
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
