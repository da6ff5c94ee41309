package labelfile

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/google/go-cmp/cmp"

	"sapwell/engine/label"
	"sapwell/engine/quantity"
	"sapwell/internal/outside"
)

const demos = "../cmd/sapwell/demo/labels/"

func file(t testing.TB, name string) string {
	t.Helper()
	raw, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return string(raw)
}

// sound reads a label that must have no fault.
func sound(t testing.TB, name string) label.Label {
	t.Helper()
	l, faults := Read(filepath.Base(name), strings.NewReader(file(t, name)))
	for _, f := range faults {
		t.Errorf("%+v", f)
	}
	return l
}

// said prints faults as "line:column code place".
func said(faults []Fault) []string {
	var out []string
	for _, f := range faults {
		out = append(out, fmt.Sprintf("%d:%d %s %s", f.Line, f.Column, strings.TrimPrefix(f.Code, "label."), f.Place))
	}
	return out
}

func TestDemoLabelsHaveNoFaultAndAreFictional(t *testing.T) {
	files, _ := filepath.Glob(demos + "*.yaml")
	if len(files) != 3 {
		t.Fatalf("labels %v, want three", files)
	}
	for _, name := range files {
		l := sound(t, name)
		if l.ID != strings.TrimSuffix(filepath.Base(name), ".yaml") {
			t.Errorf("%s has id %q", name, l.ID)
		}
		if !l.Fictional || !strings.Contains(l.Product.Name, "(fictional)") || !strings.Contains(l.Product.Registrant, "(fictional)") {
			t.Errorf("%s does not say that it is fictional", name)
		}
	}
}

// Boyle's law at sea level: a rigid unit at 10 psi gauge empties by itself only
// when at most 40.5 % of its inside is liquid (10 psig = 24.696 psia, 1 − 14.696
// / 24.696 = 0.405). Two demo units must, one must not.
func TestDemoUnitsDrainAsIntended(t *testing.T) {
	share := func(u label.UnitSpec, fill int) float64 {
		inside := u.Fills[0] + u.GasSpace
		return float64(u.Fills[fill]) / float64(inside)
	}
	const limit = 1 - 14.696/24.696
	a, b, c := sound(t, demos+"demo-a.yaml").Unit, sound(t, demos+"demo-b.yaml").Unit, sound(t, demos+"demo-c.yaml").Unit
	if share(a, 0) > limit || share(b, 0) > limit || share(b, 1) > limit {
		t.Error("a unit of A or B cannot empty itself")
	}
	if share(c, 0) <= limit {
		t.Error("the unit of C can empty itself")
	}
	outside.Ran(t, "Boyle's law at sea level, by hand", "which demo units empty themselves")
}

// What the may-we cases (doc/validation.md) state of their label, measures
// in SI by NIST SP 811: 1 in = 25.4 mm exactly.
func TestMayWeLabel(t *testing.T) {
	l := sound(t, "testdata/maywe.yaml")
	const in = 25_400_000 // nm
	checks := map[string]bool{
		"hosts":     len(l.Hosts) == 2 && l.Hosts[0].Taxon == "Fraxinus" && l.Hosts[1].Taxon == "Ulmus",
		"pest":      len(l.Pests) == 1 && l.TargetsPest("Agrilus planipennis") && !l.PestsOnly,
		"rate":      l.Rate.Kind == label.BySpacing && l.Rate.Spacing == 6*in && l.Rate.Rounding == label.RoundUp,
		"unit":      slices.Equal(l.Unit.Fills, []quantity.Volume{4_000_000}),
		"ceiling":   l.Ceilings.PerApplication == 64_000_000 && l.Ceilings.IntervalDays == 730,
		"bloom":     l.Conditions.AfterPetalFall,
		"storage":   *l.Storage.Min == 278.15 && *l.Storage.Max == 303.15,
		"class":     l.Class.RestrictedUse,
		"tapping":   l.Food.Tapping == "unspecified",
		"deviation": !l.NoDeviation,
		"bit":       l.Hole.Bit == 11*in/64,
		"content":   l.Class.Ingredients[0].Content == quantity.MassPerVolume{Mass: 40_000_000_000, Per: 1_000_000_000},
	}
	for what, ok := range checks {
		if !ok {
			t.Errorf("%s differs: %+v", what, l)
		}
	}
	outside.Ran(t, "NIST SP 811 (2008) B.8", "measures of a label in SI")
}

