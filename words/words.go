// Package words answers: how is this said to a person?
//
// Keys and terms in, sentences out. The catalogue lies in words/<language>/*.json,
// one file an area; every language has every key (a test proves it).
package words

import (
	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// Printer says things in one language and in one person's units.
type Printer struct {
	Lang  string
	Style quantity.Style
}

// New makes a Printer, or an error that lists the languages there are.
func New(lang string, style quantity.Style) (*Printer, error) { panic("contract") }

// Say returns the message key with its blanks filled from terms. A key that is
// not in the catalogue comes back in ⟨angle brackets⟩: a test finds those.
func (p *Printer) Say(key string, terms ...why.Term) string { panic("contract") }

// Value prints one value of a Term in the person's units, with as many digits
// as it deserves.
func (p *Printer) Value(v any) string { panic("contract") }

// Finding returns the sentence and the remedy of a finding.
func (p *Printer) Finding(f why.Finding) (sentence, remedy string) { panic("contract") }

// Reason prints a reason and the reasons below it, one line each, indented two
// spaces a level: result, rule, inputs, rounding, source.
func (p *Printer) Reason(r why.Reason) []string { panic("contract") }
