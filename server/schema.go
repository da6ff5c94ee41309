package server

import (
	"bytes"
	"encoding/json"
	"reflect"
	"slices"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"sapwell/engine/quantity"
	"sapwell/journal"
)

// newRegistry keeps the shapes of what goes over the wire. Types that write
// themselves get the shape of what they write.
func newRegistry() huma.Registry {
	registry := huma.NewMapRegistry("#/components/schemas/", schemaName)
	alias := func(to reflect.Type, types ...reflect.Type) {
		for _, t := range types {
			registry.RegisterTypeAlias(t, to)
		}
	}
	alias(reflect.TypeFor[idText](), reflect.TypeFor[journal.ID]())
	alias(reflect.TypeFor[hashText](), reflect.TypeFor[journal.Hash]())
	alias(reflect.TypeFor[dateText](), reflect.TypeFor[quantity.Date]())
	alias(reflect.TypeFor[measure](), measures()...)
	return registry
}

// measures are the types that write themselves with their unit.
func measures() []reflect.Type {
	return []reflect.Type{
		reflect.TypeFor[quantity.Length](), reflect.TypeFor[quantity.Volume](), reflect.TypeFor[quantity.Mass](),
		reflect.TypeFor[quantity.Span](), reflect.TypeFor[quantity.Pressure](), reflect.TypeFor[quantity.Temperature](),
		reflect.TypeFor[quantity.Angle](), reflect.TypeFor[quantity.VolumePerLength](), reflect.TypeFor[quantity.MassPerLength](),
		reflect.TypeFor[quantity.MassPerVolume](),
	}
}

// schemaName keeps an entry apart from the view of the same name.
func schemaName(t reflect.Type, hint string) string {
	name := huma.DefaultSchemaNamer(t, hint)
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	switch pkg := t.PkgPath()[strings.LastIndex(t.PkgPath(), "/")+1:]; pkg {
	case "", "server", "views", "words":
		return name
	case "entries":
		return name + "Entry"
	case "actions":
		if name == "Said" { // what was written, by whatever deed
			return name
		}
		return name + "Deed"
	default:
		return strings.ToUpper(pkg[:1]) + pkg[1:] + name
	}
}

// The shapes of types that write themselves.
type (
	idText   struct{}
	hashText struct{}
	dateText struct{}
	measure  struct{}
)

const (
	idPattern   = "^[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$"
	hashPattern = "^[0-9a-f]{64}$"
)

// Schema is that of an id.
func (idText) Schema(huma.Registry) *huma.Schema {
	return &huma.Schema{Type: huma.TypeString, Format: "uuid", Pattern: idPattern}
}

// Schema is that of a hash.
func (hashText) Schema(huma.Registry) *huma.Schema {
	return &huma.Schema{Type: huma.TypeString, Pattern: hashPattern}
}

// Schema is that of a day.
func (dateText) Schema(huma.Registry) *huma.Schema {
	return &huma.Schema{Type: huma.TypeString, Format: "date"}
}

// Schema is that of a measure: what is written is an object, what is read may be a
// text as people write it.
func (measure) Schema(huma.Registry) *huma.Schema {
	return &huma.Schema{AnyOf: []*huma.Schema{
		{Type: huma.TypeString, Examples: []any{"96 in"}},
		{
			Type: huma.TypeObject, Required: []string{"value", "unit"}, AdditionalProperties: false,
			Properties: map[string]*huma.Schema{
				"value": {Type: huma.TypeNumber}, "unit": {Type: huma.TypeString, Description: "UCUM"},
			},
		},
	}}
}

// raw is JSON that was written as a T and is passed on as it is.
type raw[T any] json.RawMessage

// Schema is that of T.
func (raw[T]) Schema(r huma.Registry) *huma.Schema {
	return r.Schema(reflect.TypeFor[T](), true, "")
}

// MarshalJSON passes the bytes on.
func (r raw[T]) MarshalJSON() ([]byte, error) { return json.RawMessage(r).MarshalJSON() }

// shape describes the type of a value.
func (s *Server) shape(v any) *huma.Schema {
	return s.api.OpenAPI().Components.Schemas.Schema(reflect.TypeOf(v), true, "")
}

// document is the description of the API, as it is served and checked in.
func (s *Server) document() ([]byte, error) {
	doc := s.api.OpenAPI()
	delete(doc.Components.Schemas.Map(), "V2ErrorModel") // huma's own, of which inOurWords makes a Problem
	delete(doc.Components.Schemas.Map(), "V2ErrorDetail")
	relax(doc.Components.Schemas)
	text, err := json.Marshal(doc)
	if err != nil {
		return nil, err
	}
	var tidy bytes.Buffer
	if err := json.Indent(&tidy, text, "", " "); err != nil {
		return nil, err
	}
	tidy.WriteByte('\n')
	return tidy.Bytes(), nil
}

// relax drops from what an object must have those objects that may be empty: deeds
// read one that is left out as an empty one.
func relax(registry huma.Registry) {
	mayBeEmpty := func(s *huma.Schema) bool {
		if s.Ref != "" {
			s = registry.SchemaFromRef(s.Ref)
		}
		return s != nil && s.Type == huma.TypeObject && len(s.Required) == 0
	}
	for again := true; again; {
		again = false
		for _, s := range registry.Map() {
			needed := slices.DeleteFunc(slices.Clone(s.Required), func(name string) bool { return mayBeEmpty(s.Properties[name]) })
			again = again || len(needed) < len(s.Required)
			s.Required = needed
		}
	}
}
