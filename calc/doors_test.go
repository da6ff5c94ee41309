package calc

import (
	"encoding/json"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"go.yaml.in/yaml/v3"

	"sapwell/internal/outside"
)

const stem96 = `{"ring":{"girth":{"around":"96 in","height":"12 in"}}}`

// mayWe is the label of the may-we cases as JSON, after the changes.
func mayWe(t testing.TB, changes ...func(map[string]any)) string {
	t.Helper()
	raw, err := os.ReadFile("../labelfile/testdata/maywe.yaml")
	if err != nil {
		t.Fatal(err)
	}
	var label map[string]any
	if err := yaml.Unmarshal(raw, &label); err != nil {
		t.Fatal(err)
	}
	label["version"] = "2026-01-01" // a day, which YAML takes for a time
	for _, change := range changes {
		change(label)
	}
	return mustJSON(t, label)
}

// g01 is case G01: 96 in, Fraxinus, a listed pest, bloom over, certified person.
func g01(t testing.TB, changes ...func(map[string]any)) string {
	return `{"label":` + mayWe(t, changes...) + `,"tag":"G01","species":"Fraxinus","stems":[` + stem96 + `],` +
		`"facts":{"jurisdiction":"US","date":"2026-06-10","pest":"Agrilus planipennis","bloom_over":"yes","certified":"yes"}}`
}

// questions holds one sound question for every computation.
func questions(t testing.TB) map[string]string {
	return map[string]string{
		"quantity": `{"text":"8 ft 2 1/2 in","kind":"length","tape":true}`,
		"host":     `{"name":"Fraxinus pennsylvanica"}`,
		"girth":    `{"girth":{"around":"96 in","height":"12 in"},"diameters":["3 in","4 in"],"ring":` + ring96 + `}`,
		"label":    `{"label":` + mayWe(t) + `}`,
		"dose":     `{"label":` + mayWe(t) + `,"girths":[{"around":"96 in","height":"12 in"}]}`,
		"marks":    marks5,
		"place":    `{"ring":` + ring96 + `,"count":16,"date":"2026-06-09"}`,
		"bore": `{"species":"FRXPE","girth":{"around":"96 in","height":"12 in"},"bark":[{"at":"0 in","thickness":"1/2 in"}],` +
			`"hole":{"bit":"11/64 in","depth_min":"1/4 in","depth_max":"3/8 in","angle":"45 deg"},"holes":16}`,
		"drain":    `{"Vg0_mL":6,"V0_mL":4,"p0_gauge_kPa":68.9,"T_use_C":20,"T_fill_C":20,"G20_mL_min_kPa":0.004,"points":[{"v_mL":1}]}`,
		"forecast": `{"uptake":"medium","past":[{"class":"medium","time":"90 min","emptied":true}]}`,
		"stock": `{"lots":[{"lot":"late","label":"a","size":"4 mL","units":20,"expires":"2027-01-31"},{"lot":"soon","label":"a","size":"4 mL","units":10,"expires":"2026-08-31","coldest":"6 °C","warmest":"25 °C"}],` +
			`"needs":[{"for":"T1","label":"a","size":"4 mL","units":8},{"for":"T2","label":"a","size":"4 mL","units":8}],"storage":{"a":{"min":"5 °C","max":"30 °C"}},"date":"2026-06-09"}`,
		"empty":   `{"content":"10 g","residue":"0.25 g","depth":"8 mm","all_removable_out":"yes","hazardous":"yes","acute":"no","under_pressure":"no"}`,
		"verdict": g01(t),
		"plan":    g01(t),
		"record":  `{"date":"2026-05-12","as_of":"2026-06-05","label":{"rup":false},"product":{"name":"Placeholder product A","reg_no":"99999-1"}}`,
	}
}

type measure struct {
	Value float64
	Unit  string
}

func (m measure) is(value float64, unit string) bool {
	return m.Unit == unit && math.Abs(m.Value-value) < 1e-6
}

