package bore

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"sapwell/engine/bole"
	"sapwell/engine/host"
	"sapwell/engine/label"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/internal/outside"
)

const (
	in = quantity.Inch
	mm = quantity.Millimetre
)

// shallow is the hole of common practice: ¼-⅜ in into the outer wood, 45° down,
// on a stem of 96 in, with ½ in of bark probed twice.
func shallow(t *testing.T, species string) Input {
	t.Helper()
	s, err := host.Lookup(species)
	if err != nil {
		t.Fatal(err)
	}
	return Input{
		Species: s,
		Girth:   bole.Girth{Around: 96 * in, Height: 12 * in},
		Bark:    []bole.BarkReading{{At: 0, Thickness: in / 2}, {At: 48 * in, Thickness: in / 2}},
		Hole:    label.Hole{Bit: 11 * in / 64, DepthMin: in / 4, DepthMax: 3 * in / 8, Angle: 45 * quantity.Degree, HeightMin: 6 * in, HeightMax: 18 * in},
		Holes:   16,
		Step:    in / 16,
	}
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if math.Abs(got-want) > tolerance {
		t.Errorf("%s: %v, want %v ± %v", what, got, want, tolerance)
	}
}

func codes(fs []why.Finding) (list []string) {
	for _, f := range fs {
		list = append(list, f.Code)
	}
	slices.Sort(list)
	return list
}

func has(fs []why.Finding, code string, s why.Severity) bool {
	return slices.ContainsFunc(fs, func(f why.Finding) bool { return f.Code == code && f.Severity == s })
}

// cos 45° = 0.707 106 78 (any table). b = ½ in, w = ⅜ in: L = 0.875/0.70711 =
// 1.2374 in, of which 0.375/0.70711 = 0.5303 in in wood.
func TestStopAtFortyFiveDegrees(t *testing.T) {
	x := shallow(t, "white ash")
	x.Hole.DepthMin, x.Step = x.Hole.DepthMax, 1 // one depth, a stop set without steps
	r := Compute(x)
	near(t, "stop", r.Stop.Inches(), 1.2374, 5e-5)
	near(t, "path in wood", r.WoodPath.Inches(), 0.5303, 5e-5)
	near(t, "depth in wood", r.Wood.Likely.Inches(), 0.375, 1e-6)
	if why.Blocks(r.Findings) {
		t.Errorf("findings %v", codes(r.Findings))
	}
	outside.Ran(t, "cos 45° in any table", "length of the bit")
}

// Aimed at the middle of ¼-⅜ in under ½ in of bark: (0.5 + 0.3125)/0.70711 =
// 1.14905 in; in sixteenths 18.38, so 18/16 = 1 1/8 in; that leaves
// 1.125 × 0.70711 − 0.5 = 0.29550 in of wood, which is within ¼-⅜.
func TestStopInWholeSteps(t *testing.T) {
	r := Compute(shallow(t, "white ash"))
	if r.Stop != 18*in/16 {
		t.Errorf("stop %v in, want 1 1/8", r.Stop.Inches())
	}
	near(t, "depth in wood", r.Wood.Likely.Inches(), 0.29550, 5e-6)
	near(t, "exact", r.StopRange.Likely.Inches(), 1.14905, 5e-6)
	if !r.Measured || r.Bark != (Range{in / 2, in / 2, in / 2}) {
		t.Errorf("bark %v, measured %v", r.Bark, r.Measured)
	}
	// In millimetres: 12.7 mm of bark, 6.35-9.525 mm: 29.186 mm, so 29 mm.
	x := shallow(t, "white ash")
	x.Step = mm
	if r := Compute(x); r.Stop != 29*mm {
		t.Errorf("stop %v mm, want 29", r.Stop.Millimetres())
	}
}

// Straight in, all lengths are sums: ½ + 5/16 in = 13/16 in exactly.
func TestStraightHole(t *testing.T) {
	x := shallow(t, "white ash")
	x.Hole.Angle = 0
	r := Compute(x)
	if r.Stop != 13*in/16 || r.Wood.Likely != 5*in/16 || r.WoodPath != 5*in/16 || r.OpeningH != r.OpeningW {
		t.Errorf("stop %v, wood %v, path %v", r.Stop.Inches(), r.Wood.Likely.Inches(), r.WoodPath.Inches())
	}
}

// A label that counts depth along the bit: 0.5/0.70711 + 0.3125 = 1.01961 in;
// 16.31 sixteenths, so 1 in.
func TestDepthAlongTheBore(t *testing.T) {
	x := shallow(t, "white ash")
	x.Hole.AlongBore = true
	r := Compute(x)
	if r.Stop != in || r.Why.Rule != "bore.stop_along" {
		t.Errorf("stop %v in by %s", r.Stop.Inches(), r.Why.Rule)
	}
	near(t, "path in wood", r.WoodPath.Inches(), 1-0.70711, 5e-6)
}

