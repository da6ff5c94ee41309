package marks

import (
	"math/rand/v2"
	"slices"
	"testing"

	"sapwell/engine/bole"
	"sapwell/engine/quantity"
)

func TestPinnedAgainstEnumeration(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 8))
	var s Solver
	for range 120 {
		in := randomInstance(rng, 2+rng.IntN(12))
		pins := rng.Perm(in.N)[:1+rng.IntN(min(3, in.N))]
		slices.Sort(pins)
		most := 0
		for n, want := range enumerate(in, pins) {
			if n == 0 {
				continue
			}
			if want != none {
				most = n
			}
			in.Count = n
			agreePinned(t, &s, in, pins, want)
		}
		if got := s.pinned(in, pins).Most; got != most {
			t.Fatalf("%+v pins %v: most %d, enumeration %d", in, pins, got, most)
		}
	}
}

func agreePinned(t testing.TB, s *Solver, in Instance, pins []int, want int64) {
	t.Helper()
	sol := s.pinned(in, pins)
	if sol.Feasible != (want != none) {
		t.Fatalf("%+v pins %v: %+v, want Z %d", in, pins, sol, want)
	}
	if !sol.Feasible {
		return
	}
	z, ok := pinnedCost(in, sol.Positions, pins)
	if !ok || len(sol.Positions) != in.Count || z != sol.Cost || z != want {
		t.Fatalf("%+v pins %v: %+v, checker %d %v, want %d", in, pins, sol, z, ok, want)
	}
}

// One pin at a mark of an optimum changes nothing; a pin anywhere cannot help.
func TestPinNeverHelps(t *testing.T) {
	var s Solver
	for _, c := range caseFile(t) {
		if c.Z == nil {
			continue
		}
		in := c.instance()
		for k := 1; k <= in.Count; k += 3 {
			if sol := s.pinned(in, c.Example[:k]); sol.Cost != *c.Z || sol.Most > c.Most {
				t.Errorf("%s: %d pins of an optimum: %+v, want Z %d", c.Name, k, sol, *c.Z)
			}
		}
		for x := 0; x < in.N; x += 37 {
			if sol := s.pinned(in, []int{x}); refOpen(in, x) && sol.Feasible && sol.Cost < *c.Z {
				t.Errorf("%s: pin at %d: Z %d under the optimum %d", c.Name, x, sol.Cost, *c.Z)
			}
		}
	}
}

// Half the ring closed between two pins, so that no even place is open.
func TestPinnedPastALongClosedStretch(t *testing.T) {
	in := Instance{N: 16, MinGap: 1, Forbidden: [][2]int{{1, 9}}, Fissures: []int{12}, Weight: 2, Cap: 3}
	var s Solver
	for n, want := range enumerate(in, []int{0}) {
		if n > 0 {
			in.Count = n
			agreePinned(t, &s, in, []int{0}, want)
		}
	}
}

func codes(p Plan) []string {
	var out []string
	for _, f := range p.Findings {
		out = append(out, f.Code)
	}
	return out
}

func TestSpreadSaysWhatAPinBreaks(t *testing.T) {
	const in = quantity.Inch
	ring := bole.Ring{
		Girth:  bole.Girth{Around: 96 * in},
		Arcs:   []bole.Arc{{From: 20 * in, To: 24 * in, Kind: bole.Cavity}},
		Wounds: []bole.Wound{{At: 60 * in}},
	}
	for name, c := range map[string]struct {
		count int
		pins  []Pin
		want  []string
		marks int
	}{
		"fine":        {16, []Pin{{0}, {48 * in}}, nil, 16},
		"none":        {16, nil, nil, 16},
		"in cavity":   {16, []Pin{{22 * in}}, []string{"marks.pin_in_defect"}, 16},
		"near wound":  {16, []Pin{{60*in + in/2}}, []string{"marks.pin_near_wound"}, 16},
		"too close":   {16, []Pin{{0}, {95 * in}}, []string{"marks.pin_too_close"}, 16},
		"same place":  {16, []Pin{{5 * in}, {5 * in}}, []string{"marks.pin_too_close"}, 16},
		"off ring":    {16, []Pin{{97 * in}}, []string{"marks.pin_off_ring"}, 16},
		"too many":    {1, []Pin{{0}, {48 * in}}, []string{"marks.pins_over_count", "marks.blocked.cavity", "marks.blocked.wound"}, 0},
		"no room":     {31, []Pin{{3 * in}, {8 * in}, {13 * in}}, []string{"marks.pins_leave_no_room", "marks.blocked.cavity", "marks.blocked.wound"}, 0},
		"at the seam": {16, []Pin{{96 * in}}, nil, 16},
	} {
		var s Solver
		p, err := s.Spread(ring, c.count, c.pins, DefaultRules(quantity.Imperial, day(2026, 6, 1)))
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if got := codes(p); !slices.Equal(got, c.want) || len(p.Positions) != c.marks {
			t.Errorf("%s: findings %v, %d marks; want %v, %d", name, got, len(p.Positions), c.want, c.marks)
		}
		for _, pin := range c.pins {
			if c.marks > 0 && pin.At < ring.Girth.Around && !slices.Contains(p.Positions, pin.At) {
				t.Errorf("%s: the pin at %v is not among the marks", name, pin.At)
			}
		}
	}
}

func FuzzSpread(f *testing.F) {
	f.Add(uint8(12), uint8(3), uint8(2), uint8(1), uint8(4), []byte{3, 5}, []byte{1}, uint16(5))
	f.Fuzz(func(t *testing.T, n, count, gap, weight, far uint8, arcs, fissures []byte, pinBits uint16) {
		in := Instance{N: int(n%11) + 1, MinGap: int(gap%12) + 1, Weight: int(weight), Cap: int(far)}
		in.Count = int(count)%in.N + 1
		for i := 0; i+1 < min(len(arcs), 8); i += 2 {
			in.Forbidden = append(in.Forbidden, [2]int{int(arcs[i]) % in.N, int(arcs[i+1]) % in.N})
		}
		for _, x := range fissures[:min(len(fissures), 4)] {
			in.Fissures = append(in.Fissures, int(x)%in.N)
		}
		var pins []int
		for x := range in.N {
			if pinBits>>x&1 == 1 {
				pins = append(pins, x)
			}
		}
		if len(pins) == 0 {
			return
		}
		var s Solver
		agreePinned(t, &s, in, pins, enumerate(in, pins)[in.Count])
	})
}
