package bole

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/internal/outside"
)

const (
	in = quantity.Inch
	mm = quantity.Millimetre
)

// near fails unless got is want inches to within half of the last digit given.
func near(t *testing.T, what string, got quantity.Length, want, tolerance float64) {
	t.Helper()
	if math.Abs(got.Inches()-want) > tolerance {
		t.Errorf("%s: %.6f in, want %v", what, got.Inches(), want)
	}
}

// C = πd; π = 3.14159265358979 (any table of constants). 96 in is 30.5577 in
// across = 77.6167 cm; one centimetre of girth is 0.318 cm of diameter.
func TestDiameter(t *testing.T) {
	near(t, "96 in", Girth{Around: 96 * in}.Diameter(), 30.5577, 5e-5)
	if cm := (Girth{Around: 96 * in}).Diameter().Millimetres() / 10; math.Abs(cm-77.6167) > 5e-5 {
		t.Errorf("96 in: %.5f cm, want 77.6167", cm)
	}
	if d := (Girth{Around: quantity.Centimetre}).Diameter(); d != 3183099 { // 1/π cm = 0.318 309 886 cm
		t.Errorf("1 cm: %d nm", d)
	}
	// π m, to the nanometre, is 1 m across.
	if d := (Girth{Around: 3141592654}).Diameter(); d != 1000000000 {
		t.Errorf("π m: %d nm, want 1 m", d)
	}
	outside.Ran(t, "π in any table of constants", "girth to diameter at three girths")
}

// Tree 1 of R's data set Orange (Draper and Smith 1998): circumference 30 mm
// at 118 days and 145 mm at 1582 days; over π 9.55 and 46.15 mm.
func TestOrangeTree(t *testing.T) {
	for c, d := range map[quantity.Length]float64{30: 9.55, 145: 46.15} {
		if got := (Girth{Around: c * mm}).Diameter().Millimetres(); math.Abs(got-d) > 0.006 {
			t.Errorf("%d mm: %.3f, want %v", c, got, d)
		}
	}
	outside.Ran(t, "R data set Orange (Draper and Smith 1998)", "two circumferences to diameters")
}

// The column "Girth" of R's data set trees (Ryan, Joiner and Ryan 1976; Meyer
// 1953) holds diameters in inches, as its manual page says. First row 8.3 in,
// 70 ft, 10.3 ft³; last row 20.6 in, 87 ft, 77.0 ft³. A cone of that diameter
// and height is a lower bound near the timber volume, a cylinder is an upper
// bound; taken as girth the volume would be impossible. GirthFromDiameter is
// the only way in for such a column, and it must be chosen by the reader.
func TestColumnCalledGirthThatHoldsDiameters(t *testing.T) {
	breast := 54 * in
	for _, row := range []struct {
		column        quantity.Length
		height, cubic float64
	}{
		{83 * in / 10, 70, 10.3},
		{206 * in / 10, 87, 77.0},
	} {
		right := GirthFromDiameter(row.column, breast)
		wrong := Girth{Around: row.column, Height: breast}
		cylinder := func(g Girth) float64 {
			d := g.Diameter().Inches() / 12
			return math.Pi / 4 * d * d * row.height
		}
		if v := cylinder(right); row.cubic > v || row.cubic < v/3 {
			t.Errorf("%v in as diameter: %.1f ft³ of timber in a cylinder of %.1f", row.column.Inches(), row.cubic, v)
		}
		if v := cylinder(wrong); row.cubic <= v {
			t.Errorf("%v in as girth would hold %.1f ft³: the trap is not shown", row.column.Inches(), v)
		}
		if ratio := float64(right.Around) / float64(wrong.Around); math.Abs(ratio-math.Pi) > 1e-8 {
			t.Errorf("readings differ by %v, want π", ratio)
		}
		if d := right.Diameter(); max(d-row.column, row.column-d) > 1 {
			t.Errorf("diameter %v comes back as %v", row.column, d)
		}
	}
	outside.Ran(t, "R data set trees (Ryan, Joiner and Ryan 1976)", "a column called Girth that holds diameters")
}

func TestBreastHeight(t *testing.T) {
	// 1.37 m USA: Magarik, Roman and Henning 2020; the others widely stated.
	for h, want := range map[quantity.Length]bool{
		1200 * mm: true, 1300 * mm: true, 1370 * mm: true, 54 * in: true, 1400 * mm: true, 51 * in: true,
		1000 * mm: false, 1250 * mm: false, 1350 * mm: false, 12 * in: false, 0: false, 1500 * mm: false,
		1294 * mm: false, 1306 * mm: false,
	} {
		if got := (Girth{Around: 96 * in, Height: h}).AtBreastHeight(); got != want {
			t.Errorf("%v mm: %v", h.Millimetres(), got)
		}
	}
	outside.Ran(t, "Magarik, Roman and Henning 2020", "1.37 m is breast height in the USA")
	outside.Ran(t, "common practice, no source", "breast heights of other countries")
}

