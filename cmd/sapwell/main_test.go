package main

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"sapwell/calc"
	"sapwell/internal/forest"
	"sapwell/internal/outside"
)

// said is what a run of the program leaves.
type said struct {
	code        int
	out, errors string
}

// call runs the program in a world that change may change.
func call(t testing.TB, change func(*world), args ...string) said {
	t.Helper()
	var out, talk bytes.Buffer
	w := world{stdin: strings.NewReader(""), stdout: &out, stderr: &talk, now: func() time.Time { return time.Date(2026, 6, 9, 12, 0, 0, 0, time.UTC) }}
	if change != nil {
		change(&w)
	}
	code := run(args, w)
	return said{code, out.String(), talk.String()}
}

// demoPlan plans the trees of the demo.
func demoPlan(t testing.TB, change func(*world), more ...string) said {
	t.Helper()
	args := []string{"plan", "demo/trees.csv", "--date", demoDay, "--certified", "yes", "--lots", "demo/lots.csv"}
	labels, err := filepath.Glob("demo/labels/*.yaml")
	if err != nil || len(labels) != 3 {
		t.Fatal(labels, err)
	}
	for _, l := range labels {
		args = append(args, "--label", l)
	}
	s := call(t, change, append(args, more...)...)
	if s.code != exitDone {
		t.Fatalf("%v: exit code %d\n%s", more, s.code, s.errors)
	}
	return s
}

// No line of a table, nor of the day's summary, is wider than a terminal.
func TestEightyColumns(t *testing.T) {
	for _, lang := range []string{"en", "es"} {
		for _, units := range []string{"imperial", "metric"} {
			flags := []string{"--lang", lang, "--units", units}
			demo := call(t, nil, append(flags, "demo", "--no-serve", "--out", t.TempDir())...)
			demo.out, _, _ = strings.Cut(demo.out, "sapwell-demo") // the folder is as long as it is
			texts := map[string]string{
				"table": demoPlan(t, nil, flags...).out, "why": demoPlan(t, nil, append(flags, "--why")...).out,
				"tally": demoPlan(t, nil, flags...).errors, "help": call(t, nil, "plan", "--help").out,
			}
			for line := range strings.Lines(demo.out) {
				if !strings.Contains(line, os.TempDir()) {
					texts["demo"] += line
				}
			}
			for what, text := range texts {
				if strings.Count(text, "\n") < 4 {
					t.Errorf("%s %s %s: hardly any text: %q", lang, units, what, text)
				}
				for line := range strings.Lines(text) {
					if n := utf8.RuneCountInString(strings.TrimRight(line, "\n")); n > columns {
						t.Errorf("%s %s %s: %d columns: %s", lang, units, what, n, line)
					}
				}
			}
		}
	}
}

// What comes out does not depend on how many cores plan.
func TestWorkersMakeNoDifference(t *testing.T) {
	for _, format := range []string{"table", "json", "csv", "pdf"} {
		one := demoPlan(t, nil, "--format", format, "--workers", "1")
		for _, n := range []string{"2", "7"} {
			if more := demoPlan(t, nil, "--format", format, "--workers", n); more != one {
				t.Errorf("%s: %s workers differ from one", format, n)
			}
		}
	}
}

// Faults are told in the order of the list, whatever the workers.
func TestFaultsKeepTheirOrder(t *testing.T) {
	name := bigList(t, 2000)
	args := []string{"plan", name, "--label", "demo/labels/demo-a.yaml", "--date", demoDay, "--format", "csv"}
	one := call(t, nil, append(args, "--workers", "1")...)
	if one.code != exitPartly || strings.Count(one.errors, "\n") < 10 {
		t.Fatalf("exit code %d, %s", one.code, one.errors)
	}
	if seven := call(t, nil, append(args, "--workers", "7")...); seven != one {
		t.Error("seven workers differ from one")
	}
}

func bigList(t testing.TB, trees int) string {
	t.Helper()
	name := filepath.Join(t.TempDir(), "forest.csv")
	if err := writeFile(name, func(out io.Writer) error { return forest.Write(out, trees, 1) }); err != nil {
		t.Fatal(err)
	}
	return name
}

func onTerminal(w *world) { w.terminal, w.colour, w.talkative = true, true, true }

