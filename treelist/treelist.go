// Package treelist answers: which trees does this list name, and which of its
// rows cannot be used?
package treelist

import (
	"io"
	"iter"

	"sapwell/engine/bole"
	"sapwell/engine/verdict"
)

// Row is one tree of the list.
type Row struct {
	Line  int                   `json:"line"` // of its first row
	Tree  bole.Tree             `json:"tree"`
	Facts verdict.Circumstances `json:"facts"`
	Site  string                `json:"site,omitempty"`
	Label string                `json:"label,omitempty"` // label ID asked for this tree; empty: the only one, or the caller's choice
	Note  string                `json:"note,omitempty"`
}

// Fault is one thing wrong with the list, with what would be accepted.
type Fault struct {
	File   string `json:"file"`
	Line   int    `json:"line"`
	Column string `json:"column"` // the column's name, or its number when it has none
	Value  string `json:"value"`
	Code   string `json:"code"` // words: "fault.trees.<code>"
	Want   string `json:"want"` // what would be accepted
}

func (f *Fault) Error() string { panic("contract") }

// ReadCSV reads a list, row by row, without holding it in memory; a *Fault in
// the place of the error spoils its tree and no other.
func ReadCSV(name string, r io.Reader) iter.Seq2[Row, error] { panic("contract") }

// ReadJSON reads the same as a JSON array of objects with the same keys.
func ReadJSON(name string, r io.Reader) iter.Seq2[Row, error] { panic("contract") }
