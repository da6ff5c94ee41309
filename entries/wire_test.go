package entries

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"sapwell/internal/outside"
	"sapwell/journal"
)

// Version 1 is frozen: what stands in testdata/v1 is read, and written again
// with the same bytes.
func TestExamplesComeBackByteForByte(t *testing.T) {
	for _, e := range examples(t) {
		b, err := ReadBody(e.kind, e.body)
		if err != nil {
			t.Errorf("%s: %v", e.body, err)
			continue
		}
		d, err := Draft(id(1), 1781000000000, b)
		if err != nil {
			t.Errorf("%s: write again: %v", e.body, err)
			continue
		}
		want := journal.Draft{ID: id(1), Time: 1781000000000, Kind: e.kind, Body: e.body}
		if !reflect.DeepEqual(d, want) {
			t.Errorf("%s\n came back as %s %s", e.body, d.Kind, d.Body)
		}
		if reflect.TypeOf(b).Kind() != reflect.Struct {
			t.Errorf("%s: read as %T, want a value", e.kind, b)
		}
	}
}

// Every member stands in an example, and every member that may be absent is
// absent in one, so that no member can come, go or change with all tests green.
func TestExamplesHaveEveryMember(t *testing.T) {
	p := readPage(t)
	there, absent := map[string]bool{}, map[string]bool{}
	var look func(path string, rows []row, holder map[string]any)
	look = func(path string, rows []row, holder map[string]any) {
		for _, r := range rows {
			value, ok := holder[r.member]
			there[path+r.member] = there[path+r.member] || ok
			absent[path+r.member] = absent[path+r.member] || !ok || !r.optional()
			items, list := value.([]any)
			if !list {
				items = []any{value}
			}
			for _, item := range items {
				if object, ok := item.(map[string]any); ok {
					typ, _ := r.base()
					look(path+r.member+".", p.tables[typ], object)
				}
			}
		}
	}
	for _, e := range examples(t) {
		look(e.kind+": ", p.body(e.kind), e.value)
	}
	for member, ok := range there {
		if !ok {
			t.Errorf("%s stands in no example", member)
		}
		if !absent[member] && !strings.HasSuffix(member, ": by") { // of Head, which is one for all
			t.Errorf("%s is absent in no example", member)
		}
	}
}

// Reference: Python's json module, which has its own idea of sorted members and
// of what to escape.
func TestPythonWritesTheSameBytes(t *testing.T) {
	python := outside.Python(t)
	files, err := filepath.Glob(filepath.Join("testdata", "v1", "*.json"))
	if err != nil || len(files) != len(Kinds()) {
		t.Fatalf("%d files of examples, want one for each of %d kinds: %v", len(files), len(Kinds()), err)
	}
	const script = `import json, sys
for name in sys.argv[1:]:
    for body in json.load(open(name, encoding="utf-8")):
        sys.stdout.buffer.write(json.dumps(body, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode() + b"\n")`
	out, err := exec.Command(python, append([]string{"-c", script}, files...)...).Output()
	if err != nil {
		t.Fatal(err)
	}
	var want [][]byte
	for _, e := range examples(t) {
		b, err := ReadBody(e.kind, e.body)
		if err != nil {
			t.Fatal(err)
		}
		body, err := WriteBody(b)
		if err != nil {
			t.Fatal(err)
		}
		want = append(want, body)
	}
	got := bytes.Split(bytes.TrimSuffix(out, []byte("\n")), []byte("\n"))
	slices.SortFunc(got, bytes.Compare)
	slices.SortFunc(want, bytes.Compare)
	if !slices.EqualFunc(got, want, bytes.Equal) {
		t.Errorf("Python wrote\n%s\nwant\n%s", out, bytes.Join(want, []byte("\n")))
	}
	outside.Ran(t, "Python json", fmt.Sprintf("%d bodies of all kinds written byte for byte alike", len(want)))
}