func TestQuantity(t *testing.T) {
	for _, c := range []struct {
		in    string
		value float64
		unit  string
	}{
		{`{"text":"8 ft 2 1/2 in","kind":"length"}`, 2501.9, "mm"},  // 98.5 x 25.4
		{`{"text":"1 fl oz","kind":"volume"}`, 29.57353, "mL"},      // SP 811: 2.957 353 E-05 m3
		{`{"text":"1 lb","kind":"mass"}`, 453.59237, "g"},           // SP 811
		{`{"text":"10 psi","kind":"pressure"}`, 68.94757, "kPa"},    // SP 811: 6.894 757 kPa
		{`{"text":"212 °F","kind":"temperature"}`, 100, "Cel"},      // SP 811
		{`{"text":"45°","kind":"angle"}`, 45, "deg"},                //
		{`{"text":"1 h 20 min","kind":"span"}`, 80, "min"},          //
		{`{"text":"96","kind":"length","bare":"in"}`, 2438.4, "mm"}, //
		{`{"text":"30,48 cm","kind":"length","decimal_comma":true}`, 304.8, "mm"},
	} {
		var got struct{ Value measure }
		answer(t, "quantity", c.in, &got)
		if got.Value.Unit != c.unit || math.Abs(got.Value.Value-c.value) > 5e-6 {
			t.Errorf("%s: %+v, want %v %s", c.in, got.Value, c.value, c.unit)
		}
	}
	outside.Ran(t, "NIST SP 811 (2008) B.8", "calc quantity")
}

func TestHost(t *testing.T) {
	var got struct {
		Scientific string
		Code       struct{ EPPO string }
		Anatomy    struct{ Value string }
	}
	answer(t, "host", `{"name":"green ash"}`, &got)
	if got.Scientific != "Fraxinus pennsylvanica" || got.Code.EPPO != "FRXPE" || got.Anatomy.Value != "ring-porous" {
		t.Errorf("%+v", got)
	}
	outside.Ran(t, "EPPO code; wood-identification texts", "calc host, green ash")
}

// 96 in over pi is 30.5577 in; 3 and 4 make 5 (Pythagoras); a ring of 96 in
// without the 10 in of its dead arc has 86 in.
func TestGirth(t *testing.T) {
	var got struct {
		Diameter   measure
		Breast     bool    `json:"at_breast_height"`
		Equivalent measure `json:"equivalent_diameter"`
		Live       measure `json:"live_girth"`
	}
	answer(t, "girth", `{"girth":{"around":"96 in","height":"54 in"},"diameters":["3 in","4 in"],
		"ring":{"girth":{"around":"96 in","height":"12 in"},"arcs":[{"from":"91 in","to":"5 in","kind":"dead-cambium"}]}}`, &got)
	if !got.Equivalent.is(127, "mm") || !got.Live.is(86*25.4, "mm") || !got.Breast {
		t.Errorf("%+v", got)
	}
	if d := got.Diameter; d.Unit != "mm" || math.Abs(d.Value-30.5577*25.4) > 0.00005*25.4 {
		t.Errorf("diameter %+v", d)
	}
	outside.Ran(t, "pi of any table; Pythagoras", "calc girth")
}

func TestLabel(t *testing.T) {
	var got struct {
		Label struct {
			ID   string
			Rate struct{ Spacing measure }
		}
		Faults []struct{ Code, Place string }
	}
	answer(t, "label", `{"label":`+mayWe(t)+`}`, &got)
	if got.Label.ID != "maywe" || !got.Label.Rate.Spacing.is(152.4, "mm") || len(got.Faults) > 0 {
		t.Errorf("%+v", got)
	}
	answer(t, "label", `{"label":`+mayWe(t, func(l map[string]any) { l["rate"].(map[string]any)["spacing"] = 6 })+`}`, &got)
	if len(got.Faults) != 1 || got.Faults[0].Code != "label.bad_measure" || got.Faults[0].Place != "rate.spacing" {
		t.Errorf("a spacing without unit: %+v", got.Faults)
	}
	outside.Ran(t, "NIST SP 811 (2008) B.8: 6 in = 152.4 mm", "calc label")
}

// 96 in and 16 marks lie 6 in apart: common practice, no source.
func TestPlace(t *testing.T) {
	var got struct{ Positions, Gaps []measure }
	answer(t, "place", `{"ring":`+ring96+`,"count":16,"date":"2026-06-09"}`, &got)
	if len(got.Gaps) != 16 || slices.ContainsFunc(got.Gaps, func(m measure) bool { return !m.is(152.4, "mm") }) {
		t.Errorf("gaps %+v", got.Gaps)
	}
	answer(t, "place", `{"ring":`+ring96+`,"count":16,"date":"2026-06-09","pins":["1 in"]}`, &got)
	if len(got.Positions) != 16 || !got.Positions[0].is(25.4, "mm") || slices.ContainsFunc(got.Gaps, func(m measure) bool { return !m.is(152.4, "mm") }) {
		t.Errorf("pinned at 1 in: %+v, gaps %+v", got.Positions, got.Gaps)
	}
	outside.Ran(t, "common practice, no source: 96 in, 16 marks, 6 in apart", "calc place")
}

