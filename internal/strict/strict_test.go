package strict

import (
	"bytes"
	"encoding/json"
	"errors"
	"reflect"
	"slices"
	"strings"
	"testing"

	"sapwell/internal/outside"
)

type inner struct {
	Unit  string  `json:"unit" enum:"mm,in"`
	Value float64 `json:"value"`
}

type form struct {
	Name  string           `json:"name"`
	Count int64            `json:"count,omitempty"`
	On    bool             `json:"on,omitempty"`
	Sizes []inner          `json:"sizes,omitempty"`
	Pair  [2]int           `json:"pair,omitzero"`
	Of    map[string]inner `json:"of,omitempty"`
	Maybe *inner           `json:"maybe,omitempty"`
	Raw   json.RawMessage  `json:"raw,omitempty"`
	Words []string         `json:"words,omitempty" enum:"red,blue,"`
	inner
	Hidden string `json:"-"`
}

func rules() Rules {
	return Rules{
		Required: func(f reflect.StructField) bool { return !strings.Contains(f.Tag.Get("json"), ",") },
		Choices: func(_ reflect.Type, tag reflect.StructTag) []string {
			if enum := tag.Get("enum"); enum != "" {
				return strings.Split(enum, ",")
			}
			return nil
		},
	}
}

func TestFaults(t *testing.T) {
	for in, want := range map[string]Fault{
		`{"name":"x"`:                          {"", "unexpected end of JSON input", "want one JSON object", NotJSON},
		`[]`:                                   {"", "[]", "want an object", Value},
		`null`:                                 {"", "null", "want a value", Value},
		`{}`:                                   {"name", "", "missing", Missing},
		`{"name":null}`:                        {"name", "", "missing", Missing},
		`{"name":"x","colour":7}`:              {"colour", "7", "not a field here; there are name, count, on, sizes, pair, of, maybe, raw, words, unit, value", Unknown},
		`{"name":"x","name":"y"}`:              {"name", `"y"`, "given twice", Twice},
		`{"name":7}`:                           {"name", "7", "want a text", Value},
		`{"name":"x","count":1.5}`:             {"count", "1.5", "want a whole number of at most 18 digits", Value},
		`{"name":"x","on":"yes"}`:              {"on", `"yes"`, "want true or false", Value},
		`{"name":"x","sizes":{}}`:              {"sizes", "{}", "want a list", Value},
		`{"name":"x","sizes":[{"unit":"mm"}]}`: {"sizes[0].value", "", "missing", Missing},
		`{"name":"x","sizes":[{"unit":"cm","value":1}]}`:     {"sizes[0].unit", `"cm"`, "want one of mm, in", Value},
		`{"name":"x","sizes":[null]}`:                        {"sizes[0]", "null", "want a value", Value},
		`{"name":"x","pair":[1,2,3]}`:                        {"pair", "[1,2,3]", "want a list of 2", Value},
		`{"name":"x","of":{"a":{"unit":"in","value":"1"}}}`:  {"of.a.value", `"1"`, "want a number, at most 308 digits long", Value},
		`{"name":"x","maybe":{"unit":"in","value":1,"z":0}}`: {"maybe.z", "0", "not a field here; there are unit, value", Unknown},
		`{"name":"x","words":["red","green"]}`:               {"words[1]", `"green"`, "want one of red, blue", Value},
		`{"name":"x","count":"` + strings.Repeat("9", 80) + "\"}": {"count", `"` + strings.Repeat("9", 59) + "…",
			"want a whole number of at most 18 digits", Value},
	} {
		var got form
		err := rules().Decode([]byte(in), &got)
		var f *Fault
		if !errors.As(err, &f) || *f != want {
			t.Errorf("%s:\n%v, want\n%v", in, err, &want)
		}
	}
}

func TestLooseAndNull(t *testing.T) {
	r := rules()
	r.Loose = true
	var got form
	in := `{"name":"x","more":[1],"count":null,"maybe":null,"unit":"mm","value":2,"words":["", "blue"]}`
	if err := r.Decode([]byte(in), &got); err != nil || got.Name != "x" || got.Maybe != nil || got.Unit != "mm" || len(got.Words) != 2 {
		t.Errorf("%v, %+v", err, got)
	}
	if text := (&Fault{Want: "want more"}).Error(); text != "input: want more" {
		t.Error(text)
	}
}

// What is taken, encoding/json takes too and reads the same from it; and whatever
// comes in, an error says where it is.
func FuzzDecode(f *testing.F) {
	for _, in := range []string{`{}`, `{"name":"x","sizes":[{"unit":"mm","value":1e3}],"pair":[1,2],"raw":{"a":[]}}`, `{"name":"\ud800","of":{"":null}}`, `[[`} {
		f.Add([]byte(in))
	}
	f.Fuzz(func(t *testing.T, in []byte) {
		var got, plain form
		err := rules().Decode(in, &got)
		var fault *Fault
		if err != nil {
			if !errors.As(err, &fault) || strings.ContainsAny(err.Error(), "\n\x00") {
				t.Errorf("%q: %v", in, err)
			}
			return
		}
		dec := json.NewDecoder(bytes.NewReader(in))
		dec.DisallowUnknownFields()
		err = dec.Decode(&plain)
		if string(plain.Raw) == "null" { // left out, here
			plain.Raw = nil
		}
		if err != nil || !reflect.DeepEqual(got, plain) {
			t.Errorf("%q: %v\n%+v\n%+v", in, err, got, plain)
		}
	})
	outside.Ran(f, "encoding/json", "what is read strictly is read the same there")
}

func TestFieldsAreNamedAsJSONHasThem(t *testing.T) {
	var names []string
	for _, f := range Fields(reflect.TypeFor[form]()) {
		names = append(names, f.Name)
	}
	want := []string{"name", "count", "on", "sizes", "pair", "of", "maybe", "raw", "words", "unit", "value"}
	if !slices.Equal(names, want) {
		t.Errorf("%v, want %v", names, want)
	}
}
