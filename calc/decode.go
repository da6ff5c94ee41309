package calc

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"
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
	raw = bytes.TrimSpace(raw)
	if v.Kind() == reflect.Pointer {
		if string(raw) == "null" {
			return nil
		}
		v.Set(reflect.New(v.Type().Elem()))
		return decode(path, raw, v.Elem(), loose)
	}
	if !v.Addr().Type().Implements(unmarshaler) {
		switch v.Kind() {
		case reflect.Struct:
			return decodeObject(path, raw, v, loose)
		case reflect.Slice:
			return decodeList(path, raw, v, loose)
		}
	}
	if err := json.Unmarshal(raw, v.Addr().Interface()); err != nil {
		return &FieldError{path, clip(raw), wanted(err, v.Type())}
	}
	return nil
}

func decodeObject(path string, raw json.RawMessage, v reflect.Value, loose bool) error {
	dec := json.NewDecoder(bytes.NewReader(raw))
	if tok, err := dec.Token(); err != nil || tok != json.Delim('{') {
		return &FieldError{path, clip(raw), "want an object"}
	}
	fields := fieldsOf(v.Type())
	seen := map[string]bool{}
	for dec.More() {
		tok, err := dec.Token()
		if err != nil {
			return &FieldError{path, clip(raw), "not JSON: " + err.Error()}
		}
		name := tok.(string)
		var value json.RawMessage
		if err := dec.Decode(&value); err != nil {
			return &FieldError{join(path, name), "", "not JSON: " + err.Error()}
		}
		i := slices.IndexFunc(fields, func(f field) bool { return f.name == name })
		switch {
		case seen[name]:
			return &FieldError{join(path, name), clip(value), "given twice"}
		case i < 0 && !loose:
			return &FieldError{join(path, name), clip(value), "not a field here; there are " + names(fields)}
		case i >= 0:
			if err := decode(join(path, name), value, v.FieldByIndex(fields[i].index), loose); err != nil {
				return err
			}
		}
		seen[name] = true
	}
	for _, f := range fields {
		if f.required && !seen[f.name] {
			return &FieldError{join(path, f.name), "", "missing"}
		}
	}
	return nil
}

func decodeList(path string, raw json.RawMessage, v reflect.Value, loose bool) error {
	if string(raw) == "null" {
		return nil
	}
	var items []json.RawMessage
	if err := json.Unmarshal(raw, &items); err != nil {
		return &FieldError{path, clip(raw), "want a list"}
	}
	v.Set(reflect.MakeSlice(v.Type(), len(items), len(items)))
	for i, item := range items {
		if err := decode(fmt.Sprintf("%s[%d]", path, i), item, v.Index(i), loose); err != nil {
			return err
		}
	}
	return nil
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
		return "want a whole number"
	case reflect.Float64:
		return "want a number"
	}
	return "want " + t.Kind().String()
}

// clip keeps an error readable when the value is not.
func clip(raw []byte) string {
	const most = 60
	s := []rune(string(raw))
	if len(s) > most {
		return string(s[:most]) + "…"
	}
	return string(s)
}