// A label kept as JSON is the same label when read back.
func TestLabelsSurviveJSON(t *testing.T) {
	for _, name := range []string{"demo-a", "demo-b", "demo-c"} {
		l := sound(t, demos+name+".yaml")
		raw, err := json.Marshal(l)
		if err != nil {
			t.Fatal(err)
		}
		var back label.Label
		if err := json.Unmarshal(raw, &back); err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(l, back); diff != "" {
			t.Errorf("%s: %s", name, diff)
		}
	}
}

// G03: a label with rounding unspecified still loads, and says so.
func TestRoundingUnspecifiedLoads(t *testing.T) {
	src := strings.Replace(file(t, "testdata/maywe.yaml"), "rounding: up", "rounding: unspecified", 1)
	l, faults := Read("g03.yaml", strings.NewReader(src))
	if got := said(faults); !slices.Equal(got, []string{"30:13 rounding_unspecified rate.rounding"}) || l.Rate.Rounding != label.Unspecified {
		t.Fatalf("faults %q, rounding %q", got, l.Rate.Rounding)
	}
}

const spacingRule = `rate:
  kind: spacing
  measure: {what: girth, height: 12 in}
  rounding: up
  spacing: 6 in
`

// G13: classes 10-15 and 16-20 in whole inches. Without the label's word on
// readings that is a gap; with it the rows tile.
func TestWholeInches(t *testing.T) {
	table := `rate:
  kind: class_table
  measure: {what: diameter, height: 4.5 ft}
  classes:
    - {from: 10 in, to: 15 in, units: 2}
    - {from: 16 in, to: 20 in, units: 3}
`
	for _, c := range []struct {
		rate string
		want []string
	}{
		{table, []string{"32:14 table_gap rate.classes[1].from"}},
		{table + "  readings: {step: 1 in, rounding: down}\n", nil},
	} {
		src := strings.Replace(file(t, "testdata/maywe.yaml"), spacingRule, c.rate, 1)
		if _, faults := Read("g13.yaml", strings.NewReader(src)); !slices.Equal(said(faults), c.want) {
			t.Errorf("faults %q, want %q", said(faults), c.want)
		}
	}
}

// Each exhibit is the sound label with one replacement. Lines and columns were
// counted by hand in testdata/maywe.yaml. That keys are unique and that tabs do
// not indent is YAML 1.2.2, 3.2.1.3 and 6.1; the rest is this format's own.
var broken = []struct{ old, new, want string }{
	{"format: sapwell-label-1", "format: sapwell-label-9", "3:9 format format"},
	{"format: sapwell-label-1\n", "", "3:1 missing format"},
	{"id: maywe", "id: maywe\nid: again", "5:1 duplicate_key id"},
	{"id: maywe", "idd: maywe", "3:1 missing id|4:1 unknown_key idd"},
	{"id: maywe", "id:", "4:4 empty id"},
	{"id: maywe", `id: " "`, "4:5 empty id"},
	{"id: maywe", "id: 7", "4:5 bad_text id"},
	{"id: maywe", "id: true", "4:5 bad_text id"},
	{"id: maywe", "id: [maywe]", "4:5 want_value id"},
	{"id: maywe", "id: &a maywe", "4:5 alias id"},
	{"id: maywe", "id: !!str maywe", "4:5 alias id"},
	{"version: 2026-01-01", "version: 01/02/2026", "5:10 bad_date version"},
	{"version: 2026-01-01", "version: 2026-02-30", "5:10 bad_date version"},
	{"fictional: true", "fictional: yes", "6:12 bad_bool fictional"},
	{"fictional: true", `fictional: "true"`, "6:12 bad_bool fictional"},
	{"  reg_no: 99999-9\n", "", "7:1 missing product.reg_no"},
	{"  country: US", "  country: Ruritania", "11:12 country_format product.country"},
	{"content: 40 g/L", "content: 40", "17:43 bad_measure classification.active_ingredients[0].content"},
	{"content: 40 g/L, ", "", "17:7 not_stated classification.active_ingredients[0].content"},
	{`irac: "6"`, "irac: 6", "17:57 bad_text classification.active_ingredients[0].irac"},
	{"hosts:\n  - taxon: Fraxinus\n  - taxon: Ulmus", "hosts: Fraxinus", "18:8 want_list hosts"},
	{"hosts:\n  - taxon: Fraxinus\n  - taxon: Ulmus", "hosts: []", "18:1 missing hosts"},
	{"  - taxon: Ulmus", "  - Ulmus", "20:5 want_keys hosts[1]"},
	{"fills: [4 mL]", "fills: [4 mL, 4 spoons]", "26:17 bad_measure unit.fills[1]"},
	{"fills: [4 mL]", "fills: [0 mL]", "26:11 not_positive unit.fills[0]"},
	{"spacing: 6 in", "spacing: 6", "31:12 bad_measure rate.spacing"},
	{"spacing: 6 in", "spacing: six in", "31:12 bad_measure rate.spacing"},
	{"spacing: 6 in", "spacing: -6 in", "31:12 not_positive rate.spacing"},
	{"spacing: 6 in", "spacing: 0 in", "31:12 zero rate.spacing"},
	{"kind: spacing", "kind: guess", "28:9 not_accepted rate.kind"},
	{spacingRule, "rate: spacing\n", "27:7 want_keys rate"},
	{spacingRule, "", "3:1 missing rate"},
	{"rounding: up", "rounding: 1", "30:13 not_accepted rate.rounding"},
	{"rounding: up", "rounding: upward", "30:13 not_accepted rate.rounding"},
	{"interval_days: 730", "interval_days: 2 years", "34:18 bad_count ceilings.interval_days"},
	{"interval_days: 730", "interval_days: 730.5", "34:18 bad_count ceilings.interval_days"},
	{"interval_days: 730", "interval_days: 0x2DA", "34:18 bad_count ceilings.interval_days"},
	{"angle: 45 deg", "angle: 75 deg", "39:10 angle_range hole.angle"},
	{"angle: 45 deg", "angle: 0 deg", ""},
	{"depth_min: 1/4 in", "depth_min: 3/4 in", "37:14 range_reversed hole.depth_min"},
	{"tapping: unspecified", "tapping: maybe", "48:12 not_accepted food.tapping"},
	{"storage: {min: 5 °C, max: 30 °C}", "storage: {min: 30 °C, max: 5 °C}", "49:16 range_reversed storage.min"},
	{"storage: {min: 5 °C, max: 30 °C}", "storage: {min: 5, max: 30 °C}", "49:16 bad_measure storage.min"},
	{"storage: {min: 5 °C, max: 30 °C}", "storage: {min: 5 °C, max: 30 °C", "49:1 syntax "},
	{"  kind: spacing", "\tkind: spacing", "28:1 tab "},
	{"  spacing: 6 in", "  spacing: 6 in\n---\nid: second", "32:1 documents "},
	{"  kind: spacing", "  ? [a]\n  : b\n  kind: spacing", "28:5 unknown_key rate."},
}

