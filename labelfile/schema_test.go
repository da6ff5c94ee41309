package labelfile

import (
	"bytes"
	"encoding/json"
	"maps"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"go.yaml.in/yaml/v3"

	"sapwell/engine/label"
	"sapwell/engine/quantity"
	"sapwell/internal/outside"
)

// compiled is the published schema in an independent validator of JSON Schema
// 2020-12 (santhosh-tekuri/jsonschema v6), which also holds the schema itself
// against the meta-schema.
func compiled(t *testing.T) *jsonschema.Schema {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(Schema()))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("label.json", doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("label.json")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// plainOf turns YAML into what a JSON reader would hold; dates stay text, as
// in JSON.
func plainOf(n *yaml.Node) any {
	switch n.Kind {
	case yaml.DocumentNode:
		return plainOf(n.Content[0])
	case yaml.MappingNode:
		out := map[string]any{}
		for i := 0; i < len(n.Content); i += 2 {
			out[n.Content[i].Value] = plainOf(n.Content[i+1])
		}
		return out
	case yaml.SequenceNode:
		out := []any{}
		for _, c := range n.Content {
			out = append(out, plainOf(c))
		}
		return out
	}
	switch n.ShortTag() {
	case "!!null":
		return nil
	case "!!bool":
		return n.Value == "true"
	case "!!int", "!!float":
		return json.Number(n.Value)
	}
	return n.Value
}

func parsed(t *testing.T, src string) any {
	t.Helper()
	var n yaml.Node
	if err := yaml.Unmarshal([]byte(src), &n); err != nil {
		t.Fatal(err)
	}
	return plainOf(&n)
}

func TestSoundLabelsValidate(t *testing.T) {
	s := compiled(t)
	files, _ := filepath.Glob(demos + "*.yaml")
	for _, name := range append(files, "testdata/maywe.yaml") {
		if err := s.Validate(parsed(t, file(t, name))); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	outside.Ran(t, "JSON Schema 2020-12 (santhosh-tekuri/jsonschema v6)", "schema and sound labels")
}

// What is wrong in form is refused by the schema as well as by the reader. What
// only the label's own logic forbids, and what only YAML forbids, is not the
// schema's to see.
func TestBrokenFormsDoNotValidate(t *testing.T) {
	s := compiled(t)
	form := regexp.MustCompile(`^\d+:\d+ (format|missing|unknown_key|empty|bad_text|want_\w+|bad_bool|bad_count|country_format|not_accepted) `)
	whole := file(t, "testdata/maywe.yaml")
	n := 0
	for _, c := range broken {
		if !form.MatchString(c.want) || strings.Contains(c.new, "0x") || strings.Contains(c.new, "[a]") || strings.Contains(c.new, `" "`) {
			continue
		}
		n++
		if s.Validate(parsed(t, strings.Replace(whole, c.old, c.new, 1))) == nil {
			t.Errorf("%q -> %q validates", c.old, c.new)
		}
	}
	if n < 20 {
		t.Errorf("only %d cases tried", n)
	}
	outside.Ran(t, "JSON Schema 2020-12 (santhosh-tekuri/jsonschema v6)", "broken labels are refused")
}

// node is one object of the schema.
type node struct {
	Title, Description, Type string
	Ref                      string `json:"$ref"`
	Const                    string
	Enum                     []string
	Properties               map[string]node
	Required                 []string
	Items                    *node
	AdditionalProperties     *bool
	Defs                     map[string]node `json:"$defs"`
}

// The schema and the reader know the same keys, need the same keys, and want
// the same kind of value, both ways.
func TestSchemaIsTheReader(t *testing.T) {
	var root node
	if err := json.Unmarshal(Schema(), &root); err != nil {
		t.Fatal(err)
	}
	sameShape(t, "", root, reflect.TypeFor[document]())
}

// kinds names the schema of every Go type that is one value in the file.
var kinds = map[reflect.Type]string{
	reflect.TypeFor[string]():                   "string",
	reflect.TypeFor[label.Rounding]():           "string",
	reflect.TypeFor[label.RateKind]():           "string",
	reflect.TypeFor[quantity.Date]():            "string",
	reflect.TypeFor[bool]():                     "boolean",
	reflect.TypeFor[int]():                      "integer",
	reflect.TypeFor[quantity.Length]():          "#/$defs/length",
	reflect.TypeFor[quantity.Volume]():          "#/$defs/volume",
	reflect.TypeFor[quantity.Mass]():            "#/$defs/mass",
	reflect.TypeFor[quantity.Pressure]():        "#/$defs/pressure",
	reflect.TypeFor[quantity.Temperature]():     "#/$defs/temperature",
	reflect.TypeFor[quantity.Angle]():           "#/$defs/angle",
	reflect.TypeFor[quantity.VolumePerLength](): "#/$defs/volume_per_length",
	reflect.TypeFor[quantity.MassPerLength]():   "#/$defs/mass_per_length",
	reflect.TypeFor[quantity.MassPerVolume]():   "#/$defs/mass_per_volume",
}

func sameShape(t *testing.T, path string, s node, typ reflect.Type) {
	if typ.Kind() == reflect.Pointer {
		typ = typ.Elem()
	}
	if kind, ok := kinds[typ]; ok {
		if got := s.Type + s.Ref; got != kind && s.Const == "" && s.Enum == nil {
			t.Errorf("%s: schema says %q, the reader %q", path, got, kind)
		}
		return
	}
	if typ.Kind() == reflect.Slice {
		if s.Items == nil {
			t.Errorf("%s: the schema has no items", path)
			return
		}
		sameShape(t, path+"[0]", *s.Items, typ.Elem())
		return
	}
	if s.AdditionalProperties == nil || *s.AdditionalProperties {
		t.Errorf("%s: the schema lets unknown keys pass", path)
	}
	var known, needed []string
	for _, f := range fields(typ) {
		known = append(known, f.key)
		if f.required {
			needed = append(needed, f.key)
		}
		sub := s.Properties[f.key]
		if sub.Title == "" || sub.Description == "" {
			t.Errorf("%s has no title or description", below(path, f.key))
		}
		sameShape(t, below(path, f.key), sub, typ.FieldByIndex(f.index).Type)
	}
	if got := slices.Sorted(maps.Keys(s.Properties)); !slices.Equal(got, slices.Sorted(slices.Values(known))) {
		t.Errorf("%s: the schema knows %v, the reader %v", path, got, known)
	}
	if !slices.Equal(slices.Sorted(slices.Values(s.Required)), slices.Sorted(slices.Values(needed))) {
		t.Errorf("%s: the schema needs %v, the reader %v", path, s.Required, needed)
	}
}

// Every word the schema offers is one the label's check accepts, and the words
// that finding offers are those of the schema.
func TestSchemaOffersTheAcceptedWords(t *testing.T) {
	var root node
	if err := json.Unmarshal(Schema(), &root); err != nil {
		t.Fatal(err)
	}
	p := root.Properties
	cases := []struct {
		place string
		enum  []string
		set   func(*label.Label, string)
	}{
		{"classification.signal_word", p["classification"].Properties["signal_word"].Enum, func(l *label.Label, s string) { l.Class.SignalWord = s }},
		{"rate.kind", p["rate"].Properties["kind"].Enum, func(l *label.Label, s string) { l.Rate.Kind = label.RateKind(s) }},
		{"rate.rounding", p["rate"].Properties["rounding"].Enum, func(l *label.Label, s string) { l.Rate.Rounding = label.Rounding(s) }},
		{"rate.readings.rounding", p["rate"].Properties["readings"].Properties["rounding"].Enum, func(l *label.Label, s string) {
			l.Rate.Readings = &label.Readings{Step: quantity.Inch, Rounding: label.Rounding(s)}
		}},
		{"food.tapping", p["food"].Properties["tapping"].Enum, func(l *label.Label, s string) { l.Food.Tapping = s }},
		{"first_aid.steps[0].route", p["first_aid"].Properties["steps"].Items.Properties["route"].Enum, func(l *label.Label, s string) { l.FirstAid.Steps[0].Route = s }},
	}
	for _, c := range cases {
		l := sound(t, "testdata/maywe.yaml")
		c.set(&l, "?")
		if got := offered(l, c.place); got != strings.Join(c.enum, ", ") {
			t.Errorf("%s: check offers %q, the schema %v", c.place, got, c.enum)
		}
		for _, word := range c.enum {
			if c.set(&l, word); offered(l, c.place) != "" {
				t.Errorf("%s: %q is refused", c.place, word)
			}
		}
	}
}

// offered returns what a not_accepted finding at the place would accept.
func offered(l label.Label, place string) string {
	for _, f := range label.Check(l) {
		if f.Code == "label.not_accepted" && f.Place == place {
			return f.Terms[1].Value.(string)
		}
	}
	return ""
}

// The examples in the schema and the ones a fault offers are read by the reader.
func TestOfferedExamplesRead(t *testing.T) {
	var root node
	var defs struct {
		Defs map[string]struct{ Examples []string } `json:"$defs"`
	}
	if json.Unmarshal(Schema(), &root) != nil || json.Unmarshal(Schema(), &defs) != nil {
		t.Fatal("schema does not read")
	}
	for typ, kind := range kinds {
		name, isDef := strings.CutPrefix(kind, "#/$defs/")
		if !isDef {
			continue
		}
		for _, text := range append(strings.Split(scalars[typ].accepted, ", "), defs.Defs[name].Examples...) {
			if _, err := scalars[typ].parse(text); err != nil {
				t.Errorf("%s: %v", name, err)
			}
		}
	}
}

// Every code the two packages can report has a sentence and a remedy in both
// languages, none is left over, and every blank is filled by the finding.
func TestEveryFaultHasWords(t *testing.T) {
	codes := map[string]bool{}
	literal := regexp.MustCompile(`"label\.([a-z_]+)"`)
	for _, dir := range []string{".", "../engine/label"} {
		files, _ := filepath.Glob(dir + "/*.go")
		for _, name := range files {
			if strings.HasSuffix(name, "_test.go") {
				continue
			}
			for _, m := range literal.FindAllStringSubmatch(file(t, name), -1) {
				codes[m[1]] = true
			}
		}
	}
	if len(codes) < 50 {
		t.Fatalf("only %d codes found", len(codes))
	}
	for _, lang := range []string{"en", "es"} {
		said := wordsOf(t, lang)
		for code := range codes {
			for _, key := range []string{"finding.label." + code, "remedy.label." + code} {
				if said[key] == "" {
					t.Errorf("%s: no %s", lang, key)
				}
				delete(said, key)
			}
		}
		for key := range said {
			t.Errorf("%s: %s is said by nobody", lang, key)
		}
	}
}

func wordsOf(t *testing.T, lang string) map[string]string {
	t.Helper()
	raw, err := os.ReadFile("../words/" + lang + "/label.json")
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]string{}
	if err := json.Unmarshal(raw, &out); err != nil {
		t.Fatal(err)
	}
	return out
}

func TestBlanksAreFilled(t *testing.T) {
	blank := regexp.MustCompile(`\{(\w+)\}`)
	whole := file(t, "testdata/maywe.yaml")
	for _, lang := range []string{"en", "es"} {
		said := wordsOf(t, lang)
		for i, c := range broken {
			_, faults := Read("x", strings.NewReader(strings.Replace(whole, c.old, c.new, 1)))
			for _, f := range faults {
				var names []string
				for _, term := range f.Terms {
					names = append(names, term.Name)
				}
				for _, m := range blank.FindAllStringSubmatch(said["finding."+f.Code]+said["remedy."+f.Code], -1) {
					if !slices.Contains(names, m[1]) {
						t.Errorf("%s %s: blank %s, case %s", lang, f.Code, m[0], strconv.Itoa(i))
					}
				}
			}
		}
	}
}