// Bark 1/2 in, the middle of 1/4 to 3/8 in of wood, 45 degrees: (0.5 + 0.3125) /
// 0.70711 = 1.149 in, in sixteenths 1 1/8 in.
func TestBore(t *testing.T) {
	var got struct{ Stop, Opening measure }
	answer(t, "bore", questions(t)["bore"], &got)
	if !got.Stop.is(1.125*25.4, "mm") {
		t.Errorf("%+v", got)
	}
	outside.Ran(t, "cos 45° of any table", "calc bore")
}

// The ninth decile of a log-normal lies 1.2816 standard deviations above its
// median (standard normal table); the answers are rounded to two figures.
func TestForecast(t *testing.T) {
	for _, in := range []string{`{"uptake":"slow"}`, `{"species":"Fraxinus pennsylvanica"}`, questions(t)["forecast"]} {
		var got struct {
			P50, P90 measure
			GSD      float64
			N        int
		}
		answer(t, "forecast", in, &got)
		if want := got.P50.Value * math.Pow(got.GSD, 1.2816); math.Abs(got.P90.Value/want-1) > 0.1 || got.P50.Unit != "min" {
			t.Errorf("%s: %+v, ninth decile by the table %v", in, got, want)
		}
	}
	outside.Ran(t, "standard normal table", "calc forecast, ninth decile against the median")
}

// First expired, first out: common practice, no source. 8 of the 10 that expire
// first, and the second tree from the other lot, for one lot is to cover a tree.
func TestStock(t *testing.T) {
	var got struct {
		Picks []struct {
			For, Lot string
			Units    int
		}
	}
	answer(t, "stock", questions(t)["stock"], &got)
	if len(got.Picks) == 0 || got.Picks[0].For != "T1" || got.Picks[0].Lot != "soon" || got.Picks[0].Units != 8 {
		t.Errorf("%+v", got.Picks)
	}
	sum := 0
	for _, p := range got.Picks {
		sum += p.Units
	}
	if sum != 16 {
		t.Errorf("%d units picked of 16", sum)
	}
	outside.Ran(t, "common practice, no source: first expired, first out", "calc stock")
}

// 96 in: 16 units of 4 mL, 6 in apart, 45 degrees: common practice, no source.
func TestPlan(t *testing.T) {
	var got struct {
		Tag   string
		Stems []struct {
			Dose struct {
				Units int
				Total measure
			}
			Marks struct{ Gaps []measure }
		}
		Opinion struct{ Overall string }
	}
	answer(t, "plan", g01(t), &got)
	if got.Tag != "G01" || len(got.Stems) != 1 {
		t.Fatalf("%+v", got)
	}
	s := got.Stems[0]
	if s.Dose.Units != 16 || !s.Dose.Total.is(64, "mL") || len(s.Marks.Gaps) != 16 || !s.Marks.Gaps[3].is(152.4, "mm") {
		t.Errorf("%+v", s)
	}
	outside.Ran(t, "common practice, no source: 96 in, 16 units, 6 in apart", "calc plan")
}

// change replaces once, and fails where there is nothing to replace.
func change(t testing.TB, in string, pairs ...string) string {
	t.Helper()
	for i := 0; i+1 < len(pairs); i += 2 {
		if !strings.Contains(in, pairs[i]) {
			t.Fatalf("nothing to change: %s", pairs[i])
		}
		in = strings.Replace(in, pairs[i], pairs[i+1], 1)
	}
	return in
}

// gap is G13: rows of 10-15 and 16-20 in, which leave 15.5 in without a row.
func gap(l map[string]any) {
	l["rate"] = map[string]any{"kind": "class_table", "measure": map[string]any{"what": "diameter", "height": "12 in"},
		"classes": []any{map[string]any{"from": "10 in", "to": "15 in", "units": 8}, map[string]any{"from": "16 in", "to": "20 in", "units": 10}}}
}

func unrounded(l map[string]any) { l["rate"].(map[string]any)["rounding"] = "unspecified" }
func exclusive(l map[string]any) { l["pests_exclusive"] = true }

const (
	girth155 = "48.6946861 in" // pi times 15.5 in
	elm      = `"species":"Ulmus"`
	beetle   = `"pest":"Scolytus multistriatus"`
)

