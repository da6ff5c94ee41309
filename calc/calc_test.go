package calc

import (
	"bytes"
	"encoding/json"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"sapwell/internal/outside"
	"sapwell/internal/strict"
)

// answer runs a computation that must succeed and reads its answer into out.
func answer(t testing.TB, name, in string, out any) {
	t.Helper()
	raw, err := Run(name, []byte(in))
	if err != nil {
		t.Fatalf("%s %s: %v", name, in, err)
	}
	if err := json.Unmarshal(raw, out); err != nil {
		t.Fatalf("%s: answered %s: %v", name, raw, err)
	}
}

// refusal is what a computation says to input it must not take.
func refusal(t testing.TB, name, in string) string {
	t.Helper()
	raw, err := Run(name, []byte(in))
	if err == nil {
		t.Fatalf("%s took %.80s and answered %.80s", name, in, raw)
	}
	if raw != nil {
		t.Errorf("%s answers %.80s beside the error %v", name, raw, err)
	}
	if strings.ContainsAny(err.Error(), "\n\x1b") {
		t.Errorf("%s: more than one line: %q", name, err)
	}
	return err.Error()
}

func TestAnswersInKind(t *testing.T) {
	const one = `{"text":"96 in","kind":"length"}`
	for in, want := range map[string]string{
		one:                     `{"value":{"value":2438.4,"unit":"mm"},"printed":"96 in"}`,
		"[" + one + "]":         `[{"value":{"value":2438.4,"unit":"mm"},"printed":"96 in"}]`,
		" \t\r\n[" + one + "] ": `[{"value":{"value":2438.4,"unit":"mm"},"printed":"96 in"}]`,
		"[]":                    `[]`,
	} {
		if got, err := Run("quantity", []byte(in)); err != nil || string(got) != want {
			t.Errorf("%s: %s, %v; want %s", in, got, err, want)
		}
	}
}

func TestNames(t *testing.T) {
	for _, n := range Names() {
		if !Has(n[0]) || n[1] == "" {
			t.Errorf("%q: %q", n[0], n[1])
		}
	}
	if Has("nothing") || Schema("nothing") != nil {
		t.Error("a computation called nothing")
	}
	if got := refusal(t, "nothing", "{}"); !strings.Contains(got, `"nothing"`) || !strings.Contains(got, "marks") {
		t.Error(got)
	}
}

const (
	ring96 = `{"girth":{"around":"96 in","height":"12 in"}}`
	marks5 = `{"N":96,"n":4,"smin":3}`
)

