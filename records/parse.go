package records

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
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
	if !json.Valid(raw) {
		return nil, notJSON(raw)
	}
	rd := reader{text: string(raw)} // what is kept of it is cut out, not copied
	return rd.value(0)
}

// notJSON says where it stops being JSON.
func notJSON(raw []byte) error {
	var whole json.RawMessage
	err := json.Unmarshal(raw, &whole)
	if at, ok := errors.AsType[*json.SyntaxError](err); ok {
		before := raw[:at.Offset]
		return fmt.Errorf("line %d, byte %d of it: not JSON: %w", 1+bytes.Count(before, []byte("\n")), len(before)-1-bytes.LastIndexByte(before, '\n'), err)
	}
	return fmt.Errorf("not JSON: %w", err)
}

// reader walks through a text that is known to be JSON: so it need not look at what
// no sound text can have. encoding/json would take four times as long to tell a name
// that stands there twice.
type reader struct {
	text string
	at   int
}

// skip passes over spaces and one mark, such as a colon or a comma, if it is there.
func (r *reader) skip(mark byte) {
	r.spaces()
	if r.at < len(r.text) && r.text[r.at] == mark {
		r.at++
	}
	r.spaces()
}

func (r *reader) spaces() {
	for r.at < len(r.text) && (r.text[r.at] == ' ' || r.text[r.at] == '\n' || r.text[r.at] == '\t' || r.text[r.at] == '\r') {
		r.at++
	}
}

// value reads what stands there next.
func (r *reader) value(depth int) (any, error) {
	if depth > deepest {
		return nil, fmt.Errorf("byte %d: nested deeper than %d", r.at, deepest)
	}
	r.spaces()
	switch r.text[r.at] {
	case '{':
		return r.object(depth)
	case '[':
		return r.list(depth)
	case '"':
		return r.words()
	}
	switch word := r.word(); word {
	case "null":
		return nil, nil
	case "true", "false":
		return word == "true", nil
	default:
		return json.Number(word), nil
	}
}

func (r *reader) object(depth int) (any, error) {
	members := map[string]any{}
	for r.skip('{'); r.text[r.at] != '}'; r.skip(',') {
		from := r.at
		name, err := r.words()
		if err != nil {
			return nil, err
		}
		if _, twice := members[name]; twice {
			return nil, fmt.Errorf("byte %d: %.80q stands twice in one object; want it once", from, name)
		}
		r.skip(':')
		if members[name], err = r.value(depth + 1); err != nil {
			return nil, err
		}
	}
	r.at++
	return members, nil
}

func (r *reader) list(depth int) (any, error) {
	items := []any{}
	for r.skip('['); r.text[r.at] != ']'; r.skip(',') {
		item, err := r.value(depth + 1)
		if err != nil {
			return nil, err
		}
		items = append(items, item)
	}
	r.at++
	return items, nil
}

// words reads a text in quotes.
func (r *reader) words() (string, error) {
	from, escaped := r.at, false
	for r.at++; r.text[r.at] != '"'; r.at++ {
		if r.text[r.at] == '\\' {
			escaped = true
			r.at++
		}
	}
	r.at++
	if !escaped {
		return r.text[from+1 : r.at-1], nil
	}
	var s string
	err := json.Unmarshal([]byte(r.text[from:r.at]), &s)
	return s, err
}

// word reads a number or one of the three names.
func (r *reader) word() string {
	from := r.at
	for r.at < len(r.text) {
		switch c := r.text[r.at]; {
		case c == '+' || c == '-' || c == '.' || '0' <= c && c <= '9' || 'a' <= c && c <= 'z' || c == 'E':
			r.at++
		default:
			return r.text[from:r.at]
		}
	}
	return r.text[from:]
}
