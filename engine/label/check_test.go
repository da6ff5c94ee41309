package label

import (
	"fmt"
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
	cm = quantity.Centimetre
	ml = quantity.Millilitre
)

// sound is a label without a fault: the one of the may-we cases (doc/validation.md),
// with invented values where they are silent.
func sound() Label {
	low, high := quantity.Celsius(5), quantity.Celsius(30)
	return Label{
		ID: "maywe", Version: quantity.NewDate(2026, 1, 1), Fictional: true,
		Product: Product{Name: "May-we Label (fictional)", RegNo: "99999-9", Registrant: "Example Registrant (fictional)", Country: "US"},
		Class: Classification{RestrictedUse: true, SignalWord: "WARNING", Ingredients: []Ingredient{
			{Name: "emamectin benzoate", Content: quantity.MassPerVolume{Mass: 40 * quantity.Gram, Per: quantity.Litre}, IRAC: "6"}}},
		Hosts:    []Host{{Taxon: "Fraxinus"}, {Taxon: "Ulmus"}},
		Pests:    []Pest{{"Agrilus planipennis", "AGRLPL"}},
		Unit:     UnitSpec{Fills: []quantity.Volume{4 * ml}},
		Rate:     Rate{Kind: BySpacing, Measure: Measure{"girth", 12 * in}, Rounding: RoundUp, Spacing: 6 * in},
		Ceilings: Ceilings{PerApplication: 64 * ml, IntervalDays: 730},
		Hole:     Hole{Bit: 11 * in / 64, DepthMin: in / 4, DepthMax: 3 * in / 8, Angle: 45 * quantity.Degree, HeightMin: 6 * in, HeightMax: 18 * in},
		People:   People{PPE: []string{"gloves"}, REI: "Keep away."},
		Food:     Food{Tapping: "unspecified"},
		Storage:  Storage{Min: &low, Max: &high},
		FirstAid: FirstAid{Steps: []FirstAidStep{{"eyes", "Rinse."}}},
		Disposal: Disposal{Container: "Do not reuse."},
	}
}

// table makes the sound label count by a class table.
func table(l *Label, readings *Readings, rows ...Class) {
	l.Rate = Rate{Kind: ByClass, Measure: Measure{"diameter", 54 * in}, Classes: rows, Readings: readings}
}

func TestSoundLabelHasNoFinding(t *testing.T) {
	if fs := Check(sound()); len(fs) > 0 {
		t.Fatalf("findings %+v", fs)
	}
}

