package treelist

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/santhosh-tekuri/jsonschema/v6"

	"sapwell/engine/verdict"
	"sapwell/internal/outside"
)

func gatherJSON(t testing.TB, text string) ([]Row, []*Fault) {
	t.Helper()
	return split2(t, ReadJSON("list.json", strings.NewReader(text), Options{Defaults: verdict.Circumstances{Date: demoDay}}))
}

const tree = `"tag":"T","species":"green ash","girth":"96 in","girth_height":"12 in"`

// The demo as JSON must give what it gives as a table.
func TestSameAsTable(t *testing.T) {
	table, err := os.ReadFile(filepath.Join("..", "cmd", "sapwell", "demo", "trees.csv"))
	if err != nil {
		t.Fatal(err)
	}
	want, _ := gather(t, string(table))
	got, faults := gatherJSON(t, asJSON(t, string(table)))
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// asJSON writes a table as an array with one object a line, so that its lines
// are those of the table.
func asJSON(t *testing.T, table string) string {
	tab, err := openTable("t", strings.NewReader(table), treeHeadings)
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	b.WriteString("[")
	for n := 0; ; n++ {
		rec, err := tab.next()
		if err != nil {
			break
		}
		if n > 0 {
			b.WriteString(",")
		}
		object := map[string]string{}
		for i, name := range tab.names {
			if rec.fields[i] != "" {
				object[name] = rec.fields[i]
			}
		}
		raw, _ := json.Marshal(object)
		b.WriteString("\n" + string(raw))
	}
	return b.String() + "]"
}

func TestJSONValues(t *testing.T) {
	text := "\ufeff" + `[{"tag":7,"species":"green ash","girth_in":96,"girth_height_cm":30.48,"wounds":["22 in 2024","48 in"],
		"last_treated":["2024-06-10; a","2022-05-30"],"eaten":false,"tapped":true,"note":null,"canopy_loss":15,"x_any":{"a":1}}]` + "\n"
	rows, faults := gatherJSON(t, text)
	if len(faults) > 0 || len(rows) != 1 {
		t.Fatal(rows, faults)
	}
	r := rows[0]
	ring := r.Tree.Stems[0].Ring
	if r.Tree.Tag != "7" || ring.Girth.Around != 96*in || ring.Girth.Height != 12*in || len(ring.Wounds) != 2 ||
		len(r.Facts.Earlier) != 2 || r.Facts.Eaten != verdict.No || r.Facts.Tapped != verdict.Yes || *r.Facts.CanopyLoss != 15 {
		t.Errorf("%+v", r)
	}
}

func TestJSONFaults(t *testing.T) {
	for text, want := range map[string][]string{
		"[{" + tree + ",\"girth_at\":\"3 in\"}]":                                              {"1 girth_at column_twice"},
		"[{" + tree + ",\"tag\":\"U\"}]":                                                      {"1 tag column_twice"},
		"[{" + tree + ",\"colour\":\"red\"},\n{\"colour\":1}]":                                {"1 colour unknown_column", "2 tag missing", "2 girth missing", "2 girth_height missing", "2 species missing"},
		"[\n{" + tree + ",\"zero\":{\"a\":1}}\n]":                                             {"2 zero json_value"},
		"[{" + tree + ",\"wounds\":[[1]]}]":                                                   {"1 wounds json_value"},
		"[{\"tag\":\"T\",\"species\":\"green ash\",\"girth\":96,\"girth_height\":\"12 in\"}]": {"1 girth unit"},
		"[1,\n\"x\",\nnull]":                                                                  {"1 - json_object", "2 - json_object", "3 - json_object"},
		"[{" + tree + ",\"note\":\"\\ud800\"}]":                                               {"1 note lost_character"},
		"[{" + tree + ",\"note\":\"\\u0000\"}]":                                               {"1 note nul"},
		"[{" + tree + ",\"note\":\"\xe9\"}]":                                                  {"1 - encoding"},
		"{" + tree + "}":                                                                      {"1 - json_shape"},
		"[] x":                                                                                {"1 - json_shape"},
		"[] []":                                                                               {"1 - json_shape"},
		"":                                                                                    {"1 - json_shape"},
		"[":                                                                                   {"1 - json_end"},
		"[{" + tree + "},\n":                                                                  {"2 - json_end"},
		"[{" + tree + "}\n,\n{\"tag\":\"U\",,}]":                                              {"3 - json"},
		"[\"" + strings.Repeat("x", 3<<20) + "\"]":                                            {"1 - long_line"},
		"[\"" + strings.Repeat("x", 3<<19) + "\"]":                                            {"1 - long_line"},
	} {
		_, faults := gatherJSON(t, text)
		var got []string
		for _, f := range faults {
			column := f.Column
			if column == "" {
				column = "-"
			}
			got = append(got, fmt.Sprint(f.Line, " ", column, " ", f.Code))
		}
		if !slices.Equal(got, want) {
			t.Errorf("%s: %q, want %q", shown(text), got, want)
		}
	}
}

// The schema is one, and says yes and no as the reader does where it can tell.
func TestSchema(t *testing.T) {
	schema := compiled(t)
	demo, err := os.ReadFile(filepath.Join("..", "cmd", "sapwell", "demo", "trees.csv"))
	if err != nil {
		t.Fatal(err)
	}
	for text, good := range map[string]bool{
		asJSON(t, string(demo)): true,
		"[]":                    true,
		"[{" + tree + "}]":      true,
		"[{" + tree + `,"eaten":true,"canopy_loss":15}]`:                         true,
		"[{" + tree + `,"wounds":["22 in"],"x_mine":[{}]}]`:                      true,
		`[{"tag":"T","species":"green ash","girth_in":96,"girth_height_cm":30}]`: true,
		"{" + tree + "}":                                                        false,
		"[{" + tree + `,"colour":"red"}]`:                                       false,
		"[{" + tree + `,"ground":"north"}]`:                                     false,
		"[{" + tree + `,"canopy_loss":101}]`:                                    false,
		"[{" + tree + `,"bbch":69}]`:                                            true,
		"[{" + tree + `,"bbch":100}]`:                                           false,
		"[{" + tree + `,"date":"6/9/2026"}]`:                                    false,
		"[{" + tree + `,"wounds":[[1]]}]`:                                       false,
		"[{" + tree + `,"jurisdiction":"X"}]`:                                   false,
		`[{"tag":"T","species":"green ash","girth":96,"girth_height":"12 in"}]`: false,
		`[{"tag":"T","species":"green ash","girth":"96 in"}]`:                   false,
		`[{"species":"green ash","girth":"96 in","girth_height":"12 in"}]`:      false,
	} {
		value, err := jsonschema.UnmarshalJSON(strings.NewReader(text))
		if err != nil {
			t.Fatal(err)
		}
		if err := schema.Validate(value); (err == nil) != good {
			t.Errorf("%s: %v", shown(text), err)
		}
		if _, faults := gatherJSON(t, text); (len(faults) == 0) != good {
			t.Errorf("%s: the reader says %v", shown(text), faults)
		}
	}
	outside.Ran(t, "JSON Schema 2020-12 (santhosh-tekuri/jsonschema v6)", "16 tree lists, as the reader judges them")
}

func compiled(t *testing.T) *jsonschema.Schema {
	t.Helper()
	value, err := jsonschema.UnmarshalJSON(bytes.NewReader(Schema()))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("trees.schema.json", value); err != nil {
		t.Fatal(err)
	}
	schema, err := c.Compile("trees.schema.json")
	if err != nil {
		t.Fatal(err)
	}
	return schema
}

// Every column is in the schema, and nothing else is.
func TestSchemaHasTheColumns(t *testing.T) {
	var s struct {
		Defs struct {
			Stem struct{ Properties map[string]any }
		} `json:"$defs"`
	}
	if err := json.Unmarshal(Schema(), &s); err != nil {
		t.Fatal(err)
	}
	for _, h := range treeHeadings {
		if _, ok := s.Defs.Stem.Properties[h.name]; !ok {
			t.Errorf("%s is not in the schema", h.name)
		}
	}
	if len(s.Defs.Stem.Properties) != len(treeHeadings) {
		t.Errorf("%d properties, %d columns", len(s.Defs.Stem.Properties), len(treeHeadings))
	}
}

// Reference: JSONTestSuite (nst/JSONTestSuite). What is not JSON must end in a
// fault; what is JSON must not be called damaged, whatever else it lacks.
func TestJSONSuite(t *testing.T) {
	raw, err := os.ReadFile(filepath.Join("testdata", "json_suite.json"))
	if err != nil {
		t.Fatal(err)
	}
	var suite struct{ Files map[string][]byte }
	if err := json.Unmarshal(raw, &suite); err != nil {
		t.Fatal(err)
	}
	suite.Files["n_structure_100000_opening_arrays.json"] = bytes.Repeat([]byte("["), 100_000)
	suite.Files["n_structure_open_array_object.json"] = bytes.Repeat([]byte(`[{"":`), 50_000)
	damaged := []string{"json", "json_end", "long_line"}
	for name, text := range suite.Files {
		rows, faults := gatherJSON(t, string(text))
		syntax := slices.ContainsFunc(faults, func(f *Fault) bool { return slices.Contains(damaged, f.Code) })
		if name[0] == 'y' && syntax || name[0] == 'n' && len(faults) == 0 || len(rows) > 0 {
			t.Errorf("%s: %d rows, %v", name, len(rows), faults)
		}
	}
	if len(suite.Files) < 280 {
		t.Errorf("%d cases", len(suite.Files))
	}
	outside.Ran(t, "nst/JSONTestSuite", "280 or more files")
}