// Reference: JSONTestSuite (nst/JSONTestSuite commit 1ef36fa, MIT), from the copy
// of package journal. What must be refused is refused as a body of every kind
// and as the text of a note. A text that must be accepted is, once in canonical
// form, unless it holds what no remark may.
func TestJSONSuite(t *testing.T) {
	raw, err := os.ReadFile("../journal/testdata/json_suite.json")
	if err != nil {
		t.Fatal(err)
	}
	var suite struct{ Files map[string][]byte }
	if err := json.Unmarshal(raw, &suite); err != nil {
		t.Fatal(err)
	}
	suite.Files["n_structure_100000_opening_arrays.json"] = bytes.Repeat([]byte("["), 100_000)
	suite.Files["n_structure_open_array_object.json"] = append(bytes.Repeat([]byte(`[{"":`), 50_000), '\n')
	refused, texts := 0, 0
	for name, text := range suite.Files {
		note := fmt.Appendf(nil, `{"on":{"id":"%s","kind":"tree"},"text":%s,"v":1}`, id(1), text)
		if name[0] == 'n' {
			refused++
			for _, kind := range Kinds() {
				if _, err := ReadBody(kind, text); err == nil {
					t.Errorf("%s was taken for a body of %s", name, kind)
				}
			}
			if _, err := ReadBody("note", note); err == nil {
				t.Errorf("%s was taken for a text", name)
			}
		}
		var said []string
		if name[0] == 'y' && json.Unmarshal(text, &said) == nil && len(said) == 1 {
			texts++
			checkText(t, name, said[0])
		}
	}
	if refused != 188 || texts < 30 {
		t.Errorf("%d files refused, %d texts; want 188 and at least 30", refused, texts)
	}
	outside.Ran(t, "nst/JSONTestSuite 1ef36fa", "all n_ files refused as a body of every kind and within one; texts of y_ files come back")
}

// checkText writes a text and reads it again.
func checkText(t *testing.T, name, said string) {
	t.Helper()
	n := Note{On: Subject{OfTree, id(1).String()}, Text: said}
	body, err := WriteBody(n)
	if n.Check() != nil {
		if err == nil {
			t.Errorf("%s: %q was written though Check refuses it", name, said)
		}
		return
	}
	b, readErr := ReadBody("note", body)
	if err != nil || readErr != nil || b.(Note).Text != said {
		t.Errorf("%s: %q came back as %v, %v, %v", name, said, b, err, readErr)
	}
}

func TestUnsoundBodiesAreRefusedByName(t *testing.T) {
	const by, visit, unit = "019e5a10-2b3c-7001-8000-000000000002", "019e5a10-2b3c-7001-8000-00000000000c", "019e5a10-2b3c-7001-8000-00000000000e"
	lifted := func(members string) string {
		return strings.NewReplacer("BY", by, "VISIT", visit, "UNIT", unit).Replace(members)
	}
	for body, want := range map[string]string{
		`{"by":"BY","left_nl":0,"unit":"UNIT","v":1,"visit":"VISIT"} `:                  "not in canonical form",
		`{"by": "BY","left_nl":0,"unit":"UNIT","v":1,"visit":"VISIT"}`:                  "not in canonical form",
		`{"left_nl":0,"by":"BY","unit":"UNIT","v":1,"visit":"VISIT"}`:                   "not in canonical form",
		`{"by":"BY","left_nl":0,"left_nl":1,"unit":"UNIT","v":1,"visit":"VISIT"}`:       `key "left_nl" twice`,
		`{"by":"BY","left_nl":0,"unit":"UNIT","v":1,"visit":"VISIT"}{}`:                 "want the end",
		`{"by":"BY","left_nl":0.5,"unit":"UNIT","v":1,"visit":"VISIT"}`:                 "byte 57: want an integer",
		`{"by":"BY","left_nl":-0,"unit":"UNIT","v":1,"visit":"VISIT"}`:                  "not in canonical form",
		`{"by":"BY","left_nl":null,"unit":"UNIT","v":1,"visit":"VISIT"}`:                "left_nl: null, want a whole number",
		`{"by":"BY","left_nl":"0","unit":"UNIT","v":1,"visit":"VISIT"}`:                 `left_nl: "0", want a whole number`,
		`{"by":"BY","left_nl":-1,"unit":"UNIT","v":1,"visit":"VISIT"}`:                  "left_nl: -1, want 0 to",
		`{"by":"BY","left_nl":0,"unit":"UNIT","visit":"VISIT"}`:                         "v: missing",
		`{"by":"BY","left_nl":0,"unit":"UNIT","v":0,"visit":"VISIT"}`:                   "v: 0, want 1",
		`{"by":"BY","left_nl":0,"v":1,"visit":"VISIT"}`:                                 "unit: missing",
		`{"by":"BY","left_nl":0,"unit":"UNIT","v":1}`:                                   "visit: missing",
		`{"by":"BY","left_nl":0,"state":"up","unit":"UNIT","v":1,"visit":"VISIT"}`:      "state: no such member, want only at, by, left_nl, unit, v, visit",
		`{"by":"BY","left_nl":0,"over":"UNIT","unit":"UNIT","v":1,"visit":"VISIT"}`:     "over: no such member",
		`{"by":"BY","left_nl":0,"unit":"UNIT","v":1,"visit":"VISIT","z":{}}`:            "z: no such member",
		`{"at":0,"by":"BY","left_nl":0,"unit":"UNIT","v":1,"visit":"VISIT"}`:            "at: 0, want it left out",
		`{"at":-5,"by":"BY","left_nl":0,"unit":"UNIT","v":1,"visit":"VISIT"}`:           "at: -5, want 1 to",
		`{"by":"00000000-0000-0000-0000-000000000000","left_nl":0,"unit":"UNIT","v":1}`: "by: ",
		`{"by":"BY","left_nl":0,"unit":"019E5A10-2B3C-7001-8000-00000000000E","v":1}`:   "unit: ",
		`{"by":"BY","left_nl":0,"unit":["UNIT"],"v":1,"visit":"VISIT"}`:                 `unit: ["019e5a10`,
		`[]`: "want an object", `1`: "want an object", ``: "want a value", `{}`: "left_nl: missing",
	} {
		_, err := ReadBody("unit.lifted", []byte(lifted(body)))
		if err == nil || !strings.Contains(err.Error(), want) || !strings.HasPrefix(err.Error(), "unit.lifted: ") {
			t.Errorf("%s\n gives %v\n want %s", body, err, want)
		}
	}
}

