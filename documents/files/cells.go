package files

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strconv"

	"sapwell/records"
)

// toCells lays a record out in the cells of its columns.
func toCells(r records.Record, cs []column, cells []string) error {
	facts, err := readJSON(r.JSON())
	if err != nil {
		return fmt.Errorf("record %.60q: %w", r.Text("record.id"), err)
	}
	for i, c := range cs {
		cells[i] = ""
		if c.name != restColumn {
			cells[i] = take(facts, c.path(), c.sort)
		}
	}
	if len(facts) > 0 {
		cells[len(cs)-1], err = plainJSON(facts)
	}
	return err
}

func readJSON(b []byte) (facts map[string]any, err error) {
	d := json.NewDecoder(bytes.NewReader(b))
	d.UseNumber()
	err = d.Decode(&facts)
	return facts, err
}

// take moves a fact out of an object into a cell, and with it the objects that
// held nothing else. A fact that its column cannot give back stays.
func take(facts map[string]any, path []string, s sort) string {
	name := path[0]
	if len(path) == 1 {
		text, ok := cell(facts[name], s)
		if ok {
			delete(facts, name)
		}
		return text
	}
	inner, ok := facts[name].(map[string]any)
	if !ok {
		return ""
	}
	text := take(inner, path[1:], s)
	if text != "" && len(inner) == 0 {
		delete(facts, name)
	}
	return text
}

// cell is a fact as its column's sort writes it; ok is false where it is of
// another. An empty text is no cell: an empty cell is a fact that is absent.
func cell(fact any, s sort) (text string, ok bool) {
	switch v := fact.(type) {
	case string:
		if s == words {
			return Guard(v), v != ""
		}
	case json.Number:
		if s == figure {
			return v.String(), true
		}
	case bool:
		if s == truth {
			return strconv.FormatBool(v), true
		}
	case []any:
		if s == list {
			text, err := plainJSON(v)
			return text, err == nil
		}
	}
	return "", false
}

// fromCells puts a record together again.
func fromCells(cells []string, cs []column) (records.Record, error) {
	facts := map[string]any{}
	for i, c := range cs { // first, so that no column is written over
		if c.name == restColumn && cells[i] != "" {
			var err error
			if facts, err = readJSON([]byte(cells[i])); err != nil || facts == nil {
				return records.Record{}, fmt.Errorf("%s: %.60q: want a JSON object (%v)", restColumn, cells[i], err)
			}
		}
	}
	for i, c := range cs {
		if cells[i] == "" || c.name == restColumn {
			continue
		}
		fact, err := c.fact(cells[i])
		if err == nil {
			err = put(facts, c.path(), fact)
		}
		if err != nil {
			return records.Record{}, fmt.Errorf("%s: %w", c.name, err)
		}
	}
	text, err := plainJSON(facts)
	if err != nil {
		return records.Record{}, err
	}
	return records.Parse([]byte(text))
}

// fact reads a cell.
func (c column) fact(text string) (any, error) {
	if c.sort == words {
		return Unguard(text), nil
	}
	d := json.NewDecoder(bytes.NewReader([]byte(text)))
	d.UseNumber()
	var v any
	err := d.Decode(&v)
	if _, ok := cell(v, c.sort); err != nil || !ok || d.More() {
		want := map[sort]string{figure: "a number", truth: "true or false", list: "a JSON array"}[c.sort]
		return nil, fmt.Errorf("%.60q: want %s", text, want)
	}
	return v, nil
}

func put(facts map[string]any, path []string, fact any) error {
	name := path[0]
	if len(path) == 1 {
		if _, there := facts[name]; there {
			return fmt.Errorf("it stands in its own column and in %s: want one of them", restColumn)
		}
		facts[name] = fact
		return nil
	}
	inner, ok := facts[name].(map[string]any)
	if _, there := facts[name]; there && !ok {
		return fmt.Errorf("%s has another %q than an object", restColumn, name)
	}
	if inner == nil {
		inner = map[string]any{}
		facts[name] = inner
	}
	return put(inner, path[1:], fact)
}
