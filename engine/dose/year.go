package dose

import (
	"sapwell/engine/label"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// Together is the dose of a tree from the doses of its stems, and what the
// label's most per tree says of it. Stems that are each within it may together
// be above. The total is 0 when that of a stem is not known.
func Together(l label.Label, stems []Result) (quantity.Volume, []why.Finding) {
	var sum quantity.Volume
	for _, r := range stems {
		if r.Total == 0 {
			return 0, nil
		}
		sum += r.Total
	}
	if len(stems) < 2 {
		return sum, nil
	}
	fs := overCeiling(l, sum)
	for i := range fs {
		fs[i].Place = "tree"
	}
	return sum, fs
}

// Past is an earlier application to the same tree; a Total of 0 is not known.
type Past struct {
	Date  quantity.Date
	Total quantity.Volume
}

// Year is what a tree has had within the label's year.
type Year struct {
	Applications int
	Total        quantity.Volume
	Unknown      int // applications whose volume is not known, so not in Total
}

// Leaves is how much of a most per year is left; below 0 it is passed already.
func (y Year) Leaves(most quantity.Volume) quantity.Volume { return most - y.Total }

// InYear sums the applications within the label's year up to and on a day: the
// calendar year if the label counts so, otherwise the 365 days that end on it.
func InYear(l label.Label, on quantity.Date, past []Past) Year {
	var y Year
	for _, p := range past {
		ago := p.Date.DaysTo(on)
		if ago < 0 || l.Ceilings.CalendarYear && p.Date.Year() != on.Year() || !l.Ceilings.CalendarYear && ago >= 365 {
			continue
		}
		y.Applications++
		y.Total += p.Total
		if p.Total == 0 {
			y.Unknown++
		}
	}
	return y
}
