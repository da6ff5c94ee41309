package marks

import (
	"math"
	"slices"
)

// # The method
//
// n marks on a ring of N ticks, gaps g >= MinGap, Z = Σ g² + Σ f(x). All values
// are integers; nothing is compared in floating point.
//
// Cut the ring open and lay it straight. A set of marks is then a path of n
// steps from a start s to s+N, through layers 0..n. One start at a time this is
// the plain dynamic programme; the work lies in not trying every start.
//
//  1. First answer. One start, layer k within a band round its even place: a
//     single sweep of the layers (first). If the band is empty the whole range
//     from a start of a fullest greedy chain, which is known to be feasible.
//
//  2. Lanes from the answer. Let U be its cost and a better one be asked for,
//     Z <= U-1. A path that has gone t ticks in k steps has
//     Σ g² >= t²/k + (N-t)²/(n-k) (Cauchy), and f costs at least n·min f, so
//     (n·t - k·N)² <= k(n-k)·(n(U-1-n·min f) - N²). This bounds t in every layer
//     and, for k = 1, the widest gap gmax. Every better set has a mark in the
//     first gmax ticks after the cut, wherever that is. Calling the first of them
//     the start names every set once: mark n-1 then lies before the cut, one turn
//     on. The cut is put where the fewest starts follow.
//
//  3. Relaxation. Let a path start at ANY s of the window and end at ANY e of
//     the window one turn on, and charge slope·(N - (e-s)) for the drift. A closed
//     path is charged nothing, so the least cost of relaxed paths is a lower
//     bound on closed ones whatever slope is: it is the Lagrangian of the closing
//     condition e = s+N. slope = 2·⌊N/n⌋+1 makes gaps of ⌊N/n⌋ and ⌊N/n⌋+1 equally
//     good, so that an unobstructed ring has no gap between bound and optimum.
//     One backward pass over all starts at once gives B_k(x), the least cost to
//     go from x in layer k; a forward pass gives F_k(x). If F_k(x)+B_k(x) >= U
//     no better set passes there: the state is dropped. B is a lower bound for
//     every subset of the starts, hence also when F comes from a later pass over
//     fewer of them, and after U has fallen.
//
//  4. Branching on the start. If the cheapest relaxed path happens to close it is
//     optimal for its starts. Otherwise it leads from s to e with e-N ≠ s; the
//     starts are halved between the two, which excludes that path from both
//     halves, and each half is swept forward again inside the states that
//     survived. A half dies when its bound reaches U. With one start the
//     relaxation is exact, so this ends. The first relaxed path also gives a
//     start worth solving exactly, which almost always is the optimum.
//
// A layer is swept in time linear in its states, see sweep: the step cost is
// convex, hence Monge in (y,x), and being a square its lower envelope is one of
// straight lines. Dropping states (rows, columns) and adding f (a term a column)
// keep that. One pass costs the sum of the lanes, some 2N to 8N states for up to
// 60 marks; ordinary rings need 2 to 15 passes. With many marks and costly
// fissures the lanes widen to the ring, and a pass to n·N states, which is also
// the bound on memory (16 bytes a state). BenchmarkGrowth has the figures.

// Solver holds scratch memory so that many rings can be solved without
// allocating; it is not safe for use by two goroutines at once.
type Solver struct {
	open []bool  // per tick of the ring: a hole may go here
	fee  []int64 // per tick of the ring: f
	hop  []int32 // greedy jumps, see most

	n, span, gap int64   // steps of a path, ticks from its start to its end, least gap
	slope        int64   // charge for drift
	cut          int64   // the tick of the ring at which line begins
	line         line    // the open ticks laid straight
	mirror       line    // line seen from its far end
	rank         []int32 // rank[x]: how many ticks of line lie before x

	reach   frame   // where the backward pass went
	reachAt []int32 // where its layers begin in bound
	bound   []int64 // B; empty: no backward pass was made
	frames  []frame // one per depth of the search
	cost    []int64 // F of the last pass, layer after layer
	at      []int32 // where the layers begin in cost
	hullY   []int64 // scratch of sweep
	hullP   []int64
	path    []int32 // indices into line

	best  int64   // U, the cost of the answer in hand
	marks []int64 // the answer in hand, ticks of the ring
}

