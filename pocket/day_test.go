package pocket

import (
	"encoding/json"
	"os"
	"strings"
	"testing"
)

// day is a phone on which a day is worked: every call is remembered, with its answer,
// so that it can be done again elsewhere.
type day struct {
	t     testing.TB
	p     *Pocket
	now   int64
	names []string // of things in inputs, each followed by what stands for it
	asked []question
	kept  []Kept // what a phone would have on its disk
}

type question struct {
	Name, Input, Answer string
}

// morning is 9 June 2026, 15:00 UTC.
const morning = 1_781_017_200_000

// chance and seed are 32 bytes each, known to everybody: this is a test.
const (
	chance = "AAECAwQFBgcICQoLDA0ODxAREhMUFRYXGBkaGxwdHh8="
	seed   = "ICEiIyQlJicoKSorLC0uLzAxMjM0NTY3ODk6Ozw9Pj8="
)

func newDay(t testing.TB) *day {
	d := &day{t: t, p: New(), now: morning}
	d.ok("start", `{"lang":"en","units":"imperial","chance":"`+chance+`","seed":"`+seed+`"}`)
	return d
}

func (d *day) name(name, is string) { d.names = append(d.names, "$"+name, is) }

func (d *day) with(text string) string { return strings.NewReplacer(d.names...).Replace(text) }

// call asks, and reads what came.
func (d *day) call(name, input string) (ok json.RawMessage, problem *Problem) {
	d.t.Helper()
	input = d.with(input)
	out := d.p.Call(name, []byte(input))
	d.asked = append(d.asked, question{name, input, string(out)})
	var a struct {
		OK    json.RawMessage
		Error *Problem
	}
	if err := json.Unmarshal(out, &a); err != nil || (a.OK == nil) == (a.Error == nil) {
		d.t.Fatalf("%s: %s: want one of ok and error (%v)", name, out, err)
	}
	return a.OK, a.Error
}

// ok asks for what must be done.
func (d *day) ok(name, input string) json.RawMessage {
	d.t.Helper()
	ok, problem := d.call(name, input)
	if problem != nil {
		d.t.Fatalf("%s %s: %+v", name, d.with(input), *problem)
	}
	return ok
}

// into asks for what must be done and reads it.
func (d *day) into(to any, name, input string) {
	d.t.Helper()
	if err := json.Unmarshal(d.ok(name, input), to); err != nil {
		d.t.Fatal(err)
	}
}

// refused asks for what must not be done.
func (d *day) refused(name, input, code string) Problem {
	d.t.Helper()
	ok, problem := d.call(name, input)
	if problem == nil {
		d.t.Fatalf("%s %s was done: %s", name, d.with(input), ok)
	}
	if problem.Code != code || problem.Text == "" || strings.Contains(problem.Text, "⟨") {
		d.t.Errorf("%s %s: %+v, want %s", name, d.with(input), *problem, code)
	}
	return *problem
}

// did is the answer to a deed as the tests look at it.
type did struct {
	Result struct {
		ID           string
		Holes, Units []string
	}
	IDs      []string
	Lines    []Kept
	Findings []struct{ Code, Sentence string }
}

// do does a deed a minute after the one before, and keeps its lines.
func (d *day) do(name, input string) did {
	d.t.Helper()
	d.now += 60_000
	var r did
	d.into(&r, "deed", deedOf(name, input, d.now))
	if len(r.Lines) != len(r.IDs) {
		d.t.Fatalf("%s: %d lines, %d ids", name, len(r.Lines), len(r.IDs))
	}
	d.kept = append(d.kept, r.Lines...)
	return r
}

func deedOf(name, input string, now int64) string {
	text, _ := json.Marshal(map[string]any{"name": name, "input": json.RawMessage(input), "now": now})
	return strings.NewReplacer(`\u003c`, "<").Replace(string(text))
}