// Each case spoils the sound label in one way and names every finding that must
// follow: code, place and severity. G03 and G13 are may-we cases
// (doc/validation.md); the other rules follow from what the words mean
// (a band has its lower end below, a hole is narrower than the space between
// holes, and so on), so their expectations are common practice, no source.
func TestOneFaultOneFinding(t *testing.T) {
	whole := &Readings{in, RoundNearest}
	cases := []struct {
		name  string
		spoil func(l *Label)
		want  []string
	}{
		{"G03 rounding unspecified", func(l *Label) { l.Rate.Rounding = Unspecified }, []string{"rounding_unspecified rate.rounding block"}},
		{"rounding left out", func(l *Label) { l.Rate.Rounding = "" }, []string{"rounding_unspecified rate.rounding block"}},
		{"G13 whole inches without a word on readings", func(l *Label) {
			table(l, nil, Class{10 * in, 15 * in, 2, 0}, Class{16 * in, 20 * in, 3, 0})
		}, []string{"table_gap rate.classes[1].from block"}},
		{"the same table when readings are rounded", func(l *Label) {
			table(l, whole, Class{10 * in, 15 * in, 2, 0}, Class{16 * in, 20 * in, 3, 0})
		}, nil},
		{"rounded readings miss an inch", func(l *Label) {
			table(l, whole, Class{10 * in, 15 * in, 2, 0}, Class{17 * in, 20 * in, 3, 0})
		}, []string{"table_gap rate.classes[1].from block"}},
		{"rounded readings share an inch", func(l *Label) {
			table(l, whole, Class{10 * in, 15 * in, 2, 0}, Class{15 * in, 20 * in, 3, 0})
		}, []string{"table_overlap rate.classes[1].from block"}},
		{"rows that touch", func(l *Label) { table(l, nil, Class{10 * cm, 15 * cm, 2, 0}, Class{15 * cm, 20 * cm, 3, 0}) }, nil},
		{"rows that overlap", func(l *Label) { table(l, nil, Class{10 * cm, 15 * cm, 2, 0}, Class{14 * cm, 20 * cm, 3, 0}) },
			[]string{"table_overlap rate.classes[1].from block"}},
		{"rows in disorder", func(l *Label) { table(l, nil, Class{20 * cm, 30 * cm, 3, 0}, Class{10 * cm, 20 * cm, 2, 0}) },
			[]string{"table_order rate.classes[1].from block"}},
		{"row reversed", func(l *Label) { table(l, nil, Class{15 * cm, 10 * cm, 2, 0}) }, []string{"range_reversed rate.classes[0].from block"}},
		{"row empty", func(l *Label) { table(l, nil, Class{15 * cm, 15 * cm, 2, 0}) }, []string{"class_empty rate.classes[0].to block"}},
		{"row of one inch", func(l *Label) { table(l, whole, Class{15 * in, 15 * in, 2, 0}) }, nil},
		{"row off the step", func(l *Label) { table(l, whole, Class{10 * in, 31 * in / 2, 2, 0}) }, []string{"class_off_step rate.classes[0].to block"}},
		{"row without dose", func(l *Label) { table(l, nil, Class{10 * cm, 15 * cm, 0, 0}) }, []string{"class_no_dose rate.classes[0] block"}},
		{"row without end", func(l *Label) { table(l, nil, Class{10 * cm, 0, 1, 0}) }, []string{"missing rate.classes[0].to block"}},
		{"count and total agree", func(l *Label) { table(l, nil, Class{10 * cm, 15 * cm, 2, 8 * ml}) }, nil},
		{"count and total differ", func(l *Label) { table(l, nil, Class{10 * cm, 15 * cm, 2, 9 * ml}) }, []string{"class_disagrees rate.classes[0].total block"}},
		{"total of whole units", func(l *Label) { table(l, nil, Class{10 * cm, 15 * cm, 0, 8 * ml}) }, nil},
		{"total of part units", func(l *Label) { table(l, nil, Class{10 * cm, 15 * cm, 0, 9 * ml}) }, []string{"rounding_unspecified rate.rounding block"}},
		{"row over the ceiling", func(l *Label) { table(l, nil, Class{10 * cm, 15 * cm, 17, 0}) }, []string{"class_over_ceiling rate.classes[0] warn"}},
		{"row of a huge count", func(l *Label) { table(l, nil, Class{10 * cm, 15 * cm, math.MaxInt, 0}) }, []string{"class_over_ceiling rate.classes[0] warn"}},
		{"no rows", func(l *Label) { table(l, nil) }, []string{"missing rate.classes block"}},
		{"readings without a step", func(l *Label) { table(l, &Readings{0, RoundUp}, Class{10 * cm, 15 * cm, 2, 0}) }, []string{"missing rate.readings.step block"}},
		{"readings unspecified", func(l *Label) { table(l, &Readings{cm, Unspecified}, Class{10 * cm, 15 * cm, 2, 0}) },
			[]string{"not_accepted rate.readings.rounding block"}},

		{"no identity", func(l *Label) { l.ID, l.Product, l.Version = "", Product{}, quantity.Date{} }, []string{"missing id block",
			"missing version block", "missing product.name block", "missing product.reg_no block", "missing product.registrant block", "missing product.country block"}},
		{"id with a slash", func(l *Label) { l.ID = "a/b" }, []string{"id_format id block"}},
		{"country in full", func(l *Label) { l.Product.Country = "Spain" }, []string{"country_format product.country block"}},
		{"US number malformed", func(l *Label) { l.Product.RegNo = "99999" }, []string{"reg_no_format product.reg_no warn"}},
		{"number elsewhere", func(l *Label) { l.Product.Country, l.Product.RegNo = "ES", "ES-00123" }, nil},

		{"restricted use, no signal word", func(l *Label) { l.Class.SignalWord = "" }, []string{"signal_word_missing classification.signal_word warn"}},
		{"a code of no statement", func(l *Label) { l.Statements = []Statement{{"H31", "x"}, {"P305+P351+P338", "y"}, {"", ""}} },
			[]string{"not_accepted statements[0].code block", "missing statements[2].text block"}},
		{"unknown signal word", func(l *Label) { l.Class.SignalWord = "BEWARE" }, []string{"not_accepted classification.signal_word block"}},
		{"no ingredient", func(l *Label) { l.Class.Ingredients = nil }, []string{"missing classification.active_ingredients block"}},
		{"content not stated", func(l *Label) { l.Class.Ingredients[0].Content = quantity.MassPerVolume{} },
			[]string{"not_stated classification.active_ingredients[0].content warn"}},
		{"mass rule without content", func(l *Label) {
			massRule(l)
			l.Class.Ingredients[0].Content = quantity.MassPerVolume{}
		}, []string{"content_missing classification.active_ingredients[0].content block"}},
		{"mass rule with content", massRule, nil},
		{"mass rule with two ingredients", func(l *Label) {
			massRule(l)
			l.Class.Ingredients = append(l.Class.Ingredients, Ingredient{Name: "abamectin", Content: quantity.MassPerVolume{Mass: quantity.Gram, Per: quantity.Litre}})
		}, []string{"mass_unclear rate.mass_per_diameter block"}},
		{"content in kg for g", func(l *Label) { l.Class.Ingredients[0].Content.Mass *= 1000 }, []string{"unlikely classification.active_ingredients[0].content warn"}},
		{"IRAC in words", func(l *Label) { l.Class.Ingredients[0].IRAC = "six" }, []string{"irac_format classification.active_ingredients[0].irac warn"}},
		{"FRAC in words", func(l *Label) { l.Class.Ingredients[0].FRAC = "P7" }, []string{"frac_format classification.active_ingredients[0].frac warn"}},

		{"no hosts", func(l *Label) { l.Hosts = nil }, []string{"missing hosts block"}},
		{"only exclusions", func(l *Label) { l.Hosts = []Host{{Taxon: "Tilia", Excluded: true}} }, []string{"missing hosts block"}},
		{"host twice", func(l *Label) { l.Hosts[1].Taxon = "fraxinus" }, []string{"taxon_format hosts[1].taxon block", "stated_twice hosts[1].taxon block"}},
		{"host in English", func(l *Label) { l.Hosts[1].Taxon = "elm" }, []string{"taxon_format hosts[1].taxon block"}},
		{"no pests", func(l *Label) { l.Pests = nil }, []string{"not_stated pests warn"}},
		{"no pests, exclusive", func(l *Label) { l.Pests, l.PestsOnly = nil, true }, []string{"missing pests block"}},
		{"EPPO code too short", func(l *Label) { l.Pests[0].EPPO = "AGRLP" }, []string{"eppo_format pests[0].eppo block"}},

		{"no fills", func(l *Label) { l.Unit.Fills = nil }, []string{"missing unit.fills block"}},
		{"fill twice", func(l *Label) { l.Unit.Fills = []quantity.Volume{4 * ml, 4 * ml} }, []string{"stated_twice unit.fills[1] block"}},
		{"fill below zero", func(l *Label) { l.Unit.Fills[0] = -1 }, []string{"not_positive unit.fills[0] block"}},
		{"pressure of a gas bottle", func(l *Label) { l.Unit.Gauge = 100 * quantity.PSI }, []string{"unlikely unit.pressure warn"}},

		{"unknown kind", func(l *Label) { l.Rate.Kind = "guess" }, []string{"not_accepted rate.kind block"}},
		{"no kind", func(l *Label) { l.Rate.Kind = "" }, []string{"missing rate.kind block"}},
		{"no spacing", func(l *Label) { l.Rate.Spacing = 0 }, []string{"missing rate.spacing block"}},
		{"figure of another kind", func(l *Label) { l.Rate.PerUnit = 2 * in }, []string{"other_kind rate.per_unit block"}},
		{"both doses", func(l *Label) {
			massRule(l)
			l.Rate.Volume = &quantity.VolumePerLength{Volume: ml, Per: cm}
		}, []string{"two_doses rate.mass_per_diameter block"}},
		{"dose of nothing", func(l *Label) {
			massRule(l)
			l.Rate.Mass.Mass = 0
		}, []string{"not_positive rate.mass_per_diameter block"}},
		{"spacing by diameter", func(l *Label) { l.Rate.Measure.What = "diameter" }, []string{"not_accepted rate.measure.what block"}},
		{"no height", func(l *Label) { l.Rate.Measure.Height = 0 }, []string{"missing rate.measure.height block"}},
		{"spacing in mm for in", func(l *Label) { l.Rate.Spacing = 6 * quantity.Millimetre }, []string{"unlikely rate.spacing warn"}},

		{"ceiling under a unit", func(l *Label) { l.Ceilings.PerApplication = 3 * ml }, []string{"ceiling_under_unit ceilings.per_application block"}},
		{"no ceiling", func(l *Label) { l.Ceilings.PerApplication = 0 }, []string{"not_stated ceilings.per_application warn"}},
		{"ceiling below zero", func(l *Label) { l.Ceilings.PerYear = -1 }, []string{"not_positive ceilings.per_year block"}},
		{"year under application", func(l *Label) { l.Ceilings.PerYear = 60 * ml }, []string{"year_under_application ceilings.per_year warn"}},
		{"two a year, two years apart", func(l *Label) { l.Ceilings.Applications = 2 }, []string{"interval_conflict ceilings.interval_days warn"}},
		{"ceiling under a hole", func(l *Label) {
			l.Rate.Kind, l.Rate.PerHole, l.Ceilings.PerApplication = FixedPerHole, 8*ml, 6*ml
		}, []string{"ceiling_under_hole ceilings.per_application block"}},

		{"angle upward", func(l *Label) { l.Hole.Angle = -quantity.Degree }, []string{"angle_range hole.angle block"}},
		{"angle of 60", func(l *Label) { l.Hole.Angle = 60 * quantity.Degree }, nil},
		{"angle along the trunk", func(l *Label) { l.Hole.Angle = 61 * quantity.Degree }, []string{"angle_range hole.angle block"}},
		{"angle not a number", func(l *Label) { l.Hole.Angle = quantity.Angle(math.NaN()) }, []string{"angle_range hole.angle block"}},
		{"depths reversed", func(l *Label) { l.Hole.DepthMin = in }, []string{"range_reversed hole.depth_min block"}},
		{"heights reversed", func(l *Label) { l.Hole.HeightMin = 20 * in }, []string{"range_reversed hole.height_min block", "hole_off_measure hole.height_min warn"}},
		{"holes above the measured girth", func(l *Label) { l.Hole.HeightMin = 13 * in }, []string{"hole_off_measure hole.height_min warn"}},
		{"bit wider than the spacing", func(l *Label) { l.Hole.MinSpacing = l.Hole.Bit }, []string{"bit_over_spacing hole.bit block"}},
		{"holes further apart than units", func(l *Label) { l.Hole.MinSpacing = 7 * in }, []string{"spacing_conflict hole.min_spacing block"}},
		{"no hole", func(l *Label) { l.Hole = Hole{} }, []string{"missing hole.bit block", "missing hole.depth_min block",
			"missing hole.depth_max block", "missing hole.height_max block"}},
		{"bit in inches for 64ths", func(l *Label) { l.Hole.Bit = in }, []string{"unlikely hole.bit warn"}},

		{"air reversed", func(l *Label) {
			a, b := quantity.Celsius(30), quantity.Celsius(5)
			l.Conditions.AirMin, l.Conditions.AirMax = &a, &b
		}, []string{"range_reversed conditions.air_min block"}},
		{"stage 100", func(l *Label) { l.Conditions.BBCHTo = 100 }, []string{"bbch_range conditions.bbch_to block"}},
		{"stages reversed", func(l *Label) { l.Conditions.BBCHFrom, l.Conditions.BBCHTo = 91, 19 }, []string{"range_reversed conditions.bbch_from block"}},
		{"stage without end", func(l *Label) { l.Conditions.BBCHFrom = 19 }, []string{"range_half conditions.bbch_to block"}},
		{"hours over midnight", func(l *Label) { l.Conditions.HoursFrom, l.Conditions.HoursTo = "20:00", "06:00" }, nil},
		{"hour 24", func(l *Label) { l.Conditions.HoursFrom, l.Conditions.HoursTo = "20:00", "24:00" }, []string{"hours_format conditions.hours_to block"}},
		{"hour without zero", func(l *Label) { l.Conditions.HoursFrom, l.Conditions.HoursTo = "6:00", "20:00" }, []string{"hours_format conditions.hours_from block"}},
		{"one hour only", func(l *Label) { l.Conditions.HoursTo = "20:00" }, []string{"range_half conditions.hours_from block"}},

		{"no protection", func(l *Label) { l.People = People{} }, []string{"not_stated people.ppe warn", "not_stated people.re_entry warn"}},
		{"tapping perhaps", func(l *Label) { l.Food.Tapping = "perhaps" }, []string{"not_accepted food.tapping block"}},
		{"tapping left out", func(l *Label) { l.Food.Tapping = "" }, []string{"missing food.tapping block"}},
		{"harvest in the past", func(l *Label) { n := -1; l.Food.PHIDays = &n }, []string{"not_positive food.pre_harvest_days block"}},
		{"storage reversed", func(l *Label) { l.Storage.Min, l.Storage.Max = l.Storage.Max, l.Storage.Min }, []string{"range_reversed storage.min block"}},
		{"nothing for the field", func(l *Label) { l.Storage, l.FirstAid, l.Disposal = Storage{}, FirstAid{}, Disposal{} },
			[]string{"not_stated storage warn", "not_stated first_aid.steps warn", "not_stated disposal warn"}},
		{"eyes twice", func(l *Label) { l.FirstAid.Steps = append(l.FirstAid.Steps, l.FirstAid.Steps[0]) }, []string{"stated_twice first_aid.steps[1].route block"}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			l := sound()
			c.spoil(&l)
			if got := said(Check(l)); !slices.Equal(got, c.want) {
				t.Errorf("got  %q\nwant %q", got, c.want)
			}
		})
	}
	outside.Ran(t, "common practice, no source", "what a label cannot mean: one fault, one finding")
}

