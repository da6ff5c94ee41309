package marks

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"sapwell/engine/bole"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/internal/outside"
)

func day(y, m, d int) quantity.Date { return quantity.NewDate(y, time.Month(m), d) }

// 96 in of girth at 16 marks is one every 6 in: arithmetic, and the worked
// check of common practice (96/6 = 16).
func TestPlainRing(t *testing.T) {
	var s Solver
	p, err := s.Place(bole.Ring{Girth: bole.Girth{Around: 96 * quantity.Inch}}, 16, DefaultRules(quantity.Imperial, day(2026, 6, 1)))
	if err != nil {
		t.Fatal(err)
	}
	for i, x := range p.Positions {
		if x != quantity.Length(i)*6*quantity.Inch || p.Gaps[i] != 6*quantity.Inch || p.Raise[i] != 0 {
			t.Errorf("mark %d at %v, gap %v, raise %v", i, x, p.Gaps[i], p.Raise[i])
		}
	}
	if len(p.Positions) != 16 || p.Most != 32 || len(p.Findings) != 0 {
		t.Errorf("%d marks, most %d, findings %v", len(p.Positions), p.Most, codes(p))
	}
	if p.Why.Low != 6*quantity.Inch || p.Why.High != 6*quantity.Inch || p.Why.Rule != "marks.spread" {
		t.Errorf("why: %+v", p.Why)
	}
	outside.Ran(t, "common practice, no source", "96 in at 16 marks: one every 6 in")
}

// The case file gives wounds raw (place, age, rule of healing) and resolved
// (inclusive arcs of ticks, defects first). Both were made outside this project's
// code; reading the raw ones must give the resolved ones.
func TestWoundArcsOfTheCaseFile(t *testing.T) {
	asOf := day(2026, 6, 1)
	for _, c := range caseFile(t) {
		unit, rule := quantity.Inch, c.WoundRule
		if c.Unit == "cm" {
			unit = quantity.Centimetre
		}
		long := func(v float64) quantity.Length { return quantity.Length(math.Round(v * float64(unit))) }
		rules := DefaultRules(quantity.Metric, asOf)
		rules.Tick = unit / quantity.Length(c.Ticks)
		rules.Clearance, rules.WoundStart = long(rule.Clearance), long(rule.W0)
		rules.WoundHeals, rules.WoundFloor = long(rule.Rate), long(rule.Floor)
		ring := bole.Ring{Girth: bole.Girth{Around: quantity.Length(c.N) * rules.Tick}}
		for _, w := range c.Wounds {
			ring.Wounds = append(ring.Wounds, bole.Wound{
				At: quantity.Length(w.Pos) * rules.Tick, Made: asOf.AddDate(-w.Age, 0, 0)})
		}
		g, err := newGrid(ring, rules)
		if err != nil {
			t.Fatal(err)
		}
		got, _ := g.blocked(ring, rules)
		if want := c.Forbidden[len(c.Defects):]; !slices.Equal(got, want) {
			t.Errorf("%s: wounds block %v, want %v", c.Name, got, want)
		}
	}
	outside.Ran(t, "marks.json, made outside this code", "ticks that each wound closes")
}

// genRing draws a ring with everything on it, positions to the millimetre.
func genRing(t *rapid.T) bole.Ring {
	girth := quantity.Length(rapid.IntRange(300, 3000).Draw(t, "girth")) * quantity.Millimetre
	at := func(what string) quantity.Length {
		return quantity.Length(rapid.Int64Range(0, int64(girth/quantity.Millimetre)).Draw(t, what)) * quantity.Millimetre
	}
	r := bole.Ring{Girth: bole.Girth{Around: girth}}
	for range rapid.IntRange(0, 3).Draw(t, "arcs") {
		from := at("from")
		to := (from + quantity.Length(rapid.IntRange(1, 150).Draw(t, "wide"))*quantity.Millimetre) % girth
		r.Arcs = append(r.Arcs, bole.Arc{From: from, To: to, Kind: bole.Crack})
	}
	for range rapid.IntRange(0, 4).Draw(t, "wounds") {
		w := bole.Wound{At: at("wound")}
		if rapid.Bool().Draw(t, "aged") {
			w.Made = day(rapid.IntRange(2015, 2027).Draw(t, "year"), 5, 9)
		}
		if rapid.Bool().Draw(t, "measured") {
			w.Width = quantity.Length(rapid.IntRange(1, 60).Draw(t, "width")) * quantity.Millimetre
		}
		r.Wounds = append(r.Wounds, w)
	}
	for range rapid.IntRange(0, 6).Draw(t, "fissures") {
		r.Fissures = append(r.Fissures, at("fissure"))
	}
	return r
}