// An 11/64 in bit is 4.366 mm; at 45° it opens 4.37 × 6.17 mm.
func TestOpening(t *testing.T) {
	r := Compute(shallow(t, "white ash"))
	near(t, "width", r.OpeningW.Millimetres(), 4.366, 5e-4)
	near(t, "height", r.OpeningH.Millimetres(), 6.174, 5e-4)
}

// 16 holes on 96 in: 16 × 11/64 / 96 = 2.865 %; with ¼ in 4.167 %.
func TestGirthShare(t *testing.T) {
	x := shallow(t, "white ash")
	near(t, "11/64", Compute(x).GirthShare, 0.0286, 5e-5)
	x.Hole.Bit = in / 4
	r := Compute(x)
	near(t, "1/4", r.GirthShare, 0.0417, 5e-5)
	if has(r.Findings, "bore.girth_share_large", why.Note) {
		t.Error("4 % is not large")
	}
	x.Holes = 39 // 16 a metre on 96 in: 10.2 %
	if r := Compute(x); !has(r.Findings, "bore.girth_share_large", why.Note) {
		t.Errorf("39 holes of ¼ in: %v", codes(r.Findings))
	}
}

// Holes of published trials, as cylinders: 11 × 40 mm 3.80 mL (Sinclair and
// Larsen 1981), 9 × 37.5 mm 2.39 mL (Doccola 2012), and 4.366 × 13.47 mm 0.202 mL.
func TestHoleVolume(t *testing.T) {
	for _, c := range []struct {
		bit, path quantity.Length
		want      float64
	}{{11 * mm, 40 * mm, 3.80}, {9 * mm, 37*mm + mm/2, 2.39}, {4366 * mm / 1000, 1347 * mm / 100, 0.202}} {
		near(t, "volume", holeVolume(c.bit, c.path).Millilitres(), c.want, 0.005)
	}
	if v := holeVolume(10*mm, 100*mm); v != 7853982 { // π/4 · 10 cm³
		t.Errorf("10 × 100 mm: %d nL", v)
	}
	outside.Ran(t, "Sinclair and Larsen 1981; Doccola 2012", "volumes of published holes")
}

// Rings crossed by ⅜ in (9.525 mm): 9.5, 4.8, 3.2 and 1.9 at 1, 2, 3 and 5 mm.
func TestRings(t *testing.T) {
	for width, want := range map[quantity.Length]float64{1: 9.5, 2: 4.8, 3: 3.2, 5: 1.9} {
		near(t, "rings", rings(3*in/8, width*mm), want, 0.05)
	}
	r := Compute(shallow(t, "white ash")) // 0.2955 in = 7.506 mm of wood
	near(t, "fewest", r.Rings[0], 7.506/6, 1e-3)
	near(t, "most", r.Rings[1], 7.506, 1e-3)
	if r := Compute(shallow(t, "date palm")); r.Rings != [2]float64{} || !has(r.Findings, "bore.palm", why.Note) {
		t.Error("a palm has no rings")
	}
}

// White ash of 96 in (diameter 30.558 in, 776 mm) without a probe: Raile 1982
// 31.0 mm, Clark 1991 30.1 mm; ±30 % of them is 21.1 to 40.4 mm.
func TestModelledBark(t *testing.T) {
	x := shallow(t, "white ash")
	x.Bark = nil
	r := Compute(x)
	near(t, "likely", r.Bark.Likely.Millimetres(), (31.0+30.1)/2, 0.1)
	near(t, "low", r.Bark.Low.Millimetres(), 0.7*30.1, 0.1)
	near(t, "high", r.Bark.High.Millimetres(), 1.3*31.0, 0.1)
	if r.Measured || has(r.Findings, "bore.bark_not_measured", why.Warn) {
		t.Errorf("measured %v, findings %v: the stronger finding says it", r.Measured, codes(r.Findings))
	}
	// The stop is right for 30.5 mm of bark and 7-9 mm of wood; under 40.4 mm
	// it stays in dead bark, under 21.1 mm it goes twice as deep as allowed.
	if r.Stop == 0 || r.Wood.Low != 0 || r.Wood.High < x.Hole.DepthMax || !has(r.Findings, "bore.model_bark_too_uncertain", why.Ask) {
		t.Errorf("stop %v, wood %v, findings %v", r.Stop.Inches(), r.Wood, codes(r.Findings))
	}
	outside.Ran(t, "Raile 1982; Clark 1991", "bark of white ash of 96 in and the band round it")
}

