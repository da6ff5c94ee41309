package records

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"unicode/utf8"
)

// amendments is the member under which a record's JSON holds its amendments.
const amendments = "amendments"

// deepest is how far objects and lists may be nested; no record comes near it.
const deepest = 32

// Parse reads a record as one JSON object with the dotted names nested. A name that
// an object holds twice is refused: which of the two facts counts is anyone's guess.
func Parse(raw []byte) (Record, error) {
	v, err := read(raw)
	if err != nil {
		return Record{}, err
	}
	facts, ok := v.(map[string]any)
	if !ok {
		return Record{}, errors.New("want a record: one JSON object, such as {\"date\":\"2026-05-12\"}")
	}
	r := Record{facts: facts}
	if listed, ok := facts[amendments]; ok {
		if err := json.Unmarshal(plain(listed), &r.Amendments); err != nil {
			return Record{}, fmt.Errorf("%s: want a list of {field, by, at, why, before, after}: %w", amendments, err)
		}
		delete(facts, amendments)
	}
	return r, nil
}

// read reads one JSON value, numbers as they are written.
func read(raw []byte) (any, error) {
	if !utf8.Valid(raw) {
		return nil, errors.New("want JSON in UTF-8")
	}
	dec := json.NewDecoder(bytes.NewReader(raw))
	dec.UseNumber()
	v, err := value(dec, "", 0)
	if err != nil {
		return nil, err
	}
	if _, err := dec.Token(); err != io.EOF {
		return nil, fmt.Errorf("byte %d: want nothing after the record", dec.InputOffset())
	}
	return v, nil
}

func value(dec *json.Decoder, path string, depth int) (any, error) {
	token, err := dec.Token()
	if err != nil {
		return nil, notJSON(dec, err)
	}
	if depth > deepest {
		return nil, fmt.Errorf("%s: nested deeper than %d", path, deepest)
	}
	switch token {
	case json.Delim('{'):
		return object(dec, path, depth)
	case json.Delim('['):
		return list(dec, path, depth)
	}
	return token, nil
}

func object(dec *json.Decoder, path string, depth int) (any, error) {
	members := map[string]any{}
	for dec.More() {
		key, err := dec.Token()
		if err != nil {
			return nil, notJSON(dec, err)
		}
		name := key.(string) // the decoder lets no other key pass
		at := name
		if path != "" {
			at = path + "." + name
		}
		if _, twice := members[name]; twice {
			return nil, fmt.Errorf("%s: stands there twice; want it once", at)
		}
		if members[name], err = value(dec, at, depth+1); err != nil {
			return nil, err
		}
	}
	if _, err := dec.Token(); err != nil {
		return nil, notJSON(dec, err)
	}
	return members, nil
}

func list(dec *json.Decoder, path string, depth int) (any, error) {
	items := []any{}
	for dec.More() {
		item, err := value(dec, path, depth+1)
		if err != nil {
			return nil, err
		}
		items = append(items, item)
	}
	if _, err := dec.Token(); err != nil {
		return nil, notJSON(dec, err)
	}
	return items, nil
}

func notJSON(dec *json.Decoder, err error) error {
	if err == io.EOF {
		err = io.ErrUnexpectedEOF
	}
	return fmt.Errorf("byte %d: not JSON: %w", dec.InputOffset(), err)
}
