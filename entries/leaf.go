package entries

import (
	"encoding"
	"encoding/json"
	"reflect"
	"strconv"

	"sapwell/engine/quantity"
	"sapwell/journal"
)

const maxWhole = 1<<53 - 1 // greatest number, as doc/journal-format.md has it

type stringCodec struct{}

func (stringCodec) read(s *scanner, v reflect.Value) error {
	text, err := s.text()
	v.SetString(text)
	return err
}

func (stringCodec) write(out []byte, v reflect.Value) ([]byte, error) {
	return appendText(out, v.String())
}

// appendText writes a string in canonical form.
func appendText(out []byte, text string) ([]byte, error) {
	if plain(text) == len(text) {
		return append(append(append(out, '"'), text...), '"'), nil
	}
	quoted, err := json.Marshal(text)
	if err == nil {
		quoted, err = journal.Canonical(quoted)
	}
	return append(out, quoted...), err
}

type intCodec struct{}

func (intCodec) read(s *scanner, v reflect.Value) error {
	n, err := s.whole()
	v.SetInt(n)
	return err
}

func (intCodec) write(out []byte, v reflect.Value) ([]byte, error) {
	n := v.Int()
	if n < -maxWhole || n > maxWhole {
		return nil, fault("", "%d, want a whole number up to 2^53-1 either way", n)
	}
	return strconv.AppendInt(out, n, 10), nil
}

type boolCodec struct{}

func (boolCodec) read(s *scanner, v reflect.Value) error {
	v.SetBool(s.try("true"))
	if v.Bool() || s.try("false") {
		return nil
	}
	return s.wanted("true or false")
}

func (boolCodec) write(out []byte, v reflect.Value) ([]byte, error) {
	return strconv.AppendBool(out, v.Bool()), nil
}

type dateCodec struct{}

func (dateCodec) read(s *scanner, v reflect.Value) error {
	text, err := s.text()
	if err != nil {
		return err
	}
	day, err := quantity.ParseDate(text)
	if err != nil {
		return fault("", "%v", err)
	}
	*v.Addr().Interface().(*Date) = day
	return nil
}

func (dateCodec) write(out []byte, v reflect.Value) ([]byte, error) {
	return appendText(out, v.Interface().(Date).String())
}

// textValue is a value that stands on the wire as text.
type textValue interface {
	encoding.TextMarshaler
	encoding.TextUnmarshaler
}

// textCodec is for ids and hashes.
type textCodec struct {
	of func(reflect.Value) textValue
}

func idText(v reflect.Value) textValue   { return v.Addr().Interface().(*journal.ID) }
func hashText(v reflect.Value) textValue { return v.Addr().Interface().(*journal.Hash) }

func (c textCodec) read(s *scanner, v reflect.Value) error {
	text, err := s.plainText()
	if err != nil {
		return err
	}
	if err := c.of(v).UnmarshalText(text); err != nil {
		return fault("", "%v", err)
	}
	return nil
}

func (c textCodec) write(out []byte, v reflect.Value) ([]byte, error) {
	text, err := c.of(v).MarshalText()
	return append(append(append(out, '"'), text...), '"'), err
}