// Stewart and Salazar 1992: (5, 6, 8) is 11.18, printed rounded to 11 in the
// worked example of R's landecoutils dbh_equiv; (10.1, 6.4, 2.3) is 12.176.
func TestEquivalentDiameter(t *testing.T) {
	near(t, "5, 6, 8", EquivalentDiameter([]quantity.Length{5 * in, 6 * in, 8 * in}), 11.1803, 5e-5)
	near(t, "10.1, 6.4, 2.3", EquivalentDiameter([]quantity.Length{101 * in / 10, 64 * in / 10, 23 * in / 10}), 12.1762, 5e-5)
	near(t, "3, 4", EquivalentDiameter([]quantity.Length{3 * in, 4 * in}), 5, 1e-7)
	if EquivalentDiameter(nil) != 0 || EquivalentDiameter([]quantity.Length{7 * in}) != 7*in {
		t.Error("no stem or one stem")
	}
	outside.Ran(t, "Stewart and Salazar 1992; R landecoutils dbh_equiv", "stems of equal basal area")
}

func ring(girth quantity.Length, arcs ...Arc) Ring {
	return Ring{Girth: Girth{Around: girth, Height: 12 * in}, Arcs: arcs}
}

func TestLiveGirth(t *testing.T) { // lengths added up by hand
	for name, c := range map[string]struct {
		ring Ring
		want quantity.Length
	}{
		"sound":           {ring(96 * in), 96 * in},
		"one":             {ring(96*in, Arc{10 * in, 22 * in, DeadCambium}), 84 * in},
		"wraps":           {ring(96*in, Arc{90 * in, 6 * in, Canker}), 84 * in},
		"overlap":         {ring(96*in, Arc{10 * in, 22 * in, Canker}, Arc{20 * in, 30 * in, Cavity}), 76 * in},
		"inside":          {ring(96*in, Arc{10 * in, 40 * in, Canker}, Arc{20 * in, 30 * in, Cavity}), 66 * in},
		"touching":        {ring(96*in, Arc{10 * in, 20 * in, Canker}, Arc{20 * in, 30 * in, Cavity}), 76 * in},
		"wrap overlaps":   {ring(96*in, Arc{90 * in, 6 * in, Canker}, Arc{0, 10 * in, Cavity}), 80 * in},
		"crack lives":     {ring(96*in, Arc{10 * in, 22 * in, Crack}, Arc{30 * in, 40 * in, Girdling}, Arc{50 * in, 51 * in, Defect}), 96 * in},
		"to the end":      {ring(96*in, Arc{90 * in, 96 * in, Canker}), 90 * in},
		"from the end":    {ring(96*in, Arc{96 * in, 6 * in, Canker}), 90 * in},
		"whole":           {ring(96*in, Arc{0, 96 * in, DeadCambium}), 0},
		"whole from end":  {ring(96*in, Arc{96 * in, 0, DeadCambium}), 0},
		"two halves":      {ring(96*in, Arc{0, 48 * in, Canker}, Arc{48 * in, 96 * in, Canker}), 0},
		"empty":           {ring(96*in, Arc{5 * in, 5 * in, DeadCambium}), 96 * in},
		"all but an inch": {ring(96*in, Arc{6 * in, 5 * in, DeadCambium}), in},
		"no girth":        {ring(0, Arc{6 * in, 5 * in, DeadCambium}), 0},
	} {
		if got := c.ring.LiveGirth(); got != c.want {
			t.Errorf("%s: %v in, want %v", name, got.Inches(), c.want.Inches())
		}
	}
}

// arcs draws arcs that are neither empty nor the whole ring.
func arcs(t *rapid.T, girth int64) []Arc {
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Arc {
		from := rapid.Int64Range(0, girth-1).Draw(t, "from")
		length := rapid.Int64Range(1, girth-1).Draw(t, "length")
		kind := rapid.SampledFrom([]ArcKind{Defect, DeadCambium, Canker, Cavity, Crack, Girdling}).Draw(t, "kind")
		return Arc{quantity.Length(from), quantity.Length((from + length) % girth), kind}
	}), 0, 6).Draw(t, "arcs")
}

