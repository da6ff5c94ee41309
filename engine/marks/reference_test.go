package marks

import (
	"fmt"
	"slices"
)

// The references below share nothing with the solver: no cut ring, no window,
// no bounds, no envelope. plain is the textbook dynamic programme tried from
// every start; enumerate tries every set.

// refOpen and refFee read an instance tick by tick from its definition.
func refOpen(in Instance, x int) bool {
	for _, a := range in.Forbidden {
		inside := a[0] <= x && x <= a[1]
		if a[0] > a[1] {
			inside = x >= a[0] || x <= a[1]
		}
		if inside {
			return false
		}
	}
	return true
}

func refFee(in Instance, x int) int64 {
	if len(in.Fissures) == 0 {
		return 0
	}
	least := in.Cap
	for _, f := range in.Fissures {
		d := (x - f + in.N) % in.N
		least = min(least, d, in.N-d)
	}
	return int64(in.Weight) * int64(least) * int64(least)
}

// refCost checks a set of marks against the definition and returns its Z.
func refCost(in Instance, marks []int) (int64, error) {
	if len(marks) != in.Count {
		return 0, fmt.Errorf("%d marks, want %d", len(marks), in.Count)
	}
	if !slices.IsSorted(marks) {
		return 0, fmt.Errorf("marks %v are not ascending", marks)
	}
	z := int64(0)
	for i, x := range marks {
		if x < 0 || x >= in.N || !refOpen(in, x) {
			return 0, fmt.Errorf("mark at %d is not on an open tick", x)
		}
		gap := in.N
		if len(marks) > 1 {
			gap = (marks[(i+1)%len(marks)] - x + in.N) % in.N
			if gap < in.MinGap {
				return 0, fmt.Errorf("gap %d after the mark at %d is under %d", gap, x, in.MinGap)
			}
		}
		z += int64(gap)*int64(gap) + refFee(in, x)
	}
	return z, nil
}

const none = int64(-1)

// plain returns the least Z for in.Count marks, or none.
func plain(in Instance) int64 {
	best := none
	for s := range in.N {
		if !refOpen(in, s) {
			continue
		}
		cost := make([]int64, in.N) // by ticks gone from s
		for x := range cost {
			cost[x] = none
		}
		cost[0] = refFee(in, s)
		for k := 1; k < in.Count; k++ {
			next := make([]int64, in.N)
			for x := range next {
				next[x] = none
				if !refOpen(in, (s+x)%in.N) {
					continue
				}
				for y := 0; y <= x-in.MinGap; y++ {
					if cost[y] == none {
						continue
					}
					c := cost[y] + int64((x-y)*(x-y)) + refFee(in, (s+x)%in.N)
					if next[x] == none || c < next[x] {
						next[x] = c
					}
				}
			}
			cost = next
		}
		for x, c := range cost {
			gap := in.N - x
			if c == none || in.Count > 1 && gap < in.MinGap {
				continue
			}
			if c += int64(gap) * int64(gap); best == none || c < best {
				best = c
			}
		}
	}
	return best
}

// enumerate tries every set of ticks that holds all of pins and returns, for
// each count, the least Z (index 0 unused). Gaps between two pins may be
// anything, and pins need not be open.
func enumerate(in Instance, pins []int) []int64 {
	best := make([]int64, in.N+1)
	for i := range best {
		best[i] = none
	}
	set := make([]int, 0, in.N)
	for mask := 1; mask < 1<<in.N; mask++ {
		set = set[:0]
		for x := range in.N {
			if mask>>x&1 == 1 {
				set = append(set, x)
			}
		}
		z, ok := pinnedCost(in, set, pins)
		if n := len(set); ok && (best[n] == none || z < best[n]) {
			best[n] = z
		}
	}
	return best
}

func pinnedCost(in Instance, set, pins []int) (int64, bool) {
	for _, p := range pins {
		if !slices.Contains(set, p) {
			return 0, false
		}
	}
	z := int64(0)
	for i, x := range set {
		next, gap := x, in.N
		if len(set) > 1 {
			next = set[(i+1)%len(set)]
			gap = (next - x + in.N) % in.N
		}
		pinned := slices.Contains(pins, x)
		if !pinned && !refOpen(in, x) {
			return 0, false
		}
		if len(set) > 1 && gap < in.MinGap && !(pinned && slices.Contains(pins, next)) {
			return 0, false
		}
		z += int64(gap)*int64(gap) + refFee(in, x)
	}
	return z, true
}