// One error a call, on one line, which names element and field, and shows the
// value where there is one.
func TestBadInput(t *testing.T) {
	for _, c := range []struct{ name, in, want string }{
		{"marks", ``, "input: nothing was given; want one JSON object or a list of them"},
		{"marks", " \n", "input: nothing was given; want one JSON object or a list of them"},
		{"marks", `NaN`, "input: not JSON at line 1, byte 1 of it: invalid character 'N' looking for beginning of value"},
		{"marks", marks5 + "\n}", "input: not JSON at line 2, byte 1 of it: invalid character '}' after top-level value"},
		{"marks", marks5 + marks5, "input: not JSON at line 1, byte 24 of it: invalid character '{' after top-level value"},
		{"marks", `{"N":96,`, "input: not JSON at line 1, byte 8 of it: unexpected end of JSON input"},
		{"marks", "{\"N\":\"\xff\"}", "input: not UTF-8; want JSON saved as UTF-8"},
		{"marks", `7`, "input: 7: want an object"},
		{"marks", `null`, "input: null: want a value"},
		{"marks", `[` + marks5 + `,5]`, "[1]: 5: want an object"},
		{"marks", `[null]`, "[0]: null: want a value"},
		{"marks", `{"N":96,"n":4}`, "smin: missing"},
		{"marks", `[` + marks5 + `,{"N":96,"smin":3}]`, "[1].n: missing"},
		{"marks", `{"N":null,"n":4,"smin":3}`, "N: missing"},
		{"marks", `{"N":96,"n":4,"smin":3,"N":97}`, "N: 97: given twice"},
		{"marks", `{"N":"96","n":4,"smin":3}`, `N: "96": want a whole number of at most 18 digits`},
		{"marks", `{"N":9.5,"n":4,"smin":3}`, "N: 9.5: want a whole number of at most 18 digits"},
		{"marks", `{"N":1e400,"n":4,"smin":3}`, "N: 1e400: want a whole number of at most 18 digits"},
		{"marks", `{"N":99999999999999999999,"n":4,"smin":3}`, "N: 99999999999999999999: want a whole number of at most 18 digits"},
		{"marks", `{"N":999999999,"n":4,"smin":3}`, "input: N is 999999999; a ring has 1 to 20000 ticks"},
		{"marks", `[` + marks5 + `,{"N":96,"n":-1,"smin":3}]`, "[1]: n is -1; 1 to 1000 marks can be asked for"},
		{"marks", `{"N":96,"n":4,"smin":0}`, "input: smin is 0; 1 to 20000 ticks can be asked for"},
		{"marks", `{"N":96,"n":4,"smin":3,"forbidden":[[1,2],[3]]}`, "forbidden[1]: [3]: want a list of 2"},
		{"marks", `{"N":96,"n":4,"smin":3,"forbidden":[[1,2,3]]}`, "forbidden[0]: [1,2,3]: want a list of 2"},
		{"marks", `{"N":96,"n":4,"smin":3,"forbidden":[[1,96]]}`, "input: forbidden[0] is 1 to 96; ticks run from 0 to 95"},
		{"marks", `{"N":96,"n":4,"smin":3,"fissures":[1,null]}`, "fissures[1]: null: want a value"},
		{"marks", `{"N":96,"n":4,"smin":3,"fissures":{}}`, "fissures: {}: want a list"},
		{"drain", `{"Vg0_mL":1e300,"V0_mL":4,"p0_gauge_kPa":69,"T_use_C":20,"T_fill_C":20,"G20_mL_min_kPa":0.004}`,
			"Vg0_mL: 9000000000 L: want 0.001 mL to 10 L"}, // beyond what is held; its sign stays
		{"drain", `{"Vg0_mL":6,"V0_mL":1e999,"p0_gauge_kPa":69,"T_use_C":20,"T_fill_C":20,"G20_mL_min_kPa":0.004}`,
			"V0_mL: 1e999: want a number, at most 308 digits long"},
		{"drain", `[{"Vg0_mL":6,"V0_mL":4,"p0_gauge_kPa":-69,"T_use_C":20,"T_fill_C":20,"G20_mL_min_kPa":0.004}]`,
			"[0].p0_gauge_kPa: -69 kPa: want 0 kPa to 3000 kPa"},
		{"drain", `{"Vg0_mL":6,"V0_mL":4,"p0_gauge_kPa":69,"T_use_C":200,"T_fill_C":20,"G20_mL_min_kPa":0.004}`,
			"T_use_C: 200 °C: want -40 °C to 80 °C"},
		{"drain", `{"Vg0_mL":6,"V0_mL":4,"p0_gauge_kPa":69,"T_use_C":20,"T_fill_C":20,"G20_mL_min_kPa":0.004,"points":[{"v_mL":-1}]}`,
			"points[0].v_mL: -1: want 0 or more"},
		{"place", `{"ring":` + ring96 + `,"count":16,"date":"2026-06-09","pin":[]}`,
			"pin: []: not a field here; there are ring, count, min_gap, pins, date, metric"},
		{"place", `{"ring":` + ring96 + `,"count":16,"date":null}`, "date: missing"},
		{"place", `{"ring":` + ring96 + `,"count":16,"date":"09.06.2026"}`, `date: "09.06.2026": `},
		{"place", `{"ring":{"girth":{"around":96,"height":"12 in"}},"count":16,"date":"2026-06-09"}`, `ring.girth.around: 96: `},
		{"place", `{"ring":{"girth":{"around":"96 kg","height":"12 in"}},"count":16,"date":"2026-06-09"}`, `ring.girth.around: "96 kg": `},
		{"place", `{"ring":{"girth":{"around":"96 in","height":"12 in"},"arcs":[{"from":"1 in","to":"2 in","kind":"Canker"}]},"count":16,"date":"2026-06-09"}`,
			`ring.arcs[0].kind: "Canker": want one of defect, `},
		{"quantity", `{"text":"96","kind":"length"}`, "text: "},
		{"quantity", `[{"text":"96 in","kind":"girth"}]`, "[0].kind: girth: want length, "},
		{"host", `{"name":"Fraxinos"}`, "name: "},
		{"girth", `{}`, "input: give girth, diameters or ring"},
		{"forecast", `{}`, "uptake: missing; give uptake or species"},
		{"forecast", `{"uptake":"quick"}`, `uptake: "quick": want one of fast, `},
		{"stock", `{"lots":[],"needs":[],"date":"2026-06-09","storage":{"a":{"mni":"5 °C"}}}`, `storage.a.mni: "5 °C": not a field here; there are min, max, text`},
		{"label", `{"label":null}`, "label: missing"},
		{"dose", `{"label":{},"girths":[]}`, "label.format: label.missing; calc label tells every fault of a label"},
	} {
		got := refusal(t, c.name, c.in)
		if got != c.want && (!strings.HasSuffix(c.want, " ") || !strings.HasPrefix(got, c.want)) {
			t.Errorf("%s %s\n got %s\nwant %s", c.name, c.in, got, c.want)
		}
	}
}

