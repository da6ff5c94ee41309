package marks

import (
	"math"
	"slices"
)

// never marks a state that cannot be reached, or that cannot lead to anything
// better than the answer in hand.
const never = math.MaxInt64

// line is the ring cut open and laid straight: the open ticks from the cut
// round to the cut again and on over the window of starts. Entry j+around is
// the tick of entry j one turn later.
type line struct {
	pos    []int64 // ascending, counted from the cut
	fee    []int64 // f at each of them
	around int     // how many entries make one turn
}

// frame holds for every layer the first and last index into line that a path
// may use; hi < lo: none.
type frame struct{ lo, hi []int32 }

func (s *Solver) size(f *frame) {
	f.lo, f.hi = sized(f.lo, int(s.n)+1), sized(f.hi, int(s.n)+1)
}

// frame returns the frame kept for a depth of the search.
func (s *Solver) frame(depth int) frame {
	for len(s.frames) <= depth {
		s.frames = append(s.frames, frame{})
	}
	s.size(&s.frames[depth])
	return s.frames[depth]
}

// allow lets layer k of f use the ticks from..to of the line.
func (s *Solver) allow(f frame, k, from, to int64) {
	end := int64(len(s.rank)) - 1 // one past the last tick
	f.lo[k] = s.rank[min(max(from, 0), end)]
	f.hi[k] = s.rank[min(max(to+1, 0), end)] - 1
}

// unroll lays the ring straight from tick cut, with a window of starts.
func (s *Solver) unroll(cut, window int) {
	s.cut = int64(cut)
	s.rank = sized(s.rank, len(s.open)+window+1)
	s.line.pos, s.line.fee = s.line.pos[:0], s.line.fee[:0]
	s.extend(cut, len(s.open), 0)
	s.line.around = len(s.line.pos)
	s.extend(cut, window, len(s.open))
	s.seal()
}

// extend appends the open ones of count ticks from x on; the first lies at p.
func (s *Solver) extend(x, count, p int) {
	for i := range count {
		s.rank[p+i] = int32(len(s.line.pos))
		if s.open[x] {
			s.line.pos = append(s.line.pos, int64(p+i))
			s.line.fee = append(s.line.fee, s.fee[x])
		}
		if x++; x == len(s.open) {
			x = 0
		}
	}
}

// seal finishes rank and sizes what goes with the line.
func (s *Solver) seal() {
	j := len(s.line.pos)
	s.rank[len(s.rank)-1] = int32(j)
	s.hullY, s.hullP = sized(s.hullY, j), sized(s.hullP, j)
}

// layers fills at with the places of the layers of f, end to end, and returns
// their sum.
func (s *Solver) layers(at []int32, f frame) int {
	sum := int32(0)
	for k := range s.n + 1 {
		at[k] = sum
		sum += max(0, f.hi[k]-f.lo[k]+1)
	}
	at[s.n+1] = sum
	return int(sum)
}

// pass runs the layers forward inside f and narrows f to the states that may
// still lead to something better than best. It returns the least cost of a
// relaxed path, drift charged, and the index where that path ends; never if
// there is none.
func (s *Solver) pass(f frame) (least int64, end int32) {
	n := int(s.n)
	s.at = sized(s.at, n+2)
	s.cost = sized(s.cost, s.layers(s.at, f))
	for k := range n + 1 {
		dst := s.cost[s.at[k]:s.at[k+1]]
		to := int(f.lo[k])
		if k == 0 {
			for i := range dst {
				dst[i] = s.slope * s.line.pos[to+i]
			}
		} else {
			from := int(f.lo[k-1])
			sweep(dst, s.line.pos[to:], s.line.fee[to:], s.layer(f, k-1), s.line.pos[from:], s.gap, s.hullY, s.hullP)
		}
		s.narrow(f, k, dst)
	}
	least = never
	for i, v := range s.layer(f, n) {
		j := f.lo[n] + int32(i)
		if v != never && v+s.slope*(s.span-s.line.pos[j]) < least {
			least, end = v+s.slope*(s.span-s.line.pos[j]), j
		}
	}
	return least, end
}

// layer returns the values of layer k of the last pass.
func (s *Solver) layer(f frame, k int) []int64 {
	return s.cost[s.at[k]:][:max(0, f.hi[k]-f.lo[k]+1)]
}

// narrow drops the states of layer k that cannot beat best, and the ends of f
// with them.
func (s *Solver) narrow(f frame, k int, v []int64) {
	if len(s.bound) == 0 || len(v) == 0 {
		return
	}
	b := s.bound[s.reachAt[k]+f.lo[k]-s.reach.lo[k]:][:len(v)]
	first, last := len(v), -1
	for i, x := range v {
		if x == never {
			continue
		}
		if b[i] == never || x+b[i] >= s.best {
			v[i] = never
			continue
		}
		first, last = min(first, i), i
	}
	s.at[k] += int32(first)
	f.hi[k] = f.lo[k] + int32(last)
	f.lo[k] += int32(first)
}