// Thin bark's spread stays within a wide depth range, and is then only warned of.
func TestModelledBarkThatIsThinEnough(t *testing.T) {
	x := shallow(t, "green ash")
	x.Bark, x.Girth.Around, x.Holes = nil, 12*in, 2 // 97 mm across: Raile 2.9 mm of bark
	x.Hole.DepthMin, x.Hole.DepthMax = 4*mm, 20*mm
	r := Compute(x)
	if got := codes(r.Findings); !slices.Equal(got, []string{"bore.bark_not_measured", "bore.outermost_ring"}) {
		t.Errorf("findings %v, wood %v, bark %v", got, r.Wood, r.Bark)
	}
}

func TestBarkOfTheGenusIsSaidToBe(t *testing.T) {
	x := shallow(t, "Fraxinus mandshurica")
	x.Bark = nil
	if r := Compute(x); !has(r.Findings, "bore.bark_of_genus", why.Note) || !has(r.Findings, "bore.model_bark_too_uncertain", why.Ask) {
		t.Errorf("findings %v", codes(r.Findings))
	}
}

func TestNoBarkKnownNoStop(t *testing.T) {
	x := shallow(t, "ginkgo")
	x.Bark = nil
	r := Compute(x)
	if r.Stop != 0 || r.Bark != (Range{}) || !has(r.Findings, "bore.bark_unknown", why.Ask) {
		t.Errorf("stop %v, findings %v", r.Stop, codes(r.Findings))
	}
	if r.OpeningH == 0 || r.GirthShare == 0 || r.Why.Rule == "" {
		t.Error("what needs no bark is missing")
	}
}

func TestSeveralReadings(t *testing.T) {
	x := shallow(t, "white ash")
	x.Bark[0].Thickness, x.Bark[1].Thickness = 10*mm, 16*mm
	r := Compute(x)
	if r.Bark != (Range{10 * mm, 13 * mm, 16 * mm}) || !has(r.Findings, "bore.bark_varies", why.Warn) {
		t.Errorf("bark %v, findings %v", r.Bark, codes(r.Findings))
	}
	if r.Wood.Low >= r.Wood.Likely || r.Wood.Likely >= r.Wood.High || r.StopRange.Low >= r.StopRange.High {
		t.Errorf("wood %v, stops %v", r.Wood, r.StopRange)
	}
	x.Bark = x.Bark[:1]
	if r := Compute(x); !has(r.Findings, "bore.one_bark_reading", why.Note) || has(r.Findings, "bore.bark_varies", why.Warn) {
		t.Errorf("one reading: %v", codes(r.Findings))
	}
}

// 6.0-6.2 mm straight in under 12.7 mm of bark wants 18.7-18.9 mm: no whole mm.
func TestNoStepFits(t *testing.T) {
	x := shallow(t, "white ash")
	x.Hole.Angle, x.Step = 0, mm
	x.Hole.DepthMin, x.Hole.DepthMax = 6*mm, 62*mm/10
	r := Compute(x)
	if r.Stop != 0 || !has(r.Findings, "bore.no_step_fits", why.Block) {
		t.Errorf("stop %v, findings %v", r.Stop.Millimetres(), codes(r.Findings))
	}
	x.Hole.DepthMax = 63 * mm / 10 // 19 mm is just allowed, but the middle is nearer to it than to 18
	if r := Compute(x); r.Stop != 19*mm {
		t.Errorf("stop %v mm, want 19", r.Stop.Millimetres())
	}
}

func TestOutermostRing(t *testing.T) {
	for species, want := range map[string]why.Source{
		"American elm": why.EllmoreEwers, "white ash": why.Own, "northern red oak": why.Own,
		"sugar maple": "", "eastern white pine": "", "black walnut": "",
	} {
		var got why.Source
		for _, f := range Compute(shallow(t, species)).Findings {
			if f.Code == "bore.outermost_ring" {
				got = f.Source
			}
		}
		if got != want {
			t.Errorf("%s: source %q, want %q", species, got, want)
		}
	}
}

func TestGirthTakenElsewhereIsAsked(t *testing.T) {
	x := shallow(t, "white ash")
	x.Girth.Height = 54 * in
	if r := Compute(x); !has(r.Findings, "bore.girth_not_at_holes", why.Ask) || r.Stop == 0 {
		t.Errorf("findings %v", codes(r.Findings))
	}
	x.Hole.HeightMin, x.Hole.HeightMax = 0, 0 // not stated
	if r := Compute(x); has(r.Findings, "bore.girth_not_at_holes", why.Ask) {
		t.Error("no height stated, none missed")
	}
}

