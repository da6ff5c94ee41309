package marks

import (
	"encoding/json"
	"math"
	"math/big"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sapwell/internal/outside"
)

// oneCase is a row of testdata/marks.json. Its Z and n_max are proven optima:
// the plain dynamic programme in Python, HiGHS 1.2 and CBC 2.10.8 agreed on them
// (see the note in the file for what the numbers mean).
type oneCase struct {
	Name      string
	N         int
	Count     int `json:"n"`
	MinGap    int `json:"smin"`
	Forbidden [][2]int
	Fissures  []int
	Weight    int `json:"wf"`
	Cap       int `json:"cap"`
	Most      int `json:"n_max"`
	Z         *int64
	Example   []int `json:"example_positions"`
	Ticks     int   `json:"ticks_per_unit"`
	Unit      string
	WoundRule struct {
		W0        float64
		Rate      float64 `json:"rate_per_year"`
		Floor     float64
		Clearance float64
	} `json:"wound_rule"`
	Defects [][2]int `json:"defect_arcs"`
	Wounds  []struct {
		Pos int
		Age int `json:"age_years"`
	}
}

func (c oneCase) instance() Instance {
	return Instance{c.N, c.Count, c.MinGap, c.Forbidden, c.Fissures, c.Weight, c.Cap}
}

func caseFile(t testing.TB) []oneCase {
	t.Helper()
	raw, err := os.ReadFile("testdata/marks.json")
	if err != nil {
		t.Fatal(err)
	}
	var f struct{ Instances []oneCase }
	if err := json.Unmarshal(raw, &f); err != nil {
		t.Fatal(err)
	}
	if len(f.Instances) < 10 {
		t.Fatalf("testdata/marks.json has %d instances, want 10 or more", len(f.Instances))
	}
	return f.Instances
}

func TestProvenOptima(t *testing.T) {
	var s Solver
	for _, c := range caseFile(t) {
		in := c.instance()
		sol, err := s.Solve(in)
		if err != nil {
			t.Fatalf("%s: %v", c.Name, err)
		}
		if sol.Most != c.Most {
			t.Errorf("%s: most %d, want %d", c.Name, sol.Most, c.Most)
		}
		if sol.Feasible != (c.Z != nil) {
			t.Errorf("%s: feasible %v", c.Name, sol.Feasible)
			continue
		}
		if c.Z == nil {
			continue
		}
		if sol.Cost != *c.Z {
			t.Errorf("%s: Z %d, want %d", c.Name, sol.Cost, *c.Z)
		}
		if z, err := refCost(in, sol.Positions); err != nil || z != sol.Cost {
			t.Errorf("%s: checker: Z %d, %v", c.Name, z, err)
		}
		// the checker itself, on the file's own answer
		if z, err := refCost(in, c.Example); err != nil || z != *c.Z {
			t.Errorf("%s: checker on the example: Z %d, %v", c.Name, z, err)
		}
	}
	outside.Ran(t, "plain DP, HiGHS 1.2 and CBC 2.10.8, in marks.json", "proven optima and most marks of the rings")
}

// genInstance draws a ring of at most maxN ticks with arcs, overlaps, wraps
// and fissures; some are infeasible.
func genInstance(maxN int) *rapid.Generator[Instance] {
	return rapid.Custom(func(t *rapid.T) Instance {
		n := rapid.IntRange(1, maxN).Draw(t, "N")
		tick := rapid.IntRange(0, n-1)
		arc := rapid.Custom(func(t *rapid.T) [2]int {
			a := tick.Draw(t, "from")
			return [2]int{a, (a + rapid.IntRange(0, max(0, n/4)).Draw(t, "len")) % n}
		})
		return Instance{
			N: n, Count: rapid.IntRange(1, max(1, n/2)).Draw(t, "n"),
			MinGap:    rapid.IntRange(1, max(1, n/3)).Draw(t, "gap"),
			Forbidden: rapid.SliceOfN(arc, 0, 4).Draw(t, "arcs"),
			Fissures:  rapid.SliceOfN(tick, 0, 5).Draw(t, "fissures"),
			Weight:    rapid.IntRange(0, 6).Draw(t, "weight"), Cap: rapid.IntRange(0, 8).Draw(t, "cap"),
		}
	})
}