// begin founds an organisation on the phone and goes as far as a plan.
func (d *day) begin() {
	d.t.Helper()
	var f struct {
		Org, Person string
		Lines       []Kept
	}
	d.into(&f, "found", `{"name":"Example Tree Care (invented)","country":"US","region":"OR","zone":"America/Los_Angeles","keep_years":3,
		"person":"Bo Muster","roles":["applicator"],"device":"phone","now":1781017200000}`)
	d.name("person", f.Person)
	d.name("org", f.Org)
	d.kept = append(d.kept, f.Lines...)
	file, err := os.ReadFile("../cmd/sapwell/demo/labels/demo-a.yaml")
	if err != nil {
		d.t.Fatal(err)
	}
	label, _ := json.Marshal(map[string]string{"file": string(file)})
	for _, step := range [][3]string{
		{"grounds", "grounds.add", `{"name":"North Walk (invented)","context":"amenity"}`},
		{"tree", "tree.add", `{"grounds":"$grounds","tag":"Q-01","species":"Fraxinus americana"}`},
		{"measurement", "tree.measure", `{"tree":"$tree","stems":[{"ring":{"girth":{"around":"96 in","height":"12 in"},"zero":{"face":"N"},"arcs":[{"from":"90 in","to":"92 in","kind":"crack"}]},"bark":[{"at":"0 in","thickness":"1/2 in"},{"at":"48 in","thickness":"1/2 in"}]}]}`},
		{"condition", "tree.inspect", `{"tree":"$tree","canopy_loss":10,"pest":"Agrilus planipennis","bloom_over":"yes"}`},
		{"label", "label.add", string(label)},
		{"lot", "lot.add", `{"label":"demo-a","number":"B7","size":"4 mL","expires":"2027-01-31","units":40}`},
		{"certificate", "person.certify", `{"person":"$person","sort":"certificate","number":"X-1","authority":"Example Board","from":"2025-01-01","until":"2027-12-31"}`},
		{"plan", "tree.plan", `{"tree":"$tree","day":"2026-06-09","certified":"yes"}`},
		{"visit", "visit.open", `{"grounds":"$grounds","day":"2026-06-09","jobs":[{"tree":"$tree","plan":"$plan"}]}`},
	} {
		d.name(step[0], d.do(step[1], step[2]).Result.ID)
	}
}

// work does the day to its end.
func (d *day) work() {
	d.t.Helper()
	made := d.do("tree.install", `{"visit":"$visit","tree":"$tree","lot":"$lot"}`).Result
	units, _ := json.Marshal(made.Units)
	all := func(more string) string { return `{"visit":"$visit","units":` + string(units) + more + `}` }
	d.do("unit.pressurise", all(""))
	d.do("unit.drain", all(""))
	d.do("unit.lift", all(`,"left":"0 mL"`))
	d.do("visit.tally", `{"visit":"$visit","lots":[{"lot":"$lot","taken":16,"seated":16,"lifted":16,"lost":0,"unused":0}]}`)
	d.do("visit.close", `{"visit":"$visit","signature":{"name":"Bo Muster","meaning":"done as recorded"}}`)
}

// look asks for everything that shows something.
func (d *day) look() {
	d.t.Helper()
	for _, q := range [][2]string{
		{"names", `{}`},
		{"offer", `{}`},
		{"row", `{"kind":"tree","id":"$tree"}`},
		{"rows", `{"kind":"visit","limit":10}`},
		{"history", `{"kind":"visit","id":"$visit"}`},
		{"round", `{"now":1781020000000}`},
		{"ring", `{"tree":"$tree","plan":"$plan","visit":"$visit","stand":45,"now":1781020000000}`},
		{"try", deedOf("plan.adjust", `{"plan":"$plan","pins":["2 in"],"why":"a nail"}`, d.now)},
		{"foresee", `{"tree":"$tree","visit":"$visit","measure":{"tree":"$tree","stems":[{"ring":{"girth":{"around":"61 in","height":"12 in"}}}]},"plan":{"tree":"$tree","day":"2026-06-09"},"now":1781020000000}`},
		{"asked", `{"visit":"$visit","tree":"$tree","now":1781020000000}`},
		{"quantity", `{"text":"8 ft","kind":"length"}`},
		{"quantity", `{"text":"96","kind":"length","bare":"in"}`},
		{"quantities", `{"list":[{"text":"8 ft","kind":"length"},{"text":"4 mL","kind":"volume"}]}`},
		{"enrol", `{"secret":"AAAA","name":"phone"}`},
		{"speak", `{"lang":"es","units":"metric","decimal_comma":true}`},
		{"say", `{"findings":[{"code":"marks.pin_too_close","severity":"warn","terms":[{"name":"at","value":{"value":50.8,"unit":"mm"}},{"name":"next","value":{"value":76.2,"unit":"mm"}},{"name":"gap","value":{"value":25.4,"unit":"mm"}},{"name":"min_gap","value":{"value":75,"unit":"mm"}}],"source":"own"}],"keys":[{"key":"value.not_known"}]}`},
		{"deed", deedOf("tree.measure", `{"tree":"$tree"}`, d.now)},
		{"deed", deedOf("no.deed", `{}`, d.now)},
	} {
		d.call(q[0], q[1])
	}
}
