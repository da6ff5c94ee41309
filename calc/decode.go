package calc

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"unicode"

	"sapwell/engine/bole"
	"sapwell/engine/host"
	"sapwell/engine/verdict"
)

// FieldError says which field of the input is at fault, what it held and what
// would be accepted. encoding/json names no field for a value that a type's own
// reader refuses, which is most of ours; hence the walk below.
type FieldError struct {
	Path  string // "wounds[2].made"; empty: the input as a whole
	Value string
	Want  string
}

func (e *FieldError) Error() string {
	where := e.Path
	if where == "" {
		where = "input"
	}
	if e.Value == "" {
		return fmt.Sprintf("%s: %s", where, e.Want)
	}
	return fmt.Sprintf("%s: %s: %s", where, e.Value, e.Want)
}

var unmarshaler = reflect.TypeFor[json.Unmarshaler]()

// decode fills v from raw. Objects may hold only the fields of the struct,
// unless loose; a field tagged `calc:"required"` must be there.
func decode(path string, raw json.RawMessage, v reflect.Value, loose bool) error {
	if string(raw) == "null" {
		return &FieldError{path, "null", "want a value"}
	}
	if v.Kind() == reflect.Pointer {
		v.Set(reflect.New(v.Type().Elem()))
		return decode(path, raw, v.Elem(), loose)
	}
	if !v.Addr().Type().Implements(unmarshaler) {
		switch v.Kind() {
		case reflect.Struct:
			return decodeObject(path, raw, v, loose)
		case reflect.Map:
			return decodeMap(path, raw, v, loose)
		case reflect.Slice, reflect.Array:
			return decodeList(path, raw, v, loose)
		}
	}
	if err := json.Unmarshal(raw, v.Addr().Interface()); err != nil {
		return &FieldError{path, clip(raw), wanted(err, v.Type())}
	}
	if list := choices(v.Type()); list != nil && v.String() != "" && !slices.Contains(list, v.String()) {
		return &FieldError{path, clip(raw), "want one of " + strings.Join(list, ", ")}
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
		return nil, &FieldError{path, clip(raw), "want an object"}
	}
	var list []member
	seen := map[string]bool{}
	for dec.More() {
		tok, err := dec.Token()
		if err != nil {
			return nil, &FieldError{path, clip(raw), err.Error()}
		}
		m := member{key: tok.(string)}
		if err := dec.Decode(&m.value); err != nil {
			return nil, &FieldError{join(path, m.key), "", err.Error()}
		}
		if seen[m.key] {
			return nil, &FieldError{join(path, m.key), clip(m.value), "given twice"}
		}
		seen[m.key] = true
		list = append(list, m)
	}
	return list, nil
}

// decodeObject fills a struct. A field that is null counts as left out.
func decodeObject(path string, raw json.RawMessage, v reflect.Value, loose bool) error {
	list, err := members(path, raw)
	if err != nil {
		return err
	}
	fields := fieldsOf(v.Type())
	given := map[string]bool{}
	for _, m := range list {
		i := slices.IndexFunc(fields, func(f field) bool { return f.name == m.key })
		if i < 0 && !loose {
			return &FieldError{join(path, m.key), clip(m.value), "not a field here; there are " + names(fields)}
		}
		if i < 0 || string(m.value) == "null" {
			continue
		}
		if err := decode(join(path, m.key), m.value, v.FieldByIndex(fields[i].index), loose); err != nil {
			return err
		}
		given[m.key] = true
	}
	for _, f := range fields {
		if f.required && !given[f.name] {
			return &FieldError{join(path, f.name), "", "missing"}
		}
	}
	return nil
}

func decodeMap(path string, raw json.RawMessage, v reflect.Value, loose bool) error {
	list, err := members(path, raw)
	if err != nil {
		return err
	}
	v.Set(reflect.MakeMap(v.Type()))
	for _, m := range list {
		value := reflect.New(v.Type().Elem()).Elem()
		if err := decode(join(path, m.key), m.value, value, loose); err != nil {
			return err
		}
		v.SetMapIndex(reflect.ValueOf(m.key), value)
	}
	return nil
}

// decodeList fills a slice, or an array that wants just its length.
func decodeList(path string, raw json.RawMessage, v reflect.Value, loose bool) error {
	var items []json.RawMessage
	if err := json.Unmarshal(raw, &items); err != nil {
		return &FieldError{path, clip(raw), "want a list"}
	}
	if v.Kind() == reflect.Slice {
		v.Set(reflect.MakeSlice(v.Type(), len(items), len(items)))
	}
	if len(items) != v.Len() {
		return &FieldError{path, clip(raw), fmt.Sprintf("want a list of %d", v.Len())}
	}
	for i, item := range items {
		if err := decode(fmt.Sprintf("%s[%d]", path, i), item, v.Index(i), loose); err != nil {
			return err
		}
	}
	return nil
}

// choices are what a text of this type may be when it is not empty, nil for any.
// A "Yes" that no rule takes for yes would pass for not known, or for no.
func choices(t reflect.Type) []string {
	switch t {
	case reflect.TypeFor[verdict.Answer]():
		return texts(verdict.Yes, verdict.No)
	case reflect.TypeFor[verdict.Jurisdiction]():
		return texts(verdict.US, verdict.EU, verdict.UK)
	case reflect.TypeFor[bole.Ground]():
		return texts(bole.Level, bole.Uphill, bole.MidSlope)
	case reflect.TypeFor[bole.ArcKind]():
		return texts(bole.Defect, bole.DeadCambium, bole.Canker, bole.Cavity, bole.Crack, bole.Girdling)
	case reflect.TypeFor[host.Uptake]():
		return texts(host.Fast, host.Medium, host.Slow, host.VerySlow, host.UnknownUptake)
	}
	return nil
}

func texts[T ~string](words ...T) []string {
	var list []string
	for _, w := range words {
		list = append(list, string(w))
	}
	return list
}

// field is one JSON field of a struct, embedded structs opened.
type field struct {
	name     string
	index    []int
	required bool
	help     string
}

func fieldsOf(t reflect.Type) []field {
	var fields []field
	for _, f := range reflect.VisibleFields(t) {
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		if f.Anonymous || !f.IsExported() || name == "-" {
			continue
		}
		if name == "" {
			name = f.Name
		}
		fields = append(fields, field{name, f.Index, f.Tag.Get("calc") == "required", f.Tag.Get("help")})
	}
	return fields
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