// A yes that no rule knows must not pass for "not known", nor a day be guessed.
func TestFactsAreNotGuessed(t *testing.T) {
	for change, want := range map[string]string{
		`"bloom_over":"yes"`:       `facts.bloom_over: "YES": want one of yes, no`,
		`"certified":"yes"`:        `facts.certified: true: want a text`,
		`"jurisdiction":"US"`:      `facts.jurisdiction: "USA": want one of US, EU, UK`,
		`"date":"2026-06-10"`:      `facts.date: missing`,
		`"species":"Fraxinus"`:     `species: `,
		`"stems":[` + stem96 + `]`: `stems: []: want at least one stem`,
	} {
		with := map[string]string{
			`"bloom_over":"yes"`:       `"bloom_over":"YES"`,
			`"certified":"yes"`:        `"certified":true`,
			`"jurisdiction":"US"`:      `"jurisdiction":"USA"`,
			`"date":"2026-06-10"`:      `"date":null`,
			`"species":"Fraxinus"`:     `"species":"Fraxinos"`,
			`"stems":[` + stem96 + `]`: `"stems":[]`,
		}[change]
		in := strings.Replace(g01(t), change, with, 1)
		if got := refusal(t, "verdict", in); !strings.HasPrefix(got, want) {
			t.Errorf("%s: %s; want %s", with, got, want)
		}
	}
}

func TestDeepNesting(t *testing.T) {
	for _, in := range []string{
		strings.Repeat("[", 100_000), strings.Repeat(`{"ring":`, 50_000),
		strings.Repeat("[", 9_000) + strings.Repeat("]", 9_000), `{"label":` + strings.Repeat("[", 9_000) + strings.Repeat("]", 9_000) + `}`,
	} {
		for _, n := range Names() {
			raw, err := Run(n[0], []byte(in))
			if err == nil && n[0] != "label" {
				t.Errorf("%s took %.20s… and answered %.40s", n[0], in, raw)
			}
		}
	}
}

// JSONTestSuite of Nicolas Seriot (MIT): what is not JSON is refused, and what
// is JSON is not refused as such, though hardly any of it is a question.
func TestJSONSuite(t *testing.T) {
	raw, err := os.ReadFile("../treelist/testdata/json_suite.json")
	if err != nil {
		t.Fatal(err)
	}
	var suite struct{ Files map[string][]byte }
	if err := json.Unmarshal(raw, &suite); err != nil {
		t.Fatal(err)
	}
	if len(suite.Files) < 270 {
		t.Errorf("only %d files", len(suite.Files))
	}
	for name, in := range suite.Files {
		for _, c := range []string{"marks", "label"} {
			_, err := Run(c, in)
			if name[0] == 'n' && err == nil {
				t.Errorf("%s: %s took it", name, c)
			}
			if name[0] == 'y' && err != nil && strings.Contains(err.Error(), "not JSON") {
				t.Errorf("%s: %s: %v", name, c, err)
			}
		}
	}
	outside.Ran(t, "nst/JSONTestSuite", "damaged JSON is refused, sound JSON is not called damaged")
}

// compiled is a part of the schema of a computation, "" the whole; compiling
// holds it against the meta-schema of its draft.
func compiled(t testing.TB, name, part string) *jsonschema.Schema {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(Schema(name)))
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	c := jsonschema.NewCompiler()
	c.DefaultDraft(jsonschema.Draft2020)
	c.AssertFormat()
	if err := c.AddResource(name+".json", doc); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	s, err := c.Compile(name + ".json" + part)
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return s
}