// apart is how far a lies outside the arc lo..hi (hi may be a turn on), along
// the bark; 0 inside.
func apart(a, lo, hi, girth quantity.Length) quantity.Length {
	if hi-lo >= girth {
		return 0
	}
	best := girth
	for turn := -15; turn <= 15; turn++ {
		x := a + quantity.Length(turn)*girth
		best = min(best, max(lo-x, x-hi, 0))
	}
	return best
}

// Whatever the girth, a plan read off the tape keeps its distances in true
// lengths, not only in ticks.
func TestDistancesHoldOnTheTape(t *testing.T) {
	var s Solver
	rapid.Check(t, func(t *rapid.T) {
		ring := genRing(t)
		sys := quantity.System(rapid.IntRange(0, 1).Draw(t, "system"))
		rules := DefaultRules(sys, day(2026, 6, 1))
		p, err := s.Place(ring, rapid.IntRange(1, 20).Draw(t, "count"), rules)
		if err != nil {
			t.Fatal(err)
		}
		if len(p.Positions) == 0 {
			if p.Most >= p.Wanted || !why.Blocks(p.Findings) {
				t.Fatalf("no marks, most %d, findings %v", p.Most, codes(p))
			}
			return
		}
		sum := quantity.Length(0)
		for i, x := range p.Positions {
			sum += p.Gaps[i]
			if len(p.Gaps) > 1 && p.Gaps[i] < rules.MinGap {
				t.Fatalf("gap %v under %v", p.Gaps[i], rules.MinGap)
			}
			if x%rules.Tick != 0 || x < 0 || x >= ring.Girth.Around {
				t.Fatalf("mark at %v", x)
			}
			for _, a := range ring.Arcs {
				to := a.To
				if to < a.From {
					to += ring.Girth.Around
				}
				if d := apart(x, a.From, to, ring.Girth.Around); d < rules.Clearance {
					t.Fatalf("mark at %v is %v from %+v", x, d, a)
				}
			}
			for _, w := range ring.Wounds {
				if d := apart(x, w.At, w.At, ring.Girth.Around); d < rules.WoundFloor+rules.Clearance {
					t.Fatalf("mark at %v is %v from %+v", x, d, w)
				}
			}
			for _, b := range p.Blocked {
				if b.holds(x) {
					t.Fatalf("mark at %v lies in %+v", x, b)
				}
			}
		}
		if sum != ring.Girth.Around {
			t.Fatalf("gaps sum to %v, girth %v", sum, ring.Girth.Around)
		}
	})
}

// cover against its definition: the arc is the shortest run of ticks that holds
// every tick within lo..hi and one tick at or beyond each end.
func TestCoverWidensOutward(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := grid{girth: quantity.Length(rapid.IntRange(10, 99).Draw(t, "girth")), tick: 7}
		g.n = int(g.girth / g.tick)
		lo := quantity.Length(rapid.IntRange(-50, 120).Draw(t, "lo"))
		hi := lo + quantity.Length(rapid.IntRange(0, 120).Draw(t, "wide"))
		a := g.cover(lo, hi)
		if a[0] < 0 || a[0] >= g.n || a[1] < 0 || a[1] >= g.n {
			t.Fatalf("%v outside 0..%d", a, g.n-1)
		}
		in := Instance{N: g.n, Forbidden: [][2]int{a}}
		for x := range g.n {
			d := apart(g.at(x), lo, hi, g.girth)
			if open := refOpen(in, x); open && d == 0 || !open && d >= 2*g.tick {
				t.Fatalf("tick %d, %v away: open %v, cover %v", x, d, open, a)
			}
		}
	})
}