// agree solves in and compares with a reference value.
func agree(t rapid.TB, s *Solver, in Instance, want int64) {
	t.Helper()
	sol, err := s.Solve(in)
	if err != nil {
		t.Fatalf("%+v: %v", in, err)
	}
	if !sol.Feasible {
		if want != none {
			t.Fatalf("%+v: no answer, want Z %d", in, want)
		}
		if sol.Positions != nil || sol.Cost != 0 || sol.Most >= in.Count {
			t.Fatalf("%+v: infeasible, yet %+v", in, sol)
		}
		return
	}
	z, err := refCost(in, sol.Positions)
	if err != nil || z != sol.Cost || z != want {
		t.Fatalf("%+v: %+v, checker Z %d %v, want %d", in, sol, z, err, want)
	}
}

func TestAgainstEnumeration(t *testing.T) {
	rng := rand.New(rand.NewPCG(17, 5))
	rounds, largest := 60, 13
	if !testing.Short() {
		largest = 16
	}
	var s Solver
	for range rounds {
		in := randomInstance(rng, 1+rng.IntN(largest))
		most := 0
		for n, want := range enumerate(in, nil) {
			if n == 0 {
				continue
			}
			in.Count = n
			agree(t, &s, in, want)
			if want != none {
				most = n
			}
		}
		in.Count = 1
		if sol, _ := s.Solve(in); sol.Most != most {
			t.Fatalf("%+v: most %d, enumeration %d", in, sol.Most, most)
		}
	}
}

// randomInstance is genInstance without shrinking, for larger seeded samples.
func randomInstance(rng *rand.Rand, n int) Instance {
	in := Instance{N: n, Count: 1 + rng.IntN(max(1, n/2)), MinGap: 1 + rng.IntN(max(1, n/3)),
		Weight: rng.IntN(6), Cap: rng.IntN(9)}
	for range rng.IntN(5) {
		a := rng.IntN(n)
		in.Forbidden = append(in.Forbidden, [2]int{a, (a + rng.IntN(n/5+1)) % n})
	}
	for range rng.IntN(6) {
		in.Fissures = append(in.Fissures, rng.IntN(n))
	}
	return in
}

func TestAgainstPlain(t *testing.T) {
	var s Solver
	rapid.Check(t, func(t *rapid.T) {
		in := genInstance(70).Draw(t, "instance")
		agree(t, &s, in, plain(in))
	})
}

func TestAgainstPlainLarger(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 99))
	var s Solver
	for range 25 {
		in := randomInstance(rng, 100+rng.IntN(80))
		in.Count = 2 + rng.IntN(8)
		in.MinGap = 1 + rng.IntN(in.N/in.Count)
		agree(t, &s, in, plain(in))
		// fissures that outweigh the spacing make relaxed paths drift
		in.Weight, in.Cap = 1+rng.IntN(60), 10+rng.IntN(60)
		agree(t, &s, in, plain(in))
	}
}

// turned returns in with the zero of the tape moved by d ticks.
func turned(in Instance, d int) Instance {
	out := in
	out.Forbidden, out.Fissures = nil, nil
	for _, a := range in.Forbidden {
		out.Forbidden = append(out.Forbidden, [2]int{(a[0] + d) % in.N, (a[1] + d) % in.N})
	}
	for _, x := range in.Fissures {
		out.Fissures = append(out.Fissures, (x+d)%in.N)
	}
	return out
}

// mirrored returns in read the other way round.
func mirrored(in Instance) Instance {
	out := in
	out.Forbidden, out.Fissures = nil, nil
	for _, a := range in.Forbidden {
		out.Forbidden = append(out.Forbidden, [2]int{in.N - 1 - a[1], in.N - 1 - a[0]})
	}
	for _, x := range in.Fissures {
		out.Fissures = append(out.Fissures, in.N-1-x)
	}
	return out
}

func TestSymmetry(t *testing.T) {
	var s Solver
	rapid.Check(t, func(t *rapid.T) {
		in := genInstance(400).Draw(t, "instance")
		d := rapid.IntRange(0, in.N-1).Draw(t, "turn")
		want, err := s.Solve(in)
		if err != nil {
			t.Fatal(err)
		}
		for name, other := range map[string]Instance{"turned": turned(in, d), "mirrored": mirrored(in)} {
			got, err := s.Solve(other)
			if err != nil || got.Cost != want.Cost || got.Most != want.Most || got.Feasible != want.Feasible {
				t.Fatalf("%s: %+v, want %+v (%v)", name, got, want, err)
			}
		}
	})
}

