// Package labelfile answers: how is a product label written down, and which
// line is at fault?
//
// A label file is one YAML document whose keys are the json names of
// label.Label, with measures as people write them ("6 in", "40 g/L"). Reading is
// strict: an unknown key, a key given twice or a value without its unit is a
// fault, never a guess. doc/label-format.md describes the format for people,
// label.schema.json for programs.
package labelfile

import (
	"bytes"
	_ "embed"
	"io"
	"slices"
	"strings"

	"sapwell/engine/label"
	"sapwell/engine/place"
	"sapwell/engine/why"
)

// Format is the value of the key "format" in every file this package reads.
const Format = "sapwell-label-1"

// MaxSize is how much of a file is read; no label is near it.
const MaxSize = 1 << 20

//go:embed label.schema.json
var schema []byte

// Schema returns the JSON Schema (2020-12) of a label file.
func Schema() []byte { return bytes.Clone(schema) }

// Fault is a finding with its place in the file. Line and Column count from 1;
// both are 0 when the fault has no place (a file that is too large).
type Fault struct {
	File   string `json:"file"`
	Line   int    `json:"line"`
	Column int    `json:"column"`
	why.Finding
}

// Read reads one label. Any fault with severity block means the label plans
// nothing; all faults of the file are reported, not only the first. What could
// be read is returned even then, so that it can be shown.
func Read(name string, r io.Reader) (label.Label, []Fault) {
	d := &decoder{file: name, spots: map[string]spot{}}
	root := d.parse(r)
	if root == nil {
		return label.Label{}, d.faults
	}
	var doc document
	d.decode(root, &doc)
	doc.Label = inCodes(doc.Label)
	if !d.otherFormat {
		d.check(doc.Label)
	}
	slices.SortStableFunc(d.faults, func(a, b Fault) int {
		if a.Line != b.Line {
			return a.Line - b.Line
		}
		return a.Column - b.Column
	})
	return doc.Label, d.faults
}

// document is the label with the one key that is only in files.
type document struct {
	Format string `json:"format"`
	label.Label
}

// inCodes writes places as ISO 3166 has them: people write names as well. What is
// not known stays, and is a fault.
func inCodes(l label.Label) label.Label {
	l.Product.Country = place.Code(l.Product.Country)
	for _, states := range [][]string{l.Product.States, l.Class.StateRestricted} {
		for i, s := range states {
			if code, known := place.Region(l.Product.Country, s); known {
				states[i] = code
			}
		}
	}
	return l
}

// check adds what label.Check finds, except at and below places that already
// have a fault: what could not be read is not also missing.
func (d *decoder) check(l label.Label) {
	unread := map[string]bool{}
	for _, f := range d.faults {
		unread[f.Place] = true
	}
	for _, f := range label.Check(l) {
		if !holdsAny(unread, f.Place) {
			d.report(d.nearest(f.Place), f)
		}
	}
}

// holdsAny reports whether the place or one it lies in is among the places;
// everything lies in the whole file, "".
func holdsAny(places map[string]bool, place string) bool {
	for place != "" && !places[place] {
		place = outer(place)
	}
	return places[place]
}

// nearest returns the spot of the place, or of the closest part of the file
// that would hold it.
func (d *decoder) nearest(place string) spot {
	for place != "" {
		if s, ok := d.spots[place]; ok {
			return s
		}
		place = outer(place)
	}
	return d.spots[""]
}

// outer is the place one step up: "a[1]" of "a[1].b", "a" of "a[1]", "" of "a".
func outer(place string) string { return place[:max(strings.LastIndexAny(place, ".["), 0)] }
