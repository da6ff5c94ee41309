package dose

import (
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"testing"

	"sapwell/engine/bole"
	"sapwell/engine/label"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// table is a class table by diameter at 4½ ft: 10-15 in and 16-20 in, as the
// may-we case G13 prints it.
func table() label.Label {
	l := mayWe()
	l.Rate = label.Rate{Kind: label.ByClass, Measure: label.Measure{What: "diameter", Height: 54 * inch}, Classes: []label.Class{
		{From: 10 * inch, To: 15 * inch, Units: 8},
		{From: 16 * inch, To: 20 * inch, Units: 10},
	}}
	return l
}

func thick(l label.Label, d quantity.Length) Input {
	return Input{Label: l, Girths: []bole.Girth{bole.GirthFromDiameter(d, l.Rate.Measure.Height)}}
}

// TestTable: case G13 and its neighbours. The table is read as printed, or in
// the steps in which the label says to read a diameter.
func TestTable(t *testing.T) {
	gap, readings, touching, both := table(), table(), table(), table()
	readings.Rate.Readings = &label.Readings{Step: inch, Rounding: label.RoundNearest}
	touching.Rate.Classes[1].From = 15 * inch
	both.Rate.Classes[0].Total = 32 * mL
	both.Rate.Classes[1].Total = 41 * mL
	overlap := table()
	overlap.Rate.Classes[1].From = 14 * inch
	totals := table()
	totals.Unit.Fills = []quantity.Volume{2 * mL, 5 * mL}
	totals.Rate.Classes = []label.Class{{From: 1 * inch, To: 9 * inch, Total: 9 * mL}, {From: 9 * inch, To: 20 * inch, Total: 11500 * quantity.Microlitre}}
	for _, tc := range []struct {
		name  string
		l     label.Label
		d     quantity.Length
		units int
		code  string
	}{
		{"G13", gap, 15*inch + inch/2, 0, "block label.table_gap"},
		{"in a row", gap, 12 * inch, 8, ""},
		{"on the lower bound", gap, 10 * inch, 8, ""},
		{"on the upper bound", gap, 15 * inch, 8, ""},
		{"a hair above it", gap, 15*inch + 1000, 0, "block label.table_gap"},
		{"below the table", gap, 9 * inch, 0, "block dose.outside_table"},
		{"above the table", gap, 20*inch + inch/8, 0, "block dose.outside_table"},
		{"read to the inch: 15.4", readings, 154 * inch / 10, 8, ""},
		{"read to the inch: the half goes up", readings, 15*inch + inch/2, 10, ""},
		{"read to the inch: 20.4", readings, 204 * inch / 10, 10, ""},
		{"read to the inch: 20.5", readings, 205 * inch / 10, 0, "block dose.outside_table"},
		{"shared bound is the upper row's", touching, 15 * inch, 10, ""},
		{"count and total agree", both, 12 * inch, 8, ""},
		{"count and total do not", both, 17 * inch, 0, "block dose.not_from_units"},
		{"two rows", overlap, 14*inch + inch/2, 0, "block label.table_overlap"},
		{"total made exactly: 5+2+2", totals, 5 * inch, 3, ""},
		{"total between units, no rounding", totals, 12 * inch, 0, "block label.rounding_unspecified"},
	} {
		r := Compute(thick(tc.l, tc.d))
		var want []string
		if tc.code != "" {
			want = []string{tc.code}
		}
		blanksFilled(t, r)
		if r.Units != tc.units || !slices.Equal(codes(r.Findings), want) {
			t.Errorf("%s: %d units, %v; want %d, %v", tc.name, r.Units, codes(r.Findings), tc.units, want)
		}
	}
	totals.Rate.Rounding = label.RoundUp
	if r := Compute(thick(totals, 12*inch)); r.Units != 3 || r.Total != 12*mL || !slices.Equal(codes(r.Findings), []string{"note dose.above_stated"}) {
		t.Errorf("11.5 mL up: %d units, %v mL, %v; want 5+5+2", r.Units, r.Total.Millilitres(), codes(r.Findings))
	}
}

// TestRefusals: each fault of label or reading gives its code and no number.
func TestRefusals(t *testing.T) {
	with := func(change func(*label.Label)) label.Label { l := mayWe(); change(&l); return l }
	perDia := func(l *label.Label) {
		l.Rate = label.Rate{Kind: label.DosePerDia, Rounding: label.RoundUp, Measure: label.Measure{What: "diameter", Height: quantity.Foot}}
	}
	for _, tc := range []struct {
		name, want string
		in         Input
	}{
		{"unspecified, even on a whole number", "block label.rounding_unspecified", at(with(func(l *label.Label) { l.Rate.Rounding = label.Unspecified }), 96*inch)},
		{"rounding left out", "block label.rounding_unspecified", at(with(func(l *label.Label) { l.Rate.Rounding = "" }), 96*inch)},
		{"zero girth", "block dose.girth_impossible", at(mayWe(), 0)},
		{"negative girth", "block dose.girth_impossible", at(mayWe(), -inch)},
		{"girth in the wrong unit", "block dose.girth_impossible", at(mayWe(), 200*quantity.Metre)},
		{"no girth", "block dose.no_girth_at_height", Input{Label: mayWe()}},
		{"girth at breast height only", "block dose.no_girth_at_height", Input{Label: mayWe(), Girths: []bole.Girth{{Around: 90 * inch, Height: 54 * inch}}}},
		{"1.3 m is not 4½ ft", "block dose.no_girth_at_height", Input{Label: table(), Girths: []bole.Girth{{Around: 40 * inch, Height: 1300 * quantity.Millimetre}}}},
		{"two girths at one height", "block dose.two_girths_at_height", Input{Label: mayWe(), Girths: []bole.Girth{{Around: 90 * inch, Height: quantity.Foot}, {Around: 91 * inch, Height: quantity.Foot}}}},
		{"no height on the label", "block dose.height_unstated", at(with(func(l *label.Label) { l.Rate.Measure.Height = 0 }), 96*inch)},
		{"thin", "block dose.below_min_diameter", at(with(func(l *label.Label) { l.Ceilings.MinDiameter = 31 * inch }), 96*inch)},
		{"no spacing", "block dose.rate_missing", at(with(func(l *label.Label) { l.Rate.Spacing = 0 }), 96*inch)},
		{"rounded down to nothing", "block dose.less_than_one_unit", at(with(func(l *label.Label) { l.Rate.Rounding = label.RoundDown }), 5*inch)},
		{"spacing of a hair", "block dose.too_many_units", at(with(func(l *label.Label) { l.Rate.Spacing = 1 }), 96*inch)},
		{"no such rule", "block dose.rule_unknown", at(with(func(l *label.Label) { l.Rate.Kind = "canopy_area" }), 96*inch)},
		{"no rate per diameter", "block dose.rate_missing", at(with(perDia), 96*inch)},
		{"grams without strength", "block dose.content_unclear", at(with(func(l *label.Label) {
			perDia(l)
			l.Rate.Mass = &quantity.MassPerLength{Mass: quantity.Gram, Per: inch}
			l.Class.Ingredients = nil
		}), 96*inch)},
		{"absurd rate", "block dose.rate_impossible", at(with(func(l *label.Label) {
			perDia(l)
			l.Rate.Volume = &quantity.VolumePerLength{Volume: 1000 * quantity.Litre, Per: 1}
		}), 96*inch)},
		{"dose without units", "block dose.no_unit_size", at(with(func(l *label.Label) {
			perDia(l)
			l.Rate.Volume = &quantity.VolumePerLength{Volume: mL, Per: inch}
			l.Unit.Fills = nil
		}), 96*inch)},
		{"more holes than dose", "block dose.holes_exceed_dose", at(with(func(l *label.Label) {
			perDia(l)
			l.Rate.Spacing = 4 * inch // 24 holes on 96 in: 96 mL in 4 mL units, for 30.6 mL
			l.Rate.Volume = &quantity.VolumePerLength{Volume: mL, Per: inch}
		}), 96*inch)},
		{"sizes without a common measure", "block dose.sizes_uneven", at(with(func(l *label.Label) {
			perDia(l)
			l.Rate.Volume = &quantity.VolumePerLength{Volume: mL, Per: inch}
			l.Unit.Fills = []quantity.Volume{1 * mL, 7*mL + 1, 15*mL + 3}
		}), 96*inch)},
		{"no dose per hole", "block dose.rate_missing", at(with(func(l *label.Label) { l.Rate.Kind = label.FixedPerHole }), 96*inch)},
		{"dose per hole not from units", "block dose.not_from_units", at(with(func(l *label.Label) { l.Rate.Kind, l.Rate.PerHole = label.FixedPerHole, 6*mL }), 96*inch)},
	} {
		r := Compute(tc.in)
		if got := codes(r.Findings); !slices.Equal(got, []string{tc.want}) || r.Units != 0 || r.Total != 0 || r.Holes != 0 {
			t.Errorf("%s: %v, %d units; want %s and none", tc.name, got, r.Units, tc.want)
		}
		blanksFilled(t, r)
		if r.Why.Rule != "dose.refused" {
			t.Errorf("%s: why %q", tc.name, r.Why.Rule)
		}
	}
}

// blanksFilled fails when a sentence has a blank that no term fills, or a term or
// a rule of the reason has no name, in either language.
func blanksFilled(t *testing.T, r Result) {
	t.Helper()
	for _, lang := range []string{"en", "es"} {
		words := map[string]json.RawMessage{}
		areas, err := filepath.Glob("../../words/" + lang + "/*.json")
		if err != nil {
			t.Fatal(err)
		}
		for _, area := range areas {
			b, err := os.ReadFile(area)
			if err != nil {
				t.Fatal(err)
			}
			if err := json.Unmarshal(b, &words); err != nil {
				t.Fatal(err)
			}
		}
		for _, f := range r.Findings {
			text := string(words["finding."+f.Code])
			if text == "" || words["remedy."+f.Code] == nil {
				t.Errorf("%s: no words for %s", lang, f.Code)
			}
			filled(t, lang, f.Code, text+string(words["remedy."+f.Code]), f.Terms)
		}
		for at := []why.Reason{r.Why}; len(at) > 0; at = append(at[1:], at[0].Because...) {
			terms := append([]why.Term{at[0].Result}, at[0].Inputs...)
			text := string(words["rule."+at[0].Rule])
			if text == "" {
				t.Errorf("%s: no words for rule %s", lang, at[0].Rule)
			}
			filled(t, lang, at[0].Rule, text, terms)
			for _, term := range terms {
				if words["term."+term.Name] == nil {
					t.Errorf("%s %s: term %q has no name", lang, at[0].Rule, term.Name)
				}
			}
		}
	}
}

func filled(t *testing.T, lang, what, text string, terms []why.Term) {
	t.Helper()
	for _, blank := range regexp.MustCompile(`\{([a-z_]+)\}`).FindAllStringSubmatch(text, -1) {
		if !slices.ContainsFunc(terms, func(t why.Term) bool { return t.Name == blank[1] }) {
			t.Errorf("%s %s: nothing fills {%s}", lang, what, blank[1])
		}
	}
}

// TestSameHeight: 30 cm is 1 ft and 1.37 m is 4½ ft; the nearer of two is taken.
func TestSameHeight(t *testing.T) {
	in := Input{Label: mayWe(), Girths: []bole.Girth{
		{Around: 97 * inch, Height: 290 * quantity.Millimetre},
		{Around: 96 * inch, Height: 300 * quantity.Millimetre},
		{Around: 80 * inch, Height: 1370 * quantity.Millimetre},
	}}
	if r := Compute(in); r.Units != 16 {
		t.Errorf("%d units, want 16 from the girth at 30 cm", r.Units)
	}
	in.Label = table()
	in.Girths[2].Around = 40 * inch // 12.7 in
	if r := Compute(in); r.Units != 8 {
		t.Errorf("%d units, want 8 from the girth at 1.37 m", r.Units)
	}
}

// TestSizes: a rule that counts units does not say which size.
func TestSizes(t *testing.T) {
	l := mayWe()
	l.Unit.Fills = []quantity.Volume{2 * mL, 4 * mL}
	r := Compute(at(l, 96*inch))
	blanksFilled(t, r)
	if r.Units != 16 || r.Total != 0 || !slices.Equal(codes(r.Findings), []string{"ask dose.size_not_chosen"}) {
		t.Errorf("two sizes: %d units, %v, %v", r.Units, r.Total, codes(r.Findings))
	}
	in := at(l, 96*inch)
	in.Size = 2 * mL
	if r := Compute(in); r.Units != 16 || r.Total != 32*mL || len(r.Findings) != 0 {
		t.Errorf("chosen: %d units, %v, %v", r.Units, r.Total, codes(r.Findings))
	}
	in.Size = 3 * mL
	if r := Compute(in); r.Total != 0 || !slices.Equal(codes(r.Findings), []string{"block dose.size_not_sold"}) {
		t.Errorf("not sold: %v, %v", r.Total, codes(r.Findings))
	}
}

// TestFixedPerHole: 6 mL in each of 16 holes, of units of 2 and 4 mL: one of
// each a hole.
func TestFixedPerHole(t *testing.T) {
	l := mayWe()
	l.Ceilings = label.Ceilings{}
	l.Unit.Fills = []quantity.Volume{2 * mL, 4 * mL}
	l.Rate.Kind, l.Rate.PerHole = label.FixedPerHole, 6*mL
	r := Compute(at(l, 96*inch))
	blanksFilled(t, r)
	if r.Holes != 16 || r.Units != 32 || r.Total != 96*mL || !slices.Equal(r.Fills, []Fill{{4 * mL, 16}, {2 * mL, 16}}) || r.PerUnit != 0 {
		t.Errorf("%+v", r)
	}
}

// TestHolesBySpacing: 1 mL an inch of diameter and a hole each 8 in of girth:
// 96 in is 30.558 in thick, 30.558 mL, 12 holes. Units of 2 and 4 mL, up: twelve
// units come to 32 mL as 4×4 + 8×2.
func TestHolesBySpacing(t *testing.T) {
	l := mayWe()
	l.Unit.Fills = []quantity.Volume{2 * mL, 4 * mL}
	l.Rate = label.Rate{Kind: label.DosePerDia, Rounding: label.RoundUp, Spacing: 8 * inch,
		Measure: label.Measure{What: "diameter", Height: quantity.Foot}, Volume: &quantity.VolumePerLength{Volume: mL, Per: inch}}
	r := Compute(at(l, 96*inch))
	blanksFilled(t, r)
	if r.Stated != 30558*quantity.Microlitre || r.Holes != 12 || r.Units != 12 || r.Total != 32*mL || !slices.Equal(r.Fills, []Fill{{4 * mL, 4}, {2 * mL, 8}}) {
		t.Errorf("%+v", r)
	}
}

// TestNearness: 96 in by the 6 in rule, rounded up. Half an inch more is begun
// unit 17; it takes 6 in less to need 15, and anything more to need 17.
func TestNearness(t *testing.T) {
	n := Compute(at(mayWe(), 96*inch)).Nearness
	want := Nearness{Tape: inch / 2, UnitsLow: 16, UnitsHigh: 17, ToFewer: 6 * inch, ToMore: 1}
	if n != want {
		t.Errorf("up: %+v, want %+v", n, want)
	}
	l := mayWe()
	l.Rate.Rounding = label.RoundNearest
	in := at(l, 98*inch)
	in.Tape = 10 * quantity.Millimetre
	n = Compute(in).Nearness // 15.5 units at 93 in, 16.5 at 99 in
	want = Nearness{Tape: 10 * quantity.Millimetre, UnitsLow: 16, UnitsHigh: 16, ToFewer: 5*inch + 1, ToMore: inch}
	if n != want {
		t.Errorf("nearest: %+v, want %+v", n, want)
	}
	n = Compute(thick(table(), 15*inch)).Nearness
	if n.UnitsLow != 8 || n.UnitsHigh != 0 || n.ToMore > 2*quantity.Micrometre || n.ToMore < 1 {
		t.Errorf("on the edge of the gap: %+v", n)
	}
}

// TestCeiling: the count is shown and blocked, never cut down to fit.
func TestCeiling(t *testing.T) {
	r := Compute(at(mayWe(), 97*inch))
	f := r.Findings[0]
	if f.Code != "dose.over_max_per_application" || f.Source != why.TheLabel || f.Terms[0].Value != 68*mL || f.Terms[1].Value != 64*mL {
		t.Errorf("%+v", f)
	}
}

// TestTogether: two stems of 40 mL each are within 64 mL, together above.
func TestTogether(t *testing.T) {
	one := Compute(at(mayWe(), 60*inch))
	sum, fs := Together(mayWe(), []Result{one, one})
	if sum != 80*mL || !slices.Equal(codes(fs), []string{"block dose.over_max_per_application"}) || fs[0].Place != "tree" {
		t.Errorf("%v %+v", sum, fs)
	}
	if sum, fs := Together(mayWe(), []Result{one, {}}); sum != 0 || fs != nil {
		t.Errorf("unknown stem: %v %v", sum, fs)
	}
	if sum, fs := Together(mayWe(), []Result{Compute(at(mayWe(), 97*inch))}); sum != 68*mL || fs != nil {
		t.Errorf("one stem says it itself: %v %v", sum, fs)
	}
}