func massRule(l *Label) {
	l.Rate = Rate{Kind: DosePerDia, Measure: Measure{"diameter", 137 * cm}, Rounding: RoundUp,
		Mass: &quantity.MassPerLength{Mass: 200 * quantity.Milligram, Per: in}}
}

func said(fs []why.Finding) []string {
	var out []string
	for _, f := range fs {
		out = append(out, fmt.Sprintf("%s %s %s", f.Code[len("label."):], f.Place, f.Severity))
	}
	return out
}

// The gap of case G13 lies between 15 and 16 in.
func TestGapNamesItsBounds(t *testing.T) {
	l := sound()
	table(&l, nil, Class{10 * in, 15 * in, 2, 0}, Class{16 * in, 20 * in, 3, 0})
	got := Check(l)[0].Terms
	want := []why.Term{why.T("low", 15*in), why.T("high", 16*in)}
	if !slices.Equal(got, want) {
		t.Fatalf("terms %v, want %v", got, want)
	}
}

// A table cut from one band has neither gap nor overlap, however it is cut; pull
// a bound away and there is a gap, push it over and there is an overlap.
func TestTablesTile(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		step := quantity.Length(0)
		var readings *Readings
		if rapid.Bool().Draw(t, "rounded") {
			step = rapid.SampledFrom([]quantity.Length{in, cm, in / 2}).Draw(t, "step")
			readings = &Readings{step, RoundNearest}
		}
		grain := max(step, quantity.Millimetre)
		rows := make([]Class, rapid.IntRange(2, 6).Draw(t, "rows"))
		from := 10 * grain
		for i := range rows {
			to := from + grain*quantity.Length(rapid.IntRange(2, 40).Draw(t, "width"))
			rows[i] = Class{from, to, i + 1, 0}
			from = to + step
		}
		joints := func() (out []string) {
			c := &checker{}
			for i := range rows[1:] {
				c.joint(i+1, rows[i], rows[i+1], readings)
			}
			return said(c.found)
		}
		if got := joints(); got != nil {
			t.Fatalf("tiled table: %q", got)
		}
		i := rapid.IntRange(1, len(rows)-1).Draw(t, "moved")
		place := fmt.Sprintf("rate.classes[%d].from block", i)
		rows[i].From += grain
		if got := joints(); !slices.Equal(got, []string{"table_gap " + place}) {
			t.Fatalf("pulled apart: %q", got)
		}
		rows[i].From -= 2 * grain
		if got := joints(); !slices.Equal(got, []string{"table_overlap " + place}) {
			t.Fatalf("pushed over: %q", got)
		}
	})
}