// Where the zero is, and which way the tape runs, cannot change how much of the
// girth lives.
func TestLiveGirthSurvivesTurningAndMirroring(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		girth := rapid.Int64Range(2, 1000).Draw(t, "girth")
		r := ring(quantity.Length(girth), arcs(t, girth)...)
		by := quantity.Length(rapid.Int64Range(0, girth-1).Draw(t, "by"))
		turned, mirrored := r, r
		turned.Arcs, mirrored.Arcs = slices.Clone(r.Arcs), slices.Clone(r.Arcs)
		for i, a := range r.Arcs {
			turned.Arcs[i].From, turned.Arcs[i].To = (a.From+by)%r.Girth.Around, (a.To+by)%r.Girth.Around
			mirrored.Arcs[i].From, mirrored.Arcs[i].To = r.Girth.Around-a.To, r.Girth.Around-a.From
		}
		if turned.LiveGirth() != r.LiveGirth() || mirrored.LiveGirth() != r.LiveGirth() {
			t.Fatalf("%v: live %d, turned %d, mirrored %d", r, r.LiveGirth(), turned.LiveGirth(), mirrored.LiveGirth())
		}
	})
}

// Against counting nanometre by nanometre on a small ring.
func TestLiveGirthIsTheCountOfLivePlaces(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		girth := rapid.Int64Range(2, 60).Draw(t, "girth")
		r := ring(quantity.Length(girth), arcs(t, girth)...)
		var live quantity.Length
		for p := range quantity.Length(girth) {
			dead := slices.ContainsFunc(r.Arcs, func(a Arc) bool {
				if a.From < a.To {
					return a.Kind.Dead() && a.From <= p && p < a.To
				}
				return a.Kind.Dead() && (p >= a.From || p < a.To)
			})
			if !dead {
				live++
			}
		}
		if got := r.LiveGirth(); got != live {
			t.Fatalf("%v: %d, counted %d", r, got, live)
		}
	})
}

func TestBarkSpread(t *testing.T) {
	if _, ok := BarkSpread(nil); ok {
		t.Error("spread of nothing")
	}
	got, ok := BarkSpread([]BarkReading{{0, 20 * mm}, {10 * in, 14 * mm}, {20 * in, 23 * mm}})
	if want := (Spread{14 * mm, 19 * mm, 23 * mm, 3}); !ok || got != want { // 57/3
		t.Errorf("got %v, want %v", got, want)
	}
	rapid.Check(t, func(t *rapid.T) {
		var readings []BarkReading
		for _, v := range rapid.SliceOfN(rapid.Int64Range(1, 1e9), 1, 9).Draw(t, "readings") {
			readings = append(readings, BarkReading{Thickness: quantity.Length(v)})
		}
		if s, _ := BarkSpread(readings); s.Low > s.Mean || s.Mean > s.High || s.Readings != len(readings) {
			t.Fatalf("%v of %v", s, readings)
		}
	})
}

// codes lists the codes and places of findings.
func codes(fs []why.Finding) (list []string) {
	for _, f := range fs {
		list = append(list, f.Code+" "+f.Place)
	}
	return list
}

func TestRingCheck(t *testing.T) {
	sound := ring(96*in, Arc{90 * in, 6 * in, Canker})
	sound.Wounds = []Wound{{At: 96 * in, Width: 5 * mm}, {At: 0}}
	sound.Fissures = []quantity.Length{0, 50 * in}
	change := func(f func(*Ring)) Ring {
		r := sound
		r.Arcs, r.Wounds, r.Fissures = slices.Clone(r.Arcs), slices.Clone(r.Wounds), slices.Clone(r.Fissures)
		f(&r)
		return r
	}
	for name, c := range map[string]struct {
		ring Ring
		want []string
	}{
		"sound":          {sound, nil},
		"no girth":       {change(func(r *Ring) { r.Girth.Around = 0 }), []string{"bole.girth_not_positive girth.around"}},
		"negative girth": {change(func(r *Ring) { r.Girth.Around = -in }), []string{"bole.girth_not_positive girth.around"}},
		"thin":           {ring(4*in - 1), []string{"bole.girth_unlikely girth.around"}},
		"thick":          {ring(600*in + 1), []string{"bole.girth_unlikely girth.around"}},
		"bounds":         {ring(600 * in), nil},
		"no height":      {change(func(r *Ring) { r.Girth.Height = 0 }), []string{"bole.height_missing girth.height"}},
		"height in mm":   {change(func(r *Ring) { r.Girth.Height = 12 * mm }), []string{"bole.height_unlikely girth.height"}},
		"height in m":    {change(func(r *Ring) { r.Girth.Height = 12 * quantity.Metre }), []string{"bole.height_unlikely girth.height"}},
		"arc off":        {change(func(r *Ring) { r.Arcs[0].From = 97 * in }), []string{"bole.off_ring arcs[0].from"}},
		"arc below":      {change(func(r *Ring) { r.Arcs[0].To = -1 }), []string{"bole.off_ring arcs[0].to"}},
		"arc empty":      {change(func(r *Ring) { r.Arcs[0].To = 90 * in }), []string{"bole.arc_nothing_or_all arcs[0]"}},
		"arc kind":       {change(func(r *Ring) { r.Arcs[0].Kind = "hole" }), []string{"bole.arc_kind_unknown arcs[0].kind"}},
		"wound off":      {change(func(r *Ring) { r.Wounds[1].At = 96*in + 1 }), []string{"bole.off_ring wounds[1].at"}},
		"wound width":    {change(func(r *Ring) { r.Wounds[0].Width = -1 }), []string{"bole.wound_width wounds[0].width"}},
		"wide wound":     {change(func(r *Ring) { r.Wounds[0].Width = 97 * in }), []string{"bole.wound_width wounds[0].width"}},
		"fissure off":    {change(func(r *Ring) { r.Fissures[1] = 100 * in }), []string{"bole.off_ring fissures[1]"}},
		"dead":           {ring(96*in, Arc{0, 96 * in, DeadCambium}), []string{"bole.nothing_alive arcs"}},
	} {
		if got := codes(c.ring.Check()); !slices.Equal(got, c.want) {
			t.Errorf("%s: %q, want %q", name, got, c.want)
		}
	}
}

