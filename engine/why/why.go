// Package why answers: how did this number come to be?
//
// A Reason is data, never a sentence: words turns it into text, documents print
// it, entries keep it. A Finding is what a check has to say about a job. Both
// name their source by key; the keys' full titles stand in sources.go, the one
// list of published sources.
package why

// Term is one named value. Name is a key of the nomenclature (doc/nomenclature.md),
// for example "girth". Value is one of: a quantity type, int, float64, bool,
// string, or nil for "not known".
type Term struct {
	Name  string `json:"name"`
	Value any    `json:"value"`
}

// T makes a Term.
func T(name string, value any) Term { return Term{name, value} }

// Reason is how one result was reached.
type Reason struct {
	Rule     string   `json:"rule"`               // key in words, e.g. "dose.spacing"
	Result   Term     `json:"result"`             // what came out
	Inputs   []Term   `json:"inputs,omitempty"`   // what went in
	Source   Source   `json:"source"`             // who says the rule holds
	Rounding string   `json:"rounding,omitempty"` // "up", "down", "nearest"; empty: none
	Low      any      `json:"low,omitempty"`      // where the science gives a range
	High     any      `json:"high,omitempty"`
	Because  []Reason `json:"because,omitempty"` // reasons of the inputs
}

// Severity is what a finding asks of the person.
type Severity string

// A block stops the plan; a warning does not; a question wants a fact that is
// missing; a note only informs.
const (
	Block Severity = "block"
	Warn  Severity = "warn"
	Ask   Severity = "ask"
	Note  Severity = "note"
)

// Finding is what a rule has to say. The sentence and the remedy are looked up
// in words under "finding.<Code>" and "remedy.<Code>", with Terms as the blanks.
type Finding struct {
	Code     string   `json:"code"` // e.g. "dose.over_max_per_application"
	Severity Severity `json:"severity"`
	Place    string   `json:"place,omitempty"` // field or part of the tree, e.g. "rate.classes[1].from"
	Terms    []Term   `json:"terms,omitempty"`
	Source   Source   `json:"source"`
}

// Blocks reports whether any of the findings stops the plan.
func Blocks(fs []Finding) bool {
	for _, f := range fs {
		if f.Severity == Block {
			return true
		}
	}
	return false
}