// The may-we cases of doc/validation.md through the door: just the findings
// listed there, nothing more.
func TestMayWe(t *testing.T) {
	ash, borer := `"species":"Fraxinus"`, `"pest":"Agrilus planipennis"`
	ago := func(day string) string {
		return `"earlier":[{"date":"` + day + `","label":"maywe","total":"64 mL"}],"certified"`
	}
	for _, c := range []struct{ id, in, want string }{
		{"G01", g01(t), ""},
		{"G02", change(t, g01(t), `"96 in"`, `"97 in"`), "block dose.over_max_per_application"},
		{"G03", change(t, g01(t, unrounded), `"96 in"`, `"97 in"`), "block label.rounding_unspecified"},
		{"G05 729", change(t, g01(t), `"certified"`, ago("2024-06-11")), "block interval.too_short"},
		{"G05 730", change(t, g01(t), `"certified"`, ago("2024-06-10")), ""},
		{"G06 US", change(t, g01(t), ash, elm, borer, beetle), "warn pest.not_listed"},
		{"G06 US exclusive", change(t, g01(t, exclusive), ash, elm, borer, beetle), "block pest.not_listed"},
		{"G06 EU", change(t, g01(t), ash, elm, borer, beetle, `"US","date"`, `"EU","date"`), "block pest.not_listed"},
		{"G06 UK", change(t, g01(t), ash, elm, borer, beetle, `"US","date"`, `"UK","date"`), "block pest.not_listed"},
		{"G08", change(t, g01(t), `"bloom_over":"yes",`, ``), "block bloom.unknown"},
		{"G11", change(t, g01(t), `"certified"`, `"lots":[{"lot":"A1","label":"maywe","size":"4 mL","units":20,"expires":"2026-06-09","coldest":"-3 °C","warmest":"20 °C"}],"certified"`),
			"block lot.expired, block lot.storage_out_of_range"},
		{"G13", change(t, g01(t, gap), "96 in", girth155), "block label.table_gap"},
	} {
		var got struct {
			Findings []struct{ Code, Severity string }
		}
		answer(t, "verdict", c.in, &got)
		var said []string
		for _, f := range got.Findings {
			said = append(said, f.Severity+" "+f.Code)
		}
		slices.Sort(said)
		if s := strings.Join(said, ", "); s != c.want {
			t.Errorf("%s: %s; want %s", c.id, s, c.want)
		}
	}
	outside.Ran(t, "FIFRA 2(ee) as in WAC 16-228-1225; the label", "12 may-we cases through calc verdict")
}

// What the cases say of the dose: G01 16 units and 64 mL, G02 17 and 68, which
// is over the ceiling and shown; G03 and G13 no number.
func TestMayWeDoses(t *testing.T) {
	for _, c := range []struct {
		id, girth string
		label     string
		units     int
		total     float64
		want      string
	}{
		{"G01", "96 in", mayWe(t), 16, 64, ""},
		{"G02", "97 in", mayWe(t), 17, 68, "dose.over_max_per_application"},
		{"G03", "97 in", mayWe(t, unrounded), 0, 0, "label.rounding_unspecified"},
		{"G13", girth155, mayWe(t, gap), 0, 0, "label.table_gap"},
	} {
		var got struct {
			Units    int
			Total    measure
			Findings []struct{ Code string }
		}
		answer(t, "dose", `{"label":`+c.label+`,"girths":[{"around":"`+c.girth+`","height":"12 in"}]}`, &got)
		var codes []string
		for _, f := range got.Findings {
			codes = append(codes, f.Code)
		}
		if got.Units != c.units || !got.Total.is(c.total, "mL") || strings.Join(codes, " ") != c.want {
			t.Errorf("%s: %d units, %v, %v; want %d, %v mL, %s", c.id, got.Units, got.Total, codes, c.units, c.total, c.want)
		}
	}
	// The label of G13 is itself at fault, and nothing else of it.
	var read struct{ Faults []struct{ Code string } }
	answer(t, "label", `{"label":`+mayWe(t, gap)+`}`, &read)
	if len(read.Faults) != 1 || read.Faults[0].Code != "label.table_gap" {
		t.Errorf("label of G13: %+v", read.Faults)
	}
	outside.Ran(t, "common practice, no source; the label", "units and volume of G01, G02, G03, G13 through calc dose")
}

// One label fault that is not of the rate stops a dose, and says where it is.
func TestFaultyLabelDosesNothing(t *testing.T) {
	in := `{"label":` + mayWe(t, func(l map[string]any) { delete(l, "hole") }) + `,"girths":[{"around":"96 in","height":"12 in"}]}`
	if got := refusal(t, "dose", in); !strings.HasPrefix(got, "label.hole: label.missing") {
		t.Error(got)
	}
	if !json.Valid([]byte(in)) {
		t.Error("the question itself is broken")
	}
}
