package calc

import (
	"encoding/json"
	"reflect"
	"strings"

	"sapwell/engine/quantity"
	"sapwell/internal/strict"
)

// Schema returns the JSON Schema (2020-12) of what a computation takes, with
// what it answers under $defs.answer; nil if nothing has that name.
func Schema(name string) []byte {
	c, err := find(name)
	if err != nil {
		return nil
	}
	b := book{defs: map[string]any{}, loose: c.loose}
	b.defs["question"] = b.question(c.in)
	b.loose = false
	b.defs["answer"] = b.of(c.out)
	schema, _ := json.MarshalIndent(map[string]any{
		"$schema":     "https://json-schema.org/draft/2020-12/schema",
		"title":       "sapwell calc " + c.name,
		"description": c.help + " One object, or a list of objects that is answered in kind.",
		"anyOf":       []any{reference("question"), map[string]any{"type": "array", "items": reference("question")}},
		"$defs":       b.defs,
	}, "", "  ") // maps of plain values: cannot fail
	return schema
}

// question is what a computation takes; a record is any object, for another place
// may ask of it what no program knows yet.
func (b book) question(t reflect.Type) map[string]any {
	if t == reflect.TypeFor[recordIn]() {
		return map[string]any{"type": "object", "description": "a record of work; its fields stand in doc/record-fields.md"}
	}
	return b.object(t)
}

// book collects the schemas of the named structs: each stands once, for a
// reason may hold reasons.
type book struct {
	defs  map[string]any
	loose bool // objects may have other fields too
}

func reference(name string) map[string]any { return map[string]any{"$ref": "#/$defs/" + name} }

// measures are the quantity types, with the UCUM unit they are answered in and
// an example of how a person may write them.
func measures() map[reflect.Type][2]string {
	return map[reflect.Type][2]string{
		reflect.TypeFor[quantity.Length]():          {"mm", "96 in"},
		reflect.TypeFor[quantity.Volume]():          {"mL", "4 mL"},
		reflect.TypeFor[quantity.Mass]():            {"g", "0.2 g"},
		reflect.TypeFor[quantity.Pressure]():        {"kPa", "10 psi"},
		reflect.TypeFor[quantity.Temperature]():     {"Cel", "68 °F"},
		reflect.TypeFor[quantity.Angle]():           {"deg", "45°"},
		reflect.TypeFor[quantity.Span]():            {"min", "1 h 20 min"},
		reflect.TypeFor[quantity.VolumePerLength](): {"mL/cm", "2 mL/cm"},
		reflect.TypeFor[quantity.MassPerLength]():   {"g/cm", "0.2 g/in"},
		reflect.TypeFor[quantity.MassPerVolume]():   {"g/L", "40 g/L"},
	}
}

func (b book) of(t reflect.Type) map[string]any {
	if m, ok := measures()[t]; ok {
		return map[string]any{
			"description": "a quantity: a text such as " + m[1] + ", or a value with its UCUM unit; answered in " + m[0],
			"anyOf": []any{
				map[string]any{"type": "string"},
				map[string]any{"type": "object", "required": []string{"value", "unit"}, "additionalProperties": false,
					"properties": map[string]any{"value": map[string]any{"type": "number"}, "unit": map[string]any{"type": "string"}}},
			},
			"examples": []string{m[1]},
		}
	}
	switch {
	case t == reflect.TypeFor[quantity.Date]():
		return map[string]any{"type": []string{"string", "null"}, "format": "date", "description": "a day as YYYY-MM-DD"}
	case t == reflect.TypeFor[json.RawMessage](), t.Kind() == reflect.Interface:
		return map[string]any{}
	}
	switch t.Kind() {
	case reflect.Pointer:
		return map[string]any{"anyOf": []any{map[string]any{"type": "null"}, b.of(t.Elem())}}
	case reflect.Struct:
		return b.named(t)
	case reflect.Slice:
		return map[string]any{"type": []string{"array", "null"}, "items": b.of(t.Elem())}
	case reflect.Array:
		return map[string]any{"type": "array", "items": b.of(t.Elem()), "minItems": t.Len(), "maxItems": t.Len()}
	case reflect.Map:
		return map[string]any{"type": "object", "additionalProperties": b.of(t.Elem())}
	case reflect.Bool:
		return map[string]any{"type": "boolean"}
	case reflect.Int, reflect.Int64:
		return map[string]any{"type": "integer"}
	case reflect.Float64:
		return map[string]any{"type": "number"}
	}
	if list := choices(t, ""); list != nil {
		return map[string]any{"enum": append(list, "")}
	}
	return map[string]any{"type": "string"}
}

// named puts a struct into the book and refers to it.
func (b book) named(t reflect.Type) map[string]any {
	if t.Name() == "" {
		return b.object(t)
	}
	name := strings.Map(func(r rune) rune { // of a generic type brackets and slashes
		if strings.ContainsRune("[]/", r) {
			return '-'
		}
		return r
	}, t.String())
	if b.defs[name] == nil {
		b.defs[name] = true // known from here on
		b.defs[name] = b.object(t)
	}
	return reference(name)
}

func (b book) object(t reflect.Type) map[string]any {
	properties, musts := map[string]any{}, []string{}
	for _, f := range strict.Fields(t) {
		p := b.of(f.Of.Type)
		if help := f.Of.Tag.Get("help"); help != "" {
			p["description"] = help
		}
		properties[f.Name] = p
		if required(f.Of) {
			musts = append(musts, f.Name)
		}
	}
	return map[string]any{"type": "object", "properties": properties, "required": musts, "additionalProperties": b.loose}
}
