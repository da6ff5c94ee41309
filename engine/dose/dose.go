// Package dose answers: how many units, and how much in each?
//
// It applies the one rule the label states to the one measure the label names.
// It never guesses a rounding, never converts a girth from one height to
// another, and never offers more than a ceiling allows: it then says what was
// needed, what the ceiling is, and blocks.
package dose

import (
	"sapwell/engine/bole"
	"sapwell/engine/label"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// Input is a stem and the label to apply to it.
type Input struct {
	Label label.Label
	// Girths are all girths measured on the stem; the rule picks the one at the
	// label's height and refuses if there is none.
	Girths []bole.Girth
}

// Result is the dose of one stem. When Findings block, Units and Total tell
// what the rule asks for, not what may be done; when the rule gives no number
// (rounding unspecified, table gap, no girth at the height) Units is 0.
type Result struct {
	Units    int             `json:"units"`
	Holes    int             `json:"holes"`    // one unit a hole unless the label says otherwise
	PerUnit  quantity.Volume `json:"per_unit"` // fill of each unit
	Fills    []Fill          `json:"fills"`    // when sizes are mixed
	Total    quantity.Volume `json:"total"`
	Active   []Active        `json:"active"`
	Nearness Nearness        `json:"nearness"`
	Findings []why.Finding   `json:"findings"`
	Why      why.Reason      `json:"why"`
}

// Fill is so many units of one size.
type Fill struct {
	Size  quantity.Volume `json:"size"`
	Units int             `json:"units"`
}

// Active is the mass of one active ingredient.
type Active struct {
	Name  string        `json:"name"`
	Total quantity.Mass `json:"total"`
	// PerDBH is given only where the diameter was measured at breast height.
	PerDBH *quantity.MassPerLength `json:"per_dbh,omitempty"`
}

// Nearness tells how far the tape reading is from the next count.
type Nearness struct {
	Tape      quantity.Length `json:"tape"`       // the doubt of a tape reading that was tried (½ in, or 10 mm)
	UnitsLow  int             `json:"units_low"`  // count at reading − Tape
	UnitsHigh int             `json:"units_high"` // count at reading + Tape
	ToFewer   quantity.Length `json:"to_fewer"`   // how much less girth gives one fewer
	ToMore    quantity.Length `json:"to_more"`    // how much more girth gives one more
}

// Compute applies the label's rule. It returns findings, never an error: every
// fault of the input has a code.
func Compute(in Input) Result { panic("contract") }
