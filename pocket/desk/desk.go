// Package desk answers: what does an office's screen ask the engine that no phone asks?
//
// It adds to the calls of a phone those that read whole lists and those that compute
// without a journal. They stand apart since a phone should not have to load them: they
// are in a second program, which a browser fetches when it opens such a screen.
package desk

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"sapwell/actions"
	"sapwell/calc"
	"sapwell/engine/why"
	"sapwell/pocket"
	"sapwell/treelist"
)

// New makes a Pocket for an office's screen. It does all deeds.
func New() *pocket.Pocket {
	return pocket.With(actions.Deeds(), pocket.Calls{"trees": pocket.On(trees), "calc": pocket.On(compute)})
}

type calcInput struct {
	Name  string          `json:"name"`
	Input json.RawMessage `json:"input"`
}

// compute answers what the command line answers as sapwell calc.
func compute(_ *pocket.Pocket, in calcInput) (json.RawMessage, error) {
	if !calc.Has(in.Name) {
		return nil, &actions.Refusal{
			Code: "pocket.no_calc", Field: "name", Text: fmt.Sprintf("there is no computation %q", in.Name),
			Terms: []why.Term{why.T("name", in.Name)},
		}
	}
	out, err := calc.Run(in.Name, in.Input)
	if f, ok := errors.AsType[*calc.FieldError](err); ok {
		return nil, &actions.Refusal{Code: "calc.input", Field: f.Path, Text: err.Error()}
	}
	return out, err
}

// How much of what is wrong with a list is told, and how much of it is shown.
const (
	mostFaults = 200
	mostShown  = 12
	usualBatch = 250
)

type treesInput struct {
	CSV          string   `json:"csv"`
	DecimalComma bool     `json:"decimal_comma,omitempty"`
	Headings     []string `json:"headings,omitempty"` // read under these names instead of its own
	Batches      bool     `json:"batches,omitempty"`  // hand the list out in parts, to be imported one by one
}

type treeShown struct {
	Line    int    `json:"line"`
	Tag     string `json:"tag"`
	Species string `json:"species"`
	Stems   int    `json:"stems"`
	Girth   int64  `json:"girth_nm"` // of the first stem
	Where   string `json:"where,omitempty"`
}

type speciesCount struct {
	Name  string `json:"name"`
	Trees int    `json:"trees"`
}

type treesChecked struct {
	Columns  []treelist.Column  `json:"columns"`
	Headings []treelist.Heading `json:"headings"`
	Trees    int                `json:"trees"`
	Stems    int                `json:"stems"`
	Shown    []treeShown        `json:"shown"` // the first
	Species  []speciesCount     `json:"species"`
	Tags     []string           `json:"tags"`
	Faults   []pocket.Fault     `json:"faults"` // the first
	All      int                `json:"all"`    // how many faults there are
	Batches  []string           `json:"batches,omitempty"`
}

// trees reads a list of trees and writes nothing: what it names, and all that is
// wrong with it.
func trees(p *pocket.Pocket, in treesInput) (treesChecked, error) {
	out := treesChecked{Columns: treelist.Columns(), Shown: []treeShown{}, Species: []speciesCount{}, Tags: []string{}, Faults: []pocket.Fault{}}
	text := in.CSV
	if len(in.Headings) > 0 {
		text = treelist.Renamed(text, in.Headings)
	}
	out.Headings = append([]treelist.Heading{}, treelist.Headings(text)...)
	species, begins := map[string]int{}, []int{}
	for row, err := range treelist.ReadCSV("csv", strings.NewReader(text), treelist.Options{DecimalComma: in.DecimalComma}) {
		if err != nil {
			out.fault(p, err)
			continue
		}
		out.show(row)
		species[row.Tree.Species.Scientific]++
		begins = append(begins, row.Line)
	}
	for _, name := range slices.Sorted(maps.Keys(species)) {
		out.Species = append(out.Species, speciesCount{name, species[name]})
	}
	slices.SortStableFunc(out.Species, func(a, b speciesCount) int { return cmp.Compare(b.Trees, a.Trees) })
	if in.Batches && out.All == 0 {
		out.Batches = batches(treelist.Lines(text), begins)
	}
	return out, nil
}

func (out *treesChecked) show(row treelist.Row) {
	out.Trees++
	out.Stems += len(row.Tree.Stems)
	out.Tags = append(out.Tags, row.Tree.Tag)
	if len(out.Shown) < mostShown {
		t := treeShown{Line: row.Line, Tag: row.Tree.Tag, Species: row.Tree.Species.Scientific, Stems: len(row.Tree.Stems), Where: row.Site}
		if t.Stems > 0 {
			t.Girth = int64(row.Tree.Stems[0].Ring.Girth.Around)
		}
		out.Shown = append(out.Shown, t)
	}
}

// fault says one thing that is wrong.
func (out *treesChecked) fault(p *pocket.Pocket, err error) {
	f, known := errors.AsType[*treelist.Fault](err)
	if known && f.Code == "unknown_column" { // told beside the heading; nothing is lost but what nobody asked for
		return
	}
	out.All++
	if len(out.Faults) == mostFaults {
		return
	}
	if !known {
		out.Faults = append(out.Faults, pocket.Fault{Severity: string(why.Block), Text: err.Error()})
		return
	}
	out.Faults = append(out.Faults, pocket.Fault{
		Line: f.Line, Column: f.Column, Value: f.Value, Severity: string(why.Block), Text: p.Printer().Say("fault.trees."+f.Code, f.Terms...),
	})
}

// batches cuts a list between trees: each part has what stands above the first tree,
// and some of them. Trees begin at these lines, counted from 1.
func batches(lines []string, begins []int) (parts []string) {
	if len(begins) == 0 {
		return nil
	}
	head := lines[:begins[0]-1]
	for i := 0; i < len(begins); i += usualBatch {
		to := len(lines)
		if i+usualBatch < len(begins) {
			to = begins[i+usualBatch] - 1
		}
		parts = append(parts, strings.Join(append(slices.Clone(head), lines[begins[i]-1:to]...), "\n"))
	}
	return parts
}
