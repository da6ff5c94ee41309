package marks

// pinned returns the optimum of in among the sets that hold every tick of pins,
// which are distinct and ascending and need be neither open nor MinGap apart:
// they are there. The first pin cuts the ring; pins cut it into stretches that
// do not touch each other, so the cost of every number of marks in every stretch
// is found alone, and a second dynamic programme deals the marks out.
// Most counts the pins.
func (s *Solver) pinned(in Instance, pins []int) Solution {
	s.survey(in)
	spare := in.Count - len(pins)
	parts := make([]stretch, len(pins))
	most := len(pins)
	for i, p := range pins {
		parts[i] = s.stretch(in, p, pins[(i+1)%len(pins)])
		most += parts[i].room
	}
	if spare < 0 || in.Count > most {
		return Solution{Most: most}
	}
	if len(pins) > 1 {
		for i := range parts {
			s.price(in, &parts[i], spare)
		}
		deal(parts, spare)
	} else {
		parts[0].marks = spare
	}
	sol := Solution{Feasible: true, Most: most}
	var ticks []int64
	for i := range parts {
		sol.Cost += s.settle(in, &parts[i], parts[i].marks)
		ticks = append(ticks, s.marks...)
	}
	s.best, s.marks = sol.Cost, append(s.marks[:0], ticks...)
	return s.solution(most)
}

// stretch is the ring from one pin to the next.
type stretch struct {
	from, span int     // first pin, ticks to the next
	room       int     // marks that fit between at MinGap
	cost       []int64 // least cost of 0..room marks between, the next pin's f counted
	marks      int     // marks dealt to it
}

// stretch measures the ring from one pin to the next; from one pin to itself it
// is the whole ring.
func (s *Solver) stretch(in Instance, from, to int) stretch {
	p := stretch{from: from, span: to - from}
	if p.span <= 0 {
		p.span += in.N
	}
	last := 0
	for x := in.MinGap; x <= p.span-in.MinGap; x++ {
		if x-last >= in.MinGap && s.open[(from+x)%in.N] {
			p.room++
			last = x
		}
	}
	return p
}

// price fills cost for as many marks as could be dealt to p.
func (s *Solver) price(in Instance, p *stretch, spare int) {
	for m := range min(p.room, spare) + 1 {
		p.cost = append(p.cost, s.settle(in, p, m))
	}
}

// deal sets how many of the spare marks go into each stretch so that the sum of
// costs is least. best[r] is the least cost of r marks in the stretches so far.
func deal(parts []stretch, spare int) {
	best := make([]int64, spare+1)
	for r := range best {
		best[r] = never
	}
	best[0] = 0
	picks := make([][]int, len(parts))
	for i, p := range parts {
		next, pick := make([]int64, spare+1), make([]int, spare+1)
		for r := range next {
			next[r] = never
			for m := range min(r+1, len(p.cost)) {
				if b := best[r-m]; b != never && b+p.cost[m] < next[r] {
					next[r], pick[r] = b+p.cost[m], m
				}
			}
		}
		best, picks[i] = next, pick
	}
	for i := len(parts) - 1; i >= 0; i-- {
		parts[i].marks = picks[i][spare]
		spare -= parts[i].marks
	}
}

// settle finds the least cost of m marks inside p, m <= p.room, and leaves the
// pin at p.from and the marks in s.marks. It is the one-start case of the method:
// a first answer, the lanes it leaves, and one pass in them.
func (s *Solver) settle(in Instance, p *stretch, m int) int64 {
	fee := s.fee[(p.from+p.span)%in.N]
	s.begin(m+1, p.span, in.MinGap)
	if m == 0 {
		s.marks = append(s.marks, int64(p.from))
		return s.span*s.span + fee
	}
	s.unrollStretch(p, fee)
	if !s.band(2 * s.span / s.n) {
		s.band(s.span)
	}
	slack := s.n*(s.best-1-fee) - s.span*s.span
	if slack >= 0 {
		f := s.frame(0)
		s.lanes(&f, slack, 1)
		s.allow(f, s.n, s.span, s.span)
		s.take(f)
	}
	return s.best
}

// unrollStretch lays p straight: its two pins, open or not, and the open ticks
// between them.
func (s *Solver) unrollStretch(p *stretch, fee int64) {
	s.cut = int64(p.from)
	s.rank = sized(s.rank, p.span+2)
	s.line.pos, s.line.fee = append(s.line.pos[:0], 0), append(s.line.fee[:0], s.fee[p.from])
	s.rank[0] = 0
	s.extend((p.from+1)%len(s.open), p.span-1, 1)
	s.rank[p.span] = int32(len(s.line.pos))
	s.line.pos, s.line.fee = append(s.line.pos, int64(p.span)), append(s.line.fee, fee)
	s.line.around = len(s.line.pos) - 1
	s.seal()
}