func TestBroken(t *testing.T) {
	whole := file(t, "testdata/maywe.yaml")
	for _, c := range broken {
		if !strings.Contains(whole, c.old) {
			t.Fatalf("%q is not in the file", c.old)
		}
		_, faults := Read("x.yaml", strings.NewReader(strings.Replace(whole, c.old, c.new, 1)))
		if got := strings.Join(said(faults), "|"); got != c.want {
			t.Errorf("%q -> %q\ngot  %s\nwant %s", c.old, c.new, got, c.want)
		}
		for _, f := range faults {
			if f.File != "x.yaml" || !strings.HasPrefix(f.Code, "label.") {
				t.Errorf("fault %s of file %q", f.Code, f.File)
			}
		}
	}
}

// One reading reports every fault of the file, in the order of its lines.
func TestAllFaultsAtOnce(t *testing.T) {
	src := file(t, "testdata/maywe.yaml")
	for _, r := range [][2]string{{"id: maywe", "id: 7"}, {"spacing: 6 in", "spacing: 6"}, {"angle: 45 deg", "angle: 75 deg"},
		{"fills: [4 mL]", "fills: [4 mL]\n  colour: red"}, {"tapping: unspecified", "tapping: maybe"}} {
		src = strings.Replace(src, r[0], r[1], 1)
	}
	_, faults := Read("x.yaml", strings.NewReader(src))
	want := []string{"4:5 bad_text id", "27:3 unknown_key unit.colour", "32:12 bad_measure rate.spacing",
		"40:10 angle_range hole.angle", "49:12 not_accepted food.tapping"}
	if got := said(faults); !slices.Equal(got, want) {
		t.Errorf("got  %q\nwant %q", got, want)
	}
}

// An empty label lacks everything, and each thing once.
func TestNothingButFormat(t *testing.T) {
	_, faults := Read("x.yaml", strings.NewReader("format: sapwell-label-1\n"))
	seen := map[string]bool{}
	for _, f := range faults {
		if seen[f.Place] {
			t.Errorf("%s reported twice", f.Place)
		}
		seen[f.Place] = true
		if f.Line != 1 || f.Column != 1 {
			t.Errorf("%+v is not at 1:1", f)
		}
	}
	for _, place := range []string{"id", "version", "product", "hosts", "unit", "rate", "hole", "food", "people.ppe", "first_aid.steps"} {
		if !seen[place] {
			t.Errorf("%s is not missed", place)
		}
	}
}

