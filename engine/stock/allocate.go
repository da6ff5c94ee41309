package stock

import (
	"cmp"
	"slices"
	"strings"

	"sapwell/engine/label"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// Allocate hands lots to needs for work on one day. storage is the label's
// storage range by label ID; a label not in it is not checked for storage.
//
// The rule, in this order:
//
//  1. needs are served in the order given;
//  2. only lots of the same label and size that nothing blocks (see Check);
//  3. the lot that expires first goes first; lots of unknown expiry go last;
//  4. among lots that expire on the same day one tree gets as few lots as can
//     be: the smallest lot that covers what it still needs, else the largest;
//  5. then by lot ID, so that the same input always gives the same picks.
//
// Rule 3 stands before rule 4: a tree's units come from two lots rather than
// let the older one go past its day. Counts below zero are taken as zero.
func Allocate(lots []Lot, needs []Need, storage map[string]label.Storage, day quantity.Date) Allocation {
	var a Allocation
	shelves := map[shelf][]box{}
	for _, l := range lots {
		fs := Check(l, storage[l.Label], day)
		a.Findings = append(a.Findings, fs...)
		if !why.Blocks(fs) && l.Units > 0 {
			k := shelf{l.Label, l.Size}
			shelves[k] = append(shelves[k], box{l.ID, lastDay(l), l.Units})
		}
	}
	for _, boxes := range shelves {
		slices.SortFunc(boxes, func(x, y box) int {
			return cmp.Or(cmp.Compare(x.last, y.last), strings.Compare(x.lot, y.lot))
		})
	}
	for _, n := range needs {
		k := shelf{n.Label, n.Size}
		shelves[k] = a.serve(n, shelves[k])
	}
	return a
}

// shelf is where units that can stand for each other lie.
type shelf struct {
	label string
	size  quantity.Volume
}

// box is what is left of a lot.
type box struct {
	lot   string
	last  int // second in which the last good day starts
	units int
}

// lastDay orders lots by expiry, unknown last.
func lastDay(l Lot) int {
	if l.Expires.IsZero() {
		return int(^uint(0) >> 1)
	}
	return int(l.Expires.Unix())
}

// serve takes what n needs from boxes (sorted by last day, then lot) and returns
// the boxes that still hold something.
func (a *Allocation) serve(n Need, boxes []box) []box {
	want := max(n.Units, 0)
	for want > 0 && len(boxes) > 0 {
		i := next(boxes, want)
		take := min(want, boxes[i].units)
		a.Picks = append(a.Picks, Pick{For: n.For, Label: n.Label, Size: n.Size, Lot: boxes[i].lot, Units: take})
		want -= take
		if boxes[i].units -= take; boxes[i].units == 0 {
			boxes = slices.Delete(boxes, i, i+1)
		}
	}
	if want > 0 {
		short := n
		short.Units = want
		a.Short = append(a.Short, short)
		a.Findings = append(a.Findings, why.Finding{
			Code: "stock.short", Severity: why.Warn, Place: n.For, Source: why.Own,
			Terms: []why.Term{why.T("units", n.Units), why.T("short", want), why.T("size", n.Size), why.T("label", n.Label)},
		})
	}
	return boxes
}

// next picks, among the boxes that share the first one's last day, the smallest
// that covers want, or the largest when none does.
func next(boxes []box, want int) int {
	best := 0
	for i, b := range boxes {
		if b.last != boxes[0].last {
			break
		}
		if better(b.units, boxes[best].units, want) {
			best = i
		}
	}
	return best
}

// better reports whether a box of x units serves want with fewer lots, or with
// less broken open, than one of y.
func better(x, y, want int) bool {
	if (x >= want) != (y >= want) {
		return x >= want
	}
	if x >= want {
		return x < y
	}
	return x > y
}
