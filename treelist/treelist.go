// Package treelist answers: which trees does this list name, and which of its
// rows cannot be used?
//
// A list is a table with a heading, or a JSON array of objects with the same
// keys; doc/tree-list.md describes both. Numbers bear their unit, in the cell or
// in the heading: nothing is guessed. Whatever cannot be read is a *Fault that
// says where it stands and what would be accepted; the trees around it are
// still delivered. Lists of lots (lots.go) are read here too, for they come out
// of the same spreadsheets with the same faults.
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

// Options are what the list itself does not say.
type Options struct {
	Defaults     verdict.Circumstances // facts of every tree of which the list says nothing else
	DecimalComma bool                  // numbers have one; a ";" between cells says so too
}

// ReadCSV reads a list, tree by tree, without holding it in memory. A *Fault in
// the place of the error spoils its tree and no other; a tree has as many as
// there are things wrong with it. Another error is one of reading r and ends
// the list.
func ReadCSV(name string, r io.Reader, o Options) iter.Seq2[Row, error] {
	return func(yield func(Row, error) bool) {
		b := newBuilder(name, o, yield)
		t, err := openTable(name, r, treeHeadings)
		if err != nil {
			b.out(Row{}, err)
			return
		}
		for _, f := range t.opening {
			if !b.out(Row{}, f) {
				return
			}
		}
		b.scale.comma = b.scale.comma || t.comma
		if b.rows(t) {
			b.close()
		}
	}
}

// rows takes the rows of a table until its end, or the caller's.
func (b *builder) rows(t *table) bool {
	var r row
	for t.usable {
		rec, err := t.next()
		if err == io.EOF {
			return true
		}
		if err != nil {
			return b.close() && b.out(Row{}, err)
		}
		if rec.fault != nil {
			tag, known := rec.cell(t.at[cTag])
			if !b.torn(rec.fault, tag, known) {
				return false
			}
			continue
		}
		r.line = rec.line
		for i := range r.cells {
			r.cells[i] = t.cell(rec, column(i))
		}
		if !b.add(&r) {
			return false
		}
	}
	return false
}
