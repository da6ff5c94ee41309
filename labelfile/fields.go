package labelfile

import (
	"reflect"
	"strconv"
	"strings"

	"sapwell/engine/label"
	"sapwell/engine/quantity"
)

// field is one key of a mapping.
type field struct {
	key           string
	index         []int
	required      bool
	zeroIsSilence bool // a figure whose zero means "not stated": writing 0 would say nothing
}

// fields lists the keys of a struct in order, embedded structs flattened. The
// json tags are the one table of the format: a name without omitempty or
// omitzero must stand in the file.
func fields(t reflect.Type) []field {
	var out []field
	for _, f := range reflect.VisibleFields(t) {
		if f.Anonymous {
			continue
		}
		name, options, _ := strings.Cut(f.Tag.Get("json"), ",")
		optional := options == "omitempty" || options == "omitzero"
		out = append(out, field{name, f.Index, !optional, optional && isFigure(f.Type)})
	}
	return out
}

// isFigure tells numbers and measures from words, sections and pointers.
func isFigure(t reflect.Type) bool {
	return t.ConvertibleTo(reflect.TypeFor[float64]()) || t == reflect.TypeFor[quantity.MassPerVolume]()
}

// keys lists the keys for a person.
func keys(fs []field) string {
	var names []string
	for _, f := range fs {
		names = append(names, f.key)
	}
	return strings.Join(names, ", ")
}

// scalar is how one Go type is written in a file.
type scalar struct {
	code     string // the fault when it cannot be read
	tag      string // YAML type it must have; empty: any, the text counts
	accepted string // by example, the same in every language
	parse    func(string) (reflect.Value, error)
}

// scalars is the table of everything that is not a list or a mapping.
var scalars = map[reflect.Type]scalar{
	reflect.TypeFor[string]():         text("label.bad_text", `"…"`),
	reflect.TypeFor[label.Rounding](): text("label.not_accepted", "up, down, nearest, unspecified"),
	reflect.TypeFor[label.RateKind](): text("label.not_accepted", "spacing, units_per_diameter, dose_per_diameter, class_table, fixed_per_hole"),

	reflect.TypeFor[bool]():          plain("label.bad_bool", "!!bool", "true, false", strconv.ParseBool),
	reflect.TypeFor[int]():           plain("label.bad_count", "!!int", "2, 730", strconv.Atoi),
	reflect.TypeFor[quantity.Date](): plain("label.bad_date", "", "2026-03-01", quantity.ParseDate),

	reflect.TypeFor[quantity.Length]():          measure("6 in, 11/64 in, 15 mm, 1.37 m", quantity.ParseLength),
	reflect.TypeFor[quantity.Volume]():          measure("4 mL, 0.5 L", quantity.ParseVolume),
	reflect.TypeFor[quantity.Mass]():            measure("0.2 g, 200 mg", quantity.ParseMass),
	reflect.TypeFor[quantity.Pressure]():        measure("10 psi, 69 kPa", quantity.ParsePressure),
	reflect.TypeFor[quantity.Temperature]():     measure("20 °C, 68 °F", quantity.ParseTemperature),
	reflect.TypeFor[quantity.Angle]():           measure("45 deg, 45°", quantity.ParseAngle),
	reflect.TypeFor[quantity.VolumePerLength](): measure("2 mL/cm", quantity.ParseVolumePerLength),
	reflect.TypeFor[quantity.MassPerLength]():   measure("0.2 g/in", quantity.ParseMassPerLength),
	reflect.TypeFor[quantity.MassPerVolume]():   measure("40 g/L", quantity.ParseMassPerVolume),
}

func plain[T any](code, tag, accepted string, parse func(string) (T, error)) scalar {
	return scalar{code, tag, accepted, func(s string) (reflect.Value, error) {
		v, err := parse(s)
		return reflect.ValueOf(v), err
	}}
}

func measure[T any](accepted string, parse func(string, quantity.Reading) (T, error)) scalar {
	return plain("label.bad_measure", "", accepted, func(s string) (T, error) { return parse(s, quantity.Reading{}) })
}

// text takes words only; a bare number or true must be quoted, or "4e1" would
// silently be read as something else by other programs.
func text(code, accepted string) scalar {
	return plain(code, "!!str", accepted, func(s string) (string, error) { return s, nil })
}