// Solve returns the exact optimum of in, or an error that names the field of
// an impossible instance (N < 1, Count < 1, MinGap < 1, an arc outside 0..N-1)
// or of one beyond MaxTicks and MaxCount. Most is exact either way. The only
// memory it takes, once the Solver has grown, is that of the answer.
func (s *Solver) Solve(in Instance) (Solution, error) {
	if err := in.check(); err != nil {
		return Solution{}, err
	}
	if len(in.Forbidden) == 0 && !in.charged() {
		return s.even(in), nil
	}
	s.survey(in)
	most, start := s.most(in.MinGap)
	if in.Count > most {
		return Solution{Most: most}, nil
	}
	s.begin(in.Count, in.N, in.MinGap)
	if in.Count == 1 {
		s.single()
	} else {
		s.first(start)
		s.improve()
	}
	return s.solution(most), nil
}

// even is the closed form for a ring without obstacles: r gaps of q+1 and n-r
// of q, with N = q·n + r.
func (s *Solver) even(in Instance) Solution {
	most := max(1, in.N/in.MinGap)
	if in.Count > most {
		return Solution{Most: most}
	}
	s.begin(in.Count, in.N, in.MinGap)
	for i := range s.n {
		s.marks = append(s.marks, i*s.span/s.n)
	}
	s.best = evenCost(s.n, s.span)
	return s.solution(most)
}

// evenCost is the least sum of squares of n whole numbers with sum span.
func evenCost(n, span int64) int64 {
	q, r := span/n, span%n
	return r*(q+1)*(q+1) + (n-r)*q*q
}

// solution copies the answer in hand.
func (s *Solver) solution(most int) Solution {
	sol := Solution{Feasible: true, Most: most, Cost: s.best, Positions: make([]int, len(s.marks))}
	for i, x := range s.marks {
		sol.Positions[i] = int(x)
	}
	slices.Sort(sol.Positions)
	return sol
}

// begin sets up a search for paths of n steps over span ticks.
func (s *Solver) begin(n, span, gap int) {
	s.n, s.span, s.gap = int64(n), int64(span), int64(gap)
	s.slope = 2*(s.span/s.n) + 1
	s.best, s.marks = never, s.marks[:0]
}

// single settles one mark: its one gap is the ring.
func (s *Solver) single() {
	at := s.cheapest()
	s.best = s.span*s.span + s.fee[at]
	s.marks = append(s.marks, int64(at))
}

// cheapest returns an open tick of least f. There is one.
func (s *Solver) cheapest() int {
	at := -1
	for x, ok := range s.open {
		if ok && (at < 0 || s.fee[x] < s.fee[at]) {
			at = x
		}
	}
	return at
}

// first finds an answer to start from: near even places counted from the end of
// the longest closed run, where the choice is least, or from a tick without f;
// failing that from start, which is known to lead round.
func (s *Solver) first(start int) {
	run, end := s.longestRun()
	at := (end + 1) % len(s.open)
	if run == 0 {
		at = s.cheapest()
	}
	s.unroll(at, 1)
	if !s.band(max(s.span/s.n, int64(run))) {
		s.unroll(start, 1)
		s.band(s.span)
	}
}

// longestRun returns the length of the longest run of closed ticks and its last
// tick. Some tick is open.
func (s *Solver) longestRun() (run, end int) {
	n, c := len(s.open), 0
	for i := range 2 * n {
		if c++; s.open[i%n] {
			c = 0
		}
		if c > run {
			run, end = c, i%n
		}
	}
	return run, end
}

// band solves for the first tick of line as the only start, with layer k within
// width of its even place, and reports whether that gave an answer.
func (s *Solver) band(width int64) bool {
	f := s.frame(0)
	for k := range s.n + 1 {
		mid := k * s.span / s.n
		s.allow(f, k, max(k*s.gap, mid-width), min(s.span-(s.n-k)*s.gap, mid+width))
	}
	s.allow(f, 0, 0, 0)
	s.allow(f, s.n, s.span, s.span)
	s.bound = s.bound[:0]
	return s.take(f)
}

// take makes one pass over f and keeps its path if it is better than the answer
// in hand. f has one start.
func (s *Solver) take(f frame) bool {
	v, end := s.pass(f)
	if v >= s.best {
		return false
	}
	s.trace(f, end)
	s.keep(v)
	return true
}

