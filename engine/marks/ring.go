package marks

import (
	"fmt"

	"sapwell/engine/bole"
	"sapwell/engine/quantity"
)

// grid lays ticks on the girth. N = girth/tick rounded DOWN: tick t lies at
// t·tick on the tape, for t in 0..N-1, and the spare sliver of less than a tick
// is left at the seam, between the last tick and the zero. So positions read
// off the tape are right as printed, and the one gap that is not an exact
// number of ticks, the one over the seam, is longer than planned and never shorter.
type grid struct {
	girth, tick quantity.Length
	n           int
}

// newGrid reads the ring's girth to whole ticks.
func newGrid(ring bole.Ring, rules Rules) (grid, error) {
	g := grid{ring.Girth.Around, rules.Tick, 0}
	if g.girth < g.tick || g.girth/g.tick > MaxTicks {
		return g, fmt.Errorf("marks: ring.girth.around is %s; %s to %s can be marked in steps of %s",
			mm(g.girth), mm(g.tick), mm(MaxTicks*g.tick), mm(g.tick))
	}
	g.n = int(g.girth / g.tick)
	return g, nil
}

// at returns where tick x lies on the tape.
func (g grid) at(x int) quantity.Length { return quantity.Length(x) * g.tick }

// up returns l in ticks, rounded up.
func (g grid) up(l quantity.Length) int { return int((l + g.tick - 1) / g.tick) }

// nearest returns the tick nearest to at, which lies in 0..girth; the seam is
// measured along the bark, so a point in the sliver may belong to tick 0.
func (g grid) nearest(at quantity.Length) int {
	x := int((at + g.tick/2) / g.tick)
	if x < g.n {
		return x
	}
	if g.girth-at <= at-g.at(g.n-1) {
		return 0
	}
	return g.n - 1
}

// cover returns the inclusive arc of ticks that holds lo..hi and is widened
// outward to the ticks at or beyond both ends. lo <= hi; either may lie up to a
// turn outside 0..girth.
func (g grid) cover(lo, hi quantity.Length) [2]int {
	whole := [2]int{0, g.n - 1}
	if hi-lo >= g.girth {
		return whole
	}
	for lo < 0 {
		lo, hi = lo+g.girth, hi+g.girth
	}
	for lo >= g.girth {
		lo, hi = lo-g.girth, hi-g.girth
	}
	a := min(int(lo/g.tick), g.n-1)
	b := g.n // tick 0, one turn on
	switch {
	case hi <= g.at(g.n-1):
		b = g.up(hi)
	case hi > g.girth:
		b += g.up(hi - g.girth)
	}
	if b-a >= g.n-1 {
		return whole
	}
	return [2]int{a, b % g.n}
}

// blocked lists where no hole may go: the ring's arcs, then its wounds.
func (g grid) blocked(ring bole.Ring, rules Rules) ([][2]int, []Blocked) {
	arcs := make([][2]int, 0, len(ring.Arcs)+len(ring.Wounds))
	list := make([]Blocked, 0, cap(arcs))
	add := func(lo, hi quantity.Length, kind string, of int) {
		a := g.cover(lo, hi)
		arcs = append(arcs, a)
		list = append(list, Blocked{From: g.at(a[0]), To: g.at(a[1]), Kind: kind, Of: of})
	}
	for i, a := range ring.Arcs {
		to := a.To
		if to < a.From {
			to += g.girth
		}
		add(a.From-rules.Clearance, to+rules.Clearance, string(a.Kind), i)
	}
	for i, w := range ring.Wounds {
		half := rules.halfWidth(w)
		add(w.At-half, w.At+half, woundKind, i)
	}
	return arcs, list
}

// woundKind is the Kind of a Blocked that is an old hole.
const woundKind = "wound"

// checkRing names the first thing on the ring that does not lie on the tape.
func (g grid) checkRing(ring bole.Ring) error {
	off := func(name string, i int, at quantity.Length) error {
		return fmt.Errorf("marks: ring.%s of entry %d is %s; the tape runs from 0 to %s", name, i+1, mm(at), mm(g.girth))
	}
	for i, a := range ring.Arcs {
		if !g.on(a.From) {
			return off("arcs.from", i, a.From)
		}
		if !g.on(a.To) {
			return off("arcs.to", i, a.To)
		}
	}
	for i, w := range ring.Wounds {
		if !g.on(w.At) {
			return off("wounds.at", i, w.At)
		}
		if w.Width < 0 || w.Width > g.girth {
			return fmt.Errorf("marks: ring.wounds.width of entry %d is %s; 0 (not measured) to the girth is accepted", i+1, mm(w.Width))
		}
	}
	for i, x := range ring.Fissures {
		if !g.on(x) {
			return off("fissures", i, x)
		}
	}
	return nil
}

func (g grid) on(at quantity.Length) bool { return at >= 0 && at <= g.girth }

// instance is the ring as a problem in ticks.
func (g grid) instance(ring bole.Ring, count int, rules Rules, arcs [][2]int) Instance {
	in := Instance{
		N: g.n, Count: count, MinGap: g.up(rules.MinGap), Forbidden: arcs,
		Weight: rules.FissureWeight, Cap: g.up(rules.FissureCap),
		Fissures: make([]int, len(ring.Fissures)),
	}
	for i, x := range ring.Fissures {
		in.Fissures[i] = g.nearest(x)
	}
	return in
}

// holds reports whether at lies in b.
func (b Blocked) holds(at quantity.Length) bool {
	if b.From <= b.To {
		return b.From <= at && at <= b.To
	}
	return at >= b.From || at <= b.To
}
