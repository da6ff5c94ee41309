// Package labelfile answers: how is a product label written down, and which
// line is at fault?
package labelfile

import (
	"io"

	"sapwell/engine/label"
	"sapwell/engine/why"
)

// Fault is a finding with its place in the file.
type Fault struct {
	File   string `json:"file"`
	Line   int    `json:"line"`
	Column int    `json:"column"`
	why.Finding
}

// Read reads one label. Any fault with severity block means the label plans
// nothing; all faults of the file are reported, not only the first.
func Read(name string, r io.Reader) (label.Label, []Fault) { panic("contract") }

// Schema returns the JSON Schema (2020-12) of a label file.
func Schema() []byte { panic("contract") }
