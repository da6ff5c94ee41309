// Package strict answers: does this JSON fill this struct, and if not, where and
// why?
//
// An object may hold only the fields of its struct, each once. encoding/json names
// no field for a value that a type's own reader refuses, which is most of ours;
// hence the walk.
package strict

import (
	"bytes"
	"encoding"
	"encoding/json"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"unicode"
)

// Fault says which field of the input is at fault, what it held and what would be
// accepted.
type Fault struct {
	Path  string // "wounds[2].made"; empty: the input as a whole
	Value string // on one line, shortened; empty where there is none
	Want  string // in words
	Sort  Sort
}

func (f *Fault) Error() string {
	text := f.Path
	if text == "" {
		text = "input"
	}
	if f.Value != "" {
		text += ": " + f.Value
	}
	return text + ": " + f.Want
}

// Sort sorts faults.
type Sort string

// The sorts.
const (
	NotJSON Sort = "not_json"
	Value   Sort = "value"
	Unknown Sort = "unknown" // a field that is not one
	Missing Sort = "missing"
	Twice   Sort = "twice"
)

// Rules are what holds besides.
type Rules struct {
	// Required tells of a field that must be there; nil: none must.
	Required func(reflect.StructField) bool
	// Choices are what a text of this type, in a field with this tag, may be; nil:
	// anything.
	Choices func(reflect.Type, reflect.StructTag) []string
	// Loose passes over fields that are not known.
	Loose bool
}

// Decode fills what to points at. A field that is null counts as left out.
// Errors are *Fault.
func (r Rules) Decode(raw []byte, to any) error {
	if !json.Valid(raw) {
		var lost json.RawMessage
		return &Fault{"", fmt.Sprint(json.Unmarshal(raw, &lost)), "want one JSON object", NotJSON}
	}
	return r.value("", raw, reflect.ValueOf(to).Elem(), "")
}

var (
	jsonReader = reflect.TypeFor[json.Unmarshaler]()
	textReader = reflect.TypeFor[encoding.TextUnmarshaler]()
)

// ReadsItself tells of a type that has its own way of being read.
func ReadsItself(t reflect.Type) bool {
	p := reflect.PointerTo(t)
	return p.Implements(jsonReader) || p.Implements(textReader)
}

func (r Rules) value(path string, raw json.RawMessage, v reflect.Value, tag reflect.StructTag) error {
	if string(raw) == "null" {
		return &Fault{path, "null", "want a value", Value}
	}
	if v.Kind() == reflect.Pointer {
		v.Set(reflect.New(v.Type().Elem()))
		return r.value(path, raw, v.Elem(), tag)
	}
	if !ReadsItself(v.Type()) {
		switch v.Kind() {
		case reflect.Struct:
			return r.object(path, raw, v)
		case reflect.Map:
			return r.table(path, raw, v)
		case reflect.Slice, reflect.Array:
			return r.list(path, raw, v, tag)
		}
	}
	if err := json.Unmarshal(raw, v.Addr().Interface()); err != nil {
		return &Fault{path, clip(raw), wanted(err, v.Type()), Value}
	}
	if v.Kind() == reflect.String && r.Choices != nil {
		return choose(path, raw, v.String(), r.Choices(v.Type(), tag))
	}
	return nil
}

func choose(path string, raw json.RawMessage, word string, choices []string) error {
	if choices == nil || slices.Contains(choices, word) {
		return nil
	}
	named := slices.DeleteFunc(slices.Clone(choices), func(s string) bool { return s == "" })
	return &Fault{path, clip(raw), "want one of " + strings.Join(named, ", "), Value}
}

func (r Rules) object(path string, raw json.RawMessage, v reflect.Value) error {
	list, err := members(path, raw)
	if err != nil {
		return err
	}
	fields := Fields(v.Type())
	given := map[string]bool{}
	for _, m := range list {
		i := slices.IndexFunc(fields, func(f Field) bool { return f.Name == m.key })
		if i < 0 && !r.Loose {
			return &Fault{Join(path, m.key), clip(m.value), "not a field here; there are " + names(fields), Unknown}
		}
		if i < 0 || string(m.value) == "null" {
			continue
		}
		f := fields[i].Of
		if err := r.value(Join(path, m.key), m.value, v.FieldByIndex(f.Index), f.Tag); err != nil {
			return err
		}
		given[m.key] = true
	}
	for _, f := range fields {
		if !given[f.Name] && r.Required != nil && r.Required(f.Of) {
			return &Fault{Join(path, f.Name), "", "missing", Missing}
		}
	}
	return nil
}

