package dose

import (
	"math"
	"testing"

	"sapwell/engine/bole"
	"sapwell/engine/label"
	"sapwell/engine/quantity"
	"sapwell/internal/outside"
)

// TestSixInchRule: one unit per 6 in of girth (common practice, no source), the
// quotients worked by hand: 96/6 = 16, 97/6 = 16.1667, 99/6 = 16.5 (the half).
func TestSixInchRule(t *testing.T) {
	for _, tc := range []struct {
		girth             quantity.Length
		up, down, nearest int
	}{
		{96 * inch, 16, 16, 16},
		{97 * inch, 17, 16, 16},
		{99 * inch, 17, 16, 17},                           // a half goes up
		{99*inch - 1, 17, 16, 16},                         // one nanometre short of the half
		{96*inch + 1, 17, 16, 16},                         // one nanometre is a begun unit
		{96*inch - 1, 16, 15, 16},                         //
		{24384 * quantity.Millimetre / 10, 16, 16, 16},    // 2438.4 mm is 96 in exactly (SP 811)
		{6096 * quantity.Millimetre / 4, 10, 10, 10},      // 1524 mm is 60 in
		{61*inch + inch/2 + inch/8 + inch/16, 11, 10, 10}, // 61 11/16 in
	} {
		for how, want := range map[label.Rounding]int{label.RoundUp: tc.up, label.RoundDown: tc.down, label.RoundNearest: tc.nearest} {
			l := mayWe()
			l.Rate.Rounding = how
			if r := Compute(at(l, tc.girth)); r.Units != want {
				t.Errorf("%v in, %s: %d units, want %d", tc.girth.Inches(), how, r.Units, want)
			}
		}
	}
	outside.Ran(t, "common practice, no source", "one unit per 6 in of girth, nine girths")
}

// TestPortsPerMetre: ash port densities of 8 and 16 ports per metre of
// circumference ("Factors Affecting Efficacy of Trunk-Injected Emamectin
// Benzoate ...", abstract), applied to 96 in = 2.4384 m: 19.507 and 39.014.
func TestPortsPerMetre(t *testing.T) {
	for _, tc := range []struct {
		perMetre          int
		exact             float64
		up, down, nearest int
	}{
		{8, 19.5072, 20, 19, 20},
		{16, 39.0144, 40, 39, 39},
	} {
		l := mayWe()
		l.Rate.Spacing = quantity.Metre / quantity.Length(tc.perMetre)
		for how, want := range map[label.Rounding]int{label.RoundUp: tc.up, label.RoundDown: tc.down, label.RoundNearest: tc.nearest} {
			l.Rate.Rounding = how
			r := Compute(at(l, 96*inch))
			if r.Units != want {
				t.Errorf("%d a metre, %s: %d units, want %d", tc.perMetre, how, r.Units, want)
			}
			exact := r.Why.Because[0].Inputs[2].Value.(float64)
			if math.Abs(exact-tc.exact) > 1e-9 {
				t.Errorf("%d a metre: exact %v, want %v", tc.perMetre, exact, tc.exact)
			}
		}
	}
	outside.Ran(t, "efficacy of trunk-injected emamectin benzoate (abstract)", "8 and 16 ports a metre")
}

// TestProtocolGirths: published protocols. Olive, one site for 8 cm and two for
// 17 cm diameter (J. ASHS 117(2), 1992, abstract): one per 10 cm of diameter,
// nearest, gives both. A general protocol, 126 cm of girth to 5 sites (JoVE
// 51199): one per 25 cm, down or nearest.
func TestProtocolGirths(t *testing.T) {
	l := mayWe()
	l.Rate = label.Rate{Kind: label.ByDiameter, Rounding: label.RoundNearest, PerUnit: 10 * quantity.Centimetre,
		Measure: label.Measure{What: "diameter", Height: quantity.Foot}}
	for cm, want := range map[quantity.Length]int{8: 1, 17: 2} {
		r := Compute(Input{Label: l, Girths: []bole.Girth{bole.GirthFromDiameter(cm*quantity.Centimetre, quantity.Foot)}})
		if r.Units != want {
			t.Errorf("olive %d cm: %d sites, want %d", cm, r.Units, want)
		}
	}
	l = mayWe()
	l.Rate.Spacing, l.Rate.Rounding = 25*quantity.Centimetre, label.RoundNearest
	if r := Compute(at(l, 126*quantity.Centimetre)); r.Units != 5 {
		t.Errorf("126 cm: %d sites, want 5", r.Units)
	}
	outside.Ran(t, "J. ASHS 117(2), 1992 (abstract)", "olive: sites by diameter")
	outside.Ran(t, "JoVE 51199", "five sites at 126 cm of girth")
}

