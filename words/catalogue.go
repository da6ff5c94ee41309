package words

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io/fs"
	"reflect"
	"strings"
)

// message is a text with blanks, or two of them for one and for other numbers.
type message struct {
	By    string `json:"by"` // the term that holds the count; "": not counted
	One   string `json:"one"`
	Other string `json:"other"`
}

// UnmarshalJSON reads either form and nothing else.
func (m *message) UnmarshalJSON(b []byte) error {
	if bytes.HasPrefix(b, []byte(`"`)) {
		return json.Unmarshal(b, &m.Other)
	}
	type plain message
	d := json.NewDecoder(bytes.NewReader(b))
	d.DisallowUnknownFields()
	if err := d.Decode((*plain)(m)); err != nil {
		return err
	}
	if m.By == "" || m.One == "" || m.Other == "" {
		return fmt.Errorf(`%s: want a text or {"by": ..., "one": ..., "other": ...}`, b)
	}
	return nil
}

// load reads the messages of one language, <language>/<area>.json, by key. That
// every language has the same keys, and each of them once, is for the tests to
// say.
func load(from fs.FS, lang string) (map[string]message, error) {
	names, err := fs.Glob(from, lang+"/*.json")
	if err != nil {
		return nil, err
	}
	all := map[string]message{}
	for _, name := range names {
		area, err := read(from, name)
		if err != nil {
			return nil, fmt.Errorf("words/%s: %w", name, err)
		}
		for key, m := range area {
			all[key] = m
		}
	}
	return all, nil
}

func read(from fs.FS, name string) (map[string]message, error) {
	b, err := fs.ReadFile(from, name)
	if err != nil {
		return nil, err
	}
	var area map[string]message
	return area, json.Unmarshal(b, &area)
}

// fill writes the values of the blanks into the text; value gives a term's
// value by name and print turns it into words.
func (m message) fill(value func(string) any, print func(any) string) string {
	text := m.Other
	if m.By != "" && isOne(value(m.By)) {
		text = m.One
	}
	var b strings.Builder
	for {
		before, after, found := strings.Cut(text, "{")
		b.WriteString(before)
		name, rest, closed := strings.Cut(after, "}")
		if !found || !closed {
			return b.String()
		}
		b.WriteString(print(value(name)))
		text = rest
	}
}

// isOne is the plural rule of English and Spanish for the numbers that occur
// here: whole counts.
func isOne(v any) bool {
	r := reflect.ValueOf(v)
	switch {
	case r.CanInt():
		return r.Int() == 1
	case r.CanFloat():
		return r.Float() == 1
	}
	return false
}
