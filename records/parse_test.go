package records

import (
	"encoding/json"
	"os"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sapwell/internal/outside"
)

// anything is a value as JSON can hold it.
func anything() *rapid.Generator[any] {
	return rapid.Custom(func(t *rapid.T) any {
		switch rapid.IntRange(0, 5).Draw(t, "sort") {
		case 0:
			return rapid.String().Draw(t, "text")
		case 1:
			return rapid.Bool().Draw(t, "truth")
		case 2:
			return rapid.Float64Range(-1e12, 1e12).Draw(t, "number")
		case 3:
			return rapid.SliceOfN(rapid.String(), 0, 3).Draw(t, "list")
		case 4:
			return rapid.MapOfN(rapid.StringMatching(`[a-z]{1,4}`), rapid.Int(), 0, 3).Draw(t, "object")
		}
		return nil
	})
}

func aField() *rapid.Generator[Field] {
	return rapid.Map(rapid.StringMatching(`[a-d](\.[a-c]){0,2}`), func(s string) Field { return Field(s) })
}

// A fact that is put in is there and nothing else has changed, the record it came
// from least of all; taken away it is gone; and JSON says it all.
func TestWith(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := Record{}
		for range rapid.IntRange(0, 6).Draw(t, "facts") {
			r = r.With(aField().Draw(t, "field"), anything().Draw(t, "fact"))
		}
		before := string(r.JSON())
		f, fact := aField().Draw(t, "new field"), anything().Draw(t, "new fact")
		next := r.With(f, fact)
		if string(r.JSON()) != before {
			t.Fatal("the record itself was changed")
		}
		if want := !empty(known(fact)); next.Has(f) != want {
			t.Fatalf("%s: has %v, want %v", f, next.Has(f), want)
		}
		if next.With(f, nil).Has(f) {
			t.Fatalf("%s is not gone", f)
		}
		again, err := Parse(next.JSON())
		if err != nil || string(again.JSON()) != string(next.JSON()) {
			t.Fatalf("%s: %v", next.JSON(), err)
		}
		if strings.Contains(next.Text(f), "\n") {
			t.Fatalf("%q is not one line", next.Text(f))
		}
	})
}

func TestText(t *testing.T) {
	r, err := Parse([]byte(`{"a":" two\n lines ","n":1.50,"e":1.5e-7,"big":12e3,"yes":true,"l":["x",null,2],"q":{"unit":"mL","value":64},
		"ai":[{"content":"40 g/L","name":"emamectin benzoate"},{"name":"b"}],"none":null,"html":"<&>"}`))
	if err != nil {
		t.Fatal(err)
	}
	for f, want := range map[Field]string{"a": "two lines", "n": "1.50", "e": "0.00000015", "big": "12000", "yes": "true", "l": "x, 2", "q": "64 mL",
		"ai": "emamectin benzoate 40 g/L, b", "none": "", "a.b": "", "nowhere.at.all": ""} {
		if got := r.Text(f); got != want {
			t.Errorf("%s: %q, want %q", f, got, want)
		}
	}
	if v, u, ok := r.Amount("q"); v != 64 || u != "mL" || !ok {
		t.Errorf("%v %s %v", v, u, ok)
	}
	if _, _, ok := r.Amount("n"); ok {
		t.Error("a bare number is an amount")
	}
	if !strings.Contains(string(r.JSON()), `"<&>"`) {
		t.Errorf("%s", r.JSON())
	}
}

func TestParseRefuses(t *testing.T) {
	for in, want := range map[string]string{
		"":                          "not JSON",
		"[]":                        "want a record",
		`"x"`:                       "want a record",
		`{"a":1}{}`:                 "line 1, byte 8 of it: not JSON",
		"{\"a\":1,\n\"b\":}":        "line 2, byte 5 of it: not JSON",
		`{"a":1,"a":2}`:             `"a" stands twice`,
		`{"x":{"a":1,"\u0061":2}}`:  `"a" stands twice`,
		"{\"a\":\"\xff\"}":          "UTF-8",
		`{"amendments":[{"by":1}]}`: "amendments: want a list of",
		strings.Repeat(`{"a":`, 40) + "1" + strings.Repeat("}", 40): "nested deeper",
	} {
		if _, err := Parse([]byte(in)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%.40q: %v, want %q in it", in, err, want)
		}
	}
}

// JSONTestSuite of Nicolas Seriot (MIT): what is not JSON is refused; what is JSON is
// read as encoding/json reads it, but for a name that stands there twice.
func TestJSONSuite(t *testing.T) {
	raw, err := os.ReadFile("../treelist/testdata/json_suite.json")
	if err != nil {
		t.Fatal(err)
	}
	var suite struct{ Files map[string][]byte }
	if err := json.Unmarshal(raw, &suite); err != nil || len(suite.Files) < 270 {
		t.Fatalf("%d files, %v", len(suite.Files), err)
	}
	for name, in := range suite.Files {
		got, err := read(in)
		switch {
		case name[0] == 'n' && err == nil:
			t.Errorf("%s was taken", name)
		case name[0] == 'y' && err != nil && !strings.Contains(err.Error(), "twice"):
			t.Errorf("%s: %v", name, err)
		case name[0] == 'y' && err == nil:
			sameAsStandard(t, name, in, got)
		}
	}
	outside.Ran(t, "nst/JSONTestSuite", "records are read as JSON")
}

func sameAsStandard(t testing.TB, name string, in []byte, got any) {
	t.Helper()
	dec := json.NewDecoder(strings.NewReader(string(in)))
	dec.UseNumber()
	var want any
	if err := dec.Decode(&want); err != nil || !reflect.DeepEqual(got, want) {
		t.Errorf("%s: %#v, encoding/json has %#v, %v", name, got, want, err)
	}
}

// Whatever comes in, it is refused or read as encoding/json reads it, and what was
// read can be judged, printed and read again.
func FuzzParse(f *testing.F) {
	raw, err := os.ReadFile("testdata/cases/base.json")
	if err != nil {
		f.Fatal(err)
	}
	f.Add(raw)
	f.Add([]byte(`{"date":"2026-05-12","amount":{"total":{"value":1e999,"unit":"mL"}},"amendments":[{"by":"x"}]}`))
	f.Add([]byte(`{"a":"\ud800","b":[1,-0,[[]],{}],"ctx":{"agency":true}}`))
	f.Fuzz(func(t *testing.T, in []byte) {
		r, err := Parse(in)
		if err != nil {
			return
		}
		Check(r)
		Retention(r)
		Duties([]Record{r})
		for _, p := range Profiles() {
			for _, field := range Asked(p.ID, r) {
				r.Text(field)
			}
		}
		again, err := Parse(r.JSON())
		if err != nil || string(again.JSON()) != string(r.JSON()) {
			t.Fatalf("%s: %v", r.JSON(), err)
		}
	})
}
