// Package records answers: what must the record of this work say, what is missing,
// what is late, and until when is it kept?
//
// What a law asks is data: one file a jurisdiction, with dated versions, each with
// its source and the day it was last looked at. The code knows how to read such a
// file and nothing of any place. What it finds is never more than: missing,
// malformed, late. It is not legal advice, and whoever prints it says so.
package records

import (
	"bytes"
	"encoding/json"
	"maps"
	"slices"
	"strconv"
	"strings"
)

// Field names a fact of a record by its dotted name, such as "client.name".
type Field string

// Record is what is known of the treatment of one tree with one product: facts by
// field. What nobody wrote down is absent. A Record is not changed once it is made.
type Record struct {
	facts      map[string]any // nested as in JSON; numbers are json.Number
	Amendments []Amendment    // what was corrected later, oldest first
}

// Amendment is a correction as it is printed: openly, beside what stood before.
type Amendment struct {
	Field  Field  `json:"field,omitempty"` // "" where it does not touch one field of the record
	By     string `json:"by"`
	At     string `json:"at"` // RFC 3339, with offset
	Why    string `json:"why"`
	Before string `json:"before,omitempty"`
	After  string `json:"after,omitempty"`
}

// JSON writes the record as Parse reads it, members in the order of their names.
func (r Record) JSON() []byte {
	whole := maps.Clone(r.facts)
	if whole == nil {
		whole = map[string]any{}
	}
	if len(r.Amendments) > 0 {
		whole[amendments] = r.Amendments
	}
	return plain(whole)
}

// plain is JSON as it is read by people and other programs: no HTML escapes.
func plain(v any) []byte {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return nil
	}
	return bytes.TrimRight(b.Bytes(), "\n")
}

// fact is what is known under a name: what stands there, or under another name that
// means the same; nil where nothing does.
func (r Record) fact(f Field) any {
	if v := r.written(f); !empty(v) {
		return v
	}
	for _, a := range all().also[f] {
		if v := a.find(r); v != nil {
			return v
		}
	}
	return nil
}

// written is what stands at a dotted name; nil where nothing does.
func (r Record) written(f Field) any {
	at, rest := r.facts, string(f)
	for {
		name, below, nested := strings.Cut(rest, ".")
		v := at[name]
		if !nested {
			return v
		}
		if at, nested = v.(map[string]any); !nested {
			return nil
		}
		rest = below
	}
}

// Has reports whether something that is not empty was written down.
func (r Record) Has(f Field) bool { return !empty(r.fact(f)) }

// assumed stands before the name of a fact that nobody told and that was taken for so,
// to be asked: "assumed.ctx.commercial".
const assumed = "assumed."

// empty: null, a text of nothing but spaces, a list or an object without members.
func empty(v any) bool {
	switch v := v.(type) {
	case nil:
		return true
	case string:
		return strings.TrimSpace(v) == ""
	case []any:
		return len(v) == 0
	case map[string]any:
		return len(v) == 0
	}
	return false
}

// Text is the fact as one line of text, numbers in plain decimal form, lists with
// ", " between; "" where it is absent.
func (r Record) Text(f Field) string { return line(r.fact(f)) }

func line(v any) string {
	switch v := v.(type) {
	case string:
		return strings.Join(strings.Fields(v), " ")
	case bool:
		return strconv.FormatBool(v)
	case json.Number:
		return decimal(v)
	case []any:
		return lines(v, ", ")
	case map[string]any:
		return lines(inOrder(v), " ")
	}
	return ""
}

func lines(list []any, between string) string {
	var texts []string
	for _, v := range list {
		if t := line(v); t != "" {
			texts = append(texts, t)
		}
	}
	return strings.Join(texts, between)
}

// inOrder lists what an object holds as a person would say it: what it is called or
// how much it is first, then its unit, then the rest by name.
func inOrder(object map[string]any) []any {
	var list []any
	first := []string{"name", "value", "unit"}
	for _, name := range first {
		list = append(list, object[name])
	}
	for _, name := range slices.Sorted(maps.Keys(object)) {
		if !slices.Contains(first, name) {
			list = append(list, object[name])
		}
	}
	return list
}

// decimal writes a number without a power of ten.
func decimal(n json.Number) string {
	if !strings.ContainsAny(string(n), "eE") {
		return string(n)
	}
	f, err := n.Float64()
	if err != nil {
		return string(n)
	}
	return strconv.FormatFloat(f, 'f', -1, 64)
}

// Amount is a fact {value, unit}, unit in UCUM; ok is false where it is not one.
func (r Record) Amount(f Field) (value float64, unit string, ok bool) {
	object, _ := r.fact(f).(map[string]any)
	value, numeric := number(object["value"])
	unit, text := object["unit"].(string)
	return value, unit, numeric && text && unit != ""
}

// number is a JSON number that a float64 can hold.
func number(v any) (float64, bool) {
	n, ok := v.(json.Number)
	if !ok {
		return 0, false
	}
	f, err := n.Float64()
	return f, err == nil
}

// With is the record with one fact more or another; nil takes it away. A fact is a
// text, a number, a truth, or lists and objects of them; one that JSON cannot hold
// is as nil. What stood in the way (a text where f needs an object) gives way.
func (r Record) With(f Field, fact any) Record {
	r.facts = with(r.facts, string(f), known(fact))
	return r
}

// with copies only the objects on the way to the fact.
func with(object map[string]any, name string, fact any) map[string]any {
	object = maps.Clone(object)
	if object == nil {
		object = map[string]any{}
	}
	name, below, nested := strings.Cut(name, ".")
	if nested {
		inner, _ := object[name].(map[string]any)
		if fact = with(inner, below, fact); empty(fact) {
			fact = nil
		}
	}
	if fact == nil {
		delete(object, name)
	} else {
		object[name] = fact
	}
	return object
}

// known brings a Go value into the shape that reading JSON gives.
func known(fact any) any {
	switch v := fact.(type) {
	case nil, string, bool, json.Number:
		return v
	case int:
		return json.Number(strconv.Itoa(v))
	case int64:
		return json.Number(strconv.FormatInt(v, 10))
	}
	v, err := read(plain(fact))
	if err != nil {
		return nil
	}
	return v
}
