package actions

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

	"sapwell/engine/why"
)

// Inputs are read strictly: an object may hold only the fields of its struct,
// each once; a field whose json tag has neither omitempty nor omitzero must be
// there; an enum tag lists what a text may be. encoding/json names no field for a
// value that a type's own reader refuses, which is most of ours; hence the walk.

var (
	jsonReader = reflect.TypeFor[json.Unmarshaler]()
	textReader = reflect.TypeFor[encoding.TextUnmarshaler]()
)

// decodeInput fills the struct that to points at.
func decodeInput(raw []byte, to any) error {
	if !json.Valid(raw) {
		var lost json.RawMessage
		return badValue("input.not_json", "", fmt.Sprint(json.Unmarshal(raw, &lost)), "want one JSON object")
	}
	return decodeValue("", raw, reflect.ValueOf(to).Elem(), "")
}

// badValue refuses a value and says what would be accepted.
func badValue(code, path, value, want string) *Refusal {
	text := path
	if text == "" {
		text = "input"
	}
	if value != "" {
		text += ": " + value
	}
	return refuse(BadInput, code, path, text+": "+want,
		why.T("value", value), why.T("accepted", strings.TrimPrefix(want, "want ")))
}

func decodeValue(path string, raw json.RawMessage, v reflect.Value, enum string) error {
	if string(raw) == "null" {
		return badValue("input.value", path, "null", "want a value")
	}
	if v.Kind() == reflect.Pointer {
		v.Set(reflect.New(v.Type().Elem()))
		return decodeValue(path, raw, v.Elem(), enum)
	}
	if to := v.Addr().Type(); !to.Implements(jsonReader) && !to.Implements(textReader) {
		switch v.Kind() {
		case reflect.Struct:
			return decodeObject(path, raw, v)
		case reflect.Slice:
			if v.Type() != reflect.TypeFor[json.RawMessage]() {
				return decodeList(path, raw, v, enum)
			}
		}
	}
	if err := json.Unmarshal(raw, v.Addr().Interface()); err != nil {
		return badValue("input.value", path, clip(raw), wanted(err, v.Type()))
	}
	if enum != "" && !slices.Contains(strings.Split(enum, ","), v.String()) {
		return badValue("input.value", path, clip(raw), "want one of "+strings.ReplaceAll(enum, ",", ", "))
	}
	return nil
}

func decodeList(path string, raw json.RawMessage, v reflect.Value, enum string) error {
	var items []json.RawMessage
	if err := json.Unmarshal(raw, &items); err != nil {
		return badValue("input.value", path, clip(raw), "want a list")
	}
	v.Set(reflect.MakeSlice(v.Type(), len(items), len(items)))
	for i, item := range items {
		if err := decodeValue(fmt.Sprintf("%s[%d]", path, i), item, v.Index(i), enum); err != nil {
			return err
		}
	}
	return nil
}

// decodeObject fills a struct. A field that is null counts as left out.
func decodeObject(path string, raw json.RawMessage, v reflect.Value) error {
	list, err := members(path, raw)
	if err != nil {
		return err
	}
	fields := fieldsOf(v.Type())
	given := map[string]bool{}
	for _, m := range list {
		i := slices.IndexFunc(fields, func(f field) bool { return f.name == m.key })
		if i < 0 {
			return badValue("input.unknown", join(path, m.key), clip(m.value), "no field here, want one of "+names(fields))
		}
		if string(m.value) == "null" {
			continue
		}
		if err := decodeValue(join(path, m.key), m.value, v.FieldByIndex(fields[i].index), fields[i].enum); err != nil {
			return err
		}
		given[m.key] = true
	}
	for _, f := range fields {
		if f.required && !given[f.name] {
			return badValue("input.missing", join(path, f.name), "", "missing")
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
		return nil, badValue("input.value", path, clip(raw), "want an object")
	}
	var list []member
	seen := map[string]bool{}
	for dec.More() {
		tok, err := dec.Token()
		if err != nil {
			return nil, badValue("input.value", path, clip(raw), err.Error())
		}
		m := member{key: tok.(string)}
		if err := dec.Decode(&m.value); err != nil {
			return nil, badValue("input.value", join(path, m.key), "", err.Error())
		}
		if seen[m.key] {
			return nil, badValue("input.twice", join(path, m.key), clip(m.value), "given twice")
		}
		seen[m.key] = true
		list = append(list, m)
	}
	return list, nil
}

// field is one JSON field of a struct, embedded structs opened.
type field struct {
	name     string
	index    []int
	typ      reflect.Type
	required bool
	enum     string
	doc      string
}

func fieldsOf(t reflect.Type) []field {
	var fields []field
	for _, f := range reflect.VisibleFields(t) {
		name, options, _ := strings.Cut(f.Tag.Get("json"), ",")
		if f.Anonymous || !f.IsExported() || name == "-" {
			continue
		}
		if name == "" {
			name = f.Name
		}
		fields = append(fields, field{
			name: name, index: f.Index, typ: f.Type, required: options == "" && !allOptional(f.Type),
			enum: f.Tag.Get("enum"), doc: f.Tag.Get("doc"),
		})
	}
	return fields
}

// allOptional tells of a struct that may be empty: then it may be left out.
func allOptional(t reflect.Type) bool {
	if t.Kind() != reflect.Struct || reflect.PointerTo(t).Implements(jsonReader) || reflect.PointerTo(t).Implements(textReader) {
		return false
	}
	return !slices.ContainsFunc(fieldsOf(t), func(f field) bool { return f.required })
}

func names(fields []field) string {
	var list []string
	for _, f := range fields {
		list = append(list, f.name)
	}
	return strings.Join(list, ", ")
}

func join(path, name string) string {
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
