// Package dose answers: how many units, and how much in each?
//
// It applies the one rule the label states to the one measure the label names.
// It never guesses a rounding, never converts a girth from one height to
// another, and never offers more than a ceiling allows: it then says what was
// needed, what the ceiling is, and blocks.
//
// Everything compared is a whole number: nanometres of girth or of diameter,
// nanolitres of liquid. Never is a fraction of a unit rounded twice.
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
	// Size is the unit size chosen where the rule counts units and the label
	// sells several sizes; 0 where there is only one.
	Size quantity.Volume `json:",omitempty"`
	// Tape is the doubt of the girth reading; 0 tries ½ in (12.7 mm).
	Tape quantity.Length `json:",omitempty"`
}

// Result is the dose of one stem. When Findings block, Units and Total tell
// what the rule asks for, not what may be done; when the rule gives no number
// (rounding unspecified, table gap, no girth at the height) Units is 0.
type Result struct {
	Units    int             `json:"units"`
	Holes    int             `json:"holes"`    // one unit a hole unless the label says otherwise
	PerUnit  quantity.Volume `json:"per_unit"` // fill of each unit; 0 when sizes are mixed
	Fills    []Fill          `json:"fills"`    // the units by size, largest first
	Total    quantity.Volume `json:"total"`    // the sum of Fills
	Stated   quantity.Volume `json:"stated"`   // what the label states before whole units; 0: the rule counts units
	Active   []Active        `json:"active"`
	Nearness Nearness        `json:"nearness"`
	Findings []why.Finding   `json:"findings"`
	Why      why.Reason      `json:"why,omitzero"`
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
	UnitsLow  int             `json:"units_low"`  // count at reading − Tape; 0: no dose there
	UnitsHigh int             `json:"units_high"` // count at reading + Tape; 0: no dose there
	// ToFewer and ToMore are the least changes of girth at which the dose
	// changes, or leaves the table; 0: there is none within reach.
	ToFewer quantity.Length `json:"to_fewer"`
	ToMore  quantity.Length `json:"to_more"`
}

// Limits of this package's own.
const (
	// sameHeight is how far from the label's height a girth may have been
	// measured and still be the one the label means. It takes 30 cm for 1 ft
	// and 1.37 m for 4½ ft; it does not take 1.3 m for 4½ ft.
	sameHeight = 25 * quantity.Millimetre

	halfInch  = quantity.Inch / 2
	maxGirth  = 100 * quantity.Metre // beyond any tree: a slip of the pen
	maxUnits  = 10_000               // beyond any tree: a rule or a girth is wrong
	maxVolume = 1000 * quantity.Litre
)

// Compute applies the label's rule. It returns findings, never an error: every
// fault of the input has a code.
func Compute(in Input) Result {
	g, fs := measured(in.Label, in.Girths)
	if fs != nil {
		return refused(in.Label, nil, fs)
	}
	p := apply(in.Label, in.Size, g.Around)
	if p.units == 0 {
		return refused(in.Label, readingReason(in.Label, g), p.findings)
	}
	r := Result{
		Units: p.units, Holes: p.holes, Fills: p.fills, Total: p.total(), Stated: p.stated,
		Findings: p.findings,
	}
	if len(p.fills) == 1 {
		r.PerUnit = p.fills[0].Size
	}
	r.Active = actives(in.Label, r.Total, in.Girths)
	r.Findings = append(r.Findings, overCeiling(in.Label, r.Total)...)
	r.Nearness = nearness(in, g.Around)
	r.Why = totalReason(in.Label, p, readingReason(in.Label, g))
	return r
}

// refused is a result without a number.
func refused(l label.Label, because []why.Reason, fs []why.Finding) Result {
	return Result{Findings: fs, Why: why.Reason{
		Rule: "dose.refused", Result: why.T("units", nil), Inputs: ofLabel(l),
		Source: why.TheLabel, Because: because,
	}}
}

// overCeiling blocks a total above the label's most per tree and application.
// The numbers stay: they say what the rule asks for, not what may be done.
func overCeiling(l label.Label, total quantity.Volume) []why.Finding {
	most := l.Ceilings.PerApplication
	if most <= 0 || total <= most {
		return nil
	}
	return []why.Finding{block("dose.over_max_per_application", "ceilings.per_application",
		why.T("total", total), why.T("ceiling", most))}
}

// block makes a finding that stops the plan, on the label's authority.
func block(code, place string, terms ...why.Term) why.Finding {
	return why.Finding{Code: code, Severity: why.Block, Place: place, Terms: terms, Source: why.TheLabel}
}

// ofLabel names the label version a reason rests on.
func ofLabel(l label.Label) []why.Term {
	return []why.Term{why.T("label", l.ID), why.T("label_version", l.Version)}
}
