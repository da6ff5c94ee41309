package marks

import "fmt"

// The largest instance Solve takes. Within these bounds no intermediate value
// leaves an int64: the widest is a product of a path cost (at most about
// 4·MaxTicks² + MaxCount·maxFee, 1e12) and a distance (2·MaxTicks).
const (
	MaxTicks = 20_000
	MaxCount = 1_000
	maxFee   = 1_000_000_000 // Weight·Cap², the most one mark can be charged
)

// FieldError names the field of an Instance that makes it impossible, so that a
// caller whose fields have other names can say its own.
type FieldError struct {
	Field string // "MinGap", "Forbidden"
	At    string // "[2]" in a list
	Says  string // the value and what is accepted
}

func (e *FieldError) Error() string { return "marks: " + e.Field + e.At + " " + e.Says }

func bad(field, says string, args ...any) error {
	return &FieldError{Field: field, Says: fmt.Sprintf(says, args...)}
}

// check names the first field of in that makes it impossible.
func (in Instance) check() error {
	switch {
	case in.N < 1 || in.N > MaxTicks:
		return bad("N", "is %d; a ring has 1 to %d ticks", in.N, MaxTicks)
	case in.Count < 1 || in.Count > MaxCount:
		return bad("Count", "is %d; 1 to %d marks can be asked for", in.Count, MaxCount)
	case in.MinGap < 1 || in.MinGap > MaxTicks:
		return bad("MinGap", "is %d; 1 to %d ticks can be asked for", in.MinGap, MaxTicks)
	case in.Weight < 0 || in.Weight > maxFee:
		return bad("Weight", "is %d; 0 to %d is accepted", in.Weight, maxFee)
	case in.Cap < 0:
		return bad("Cap", "is %d; 0 or more ticks are accepted", in.Cap)
	}
	if c := min(in.Cap, in.N); c > 0 && in.Weight > maxFee/(c*c) {
		return bad("Weight", "is %d; with the distance capped at %d that charges a mark more than %d", in.Weight, in.Cap, maxFee)
	}
	for i, a := range in.Forbidden {
		if a[0] < 0 || a[0] >= in.N || a[1] < 0 || a[1] >= in.N {
			return &FieldError{"Forbidden", fmt.Sprintf("[%d]", i), fmt.Sprintf("is %d to %d; ticks run from 0 to %d", a[0], a[1], in.N-1)}
		}
	}
	for i, x := range in.Fissures {
		if x < 0 || x >= in.N {
			return &FieldError{"Fissures", fmt.Sprintf("[%d]", i), fmt.Sprintf("is %d; ticks run from 0 to %d", x, in.N-1)}
		}
	}
	return nil
}

// charged reports whether a mark can be charged for its distance to a fissure.
func (in Instance) charged() bool { return len(in.Fissures) > 0 && in.Weight > 0 && in.Cap > 0 }

// sized returns buf with length n, keeping its memory where it suffices. The
// contents are whatever was there.
func sized[T any](buf []T, n int) []T {
	if cap(buf) < n {
		return make([]T, n, n+n/2)
	}
	return buf[:n]
}

// survey fills open and fee, the ring as ticks.
func (s *Solver) survey(in Instance) {
	s.open = sized(s.open, in.N)
	for x := range s.open {
		s.open[x] = true
	}
	for _, a := range in.Forbidden {
		if a[0] <= a[1] {
			clear(s.open[a[0] : a[1]+1])
		} else {
			clear(s.open[a[0]:])
			clear(s.open[:a[1]+1])
		}
	}
	s.fees(in)
}

// fees fills fee with f(x) = Weight·min(distance to the nearest fissure, Cap)².
// A fissure inside a forbidden arc still counts: the bark is thin on both sides
// of the arc's edge. Distances come from two sweeps, each twice round.
func (s *Solver) fees(in Instance) {
	s.fee = sized(s.fee, in.N)
	if !in.charged() {
		clear(s.fee)
		return
	}
	most := int64(min(in.Cap, in.N))
	for x := range s.fee {
		s.fee[x] = most
	}
	for _, x := range in.Fissures {
		s.fee[x] = 0
	}
	d := most
	for range 2 {
		for x := range s.fee {
			d = min(d+1, s.fee[x])
			s.fee[x] = d
		}
	}
	for range 2 {
		for x := in.N - 1; x >= 0; x-- {
			d = min(d+1, s.fee[x])
			s.fee[x] = d
		}
	}
	for x, d := range s.fee {
		s.fee[x] = int64(in.Weight) * d * d
	}
}

// most returns the largest number of marks that fit at least gap apart on the
// open ticks. With s.hop the greedy jump (first open tick at least gap further
// on, unrolled over two turns), the most from a given start is its number of
// jumps; and some best set has a mark in [x0, hop(x0)], because the first mark
// after that stretch can be moved back to hop(x0). So O(N) jumps in all. It also
// returns the start of a fullest chain.
func (s *Solver) most(gap int) (count, start int) {
	n := len(s.open)
	first := -1
	for x, ok := range s.open {
		if ok {
			first = x
			break
		}
	}
	if first < 0 {
		return 0, 0
	}
	s.hop = sized(s.hop, 2*n)
	s.hops(gap)
	count, start = 1, first
	for x := first; x < n && x <= int(s.hop[first]); x++ {
		if !s.open[x] {
			continue
		}
		if c := s.chain(x, gap); c > count {
			count, start = c, x
		}
	}
	return count, start
}

// hops fills hop; 2n stands for "none within two turns".
func (s *Solver) hops(gap int) {
	n := len(s.open)
	next := 2 * n
	for x := 2*n - 1; x >= 0; x-- {
		if y := x + gap; y < 2*n && s.open[y%n] {
			next = y
		}
		s.hop[x] = int32(next)
	}
}

// chain counts the marks of the greedy chain from x that still leaves gap
// before x one turn later.
func (s *Solver) chain(x, gap int) int {
	last := x + len(s.open) - gap
	c := 1
	for y := int(s.hop[x]); y <= last; y = int(s.hop[y]) {
		c++
	}
	return c
}