func TestTighterNeverCheaper(t *testing.T) {
	var s Solver
	rapid.Check(t, func(t *rapid.T) {
		in := genInstance(300).Draw(t, "instance")
		before, _ := s.Solve(in)
		tighter := in
		if rapid.Bool().Draw(t, "gap") {
			tighter.MinGap++
		} else {
			a := rapid.IntRange(0, in.N-1).Draw(t, "from")
			b := rapid.IntRange(0, in.N-1).Draw(t, "to")
			tighter.Forbidden = append([][2]int{{a, b}}, in.Forbidden...)
		}
		after, err := s.Solve(tighter)
		if err != nil {
			t.Fatal(err)
		}
		if after.Most > before.Most || after.Feasible && (!before.Feasible || after.Cost < before.Cost) {
			t.Fatalf("%+v became %+v when %+v was tightened to %+v", before, after, in, tighter)
		}
	})
}

// Z = r(q+1)² + (n-r)q² with N = qn + r: arithmetic.
func TestClosedForm(t *testing.T) {
	var s Solver
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 60).Draw(t, "n")
		in := Instance{N: rapid.IntRange(n, 2000).Draw(t, "N"), Count: n, MinGap: 1}
		q, r := int64(in.N/n), int64(in.N%n)
		want := r*(q+1)*(q+1) + (int64(n)-r)*q*q
		// once through the closed form, once through the search: a fissure
		// everywhere is no fissure
		for range 2 {
			sol, err := s.Solve(in)
			if err != nil || sol.Cost != want {
				t.Fatalf("%+v: %+v, want Z %d (%v)", in, sol, want, err)
			}
			if z, err := refCost(in, sol.Positions); err != nil || z != want {
				t.Fatalf("%+v: checker Z %d, %v", in, z, err)
			}
			in.Weight, in.Cap = 3, 5
			for x := range in.N {
				in.Fissures = append(in.Fissures, x)
			}
		}
	})
}

func TestMostIsTheEdge(t *testing.T) {
	var s Solver
	rapid.Check(t, func(t *rapid.T) {
		in := genInstance(200).Draw(t, "instance")
		sol, _ := s.Solve(in)
		for _, n := range []int{sol.Most, sol.Most + 1} {
			if n < 1 {
				continue
			}
			in.Count = n
			if got, err := s.Solve(in); err != nil || got.Feasible != (n <= sol.Most) || got.Most != sol.Most {
				t.Fatalf("%+v: %+v, most was %d (%v)", in, got, sol.Most, err)
			}
		}
	})
}

func TestOddRings(t *testing.T) {
	all := [][2]int{{0, 9}}
	for name, c := range map[string]struct {
		in       Instance
		feasible bool
		most     int
		z        int64
	}{
		"one tick":              {Instance{N: 1, Count: 1, MinGap: 1}, true, 1, 1},
		"one mark, gap over N":  {Instance{N: 10, Count: 1, MinGap: 50}, true, 1, 100},
		"two marks, gap over N": {Instance{N: 10, Count: 2, MinGap: 50}, false, 1, 0},
		"two marks, both gaps":  {Instance{N: 10, Count: 2, MinGap: 5}, true, 2, 50},
		"nothing open":          {Instance{N: 10, Count: 1, MinGap: 1, Forbidden: all}, false, 0, 0},
		"whole ring by a wrap":  {Instance{N: 10, Count: 1, MinGap: 1, Forbidden: [][2]int{{4, 3}}}, false, 0, 0},
		"one open tick":         {Instance{N: 10, Count: 1, MinGap: 1, Forbidden: [][2]int{{4, 2}}}, true, 1, 100},
		"every tick":            {Instance{N: 10, Count: 10, MinGap: 1}, true, 10, 10},
		// open ticks 0 and 5 only; the fissure at 2 lies in the forbidden arc
		// 1-4 and still charges 2·2² at 0 and 2·3² at 5
		"fissure in an arc": {Instance{N: 10, Count: 2, MinGap: 1, Forbidden: [][2]int{{1, 4}, {6, 9}},
			Fissures: []int{2}, Weight: 2, Cap: 9}, true, 2, 50 + 8 + 18},
	} {
		var s Solver
		sol, err := s.Solve(c.in)
		if err != nil || sol.Feasible != c.feasible || sol.Most != c.most || sol.Cost != c.z {
			t.Errorf("%s: %+v, %v", name, sol, err)
		}
	}
}

