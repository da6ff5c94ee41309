package calc

import (
	"errors"
	"reflect"

	"sapwell/engine/bole"
	"sapwell/engine/host"
	"sapwell/engine/verdict"
	"sapwell/internal/strict"
)

// FieldError says which field of the input is at fault, what it held and what
// would be accepted.
type FieldError struct {
	Path  string // "wounds[2].made"; empty: the input as a whole
	Value string
	Want  string
}

func (e *FieldError) Error() string {
	return (&strict.Fault{Path: e.Path, Value: e.Value, Want: e.Want}).Error()
}

// decode fills what in points at, from what stands at a path. Objects may hold only
// the fields of the struct, unless loose; a field tagged `calc:"required"` must be
// there.
func decode(path string, raw []byte, in any, loose bool) error {
	err := strict.Rules{Required: required, Choices: choices, Loose: loose}.Decode(raw, in)
	var f *strict.Fault
	if !errors.As(err, &f) {
		return err
	}
	return &FieldError{join(path, f.Path), f.Value, f.Want}
}

func required(f reflect.StructField) bool { return f.Tag.Get("calc") == "required" }

// choices are what a text of this type may be when it is not empty, nil for any.
// A "Yes" that no rule takes for yes would pass for not known, or for no.
func choices(t reflect.Type, _ reflect.StructTag) []string {
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

// join is the path of a field within what stands at a path; the field may be the
// whole.
func join(path, name string) string {
	if name == "" {
		return path
	}
	return strict.Join(path, name)
}