func (r Rules) table(path string, raw json.RawMessage, v reflect.Value) error {
	list, err := members(path, raw)
	if err != nil {
		return err
	}
	v.Set(reflect.MakeMap(v.Type()))
	for _, m := range list {
		value := reflect.New(v.Type().Elem()).Elem()
		if err := r.value(Join(path, m.key), m.value, value, ""); err != nil {
			return err
		}
		v.SetMapIndex(reflect.ValueOf(m.key), value)
	}
	return nil
}

// list fills a slice, or an array that wants just its length.
func (r Rules) list(path string, raw json.RawMessage, v reflect.Value, tag reflect.StructTag) error {
	var items []json.RawMessage
	if err := json.Unmarshal(raw, &items); err != nil {
		return &Fault{path, clip(raw), "want a list", Value}
	}
	if v.Kind() == reflect.Slice {
		v.Set(reflect.MakeSlice(v.Type(), len(items), len(items)))
	}
	if len(items) != v.Len() {
		return &Fault{path, clip(raw), fmt.Sprintf("want a list of %d", v.Len()), Value}
	}
	for i, item := range items {
		if err := r.value(fmt.Sprintf("%s[%d]", path, i), item, v.Index(i), tag); err != nil {
			return err
		}
	}
	return nil
}

// member is a key of an object with its value.
type member struct {
	key   string
	value json.RawMessage
}

// members lists the keys of an object, each of which may stand there once.
func members(path string, raw json.RawMessage) ([]member, error) {
	dec := json.NewDecoder(bytes.NewReader(raw))
	if tok, err := dec.Token(); err != nil || tok != json.Delim('{') {
		return nil, &Fault{path, clip(raw), "want an object", Value}
	}
	var list []member
	seen := map[string]bool{}
	for dec.More() {
		tok, err := dec.Token()
		if err != nil {
			return nil, &Fault{path, clip(raw), err.Error(), Value}
		}
		m := member{key: tok.(string)}
		if err := dec.Decode(&m.value); err != nil {
			return nil, &Fault{Join(path, m.key), "", err.Error(), Value}
		}
		if seen[m.key] {
			return nil, &Fault{Join(path, m.key), clip(m.value), "given twice", Twice}
		}
		seen[m.key] = true
		list = append(list, m)
	}
	return list, nil
}

// Field is one JSON field of a struct, embedded structs opened.
type Field struct {
	Name string
	Of   reflect.StructField // Index leads there from the struct
}

// Fields lists those of a struct.
func Fields(t reflect.Type) []Field {
	var fields []Field
	for _, f := range reflect.VisibleFields(t) {
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		if f.Anonymous || !f.IsExported() || name == "-" {
			continue
		}
		if name == "" {
			name = f.Name
		}
		fields = append(fields, Field{name, f})
	}
	return fields
}

func names(fields []Field) string {
	var list []string
	for _, f := range fields {
		list = append(list, f.Name)
	}
	return strings.Join(list, ", ")
}

// Join is the path of a field within what stands at a path.
func Join(path, name string) string {
	if path == "" {
		return name
	}
	return path + "." + name
}

func wanted(err error, t reflect.Type) string {
	var typed *json.UnmarshalTypeError
	if !errors.As(err, &typed) {
		return err.Error()
	}
	switch t.Kind() {
	case reflect.Bool:
		return "want true or false"
	case reflect.String:
		return "want a text"
	case reflect.Int, reflect.Int64:
		return "want a whole number of at most 18 digits"
	case reflect.Float64:
		return "want a number, at most 308 digits long"
	}
	return "want " + t.Kind().String()
}

// clip puts a value on one line and keeps it short; control characters, which
// could upset a terminal, become spaces.
func clip(raw []byte) string {
	const most = 60
	s := []rune(strings.Join(strings.FieldsFunc(string(raw), func(r rune) bool { return !unicode.IsPrint(r) || r == ' ' }), " "))
	if len(s) > most {
		return string(s[:most]) + "…"
	}
	return string(s)
}