// backward fills bound: for every state of reach the least cost to go, its own
// f not counted (the start's f is counted where the path ends). It is the
// forward sweep on the mirrored line, whose layers are then turned round.
func (s *Solver) backward() {
	s.reflect()
	n, last := int(s.n), len(s.line.pos)-1
	s.reachAt = sized(s.reachAt, n+2)
	s.bound = sized(s.bound, s.layers(s.reachAt, s.reach))
	var src []int64
	from := 0
	for k := n; k >= 0; k-- {
		dst := s.bound[s.reachAt[k]:s.reachAt[k+1]]
		to := last - int(s.reach.hi[k])
		if k == n {
			for i := range dst {
				j := last - to - i
				dst[i] = s.slope*(s.span-s.line.pos[j]) + s.line.fee[j]
			}
		} else if len(dst) > 0 {
			sweep(dst, s.mirror.pos[to:], s.mirror.fee[to:], src, s.mirror.pos[from:], s.gap, s.hullY, s.hullP)
		}
		src, from = dst, to
	}
	for k := range n + 1 {
		b := s.bound[s.reachAt[k]:s.reachAt[k+1]]
		slices.Reverse(b)
		for i, v := range b {
			if v != never {
				b[i] = v - s.line.fee[int(s.reach.lo[k])+i]
			}
		}
	}
}

// reflect fills mirror.
func (s *Solver) reflect() {
	n := len(s.line.pos)
	s.mirror.pos, s.mirror.fee = sized(s.mirror.pos, n), sized(s.mirror.fee, n)
	end := s.line.pos[n-1]
	for j, p := range s.line.pos {
		s.mirror.pos[n-1-j] = end - p
		s.mirror.fee[n-1-j] = s.line.fee[j]
	}
}

// sweep relaxes one layer of the dynamic programme:
//
//	dst[i] = fee[i] + min over j, to[i]-from[j] >= gap, of src[j] + (to[i]-from[j])²
//
// in O(len(src)+len(dst)). With P = src + from² the bracket is
// P[j] - 2·to[i]·from[j] + to[i]², a straight line in to[i] for every j, so the
// minimum is read off the lower envelope of lines. Lines come in order of
// falling slope and questions in order of rising to[i], so both ends of the
// envelope only move forward. A line enters when the gap first allows it; that
// keeps the order, since once a later j beats an earlier one it does so for ever.
//
// hullY and hullP are scratch of at least len(src).
func sweep(dst, to, fee, src, from []int64, gap int64, hullY, hullP []int64) {
	head, tail, j := 0, 0, 0
	to, fee, from = to[:len(dst)], fee[:len(dst)], from[:len(src)]
	for i, x := range to {
		for ; j < len(src) && from[j]+gap <= x; j++ {
			if src[j] == never {
				continue
			}
			y := from[j]
			p := src[j] + y*y
			for tail-head >= 2 && (p-hullP[tail-2])*(hullY[tail-1]-hullY[tail-2]) <=
				(hullP[tail-1]-hullP[tail-2])*(y-hullY[tail-2]) {
				tail--
			}
			hullY[tail], hullP[tail] = y, p
			tail++
		}
		if head == tail {
			dst[i] = never
			continue
		}
		least := hullP[head] - 2*x*hullY[head]
		for ; head+1 < tail; head++ {
			c := hullP[head+1] - 2*x*hullY[head+1]
			if c > least {
				break
			}
			least = c
		}
		dst[i] = least + x*x + fee[i]
	}
}

// trace reads the path that ends at index end off the values of the last pass.
// In each layer it looks for a predecessor that gives the value, from the
// narrowest gap on.
func (s *Solver) trace(f frame, end int32) {
	n := int(s.n)
	s.path = sized(s.path, n+1)
	s.path[n] = end
	for k := n; k > 0; k-- {
		j := s.path[k]
		x, lo := s.line.pos[j], f.lo[k-1]
		want := s.cost[s.at[k]+j-f.lo[k]] - s.line.fee[j]
		src := s.layer(f, k-1)
		i := min(int(s.rank[x-s.gap+1]-lo), len(src)) - 1
		for d := int64(0); ; i-- {
			if d = x - s.line.pos[int(lo)+i]; src[i] != never && src[i]+d*d == want {
				break
			}
		}
		s.path[k-1] = lo + int32(i)
	}
}