// The nearest tick, distances taken along the bark over the seam.
func TestNearestTick(t *testing.T) {
	g := grid{girth: 27, tick: 10, n: 2} // ticks at 0 and 10, the seam from 10 to 27
	for at, want := range map[quantity.Length]int{0: 0, 4: 0, 6: 1, 10: 1, 17: 1, 19: 0, 27: 0} {
		if got := g.nearest(at); got != want {
			t.Errorf("%d is read as tick %d, want %d", at, got, want)
		}
	}
}

func TestHalfWidth(t *testing.T) {
	const mm = quantity.Millimetre
	r := Rules{WoundStart: 20 * mm, WoundHeals: 3 * mm, WoundFloor: 6 * mm, Clearance: 10 * mm, AsOf: day(2026, 6, 1)}
	for name, c := range map[string]struct {
		w    bole.Wound
		want quantity.Length
	}{
		"unknown age is fresh":         {bole.Wound{}, 30 * mm},
		"fresh":                        {bole.Wound{Made: day(2026, 5, 1)}, 30 * mm},
		"dated in the future":          {bole.Wound{Made: day(2027, 5, 1)}, 30 * mm},
		"a day under two years":        {bole.Wound{Made: day(2024, 6, 2)}, 27 * mm},
		"two years":                    {bole.Wound{Made: day(2024, 6, 1)}, 24 * mm},
		"never under the floor":        {bole.Wound{Made: day(1990, 6, 1)}, 16 * mm},
		"measured":                     {bole.Wound{Width: 31 * mm, Made: day(2025, 6, 1)}, 15*mm + mm/2 - 3*mm + 10*mm},
		"measured narrower than floor": {bole.Wound{Width: 4 * mm}, 16 * mm},
	} {
		if got := r.halfWidth(c.w); got != c.want {
			t.Errorf("%s: %v, want %v", name, got, c.want)
		}
	}
}

func TestFindings(t *testing.T) {
	const in = quantity.Inch
	ring := bole.Ring{Girth: bole.Girth{Around: 60 * in}, Arcs: []bole.Arc{
		{From: 50 * in, To: 10 * in, Kind: bole.Canker}, {From: 20 * in, To: 22 * in, Kind: bole.Crack},
	}}
	rules := DefaultRules(quantity.Imperial, day(2026, 6, 1))
	var s Solver
	p, err := s.Place(ring, 10, rules)
	if err != nil {
		t.Fatal(err)
	}
	// the canker takes 20 of 60 in: a gap of 21 in where 6 in would be even
	if got := codes(p); !slices.Equal(got, []string{"marks.wide_gap", "marks.little_live"}) {
		t.Errorf("findings %v", got)
	}
	p, _ = s.Place(ring, 40, rules)
	if got := codes(p); !slices.Equal(got, []string{"marks.too_many", "marks.blocked.canker", "marks.blocked.crack"}) {
		t.Errorf("findings %v", got)
	}
	for _, term := range p.Findings[0].Terms {
		if term.Name == "most" && term.Value != p.Most || term.Name == "wanted" && term.Value != 40 {
			t.Errorf("term %+v", term)
		}
	}
	if !why.Blocks(p.Findings) || len(p.Positions) != 0 || p.Most == 0 {
		t.Errorf("%+v", p)
	}
}

func TestRaisedNearAnOldColumn(t *testing.T) {
	const in = quantity.Inch
	rules := DefaultRules(quantity.Imperial, day(2026, 6, 1))
	ring := bole.Ring{Girth: bole.Girth{Around: 24 * in}, Wounds: []bole.Wound{{At: 23 * in, Made: day(2000, 1, 1)}}}
	var s Solver
	p, err := s.Spread(ring, 4, []Pin{{0}}, rules)
	if err != nil {
		t.Fatal(err)
	}
	// the hole at 23 in is 1 in from the mark at 0, over the seam
	for i, x := range p.Positions {
		want := quantity.Length(0)
		if x == 0 || x >= 21*in {
			want = 2 * in
		}
		if p.Raise[i] != want {
			t.Errorf("mark at %v raised %v, want %v", x, p.Raise[i], want)
		}
	}
}