// valid says whether the schema takes the text.
func valid(t testing.TB, s *jsonschema.Schema, text string) error {
	t.Helper()
	v, err := jsonschema.UnmarshalJSON(strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	return s.Validate(v)
}

// Every question that the tests ask is sound under the schema of its
// computation, alone and in a list, and so is its answer; a field too many is
// not, and neither is a field too few.
func TestSchemas(t *testing.T) {
	for _, n := range Names() {
		s, answers := compiled(t, n[0], ""), compiled(t, n[0], "#/$defs/answer")
		in := questions(t)[n[0]]
		if in == "" {
			t.Errorf("no question for %s", n[0])
			continue
		}
		for _, text := range []string{in, "[" + in + "," + in + "]", "[]"} {
			if err := valid(t, s, text); err != nil {
				t.Errorf("%s: %.80s: %v", n[0], text, err)
			}
		}
		if out, err := Run(n[0], []byte(in)); err != nil {
			t.Errorf("%s: %v", n[0], err)
		} else if err := valid(t, answers, string(out)); err != nil {
			t.Errorf("%s answers %.200s: %v", n[0], out, err)
		}
		loose := n[0] == "marks" || n[0] == "drain" || n[0] == "record"
		if more := strings.Replace(in, "{", `{"x":1,`, 1); (valid(t, s, more) == nil) != loose {
			t.Errorf("%s: a field too many: accepted differs from %v", n[0], loose)
		}
		if hasRequired(t, n[0]) && valid(t, s, "{}") == nil {
			t.Errorf("%s: {} is sound under the schema", n[0])
		}
	}
	outside.Ran(t, "JSON Schema 2020-12 (santhosh-tekuri/jsonschema v6)", "schemas of all computations, and questions under them")
}

func hasRequired(t testing.TB, name string) bool {
	t.Helper()
	c, err := find(name)
	if err != nil {
		t.Fatal(err)
	}
	return slices.ContainsFunc(strict.Fields(c.in), func(f strict.Field) bool { return required(f.Of) })
}

// FuzzRun: whatever comes in, the answer is JSON or one error on one line.
func FuzzRun(f *testing.F) {
	all := Names()
	for name, in := range questions(f) {
		for i, n := range all {
			if n[0] == name {
				f.Add(uint8(i), []byte(in))
			}
		}
	}
	f.Fuzz(func(t *testing.T, i uint8, in []byte) {
		name := all[int(i)%len(all)][0]
		out, err := Run(name, in)
		switch {
		case err == nil && !json.Valid(out):
			t.Errorf("%s: %s: answer is not JSON: %s", name, in, out)
		case err != nil && out != nil:
			t.Errorf("%s: %s: both answer and error", name, in)
		case err != nil && strings.Contains(err.Error(), "\n"):
			t.Errorf("%s: %s: error of several lines: %q", name, in, err)
		}
	})
}

// Every value of every question, replaced by each of these, gets an answer or
// one error, never a panic, and soon.
func TestExtremes(t *testing.T) {
	extremes := []any{nil, "", "x", "0 in", "-1 in", "200 km", "1 nm", "0 mL", "-4 mL", "9000 L", "-400 °C", "1e9 psi", "0001-01-01", "9999-12-31",
		0, -1, 1, 999999999, json.Number("9223372036854775807"), json.Number("-9223372036854775808"), 1e300, 5e-324, true, []any{}, map[string]any{}}
	for name, in := range questions(t) {
		var doc any
		if err := json.Unmarshal([]byte(in), &doc); err != nil {
			t.Fatal(err)
		}
		for _, set := range places(doc) {
			for _, v := range extremes {
				undo := set(v)
				text := mustJSON(t, doc)
				start := time.Now()
				if out, err := Run(name, []byte(text)); err == nil && !json.Valid(out) {
					t.Errorf("%s: %s: answer is not JSON: %s", name, text, out)
				} else if err != nil && strings.Contains(err.Error(), "unsupported value") {
					t.Errorf("%s: %s: %v", name, text, err)
				}
				if took := time.Since(start); took > 2*time.Second {
					t.Errorf("%s: %s: took %v", name, text, took)
				}
				undo()
			}
		}
	}
}

// places lists a setter for every value below v; the setter returns its undo.
func places(v any) (sets []func(any) func()) {
	switch v := v.(type) {
	case map[string]any:
		for k, old := range v {
			sets = append(sets, func(x any) func() { v[k] = x; return func() { v[k] = old } })
			sets = append(sets, places(old)...)
		}
	case []any:
		for i, old := range v {
			sets = append(sets, func(x any) func() { v[i] = x; return func() { v[i] = old } })
			sets = append(sets, places(old)...)
		}
	}
	return sets
}