// A path leads through lists and objects.
func TestFaultsNameTheirPath(t *testing.T) {
	m := Measurement{Tree: id(1), Stems: []Stem{{Girth: Girth{Around: 1, Height: 0}}, {Girth: Girth{Around: -1}}}}
	var f *Fault
	if err := m.Check(); !errors.As(err, &f) || f.Field != "stems[1].girth.around_nm" || f.Text != "-1, want 1 to 30000000000" {
		t.Errorf("%v", err)
	}
	if _, err := WriteBody(m); !errors.As(err, &f) || f.Field != "stems[1].girth.around_nm" {
		t.Errorf("%v", err)
	}
	_, err := ReadBody("measurement", []byte(`{"stems":[{"girth":{"around_nm":"5 ft","height_nm":0}}],"tree":"x","v":1}`))
	if !errors.As(err, &f) || f.Field != "stems[0].girth.around_nm" {
		t.Errorf("%v", err)
	}
}

func TestNewerThingsAreToldFromUnsoundOnes(t *testing.T) {
	if _, err := ReadBody("tree.felled", []byte(`{"v":1}`)); !errors.Is(err, ErrUnknownKind) {
		t.Errorf("a kind that is not known: %v", err)
	}
	newer := []byte(`{"grounds":"somewhere else now","v":2}`)
	if _, err := ReadBody("tree", newer); !errors.Is(err, ErrUnknownVersion) {
		t.Errorf("a version that is not known: %v", err)
	}
	tree := examples(t)[slices.IndexFunc(examples(t), func(e example) bool { return e.kind == "tree" })].body
	later := bytes.Replace(tree, []byte(`"v":1`), []byte(`"v":12`), 1)
	if _, err := ReadBody("tree", later); !errors.Is(err, ErrUnknownVersion) {
		t.Errorf("a version that looks like the first: %v", err)
	}
	for _, broken := range []string{`{"v":2`, `{"v": 2}`, `{"v":2,"v":2}`, `{"v":-1}`, `{"V":2}`} {
		if _, err := ReadBody("tree", []byte(broken)); err == nil || errors.Is(err, ErrUnknownVersion) {
			t.Errorf("%s: %v, want it refused as unsound", broken, err)
		}
	}
	a := Amendment{Of: id(1), OfKind: "tree.felled", Why: "x", Before: []byte(`{"v":1}`), After: []byte(`{"v":2}`)}
	if err := a.Check(); !errors.Is(err, ErrUnknownKind) {
		t.Errorf("an amendment of a kind that is not known: %v", err)
	}
	a.OfKind, a.Before, a.After = "tree", tree, newer
	if err := a.Check(); !errors.Is(err, ErrUnknownVersion) {
		t.Errorf("an amendment to a version that is not known: %v", err)
	}
}

