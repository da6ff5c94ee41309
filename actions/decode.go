package actions

import (
	"errors"
	"reflect"
	"slices"
	"strings"

	"sapwell/engine/why"
	"sapwell/internal/strict"
)

// inputs are read strictly: a field whose json tag has neither omitempty nor
// omitzero must be there; an enum tag lists what a text may be.
func inputs() strict.Rules { return strict.Rules{Required: required, Choices: choices} }

func required(f reflect.StructField) bool {
	_, options, _ := strings.Cut(f.Tag.Get("json"), ",")
	return options == "" && !allOptional(f.Type)
}

// allOptional tells of a struct that may be empty: then it may be left out.
func allOptional(t reflect.Type) bool {
	if t.Kind() != reflect.Struct || strict.ReadsItself(t) {
		return false
	}
	return !slices.ContainsFunc(strict.Fields(t), func(f strict.Field) bool { return required(f.Of) })
}

func choices(_ reflect.Type, tag reflect.StructTag) []string {
	if enum := tag.Get("enum"); enum != "" {
		return strings.Split(enum, ",")
	}
	return nil
}

// decodeInput fills the struct that to points at.
func decodeInput(raw []byte, to any) error {
	err := inputs().Decode(raw, to)
	var f *strict.Fault
	if !errors.As(err, &f) {
		return err
	}
	switch f.Sort {
	case strict.NotJSON:
		return badValue("input.not_json", f.Path, f.Value, f.Want)
	case strict.Unknown:
		return badValue("input.unknown", f.Path, f.Value, f.Want)
	case strict.Missing:
		return badValue("input.missing", f.Path, f.Value, f.Want)
	case strict.Twice:
		return badValue("input.twice", f.Path, f.Value, f.Want)
	}
	return badValue("input.value", f.Path, f.Value, f.Want)
}

// badValue refuses a value and says what would be accepted.
func badValue(code, path, value, want string) *Refusal {
	fault := strict.Fault{Path: path, Value: value, Want: want}
	return refuse(BadInput, code, path, fault.Error(),
		why.T("value", value), why.T("accepted", strings.TrimPrefix(want, "want ")))
}
