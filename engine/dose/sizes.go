package dose

import (
	"slices"

	"sapwell/engine/label"
	"sapwell/engine/quantity"
)

// maxSums bounds the table of fewest. Two sizes never come near it; three whose
// differences share no measure of a microlitre or so may.
const maxSums = 1 << 20

// window is the totals that whole units may come to when the label states a
// dose. It is just one smallest unit wide: rounding to whole units never adds
// or leaves out a smallest unit or more, whatever larger units there are.
type window struct {
	low, high quantity.Volume
	stated    quantity.Volume
}

// exactly is the rounding of a table row whose total must come out as printed.
const exactly label.Rounding = "exactly"

func windowOf(stated, smallest quantity.Volume, how label.Rounding) window {
	switch how {
	case exactly:
		return window{stated, stated, stated}
	case label.RoundUp:
		return window{stated, stated + smallest - 1, stated}
	case label.RoundDown:
		return window{max(stated-smallest+1, 0), stated, stated}
	default: // nearest: a half goes up, so the high end belongs to it
		return window{max(stated-(smallest-1)/2, 0), stated + smallest/2, stated}
	}
}

// pick chooses units for a window: at least atLeast of them, as few as may be,
// then the total nearest to what is stated. Totals above ceiling (0: none) are
// taken only when the window offers no other, and are blocked elsewhere.
func pick(w window, sizes []quantity.Volume, atLeast int, ceiling quantity.Volume) ([]Fill, bool) {
	sizes = ascending(sizes)
	if len(sizes) == 0 {
		return nil, false
	}
	if ceiling > 0 && ceiling < w.high && ceiling >= w.low {
		under := window{w.low, ceiling, w.stated}
		if fills, ok := pickWithin(under, sizes, atLeast); ok {
			return fills, true
		}
	}
	return pickWithin(w, sizes, atLeast)
}

// pickWithin tries counts n upwards. n units come to n smallest ones and an
// extra that at most n larger ones must make up; fewest says how few can.
func pickWithin(w window, sizes []quantity.Volume, atLeast int) ([]Fill, bool) {
	smallest, largest := sizes[0], sizes[len(sizes)-1]
	first := max(int64(atLeast), int64((w.low+largest-1)/largest), 1)
	last := int64(w.high / smallest)
	if first > last || last > maxUnits {
		return nil, false
	}
	table, ok := fewest(sizes, w.high-quantity.Volume(first)*smallest)
	if !ok {
		return nil, false
	}
	for n := first; n <= last; n++ {
		if i, ok := table.nearest(w, n); ok {
			return table.fills(i, n), true
		}
	}
	return nil, false
}

// sums is, for each extra i·part over units of the smallest size alone, how few
// larger units make it (-1: none do) and which of them comes last.
type sums struct {
	sizes []quantity.Volume
	part  quantity.Volume // common measure of the differences between sizes
	least []int32
	last  []int32
}

// fewest builds the table up to most: the fewest units for a sum are one more
// than the fewest for the sum without the last of them.
func fewest(sizes []quantity.Volume, most quantity.Volume) (sums, bool) {
	t := sums{sizes: sizes, part: 1}
	var part quantity.Volume
	for _, s := range sizes[1:] {
		part = gcd(part, s-sizes[0])
	}
	if part > 0 {
		t.part = part
	} else {
		most = 0 // one size: no extras
	}
	if most/t.part >= maxSums {
		return sums{}, false
	}
	t.least = make([]int32, most/t.part+1)
	t.last = make([]int32, len(t.least))
	for i := 1; i < len(t.least); i++ {
		t.least[i] = -1
		for k, s := range sizes[1:] {
			before := i - int((s-sizes[0])/t.part)
			if before < 0 || t.least[before] < 0 || t.least[i] >= 0 && t.least[before]+1 >= t.least[i] {
				continue
			}
			t.least[i], t.last[i] = t.least[before]+1, int32(k+1)
		}
	}
	return t, true
}

func gcd(a, b quantity.Volume) quantity.Volume {
	for b > 0 {
		a, b = b, a%b
	}
	return a
}

// nearest finds the extra that n units can make, that falls in the window and
// is nearest to what is stated; of two as near, the one above.
func (t sums) nearest(w window, n int64) (best int, found bool) {
	base := quantity.Volume(n) * t.sizes[0]
	total := func(i int) quantity.Volume { return base + quantity.Volume(i)*t.part }
	first := max(0, (w.low-base+t.part-1)/t.part)
	for i := int(first); i < len(t.least) && total(i) <= w.high; i++ {
		if t.least[i] < 0 || int64(t.least[i]) > n || total(i) < w.low {
			continue
		}
		if !found || apart(total(i), w.stated) <= apart(total(best), w.stated) {
			best, found = i, true
		}
	}
	return best, found
}

// fills walks back from an extra to the units that make it, and fills up to n
// with the smallest. Largest size first.
func (t sums) fills(i int, n int64) []Fill {
	counts := make([]int, len(t.sizes))
	counts[0] = int(n)
	for i > 0 {
		k := t.last[i]
		counts[k]++
		counts[0]--
		i -= int((t.sizes[k] - t.sizes[0]) / t.part)
	}
	var fs []Fill
	for k := len(counts) - 1; k >= 0; k-- {
		if counts[k] > 0 {
			fs = append(fs, Fill{t.sizes[k], counts[k]})
		}
	}
	return fs
}

// ascending returns the sizes that are sizes, least first, each once.
func ascending(sizes []quantity.Volume) []quantity.Volume {
	s := slices.DeleteFunc(slices.Clone(sizes), func(v quantity.Volume) bool { return v <= 0 || v > maxVolume })
	slices.Sort(s)
	return slices.Compact(s)
}