// TestPhosphite: potassium phosphite, about 0.71 mL per cm of stem diameter (USDA
// Forest Service manual on sudden oak death). 40 cm: 0.71 × 40 = 28.4 mL, by hand.
func TestPhosphite(t *testing.T) {
	for _, tc := range []struct {
		name  string
		how   label.Rounding
		sizes []quantity.Volume
		total quantity.Volume
		units int
	}{
		{"one size up", label.RoundUp, []quantity.Volume{4 * mL}, 32 * mL, 8},
		{"one size down", label.RoundDown, []quantity.Volume{4 * mL}, 28 * mL, 7},
		{"one size nearest", label.RoundNearest, []quantity.Volume{4 * mL}, 28 * mL, 7},
		{"two sizes up", label.RoundUp, []quantity.Volume{2 * mL, 5 * mL}, 30 * mL, 6},     // 6 × 5; 29 = 5×5 + 2×2 takes 7
		{"two sizes down", label.RoundDown, []quantity.Volume{2 * mL, 5 * mL}, 27 * mL, 6}, // 5×5 + 2; 28 = 4×5 + 4×2 takes 8
	} {
		l := mayWe()
		l.Unit.Fills = tc.sizes
		l.Rate = label.Rate{Kind: label.DosePerDia, Rounding: tc.how, Measure: label.Measure{What: "diameter", Height: 1300 * quantity.Millimetre},
			Volume: &quantity.VolumePerLength{Volume: 710 * quantity.Microlitre, Per: quantity.Centimetre}}
		r := Compute(Input{Label: l, Girths: []bole.Girth{bole.GirthFromDiameter(40*quantity.Centimetre, 1300*quantity.Millimetre)}})
		if r.Stated != 28400*quantity.Microlitre || r.Total != tc.total || r.Units != tc.units {
			t.Errorf("%s: stated %v, %d units, %v mL; want 28.4, %d, %v", tc.name, r.Stated.Millilitres(), r.Units, r.Total.Millilitres(), tc.units, tc.total.Millilitres())
		}
	}
	outside.Ran(t, "USDA Forest Service, sudden oak death manual", "0.71 mL per cm at 40 cm")
}

// TestGramsPerDiameter: emamectin benzoate 0.4 g a.i. per 2.54 cm DBH (Smitley,
// Doccola and Cox 2010, AUF 36(5)), 20 in, product of 40 g/L: 8 g, 200 mL. The
// grams per centimetre come back as 0.4/2.54 = 0.15748 g/cm.
func TestGramsPerDiameter(t *testing.T) {
	l := mayWe()
	l.Ceilings = label.Ceilings{}
	l.Unit.Fills = []quantity.Volume{10 * mL}
	l.Rate = label.Rate{Kind: label.DosePerDia, Rounding: label.RoundUp, Measure: label.Measure{What: "diameter", Height: 54 * inch},
		Mass: &quantity.MassPerLength{Mass: 400 * quantity.Milligram, Per: inch}}
	r := Compute(Input{Label: l, Girths: []bole.Girth{bole.GirthFromDiameter(20*inch, 54*inch)}})
	if r.Units != 20 || r.Total != 200*mL || r.Stated != 200*mL || len(r.Findings) != 0 {
		t.Fatalf("%d units, %v mL, stated %v; want 20, 200, 200: %v", r.Units, r.Total.Millilitres(), r.Stated.Millilitres(), codes(r.Findings))
	}
	a := r.Active[0]
	if a.Total != 8*quantity.Gram {
		t.Errorf("%v g a.i., want 8", a.Total.Grams())
	}
	if a.PerDBH == nil || a.PerDBH.Per != quantity.Centimetre || math.Abs(a.PerDBH.Mass.Grams()-0.4/2.54) > 1e-7 {
		t.Errorf("per DBH %+v, want 0.15748 g per cm", a.PerDBH)
	}
	outside.Ran(t, "Smitley, Doccola and Cox 2010", "0.4 g a.i. per 2.54 cm of DBH")
}

// TestDiameterTape: a reading of a diameter tape on the edge of the rule is on
// it, although the girth it is kept as is a multiple of π.
func TestDiameterTape(t *testing.T) {
	l := mayWe()
	l.Rate = label.Rate{Kind: label.ByDiameter, PerUnit: inch / 2, Measure: label.Measure{What: "diameter", Height: quantity.Foot}}
	for half := quantity.Length(1); half <= 200; half++ {
		g := bole.GirthFromDiameter(half*inch/2, quantity.Foot)
		for _, how := range []label.Rounding{label.RoundUp, label.RoundDown, label.RoundNearest} {
			l.Rate.Rounding = how
			if r := Compute(Input{Label: l, Girths: []bole.Girth{g}}); r.Units != int(half) {
				t.Errorf("%v in, %s: %d units, want %d", half, how, r.Units, half)
			}
		}
	}
}