func TestPlaceErrors(t *testing.T) {
	const mm = quantity.Millimetre
	for want, spoil := range map[string]func(*bole.Ring, *Rules, *int){
		"girth":             func(r *bole.Ring, _ *Rules, _ *int) { r.Girth.Around = 0 },
		"tick":              func(_ *bole.Ring, u *Rules, _ *int) { u.Tick = 0 },
		"clearance":         func(_ *bole.Ring, u *Rules, _ *int) { u.Clearance = -1 },
		"Count is 0":        func(_ *bole.Ring, _ *Rules, n *int) { *n = 0 },
		"arcs.from":         func(r *bole.Ring, _ *Rules, _ *int) { r.Arcs = []bole.Arc{{From: -1, To: 5}} },
		"arcs.to":           func(r *bole.Ring, _ *Rules, _ *int) { r.Arcs = []bole.Arc{{From: 1, To: 5000 * mm}} },
		"wounds.at":         func(r *bole.Ring, _ *Rules, _ *int) { r.Wounds = []bole.Wound{{At: 5000 * mm}} },
		"wounds.width":      func(r *bole.Ring, _ *Rules, _ *int) { r.Wounds = []bole.Wound{{Width: -1}} },
		"fissures of entry": func(r *bole.Ring, _ *Rules, _ *int) { r.Fissures = []quantity.Length{1, -1} },
	} {
		ring, rules, count := bole.Ring{Girth: bole.Girth{Around: 1000 * mm}}, DefaultRules(quantity.Metric, day(2026, 6, 1)), 4
		spoil(&ring, &rules, &count)
		var s Solver
		if _, err := s.Place(ring, count, rules); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: error %v", want, err)
		}
		if _, err := s.Spread(ring, count, []Pin{{0}}, rules); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("spread, %s: error %v", want, err)
		}
	}
}

// ordinaryRings are made-up trees of 30 to 60 in with a few old holes and
// fissures.
func ordinaryRings(n int) []bole.Ring {
	rng := rand.New(rand.NewPCG(4, 2))
	rings := make([]bole.Ring, n)
	for i := range rings {
		eighths := 240 + rng.IntN(241)
		at := func() quantity.Length { return quantity.Length(rng.IntN(eighths)) * quantity.Inch / 8 }
		r := bole.Ring{Girth: bole.Girth{Around: quantity.Length(eighths) * quantity.Inch / 8}}
		for range rng.IntN(5) {
			r.Wounds = append(r.Wounds, bole.Wound{At: at(), Made: day(2018+rng.IntN(8), 5, 1)})
		}
		for range rng.IntN(10) {
			r.Fissures = append(r.Fissures, at())
		}
		if rng.IntN(3) == 0 {
			from := at()
			r.Arcs = append(r.Arcs, bole.Arc{From: from, To: (from + 4*quantity.Inch) % r.Girth.Around, Kind: bole.Defect})
		}
		rings[i] = r
	}
	return rings
}

func BenchmarkPlaceOrdinary(b *testing.B) {
	rings := ordinaryRings(500)
	rules := DefaultRules(quantity.Imperial, day(2026, 6, 1))
	var s Solver
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		r := rings[i%len(rings)]
		if _, err := s.Place(r, int(r.Girth.Around/(6*quantity.Inch)), rules); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkSpread(b *testing.B) {
	rings := ordinaryRings(500)
	rules := DefaultRules(quantity.Imperial, day(2026, 6, 1))
	for _, pins := range [][]Pin{{{0}}, {{0}, {15 * quantity.Inch}}, {{0}, {8 * quantity.Inch}, {20 * quantity.Inch}}} {
		b.Run(fmt.Sprintf("pins=%d", len(pins)), func(b *testing.B) {
			var s Solver
			for i := 0; b.Loop(); i++ {
				r := rings[i%len(rings)]
				if _, err := s.Spread(r, int(r.Girth.Around/(6*quantity.Inch)), pins, rules); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