// Check reads any label without panic, says the same twice and leaves it alone.
func TestCheckIsSteady(t *testing.T) {
	number := rapid.SampledFrom([]int64{math.MinInt64, -1, 0, 1, 25_400_000, math.MaxInt64})
	rapid.Check(t, func(t *rapid.T) {
		l := sound()
		length := func(name string) quantity.Length { return quantity.Length(number.Draw(t, name)) }
		l.Rate.Kind = rapid.SampledFrom([]RateKind{BySpacing, ByDiameter, DosePerDia, ByClass, FixedPerHole, ""}).Draw(t, "kind")
		l.Rate.Spacing, l.Rate.PerUnit, l.Rate.Measure.Height = length("spacing"), length("per unit"), length("height")
		l.Rate.Readings = &Readings{length("step"), RoundUp}
		l.Rate.Classes = []Class{{length("from"), length("to"), int(number.Draw(t, "units")), quantity.Volume(number.Draw(t, "total"))},
			{length("from 2"), length("to 2"), int(number.Draw(t, "units 2")), 0}}
		l.Unit.Fills = []quantity.Volume{quantity.Volume(number.Draw(t, "fill"))}
		l.Ceilings = Ceilings{PerApplication: quantity.Volume(number.Draw(t, "most")), Applications: int(number.Draw(t, "n")), IntervalDays: int(number.Draw(t, "days"))}
		l.Hole.Bit, l.Hole.DepthMin, l.Hole.MinSpacing = length("bit"), length("depth"), length("apart")
		if a, b := said(Check(l)), said(Check(l)); !slices.Equal(a, b) {
			t.Fatalf("%q, then %q", a, b)
		}
	})
}

func BenchmarkCheck(b *testing.B) {
	l := sound()
	for b.Loop() {
		Check(l)
	}
}