func TestErrorsNameTheField(t *testing.T) {
	good := Instance{N: 10, Count: 2, MinGap: 2}
	for field, spoil := range map[string]func(*Instance){
		"N ":           func(in *Instance) { in.N = 0 },
		"N is 20001":   func(in *Instance) { in.N = MaxTicks + 1 },
		"Count":        func(in *Instance) { in.Count = 0 },
		"Count is 1":   func(in *Instance) { in.Count = MaxCount + 1 },
		"MinGap":       func(in *Instance) { in.MinGap = 0 },
		"Weight":       func(in *Instance) { in.Weight = -1 },
		"Cap":          func(in *Instance) { in.Cap = -1 },
		"charges":      func(in *Instance) { in.Weight, in.Cap = 1<<27, 10 },
		"Forbidden[1]": func(in *Instance) { in.Forbidden = [][2]int{{0, 1}, {3, 10}} },
		"Forbidden[0]": func(in *Instance) { in.Forbidden = [][2]int{{-1, 1}} },
		"Fissures[0]":  func(in *Instance) { in.Fissures = []int{10} },
	} {
		in := good
		spoil(&in)
		var s Solver
		if _, err := s.Solve(in); err == nil || !strings.Contains(err.Error(), field) {
			t.Errorf("%s: error %v", field, err)
		}
	}
}

// The largest instance accepted, with the largest charges, must not overflow:
// the independent checker recomputes Z.
func TestLargestInstance(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	in := Instance{N: MaxTicks, Count: MaxCount, MinGap: 10, Weight: 2, Cap: 8}
	for range 150 {
		a := rng.IntN(in.N)
		in.Forbidden = append(in.Forbidden, [2]int{a, (a + 40) % in.N})
		in.Fissures = append(in.Fissures, rng.IntN(in.N))
	}
	var s Solver
	for _, n := range []int{2, 50, MaxCount} {
		in.Count = n
		sol, err := s.Solve(in)
		if err != nil || !sol.Feasible {
			t.Fatalf("%+v, %v", sol, err)
		}
		if z, err := refCost(in, sol.Positions); err != nil || z != sol.Cost {
			t.Fatalf("n %d: Z %d, checker %d, %v", n, sol.Cost, z, err)
		}
	}
}

// root against math/big; beyond an int64 it may only be too large.
func TestRoot(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.Int64Range(-5, math.MaxInt64).Draw(t, "a"), rapid.Int64Range(-5, 1<<40).Draw(t, "b")
		product := new(big.Int).Mul(big.NewInt(a), big.NewInt(b))
		got := root(a, b)
		switch {
		case a <= 0 || b <= 0:
			if got != 0 {
				t.Fatalf("root of %v is %d", product, got)
			}
		case !product.IsInt64():
			if got < MaxCount*2*MaxTicks {
				t.Fatalf("root of %v is %d", product, got)
			}
		case new(big.Int).Sqrt(product).Int64() != got:
			t.Fatalf("root of %v is %d", product, got)
		}
	})
	outside.Ran(t, "Go math/big", "integer square roots")
}

func TestSteadyStateTakesNoMemory(t *testing.T) {
	var s Solver
	for _, c := range caseFile(t) {
		in := c.instance()
		s.Solve(in)
		if got := testing.AllocsPerRun(20, func() { s.Solve(in) }); got > 1 {
			t.Errorf("%s: %v allocations a solve, want the answer's one", c.Name, got)
		}
	}
}

func FuzzSolve(f *testing.F) {
	f.Add(uint8(30), uint8(4), uint8(3), uint8(2), uint8(5), []byte{3, 6, 25, 4}, []byte{1, 17})
	f.Add(uint8(12), uint8(1), uint8(40), uint8(0), uint8(0), []byte{11, 0}, []byte{})
	f.Fuzz(func(t *testing.T, n, count, gap, weight, far uint8, arcs, fissures []byte) {
		in := Instance{N: int(n%64) + 1, Count: int(count%16) + 1, MinGap: int(gap) + 1, Weight: int(weight), Cap: int(far)}
		for i := 0; i+1 < min(len(arcs), 12); i += 2 {
			in.Forbidden = append(in.Forbidden, [2]int{int(arcs[i]) % in.N, int(arcs[i+1]) % in.N})
		}
		for _, x := range fissures[:min(len(fissures), 8)] {
			in.Fissures = append(in.Fissures, int(x)%in.N)
		}
		var s Solver
		agree(t, &s, in, plain(in))
	})
}