// keep makes the traced path the answer in hand.
func (s *Solver) keep(v int64) {
	s.best, s.marks = v, s.marks[:0]
	ring := int64(len(s.open))
	for _, j := range s.path[:s.n] {
		s.marks = append(s.marks, (s.cut+s.line.pos[j])%ring)
	}
}

// improve proves the answer in hand best, or finds a better one.
func (s *Solver) improve() {
	fees := s.n * s.fee[s.cheapest()]
	if s.best <= evenCost(s.n, s.span)+fees {
		return
	}
	slack := s.n*(s.best-1-fees) - s.span*s.span
	widest := min((s.span+root(s.n-1, slack))/s.n, s.span-(s.n-1)*s.gap)
	// any cut will do; most starts lie in the first even gap after it
	s.unroll(s.emptiest(int(min(widest, s.span/s.n))), int(widest))
	if s.line.around == len(s.line.pos) {
		return // no better set has a mark in the window, so there is none
	}
	s.lanes(&s.reach, slack, widest)
	s.backward()
	f := s.frame(0)
	copy(f.lo, s.reach.lo)
	copy(f.hi, s.reach.hi)
	s.search(0)
}

// emptiest returns the start of a run of length ticks with the fewest open ones.
func (s *Solver) emptiest(length int) int {
	n := len(s.open)
	c := 0
	for x := range length {
		c += one(s.open[x])
	}
	least, at := c, 0
	for x := range n - 1 {
		c += one(s.open[(x+length)%n]) - one(s.open[x])
		if c < least {
			least, at = c, x+1
		}
	}
	return at
}

func one(b bool) int {
	if b {
		return 1
	}
	return 0
}

// lanes lets f use in layer k only ticks that a path better than the answer in
// hand can reach there, and of layer n-1 only those before the cut; see step 2 of
// the method. window is how many ticks the starts span.
func (s *Solver) lanes(f *frame, slack, window int64) {
	s.size(f)
	n := s.n
	for k := range n + 1 {
		w := root(k*(n-k), slack)
		from := max(k*s.gap, (k*s.span-w)/n)
		to := window - 1 + min(s.span-(n-k)*s.gap, (k*s.span+w)/n)
		if k < n {
			to = min(to, s.span-1-(n-1-k)*s.gap)
		}
		s.allow(*f, k, from, to)
	}
}

// root returns ⌊√(a·b)⌋, or something larger if the product leaves an int64.
func root(a, b int64) int64 {
	if a <= 0 || b <= 0 {
		return 0
	}
	if a > math.MaxInt64/b {
		return math.MaxInt32 // beyond any n·N
	}
	r := int64(math.Sqrt(float64(a * b)))
	for r > 0 && r > a*b/r {
		r--
	}
	for r+1 <= a*b/(r+1) {
		r++
	}
	return r
}

// search settles the starts of the frame at depth.
func (s *Solver) search(depth int) {
	f := s.frame(depth)
	v, end := s.pass(f)
	if v >= s.best {
		return
	}
	s.trace(f, end)
	around := int32(s.line.around)
	a, b := s.path[0], end-around
	if a == b {
		s.keep(v)
		return
	}
	if depth == 0 {
		s.take(s.child(1, f, a, a))
	}
	// the pass narrowed both ends; a start must be open at both
	n := s.n
	lo, hi := max(f.lo[0], f.lo[n]-around), min(f.hi[0], f.hi[n]-around)
	mid := (a + b) / 2
	if lo <= mid {
		s.child(depth+1, f, lo, min(mid, hi))
		s.search(depth + 1)
	}
	if mid < hi {
		s.child(depth+1, f, max(mid+1, lo), hi)
		s.search(depth + 1)
	}
}

// child makes the frame at depth from f, with the starts a..b only.
func (s *Solver) child(depth int, f frame, a, b int32) frame {
	c := s.frame(depth)
	copy(c.lo, f.lo)
	copy(c.hi, f.hi)
	around := int32(s.line.around)
	c.lo[0], c.hi[0] = a, b
	c.lo[s.n], c.hi[s.n] = a+around, b+around
	return c
}
