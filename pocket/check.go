package pocket

import (
	"encoding/hex"
	"errors"
	"strings"

	"sapwell/engine/label"
	"sapwell/engine/why"
	"sapwell/journal"
	"sapwell/labelfile"
)

// Fault is what is wrong with a label file or a list, with its place.
type Fault struct {
	Line     int    `json:"line"`
	Column   string `json:"column,omitempty"`
	Value    string `json:"value,omitempty"`
	Severity string `json:"severity"`
	Text     string `json:"text"`
	Remedy   string `json:"remedy,omitempty"`
}

type labelInput struct {
	File string `json:"file"`
}

type labelChecked struct {
	Label  label.Label `json:"label"` // as far as it could be read
	Faults []Fault     `json:"faults"`
	Sound  bool        `json:"sound"` // it can be kept
}

// label reads a label file and writes nothing.
func (p *Pocket) label(in labelInput) (labelChecked, error) {
	l, faults := labelfile.Read("file", strings.NewReader(in.File))
	out := labelChecked{Label: l, Faults: []Fault{}, Sound: true}
	for _, f := range faults {
		sentence, remedy := p.say.Finding(f.Finding)
		out.Faults = append(out.Faults, Fault{f.Line, "", f.Place, string(f.Severity), sentence, remedy})
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