func TestStemAndTreeCheck(t *testing.T) {
	stem := func(f func(*Stem)) Tree {
		s := Stem{Ring: ring(96 * in), Breast: &Girth{Around: 88 * in, Height: 54 * in}, Bark: []BarkReading{{10 * in, 20 * mm}}}
		f(&s)
		return Tree{Tag: "A-1", Stems: []Stem{s}}
	}
	for name, c := range map[string]struct {
		tree Tree
		want []string
	}{
		"sound":     {stem(func(*Stem) {}), nil},
		"no breast": {stem(func(s *Stem) { s.Breast = nil }), nil},
		"no stem":   {Tree{Tag: "A-1"}, []string{"bole.no_stem stems"}},
		"two girths": {stem(func(s *Stem) { s.Ring.Girth.Height = 54 * in }),
			[]string{"bole.two_girths_one_height stems[0].breast"}},
		"same girth twice": {stem(func(s *Stem) { s.Ring.Girth.Height, s.Breast.Around = 54*in, 96*in }), nil},
		"elsewhere":        {stem(func(s *Stem) { s.Breast.Height = 36 * in }), []string{"bole.not_breast_height stems[0].breast.height"}},
		"upward":           {stem(func(s *Stem) { s.Breast.Around = 97 * in }), []string{"bole.tapers_upward stems[0].breast"}},
		"breast empty":     {stem(func(s *Stem) { s.Breast.Around = 0 }), []string{"bole.girth_not_positive stems[0].breast.around"}},
		"bark":             {stem(func(s *Stem) { s.Bark[0].Thickness = 0 }), []string{"bole.bark_impossible stems[0].bark[0].thickness"}},
		"bark to the pith": {stem(func(s *Stem) { s.Bark[0].Thickness = 16 * in }), []string{"bole.bark_impossible stems[0].bark[0].thickness"}},
		"bark off":         {stem(func(s *Stem) { s.Bark[0].At = 97 * in }), []string{"bole.off_ring stems[0].bark[0].at"}},
		"twins": {Tree{Stems: []Stem{{Name: "1", Ring: ring(40 * in)}, {Name: "1", Ring: ring(41 * in)}, {Name: "2", Ring: ring(0)}}},
			[]string{"bole.stem_name_twice stems[1].name", "bole.girth_not_positive stems[2].ring.girth.around"}},
	} {
		if got := codes(c.tree.Check()); !slices.Equal(got, c.want) {
			t.Errorf("%s: %q, want %q", name, got, c.want)
		}
	}
}

func TestGirths(t *testing.T) {
	s := Stem{Ring: ring(96 * in), Breast: &Girth{Around: 88 * in, Height: 54 * in}}
	if got := s.Girths(); len(got) != 2 || got[0] != s.Ring.Girth || got[1] != *s.Breast {
		t.Errorf("got %v", got)
	}
	s.Breast = nil
	if got := s.Girths(); len(got) != 1 {
		t.Errorf("got %v", got)
	}
}

func BenchmarkLiveGirth(b *testing.B) {
	r := ring(96*in, Arc{90 * in, 6 * in, Canker}, Arc{0, 10 * in, Cavity}, Arc{40 * in, 50 * in, DeadCambium})
	for b.Loop() {
		r.LiveGirth()
	}
}