func TestFilesThatAreNoLabel(t *testing.T) {
	bomb := "a: &a [x,x,x,x,x,x,x,x,x]\nb: &b [*a,*a,*a,*a,*a,*a,*a,*a,*a]\nc: &c [*b,*b,*b,*b,*b,*b,*b,*b,*b]\nformat: sapwell-label-1\nhosts: *c\n"
	cases := []struct {
		name string
		r    io.Reader
		want string
	}{
		{"empty", strings.NewReader(""), "1:1 empty_file "},
		{"comment only", strings.NewReader("# nothing\n"), "1:1 empty_file "},
		{"null", strings.NewReader("~\n"), "1:1 empty "},
		{"list", strings.NewReader("- a\n"), "1:1 want_keys "},
		{"text", strings.NewReader("hello\n"), "1:1 want_keys "},
		{"latin-1", strings.NewReader("id: a\nname: caf\xe9\n"), "2:10 encoding "},
		{"utf-16", strings.NewReader("\xff\xfei\x00d\x00"), "1:1 encoding "},
		{"too large", io.LimitReader(endless{}, MaxSize+10), "0:0 too_large "},
		{"control character", strings.NewReader("id: a\x01b\n"), "1:6 encoding "},
		{"no such anchor", strings.NewReader("a: 1\nb: *c\n"), "2:4 alias "},
		{"bare colon", strings.NewReader("a: 1\nb: x: y\n"), "2:1 syntax "},
		{"list out of line", strings.NewReader("a:\n  - 1\n - 2\n"), "3:1 syntax "},
		{"unreadable", iotest.ErrReader(errors.New("disc gone")), "0:0 unreadable "},
	}
	for _, c := range cases {
		_, faults := Read("x.yaml", c.r)
		if got := strings.Join(said(faults), "|"); got != c.want {
			t.Errorf("%s: got %s, want %s", c.name, got, c.want)
		}
	}
	_, faults := Read("x.yaml", strings.NewReader(bomb))
	if !slices.Contains(said(faults), "5:8 alias hosts") {
		t.Errorf("bomb: %q", said(faults))
	}
}

// endless is a comment without end.
type endless struct{}

func (endless) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = '#'
	}
	return len(p), nil
}

// A byte order mark is tolerated: some editors write one.
func TestByteOrderMark(t *testing.T) {
	if _, faults := Read("x.yaml", strings.NewReader("\ufeff"+file(t, "testdata/maywe.yaml"))); len(faults) > 0 {
		t.Error(said(faults))
	}
}

// The example in the description of the format is a sound label.
func TestDescribedExampleReads(t *testing.T) {
	_, rest, ok := strings.Cut(file(t, "../doc/label-format.md"), "```yaml\nformat:")
	example, _, closed := strings.Cut(rest, "```")
	if !ok || !closed {
		t.Fatal("no example in the description")
	}
	if _, faults := Read("example.yaml", strings.NewReader("format:"+example)); len(faults) > 0 {
		t.Error(said(faults))
	}
}

func BenchmarkRead(b *testing.B) {
	src := file(b, demos+"demo-c.yaml")
	b.SetBytes(int64(len(src)))
	for b.Loop() {
		Read("demo-c.yaml", strings.NewReader(src))
	}
}

// FuzzRead: any bytes give a label or faults, never a panic, and every fault has
// a code and a line of the file.
func FuzzRead(f *testing.F) {
	whole := file(f, "testdata/maywe.yaml")
	f.Add(whole)
	for _, c := range broken {
		f.Add(strings.Replace(whole, c.old, c.new, 1))
	}
	for _, s := range []string{"", "{", "[[[[", "a: &a *a", "? {}", "format: sapwell-label-1\nrate: {classes: [{}, {}]}", "- - - -", "\t", "---\n---\n"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, src string) {
		_, faults := Read("fuzz", strings.NewReader(src))
		lines := strings.Count(src, "\n") + strings.Count(src, "\r") + strings.Count(src, "\u0085") + strings.Count(src, "\u2028") + strings.Count(src, "\u2029") + 1
		for _, fault := range faults {
			if fault.Code == "" || fault.Line < 1 || fault.Line > lines+1 || fault.Column < 1 {
				t.Errorf("%+v in a file of %d lines", fault, lines)
			}
		}
	})
}