// stranger is a body of another package.
type stranger struct{ Head }

func (stranger) Kind() string               { return "stranger" }
func (stranger) About(journal.ID) []Subject { return nil }
func (stranger) Check() error               { return nil }

func TestWriteBody(t *testing.T) {
	lifted := UnitLifted{Visit: id(1), Unit: id(2)}
	body, err := WriteBody(&lifted)
	if want := fmt.Sprintf(`{"left_nl":0,"unit":"%s","v":1,"visit":"%s"}`, id(2), id(1)); err != nil || string(body) != want {
		t.Errorf("%s, %v, want %s", body, err, want)
	}
	if lifted.V != 0 {
		t.Error("the body handed in was changed")
	}
	if _, err := WriteBody(stranger{}); !errors.Is(err, ErrUnknownKind) {
		t.Errorf("%v", err)
	}
	if _, err := WriteBody(UnitLifted{Head: Head{V: 2}, Visit: id(1), Unit: id(2)}); err == nil {
		t.Error("a body of version 2 was written as version 1")
	}
	big := Label{Name: "x", Version: Date{}, Product: "x", RegNo: "x", File: strings.Repeat("\U0001f332", 125_000)}
	big.Version = Date{}.AddDate(2025, 0, 0)
	if _, err := WriteBody(big); err == nil || !strings.Contains(err.Error(), "want at most 500000") {
		t.Errorf("a body beyond the bound: %v", err)
	}
}

// Entry, as the journal has it.
func TestRead(t *testing.T) {
	body, err := WriteBody(UnitDrained{Head: Head{At: 7}, Visit: id(1), Unit: id(2)})
	if err != nil {
		t.Fatal(err)
	}
	in := journal.Entry{ID: id(3), Device: journal.Hash{1}, Seq: 4, Time: 5, Kind: "unit.drained", Body: body}
	e, err := Read(in)
	want := Entry{ID: id(3), Device: journal.Hash{1}, Seq: 4, Hash: in.Hash(), Time: 5, Body: UnitDrained{Head: Head{V: 1, At: 7}, Visit: id(1), Unit: id(2)}}
	if err != nil || !reflect.DeepEqual(e, want) || e.When() != 7 {
		t.Errorf("%+v, %v, want %+v", e, err, want)
	}
	in.Kind = "unit.lifted"
	if _, err := Read(in); err == nil {
		t.Error("a body of another kind was read")
	}
}

// Whatever is taken is in canonical form, can be checked again, and is written
// with the same bytes; nothing makes the reader panic.
func FuzzReadBody(f *testing.F) {
	for _, e := range examples(f) {
		f.Add(e.kind, e.body)
	}
	f.Add("tree", []byte(`{"v":2}`))
	f.Fuzz(func(t *testing.T, kind string, body []byte) {
		b, err := ReadBody(kind, body)
		if err != nil {
			return
		}
		if form, err := journal.Canonical(body); err != nil || !bytes.Equal(form, body) {
			t.Fatalf("%s was taken and is not in canonical form: %v", body, err)
		}
		again, err := WriteBody(b)
		if err != nil || !bytes.Equal(again, body) {
			t.Fatalf("%s came back as %s, %v", body, again, err)
		}
		if len(b.About(id(1))) == 0 {
			t.Fatalf("%s speaks of nothing", body)
		}
	})
}

func BenchmarkReadBody(b *testing.B) {
	for _, e := range examples(b) {
		switch e.kind {
		case "unit.seated", "tree", "measurement", "amendment":
		default:
			continue
		}
		b.Run(fmt.Sprintf("%s/%d bytes", e.kind, len(e.body)), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := ReadBody(e.kind, e.body); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkDraft(b *testing.B) {
	u := UnitSeated{Head: Head{By: id(1), At: 1781000000000}, Visit: id(2), Hole: id(3), Lot: id(4), Fill: 4_000_000}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Draft(id(5), 1781000000000, u); err != nil {
			b.Fatal(err)
		}
	}
}
