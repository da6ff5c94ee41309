package entries

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"reflect"
	"slices"
	"strings"

	"sapwell/journal"
)

// codec reads and writes values of one Go type. The struct tags say what stands
// on the wire, as encoding/json has them. There is one way to write a value and
// no other is read: members sorted, those that may be absent absent where they
// are empty, no null.
type codec interface {
	read(s *scanner, v reflect.Value) error
	write(out []byte, v reflect.Value) ([]byte, error)
}

// codecOf works out the codec of a type. A type that no entry may hold, such as
// a float, panics when the program starts.
func codecOf(t reflect.Type) codec {
	switch t {
	case reflect.TypeFor[journal.ID]():
		return textCodec{idText}
	case reflect.TypeFor[journal.Hash]():
		return textCodec{hashText}
	case reflect.TypeFor[Date]():
		return dateCodec{}
	case reflect.TypeFor[json.RawMessage]():
		return rawCodec{}
	}
	switch t.Kind() {
	case reflect.String:
		return stringCodec{}
	case reflect.Int, reflect.Int64:
		return intCodec{}
	case reflect.Bool:
		return boolCodec{}
	case reflect.Pointer:
		return pointerCodec{codecOf(t.Elem())}
	case reflect.Slice:
		return listCodec{codecOf(t.Elem())}
	case reflect.Struct:
		return structCodec{membersOf(t)}
	}
	panic("entries: no way to write a " + t.String())
}

// member is one member of an object.
type member struct {
	name     string
	opening  string // "name":
	index    []int
	optional bool // absent where it is zero
	codec    codec
}

// membersOf lists them in the order of the wire; those of Head stand among them.
func membersOf(t reflect.Type) []member {
	var all []member
	for _, f := range reflect.VisibleFields(t) {
		if f.Anonymous {
			continue
		}
		name, options, _ := strings.Cut(f.Tag.Get("json"), ",")
		all = append(all, member{name, `"` + name + `":`, f.Index, options != "", codecOf(f.Type)})
	}
	slices.SortFunc(all, func(a, b member) int { return cmp.Compare(a.name, b.name) })
	return all
}

type structCodec struct{ members []member }

func (c structCodec) read(s *scanner, v reflect.Value) error {
	if err := s.literal("{", "an object"); err != nil {
		return err
	}
	next := 0
	for first := true; !s.try("}"); first = false {
		if !first {
			if err := s.literal(",", "a comma or the end of the object"); err != nil {
				return err
			}
		}
		key, err := s.key()
		if err != nil {
			return err
		}
		from := next
		for next < len(c.members) && c.members[next].name < string(key) {
			next++
		}
		if next == len(c.members) || c.members[next].name != string(key) {
			return fault(string(key), "no such member, want only %s", c.names())
		}
		if err := missing(c.members[from:next]); err != nil {
			return err
		}
		if err := c.members[next].read(s, v); err != nil {
			return within(c.members[next].name, err)
		}
		next++
	}
	return missing(c.members[next:])
}

func (m member) read(s *scanner, v reflect.Value) error {
	field := v.FieldByIndex(m.index)
	before := s.rest
	if err := m.codec.read(s, field); err != nil {
		return err
	}
	if m.optional && empty(field) {
		return fault("", "%.40s, want it left out instead", before[:len(before)-len(s.rest)])
	}
	return nil
}

// missing reports the first of the members passed over that must be there.
func missing(passed []member) error {
	for _, m := range passed {
		if !m.optional {
			return fault(m.name, "missing")
		}
	}
	return nil
}

func (c structCodec) names() string {
	var names []string
	for _, m := range c.members {
		names = append(names, m.name)
	}
	return strings.Join(names, ", ")
}

func (c structCodec) write(out []byte, v reflect.Value) ([]byte, error) {
	opening := byte('{')
	for _, m := range c.members {
		field := v.FieldByIndex(m.index)
		if m.optional && empty(field) {
			continue
		}
		out = append(append(out, opening), m.opening...)
		opening = ','
		var err error
		if out, err = m.codec.write(out, field); err != nil {
			return nil, within(m.name, err)
		}
	}
	if opening == '{' {
		out = append(out, opening)
	}
	return append(out, '}'), nil
}

// empty is what is left out: a list without items as well as none.
func empty(v reflect.Value) bool {
	return v.IsZero() || v.Kind() == reflect.Slice && v.Len() == 0
}

type pointerCodec struct{ to codec }

func (c pointerCodec) read(s *scanner, v reflect.Value) error {
	v.Set(reflect.New(v.Type().Elem()))
	return c.to.read(s, v.Elem())
}

func (c pointerCodec) write(out []byte, v reflect.Value) ([]byte, error) {
	return c.to.write(out, v.Elem())
}

type listCodec struct{ of codec }

func (c listCodec) read(s *scanner, v reflect.Value) error {
	if err := s.literal("[", "a list"); err != nil {
		return err
	}
	for i := 0; !s.try("]"); i++ {
		if i > 0 {
			if err := s.literal(",", "a comma or the end of the list"); err != nil {
				return err
			}
		}
		v.Grow(1)
		v.SetLen(i + 1)
		if err := c.of.read(s, v.Index(i)); err != nil {
			return within(fmt.Sprintf("[%d]", i), err)
		}
	}
	return nil
}

func (c listCodec) write(out []byte, v reflect.Value) ([]byte, error) {
	out = append(out, '[')
	for i := range v.Len() {
		if i > 0 {
			out = append(out, ',')
		}
		var err error
		if out, err = c.of.write(out, v.Index(i)); err != nil {
			return nil, within(fmt.Sprintf("[%d]", i), err)
		}
	}
	return append(out, ']'), nil
}

// rawCodec keeps a value as it stands.
type rawCodec struct{}

func (rawCodec) read(s *scanner, v reflect.Value) error {
	raw, err := s.object()
	if err != nil {
		return err
	}
	canonical, err := journal.Canonical(raw)
	if err != nil || !bytes.Equal(canonical, raw) {
		return errNotCanonical
	}
	v.SetBytes(canonical)
	return nil
}

func (rawCodec) write(out []byte, v reflect.Value) ([]byte, error) {
	canonical, err := journal.Canonical(v.Bytes())
	if err != nil {
		return nil, fault("", "%v", err)
	}
	return append(out, canonical...), nil
}