func TestFaultsBlock(t *testing.T) {
	for code, spoil := range map[string]func(*Input){
		"bore.no_girth":                func(x *Input) { x.Girth.Around, x.Bark = 0, nil },
		"bore.no_bit":                  func(x *Input) { x.Hole.Bit = 0 },
		"bore.angle_out_of_range":      func(x *Input) { x.Hole.Angle = 61 * quantity.Degree },
		"bore.no_depth":                func(x *Input) { x.Hole.DepthMin = 0 },
		"bore.depths_reversed":         func(x *Input) { x.Hole.DepthMin = in },
		"bore.holes_negative":          func(x *Input) { x.Holes = -1 },
		"bore.no_step":                 func(x *Input) { x.Step = 0 },
		"bore.bark_reading_impossible": func(x *Input) { x.Bark[1].Thickness = 0 },
	} {
		x := shallow(t, "white ash")
		spoil(&x)
		r := Compute(x)
		if got := codes(r.Findings); !slices.Equal(got, []string{code}) || !why.Blocks(r.Findings) || r.Stop != 0 {
			t.Errorf("%s: findings %v, stop %v", code, got, r.Stop)
		}
	}
	for _, angle := range []quantity.Angle{-quantity.Degree, quantity.Angle(math.NaN()), quantity.Angle(math.Inf(1))} {
		x := shallow(t, "white ash")
		x.Hole.Angle = angle
		if !has(Compute(x).Findings, "bore.angle_out_of_range", why.Block) {
			t.Errorf("angle %v passes", angle)
		}
	}
	x := shallow(t, "white ash")
	x.Hole.Angle = 60 * quantity.Degree
	if r := Compute(x); why.Blocks(r.Findings) {
		t.Errorf("60° is still accepted: %v", codes(r.Findings))
	}
}

func TestHoleBeyondThePith(t *testing.T) {
	x := shallow(t, "white ash")
	x.Girth.Around = 5 * in // 1.59 in across: ½ in of bark leaves 0.30 in to the pith
	x.Hole.DepthMin, x.Hole.DepthMax = in/2, 5*in/8
	if r := Compute(x); !has(r.Findings, "bore.beyond_pith", why.Block) {
		t.Errorf("findings %v", codes(r.Findings))
	}
}

// draw makes any sound input with probed bark, and returns it.
func draw(t *rapid.T) Input {
	length := func(name string, low, high int64) quantity.Length {
		return quantity.Length(rapid.Int64Range(low*1e3, high*1e3).Draw(t, name)) // µm
	}
	depth := length("depth", 2_000, 40_000)
	return Input{
		Girth: bole.Girth{Around: 5 * quantity.Metre, Height: 300 * mm},
		Bark:  []bole.BarkReading{{Thickness: length("bark", 1_000, 60_000)}, {Thickness: length("bark", 1_000, 60_000)}},
		Hole: label.Hole{Bit: length("bit", 2_000, 12_000), DepthMin: depth, DepthMax: depth + length("more", 0, 10_000),
			Angle: quantity.Angle(rapid.Float64Range(0, 60).Draw(t, "angle")) * quantity.Degree, AlongBore: rapid.Bool().Draw(t, "along")},
		Holes: rapid.IntRange(1, 40).Draw(t, "holes"),
		Step:  rapid.SampledFrom([]quantity.Length{in / 16, in / 32, mm, mm / 2}).Draw(t, "step"),
	}
}

// Whatever is offered is a whole number of steps and keeps the label's depth
// under the likely bark; whatever is not offered has a blocking finding.
func TestOfferedStopKeepsTheLabel(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := draw(t)
		r := Compute(x)
		if r.Stop == 0 {
			if !why.Blocks(r.Findings) {
				t.Fatalf("no stop and no block: %v", codes(r.Findings))
			}
			return
		}
		depth := r.Wood.Likely
		if x.Hole.AlongBore {
			depth = r.WoodPath
		}
		if r.Stop%x.Step != 0 || depth < x.Hole.DepthMin-2 || depth > x.Hole.DepthMax+2 {
			t.Fatalf("stop %v of step %v gives %v, label %v-%v", r.Stop, x.Step, depth, x.Hole.DepthMin, x.Hole.DepthMax)
		}
		if r.Wood.Low > r.Wood.Likely || r.Wood.Likely > r.Wood.High || r.Wood.Low < 0 {
			t.Fatalf("wood %v", r.Wood)
		}
		if r.OpeningH < r.OpeningW || r.HoleVolume <= 0 {
			t.Fatalf("opening %v × %v, volume %v", r.OpeningW, r.OpeningH, r.HoleVolume)
		}
	})
}