// Colours go to a terminal only: not into a pipe, nor into a file written by a
// person who sits at one.
func TestColoursOnTerminalsOnly(t *testing.T) {
	const escape = "\x1b["
	if s := demoPlan(t, nil); strings.Contains(s.out+s.errors, escape) {
		t.Error("colours in a pipe")
	}
	if s := demoPlan(t, onTerminal); !strings.Contains(s.out, escape) {
		t.Error("no colours on a terminal")
	}
	if s := demoPlan(t, func(w *world) { w.terminal = true }); strings.Contains(s.out, escape) {
		t.Error("colours where NO_COLOR is set")
	}
	name := filepath.Join(t.TempDir(), "plan.txt")
	demoPlan(t, onTerminal, "--out", name)
	if text, err := os.ReadFile(name); err != nil || bytes.Contains(text, []byte(escape)) {
		t.Errorf("colours in a file, or %v", err)
	}
}

// A bar for a long list at a terminal, none in a pipe, and none for a short list.
func TestBarOnTerminalsOnly(t *testing.T) {
	name := bigList(t, 4000)
	if info, err := os.Stat(name); err != nil || info.Size() < worthABar {
		t.Fatalf("%v, %v", info, err)
	}
	args := []string{"plan", name, "--label", "demo/labels/demo-a.yaml", "--date", demoDay, "--format", "csv"}
	if s := call(t, nil, args...); strings.ContainsAny(s.errors, "\r\x1b") {
		t.Error("a bar in a pipe")
	}
	if s := demoPlan(t, onTerminal); strings.ContainsAny(s.errors, "\r\x1b") {
		t.Error("a bar for a short list")
	}
	// Nothing that is said while the bar is shown gets lost, and nothing is left of
	// the bar: what remains after each wiping is the talk.
	silent, shown := call(t, nil, args...), call(t, func(w *world) { w.talkative, w.now = true, hurried() }, args...)
	if n := strings.Count(shown.errors, "=] ") + strings.Count(shown.errors, " ] "); n < 3 {
		t.Errorf("%d bars drawn", n)
	}
	left := ""
	for _, part := range strings.SplitAfter(shown.errors, "\n") {
		left += part[strings.LastIndex(part, wipe)+1:]
	}
	if left = strings.ReplaceAll(left, wipe[1:], ""); left != silent.errors {
		t.Errorf("beside a bar is said\n%.300s\nand without\n%.300s", left, silent.errors)
	}
	if shown.out != silent.out {
		t.Error("a bar changes the results")
	}
}

// hurried is a clock that runs a second on at every look, from the day of the demo.
func hurried() func() time.Time {
	at := time.Date(2026, 6, 9, 12, 0, 0, 0, time.UTC)
	return func() time.Time { at = at.Add(time.Second); return at }
}

func TestNoPDFOnATerminal(t *testing.T) {
	s := call(t, onTerminal, "plan", "demo/trees.csv", "--label", "demo/labels/demo-a.yaml", "--format", "pdf")
	if s.code != exitUsage || s.out != "" || !strings.Contains(s.errors, "--out FILE.pdf") {
		t.Errorf("%+v", s)
	}
	s = call(t, func(w *world) { w.terminal = true }, "plan", "demo/trees.csv", "--label", "demo/labels/demo-a.yaml", "--format", "pdf")
	if s.code != exitUsage {
		t.Errorf("without colours: %+v", s)
	}
}

// broken writes so much and then fails, like a full disk.
type broken struct{ room int }

var errFull = errors.New("no space left")

func (b *broken) Write(p []byte) (int, error) {
	if b.room -= len(p); b.room < 0 {
		return 0, errFull
	}
	return len(p), nil
}

// Every format says when it cannot be written, and exits 1.
func TestFullDisk(t *testing.T) {
	for _, format := range []string{"table", "json", "csv", "pdf"} {
		s := call(t, func(w *world) { w.stdout = &broken{room: 100} }, "plan", "demo/trees.csv", "--label", "demo/labels/demo-a.yaml", "--date", demoDay, "--format", format)
		if s.code != exitFailed || !strings.Contains(s.errors, errFull.Error()) {
			t.Errorf("%s: exit code %d: %s", format, s.code, s.errors)
		}
	}
}

