package pocket

import (
	"cmp"
	"encoding/hex"
	"errors"
	"maps"
	"slices"
	"strings"

	"sapwell/engine/label"
	"sapwell/engine/why"
	"sapwell/journal"
	"sapwell/labelfile"
	"sapwell/treelist"
)

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

// faultSaid is a fault of a list or of a label file, with its place.
type faultSaid struct {
	Line     int    `json:"line"`
	Column   string `json:"column,omitempty"`
	Value    string `json:"value,omitempty"`
	Severity string `json:"severity"`
	Text     string `json:"text"`
	Remedy   string `json:"remedy,omitempty"`
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
	Faults   []faultSaid        `json:"faults"` // the first
	All      int                `json:"all"`    // how many faults there are
	Batches  []string           `json:"batches,omitempty"`
}

// trees reads a list of trees and writes nothing: what it names, and all that is
// wrong with it.
func (p *Pocket) trees(in treesInput) (treesChecked, error) {
	out := treesChecked{Columns: treelist.Columns(), Shown: []treeShown{}, Species: []speciesCount{}, Tags: []string{}, Faults: []faultSaid{}}
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
func (out *treesChecked) fault(p *Pocket, err error) {
	f, known := errors.AsType[*treelist.Fault](err)
	if known && f.Code == "unknown_column" { // told beside the heading; nothing is lost but what nobody asked for
		return
	}
	out.All++
	if len(out.Faults) == mostFaults {
		return
	}
	if !known {
		out.Faults = append(out.Faults, faultSaid{Severity: string(why.Block), Text: err.Error()})
		return
	}
	out.Faults = append(out.Faults, faultSaid{
		Line: f.Line, Column: f.Column, Value: f.Value, Severity: string(why.Block), Text: p.say.Say("fault.trees."+f.Code, f.Terms...),
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

type labelInput struct {
	File string `json:"file"`
}

type labelChecked struct {
	Label  label.Label `json:"label"` // as far as it could be read
	Faults []faultSaid `json:"faults"`
	Sound  bool        `json:"sound"` // it can be kept
}

// label reads a label file and writes nothing.
func (p *Pocket) label(in labelInput) (labelChecked, error) {
	l, faults := labelfile.Read("file", strings.NewReader(in.File))
	out := labelChecked{Label: l, Faults: []faultSaid{}, Sound: true}
	for _, f := range faults {
		sentence, remedy := p.say.Finding(f.Finding)
		out.Faults = append(out.Faults, faultSaid{f.Line, "", f.Place, string(f.Severity), sentence, remedy})
		out.Sound = out.Sound && f.Severity != why.Block
	}
	return out, nil
}

type proofInput struct {
	Line      string         `json:"line"`
	Receipt   string         `json:"receipt"`
	Head      string         `json:"head"`
	Inclusion []journal.Hash `json:"inclusion"`
}

// proofStep is one thing that was looked at.
type proofStep struct {
	What string       `json:"what"` // entry, receipt, path, head
	Hash journal.Hash `json:"hash"`
	Why  string       `json:"why,omitempty"` // it does not hold; empty: it does
}

type proven struct {
	Steps []proofStep `json:"steps"`
	Holds bool        `json:"holds"`
	Size  int64       `json:"size"` // of the log under the head
	N     int64       `json:"n"`    // of the receipt
	At    int64       `json:"at"`   // when the office got the entry
	Key   string      `json:"key"`  // the office's, hex
}

// proof follows an entry through its receipt to the signed head, step by step: it
// trusts nothing that it was told.
func (p *Pocket) proof(in proofInput) (out proven, err error) {
	out.Holds = true
	step := func(what string, hash journal.Hash, err error) {
		s := proofStep{What: what, Hash: hash}
		if err != nil {
			s.Why, out.Holds = err.Error(), false
		}
		out.Steps = append(out.Steps, s)
	}
	entry, err := journal.ReadEntry([]byte(in.Line))
	step("entry", entry.Hash(), err)
	receipt, err := journal.ReadReceipt([]byte(in.Receipt))
	if err == nil && receipt.Entry != entry.Hash() {
		err = errors.New("the receipt is for another entry")
	}
	leaf := journal.HashLine([]byte(in.Receipt))
	step("receipt", leaf, err)
	head, err := journal.ReadTreeHead([]byte(in.Head))
	headErr := err
	if err == nil {
		err = journal.VerifyInclusion(head.Root, head.Size, receipt.N, leaf, in.Inclusion)
	}
	step("path", head.Root, err)
	step("head", journal.HashLine([]byte(in.Head)), headErr)
	out.Size, out.N, out.At, out.Key = head.Size, receipt.N, receipt.Time, hex.EncodeToString(head.Key)
	return out, nil
}