// When a step is refused there is none: every whole step misses the interval.
func TestRefusedStepsAllMiss(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := draw(t)
		g := slope{math.Cos(float64(x.Hole.Angle))}
		a := aim(x.Hole, g, x.Bark[0].Thickness, x.Step)
		next := (a.least + x.Step - 1) / x.Step * x.Step // first step not below
		if a.fits != (next <= a.most) {
			t.Fatalf("fits %v, first step %v in %v-%v", a.fits, next, a.least, a.most)
		}
	})
}

// More bark, a deeper label or a steeper hole never shortens the bit.
func TestStopIsMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := draw(t)
		more := quantity.Length(rapid.Int64Range(0, 20e6).Draw(t, "by"))
		stop := func(y Input) quantity.Length {
			return aim(y.Hole, slope{math.Cos(float64(y.Hole.Angle))}, y.Bark[0].Thickness, y.Step).stop
		}
		base := stop(x)
		bark := x
		bark.Bark = []bole.BarkReading{{Thickness: x.Bark[0].Thickness + more}}
		deeper := x
		deeper.Hole.DepthMin, deeper.Hole.DepthMax = x.Hole.DepthMin+more, x.Hole.DepthMax+more
		steeper := x
		steeper.Hole.Angle = quantity.Angle(math.Min(float64(x.Hole.Angle)+0.1, float64(60*quantity.Degree)))
		if x.Hole.Angle > steeper.Hole.Angle {
			return
		}
		for name, y := range map[string]Input{"bark": bark, "deeper": deeper, "steeper": steeper} {
			if got := stop(y); got < base {
				t.Fatalf("%s: %v, was %v", name, got, base)
			}
		}
	})
}

// Every reason names a rule and a source, all the way down.
func TestReasonsAreComplete(t *testing.T) {
	var walk func(r why.Reason)
	walk = func(r why.Reason) {
		if r.Rule == "" || r.Source == "" || r.Result.Name == "" {
			t.Errorf("incomplete reason %+v", r)
		}
		for _, b := range r.Because {
			walk(b)
		}
	}
	probed, modelled, unknown := shallow(t, "white ash"), shallow(t, "white ash"), shallow(t, "ginkgo")
	modelled.Bark, unknown.Bark = nil, nil
	for _, x := range []Input{probed, modelled, unknown, {}} {
		walk(Compute(x).Why)
	}
}

func BenchmarkCompute(b *testing.B) {
	s, _ := host.Lookup("white ash")
	x := Input{Species: s, Girth: bole.Girth{Around: 96 * in, Height: 12 * in}, Holes: 16, Step: in / 16,
		Hole: label.Hole{Bit: 11 * in / 64, DepthMin: in / 4, DepthMax: 3 * in / 8, Angle: 45 * quantity.Degree}}
	for b.Loop() {
		Compute(x)
	}
}

// The probe table: every row keeps the label's depth under its own bark, and the
// rows cover what the bark may be. By hand, at 45° and for 1/4-3/8 in: bark of
// 1/2 in wants (1/2 + 5/16)·√2 = 1.149 in, in sixteenths 1 1/8 in.
func TestProbeTable(t *testing.T) {
	x := shallow(t, "white ash")
	x.Bark, x.Step = nil, in/16
	x.Hole.DepthMin, x.Hole.DepthMax = in/4, 3*in/8
	r := Compute(x)
	if len(r.Probe) < 2 || len(r.Probe) > 6 {
		t.Fatalf("%d rows: %v", len(r.Probe), r.Probe)
	}
	if first, last := r.Probe[0], r.Probe[len(r.Probe)-1]; first.Bark > r.Bark.Low || last.Bark < r.Bark.High {
		t.Errorf("%v to %v does not cover %v", first, last, r.Bark)
	}
	for _, s := range r.Probe {
		wood := float64(s.Stop)*math.Cos(math.Pi/4) - float64(s.Bark)
		if wood < float64(in/4)-2 || wood > float64(3*in/8)+2 {
			t.Errorf("bark %v, stop %v: %v in of wood", s.Bark.Inches(), s.Stop.Inches(), wood/float64(in))
		}
	}
	x.Species.Bark.Value = host.BarkModel{}
	r = Compute(x)
	if i := slices.IndexFunc(r.Probe, func(s Setting) bool { return s.Bark == in/2 }); r.Stop != 0 || i < 0 || r.Probe[i].Stop != 9*in/8 {
		t.Errorf("bark of which nothing is known: stop %v, table %v", r.Stop, r.Probe)
	}
}
