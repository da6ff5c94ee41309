package files

import (
	"bytes"
	"encoding/json"
	"os"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"pgregory.net/rapid"

	"sapwell/engine/quantity"
	"sapwell/internal/outside"
	"sapwell/records"
)

func asJSON(t testing.TB, all ...records.Record) []byte {
	from := From{Firm: `Example "Tree" Health (fictional) <&>`, Day: quantity.NewDate(2026, 6, 5)}
	return written(t, func(b *bytes.Buffer) error { return RecordsJSON(b, from, each(all...)) })
}

func asCSV(t testing.TB, all ...records.Record) []byte {
	return written(t, func(b *bytes.Buffer) error { return RecordsCSV(b, each(all...)) })
}

func compiled(t testing.TB) *jsonschema.Schema {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(RecordsSchema()))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	c.AssertFormat()
	if err := c.AddResource("urn:sapwell:records:1", doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("urn:sapwell:records:1")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func valid(t testing.TB, s *jsonschema.Schema, b []byte) error {
	t.Helper()
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(b))
	if err != nil {
		t.Fatalf("%v in %s", err, b)
	}
	return s.Validate(v)
}

// A validator by others finds what we write to be of the published shape, and
// what is of another shape not.
func TestSchema(t *testing.T) {
	s := compiled(t)
	b := base(t)
	amended := awkward(t)[1]
	for name, file := range map[string][]byte{"none": asJSON(t), "one": asJSON(t, b), "two": asJSON(t, b, amended)} {
		if err := valid(t, s, file); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	for name, r := range map[string]records.Record{
		"a number for a text": b.With("client.name", 7), "a text for a number": b.With("units.installed", "16"),
		"an amount without a unit": b.With("amount.total", map[string]any{"value": 64}), "a text for an object": b.With("site", "here"),
	} {
		if err := valid(t, s, asJSON(t, r)); err == nil {
			t.Errorf("%s passes the schema", name)
		}
	}
	outside.Ran(t, "JSON Schema 2020-12, by santhosh-tekuri/jsonschema v6", "records files, sound and of another shape")
}

// Every column is a fact of the schema of the sort that the column has, and every
// fact of the schema has a column: two lists, one truth.
func TestColumnsAreTheSchema(t *testing.T) {
	var schema struct {
		Defs map[string]node `json:"$defs"`
	}
	if err := json.Unmarshal(RecordsSchema(), &schema); err != nil {
		t.Fatal(err)
	}
	want := map[string]string{}
	walk("", schema.Defs["record"], want)
	for _, c := range columns() {
		if c.name == restColumn {
			continue
		}
		sorts := map[string]sort{"string": words, "number": figure, "boolean": truth, "array": list}
		if kind, ok := want[c.name]; !ok || kind != "" && sorts[kind] != c.sort {
			t.Errorf("column %s is of sort %d: in the schema it is %q", c.name, c.sort, kind)
		}
		delete(want, c.name)
	}
	if len(want) > 0 {
		t.Errorf("no column for %v", want)
	}
}

// Every field that doc/record-fields.md names has a column, or is an object of
// such.
func TestColumnsAreTheFields(t *testing.T) {
	text, err := os.ReadFile("../../doc/record-fields.md")
	if err != nil {
		t.Fatal(err)
	}
	_, section, _ := strings.Cut(string(text), "\n## Fields")
	section, _, _ = strings.Cut(section, "\n## ")
	n := 0
	for _, m := range regexp.MustCompile("(?m)^\\| `([a-z0-9_.]+)` \\|").FindAllStringSubmatch(section, -1) {
		n++
		if !slices.ContainsFunc(columns(), func(c column) bool { return c.name == m[1] || strings.HasPrefix(c.name, m[1]+".") }) {
			t.Errorf("%s has no column", m[1])
		}
	}
	if n < 60 {
		t.Errorf("%d fields found in doc/record-fields.md: is its table still of the same form?", n)
	}
}

type node struct {
	Type       string
	Ref        string `json:"$ref"`
	Properties map[string]node
}

func walk(at string, n node, found map[string]string) {
	switch {
	case n.Ref != "" || at == "area.planted":
		found[at+".value"], found[at+".unit"] = "number", "string"
	case n.Properties == nil:
		found[at] = n.Type
	}
	for name, p := range n.Properties {
		if at != "" {
			name = at + "." + name
		}
		walk(name, p, found)
	}
}

func parseCSV(t testing.TB, b []byte) []records.Record {
	t.Helper()
	var all []records.Record
	for r, err := range ParseRecordsCSV(bytes.NewReader(b)) {
		if err != nil {
			t.Fatalf("%v in\n%s", err, b)
		}
		all = append(all, r)
	}
	return all
}

// Out, in, out: the same bytes, and every fact as it was.
func TestRecordsComeBack(t *testing.T) {
	all := awkward(t)
	file := asCSV(t, all...)
	back := parseCSV(t, file)
	if len(back) != len(all) {
		t.Fatalf("%d records come back: want %d", len(back), len(all))
	}
	for i, r := range all {
		if string(back[i].JSON()) != string(r.JSON()) {
			t.Errorf("record %d comes back as\n%s\nwant\n%s", i, back[i].JSON(), r.JSON())
		}
	}
	if again := asCSV(t, back...); !bytes.Equal(again, file) {
		t.Errorf("the second table differs:\n%s\n%s", again, file)
	}
	var frame struct{ Records []json.RawMessage }
	if err := json.Unmarshal(asJSON(t, all...), &frame); err != nil || len(frame.Records) != len(all) {
		t.Fatalf("%d records in JSON, %v", len(frame.Records), err)
	}
	var read []records.Record
	for _, raw := range frame.Records {
		r, err := records.Parse(raw)
		if err != nil {
			t.Fatal(err)
		}
		read = append(read, r)
	}
	if !bytes.Equal(asJSON(t, read...), asJSON(t, all...)) {
		t.Error("JSON out, in and out again differs")
	}
}

// Whatever a fact is, a table brings it back.
func TestAnyFactComesBack(t *testing.T) {
	var names []string
	for _, c := range columns() {
		if c.name != restColumn && c.name != "amendments" {
			names = append(names, c.name)
		}
	}
	names = append(names, "client", "site.geo.x", "new.fact", "further.further")
	value := rapid.OneOf(
		rapid.Map(rapid.String(), func(s string) any { return strings.ToValidUTF8(s, "?") }),
		rapid.Map(rapid.SampledFrom([]string{"0", "-12", "64.50", "1e3", "0.1", "12345678901234567890"}), func(s string) any { return json.Number(s) }),
		rapid.Map(rapid.Bool(), func(b bool) any { return b }),
		rapid.Map(rapid.Int64(), func(n int64) any { return []any{json.Number("1"), map[string]any{"n": "=x"}} }),
	)
	b := base(t)
	rapid.Check(t, func(t *rapid.T) {
		r := b
		for range rapid.IntRange(1, 6).Draw(t, "facts") {
			r = r.With(records.Field(rapid.SampledFrom(names).Draw(t, "field")), value.Draw(t, "value"))
		}
		var file bytes.Buffer
		if err := RecordsCSV(&file, each(r)); err != nil {
			t.Fatal(err)
		}
		for back, err := range ParseRecordsCSV(&file) {
			if err != nil || string(back.JSON()) != string(r.JSON()) {
				t.Fatalf("%v\n%s\nwant\n%s", err, back.JSON(), r.JSON())
			}
		}
	})
}

// Python reads no cell that a spreadsheet would take for a formula, but for
// numbers below zero.
func TestNoFormulaInAnyCell(t *testing.T) {
	const code = `
import csv, json, sys
print(json.dumps(list(csv.reader(open(sys.argv[1], newline="", encoding="utf-8"), strict=True))))
`
	var rows [][]string
	if err := json.Unmarshal([]byte(program(t, asCSV(t, awkward(t)...), ".csv", python(t), "-c", code, "FILE")), &rows); err != nil {
		t.Fatal(err)
	}
	for i, r := range rows {
		if len(r) != len(rows[0]) {
			t.Errorf("row %d has %d cells, the first %d", i, len(r), len(rows[0]))
		}
		for _, s := range r {
			if startsFormula(s) {
				t.Errorf("row %d has a cell %q", i, s)
			}
		}
	}
	name := slices.Index(rows[0], "client.name")
	if name < 0 || rows[1][name] != "Fictional Owner LLC" || rows[2][name] != `'=HYPERLINK("http://x")` {
		t.Errorf("client.name is column %d: %q, %q", name, rows[1][name], rows[2][name])
	}
	outside.Ran(t, "Python csv module", "a table of seven awkward records: equal count of cells, no formula")
}

func TestRecordsCSVRefuses(t *testing.T) {
	for text, want := range map[string]string{
		"date,date\r\n":   `column "date" is not known, or stands there twice`,
		"date,colour\r\n": `column "colour" is not known`,
		"date,units.installed\r\n2026-05-12,many\r\n":         `row 2: units.installed: "many": want a number`,
		"label.rup\r\nyes\r\n":                                "want true or false",
		"site.geo\r\n{}\r\n":                                  "want a JSON array",
		"further\r\nx\r\n":                                    "want a JSON object",
		"date,further\r\n2026-05-12,\"{\"\"date\"\":1}\"\r\n": "stands in its own column and in further",
		"units.installed\r\n1 2\r\n":                          "want a number",
		"client.name,further\r\nx,\"{\"\"client\"\":1}\"\r\n": `another "client" than an object`,
	} {
		var last error
		for _, err := range ParseRecordsCSV(strings.NewReader(text)) {
			last = err
		}
		if last == nil || !strings.Contains(last.Error(), want) {
			t.Errorf("%q: %v, want an error with %q", text, last, want)
		}
	}
}

func FuzzParseRecordsCSV(f *testing.F) {
	f.Add(asCSV(f, awkward(f)...))
	f.Add([]byte("date,further\r\n2026-05-12,\"{\"\"a\"\":[1]}\"\r\n"))
	f.Fuzz(func(t *testing.T, b []byte) {
		var all []records.Record
		for r, err := range ParseRecordsCSV(bytes.NewReader(b)) {
			if err != nil {
				return
			}
			all = append(all, r)
		}
		file := asCSV(t, all...)
		if again := asCSV(t, parseCSV(t, file)...); !bytes.Equal(again, file) {
			t.Fatalf("%q: out, in and out again differs:\n%s\n%s", b, file, again)
		}
	})
}

func TestNewYork(t *testing.T) {
	b := base(t)
	file := written(t, func(w *bytes.Buffer) error { return NewYorkApplications(w, each(b, b.With("site.zip", nil))) })
	rows := readAll(t, file)
	// The record layout of the agency's form for applications: fields 1 to 14.
	want := []string{"99999-1", "Placeholder product A", "64", "mL", "2026-05-12", "", "", "1 Sample Lane, Nowhere", "", "00000",
		"4 mL/{unit}", "trunk micro-injection, sealed pressurised units", "Agrilus planipennis", "Front lawn, tree tag T-07"}
	if !reflect.DeepEqual(rows[1], want) || rows[2][9] != "" || len(rows[0]) != 14 {
		t.Errorf("%q", rows)
	}
	persons := written(t, func(w *bytes.Buffer) error {
		return NewYorkApplicators(w, []NewYorkApplicator{{"C-000123", "B-0001", "A.", "Example", true}, {"C-000124", "", "B.", "=Example", false}})
	})
	if want := "C-000123,B-0001,A.,Example,Y\r\nC-000124,,B.,'=Example,N\r\n"; !strings.HasSuffix(string(persons), want) {
		t.Errorf("%q", persons)
	}
	outside.Ran(t, "New York annual report, record layouts of forms 26 and 26A", "fields and their order; values of the shared base record")
}

// 128 US fluid ounces are a gallon of 231 in³, 3785.411784 mL (NIST Handbook 44,
// appendix C); half a fluid ounce is 14.78676478125 mL.
func TestCalifornia(t *testing.T) {
	m := CaliforniaMonth{
		Year: 2026, Month: 5, County: "Nowhere", CountyNo: "00", Firm: "Example Tree Health (fictional)", Address: "2 Sample Lane", Zip: "00000", Phone: "+1-555-0100", Licence: "L-1",
		Uses: []CaliforniaUse{
			{Product: "Placeholder product A", RegNo: "99999-1", Used: 3_785_411_784, Applications: 12, Site: "ornamental shade tree", Treated: "12", TreatedUnit: "tree"},
			{Product: "Placeholder product B", RegNo: "99999-2", Used: 14_786_765, Applications: 1},
		},
	}
	rows := readAll(t, written(t, func(w *bytes.Buffer) error { return m.WriteCSV(w) }))
	at := func(row int, name string) string { return rows[row][slices.Index(rows[0], name)] }
	for _, c := range [][3]string{{"1", "amount_ml", "3785.4118"}, {"1", "amount_fl_oz", "128"}, {"2", "amount_ml", "14.7868"}, {"2", "amount_fl_oz", "0.5"},
		{"1", "applications", "12"}, {"1", "firm_phone", "'+1-555-0100"}, {"2", "month", "05"}, {"1", "registration_no", "99999-1"}} {
		if got := at(int(c[0][0]-'0'), c[1]); got != c[2] {
			t.Errorf("row %s, %s: %q, want %q", c[0], c[1], got, c[2])
		}
	}
	m.Uses = nil
	rows = readAll(t, written(t, func(w *bytes.Buffer) error { return m.WriteCSV(w) }))
	if len(rows) != 2 || at(1, "applications") != "0" || at(1, "product") != "" {
		t.Errorf("a month without use: %q", rows)
	}
	for want, bad := range map[string]CaliforniaMonth{"month 13": {Year: 2026, Month: 13}, "uses[0]": {Year: 2026, Month: 1, Uses: []CaliforniaUse{{Used: -1}}}} {
		if err := bad.WriteCSV(&bytes.Buffer{}); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("got %v, want an error with %q", err, want)
		}
	}
	outside.Ran(t, "NIST Handbook 44, appendix C", "fluid ounces of a month's use")
}

func BenchmarkTenThousandRecords(b *testing.B) {
	r := base(b)
	all := make([]records.Record, 10_000)
	for i := range all {
		all[i] = r
	}
	b.Run("csv", func(b *testing.B) {
		for b.Loop() {
			if err := RecordsCSV(discard{}, each(all...)); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("json", func(b *testing.B) {
		for b.Loop() {
			if err := RecordsJSON(discard{}, From{}, each(all...)); err != nil {
				b.Fatal(err)
			}
		}
	})
}

type discard struct{}

func (discard) Write(b []byte) (int, error) { return len(b), nil }
