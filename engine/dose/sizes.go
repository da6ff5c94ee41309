package dose

import (
	"slices"

	"sapwell/engine/label"
	"sapwell/engine/quantity"
)

// maxSums bounds the table of fewest; beyond it the sizes have no common
// measure anyone could have meant.
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
		base := quantity.Volume(n) * smallest
		if extra, ok := table.nearest(w, base, n); ok {
			return table.fills(extra, n), true
		}
	}
	return nil, false
}

// sums tells for each reachable extra how few larger units make it, and which
// of them was added last.
type sums struct {
	smallest quantity.Volume
	least    map[quantity.Volume]int64
	last     map[quantity.Volume]quantity.Volume
}

// fewest builds the table up to most, one more unit a turn, so that the first
// time a sum is seen is the fewest units that make it.
func fewest(sizes []quantity.Volume, most quantity.Volume) (sums, bool) {
	t := sums{sizes[0], map[quantity.Volume]int64{0: 0}, map[quantity.Volume]quantity.Volume{}}
	edge := []quantity.Volume{0}
	for n := int64(1); len(edge) > 0; n++ {
		var next []quantity.Volume
		for _, sum := range edge {
			for _, s := range sizes[1:] {
				to := sum + s - t.smallest
				if _, seen := t.least[to]; seen || to > most {
					continue
				}
				t.least[to], t.last[to] = n, s
				next = append(next, to)
			}
		}
		if len(t.least) > maxSums {
			return sums{}, false
		}
		edge = next
	}
	return t, true
}

// nearest finds the extra over base that n units can make, falls in the window
// and is nearest to what is stated; of two as near, the one above.
func (t sums) nearest(w window, base quantity.Volume, n int64) (quantity.Volume, bool) {
	var best quantity.Volume
	found := false
	for extra, need := range t.least {
		total := base + extra
		if need > n || total < w.low || total > w.high {
			continue
		}
		off, was := apart(total, w.stated), apart(base+best, w.stated)
		if !found || off < was || off == was && extra > best {
			best, found = extra, true
		}
	}
	return best, found
}

// fills walks back from an extra to the units that make it, and fills up to n
// with the smallest.
func (t sums) fills(extra quantity.Volume, n int64) []Fill {
	counts := map[quantity.Volume]int{t.smallest: int(n)}
	for extra > 0 {
		s := t.last[extra]
		counts[s]++
		counts[t.smallest]--
		extra -= s - t.smallest
	}
	var fs []Fill
	for size, n := range counts {
		if n > 0 {
			fs = append(fs, Fill{size, n})
		}
	}
	slices.SortFunc(fs, func(a, b Fill) int { return int(b.Size - a.Size) })
	return fs
}

// ascending returns the sizes that are sizes, least first, each once.
func ascending(sizes []quantity.Volume) []quantity.Volume {
	s := slices.DeleteFunc(slices.Clone(sizes), func(v quantity.Volume) bool { return v <= 0 || v > maxVolume })
	slices.Sort(s)
	return slices.Compact(s)
}