// A file that fails in the middle leaves neither itself nor its draft.
func TestFilesAreWholeOrNotThere(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "out.txt")
	err := writeFile(name, func(out io.Writer) error {
		if _, err := io.WriteString(out, strings.Repeat("half\n", 1<<16)); err != nil {
			return err
		}
		return errFull
	})
	if left, _ := os.ReadDir(dir); !errors.Is(err, errFull) || len(left) != 0 {
		t.Errorf("%v, left behind: %v", err, left)
	}
	if err := writeFile(name, func(out io.Writer) error { _, err := io.WriteString(out, "whole"); return err }); err != nil {
		t.Fatal(err)
	}
	if text, _ := os.ReadFile(name); string(text) != "whole" {
		t.Errorf("%q", text)
	}
}

// The day of the work is today where no day is given.
func TestTodayUnlessSaid(t *testing.T) {
	for date, code := range map[string]string{"2026-06-09": "interval.too_short", "2026-06-11": ""} {
		clock := func(w *world) {
			w.now = func() time.Time { d, _ := time.Parse(time.DateOnly, date); return d }
		}
		list := filepath.Join(t.TempDir(), "trees.csv")
		os.WriteFile(list, []byte("tag,species,girth,girth_height,pest,bloom_over,eaten,tapped,last_treated\n"+
			"T,Fraxinus americana,72 in,12 in,AGRLPL,yes,no,no,2024-06-10; emamectin benzoate; demo-a; 48 mL\n"), 0o644)
		s := call(t, clock, "plan", list, "--label", "demo/labels/demo-a.yaml", "--certified", "yes", "--format", "csv")
		if s.code != exitDone || strings.Contains(s.out, "interval.too_short") != (code != "") {
			t.Errorf("%s: %+v", date, s)
		}
	}
}

// Spreadsheets take a cell that begins with = for a formula; ours never does.
func TestNoFormulasInCSV(t *testing.T) {
	list := filepath.Join(t.TempDir(), "trees.csv")
	os.WriteFile(list, []byte("tag,stem,species,girth,girth_height,pest,bloom_over\n=1+1,-2,Fraxinus americana,72 in,12 in,AGRLPL,yes\n"), 0o644)
	s := call(t, nil, "plan", list, "--label", "demo/labels/demo-a.yaml", "--format", "csv")
	if s.code != exitDone || !strings.Contains(s.out, "\n'=1+1,'-2,") {
		t.Errorf("%+v", s)
	}
}

// Every schema is sound JSON Schema 2020-12 and takes what the demo gives it.
func TestSchemas(t *testing.T) {
	trees, err := os.ReadFile("demo/trees.csv")
	if err != nil {
		t.Fatal(err)
	}
	samples := map[string]any{"trees": tableJSON(t, trees), "marks": caseFile(t, "../../engine/marks/testdata/marks.json", "instances"), "drain": caseFile(t, "../../engine/drain/testdata/drain.json", "cases")}
	names := []string{"label", "trees"}
	for _, n := range calc.Names() {
		names = append(names, n[0])
	}
	for _, name := range names {
		s := call(t, nil, "schema", name)
		if s.code != exitDone || s.errors != "" {
			t.Errorf("%s: %+v", name, s)
			continue
		}
		doc, err := jsonschema.UnmarshalJSON(strings.NewReader(s.out))
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if doc.(map[string]any)["$schema"] != "https://json-schema.org/draft/2020-12/schema" {
			t.Errorf("%s does not name its draft", name)
		}
		c := jsonschema.NewCompiler()
		c.AddResource(name, doc)
		schema, err := c.Compile(name)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if sample, ok := samples[name]; ok {
			if err := schema.Validate(sample); err != nil {
				t.Errorf("%s: %v", name, err)
			}
		}
	}
	outside.Ran(t, "JSON Schema 2020-12 (santhosh-tekuri/jsonschema v6)", "every schema that sapwell schema prints; the demo's trees; the case files")
}

// tableJSON makes the JSON form of a table.
func tableJSON(t testing.TB, table []byte) any {
	t.Helper()
	rows, err := csv.NewReader(bytes.NewReader(table)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var list []any
	for _, cells := range rows[1:] {
		row := map[string]any{}
		for i, cell := range cells {
			if cell != "" {
				row[rows[0][i]] = cell
			}
		}
		list = append(list, row)
	}
	return list
}

func caseFile(t testing.TB, file, list string) any {
	t.Helper()
	raw, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	var doc map[string]json.RawMessage
	if err := json.Unmarshal(raw, &doc); err != nil {
		t.Fatal(err)
	}
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(doc[list]))
	if err != nil {
		t.Fatal(err)
	}
	return v
}
