// Package bore answers: how deep, at what angle, with which stop?
package bore

import (
	"sapwell/engine/bole"
	"sapwell/engine/host"
	"sapwell/engine/label"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// Input is one stem, its host, and the hole the label asks for.
type Input struct {
	Species host.Species
	Girth   bole.Girth // at the height of the holes
	Bark    []bole.BarkReading
	Hole    label.Hole
	Holes   int
	Step    quantity.Length // the stop is set in steps of this: 1/16 in or 1 mm
}

// Result is how to set the drill.
type Result struct {
	Bark       Range           `json:"bark"`          // radial thickness: low, likely, high
	Measured   bool            `json:"measured"`      // bark was probed, not modelled
	Stop       quantity.Length `json:"stop"`          // length of bit beyond the stop collar
	StopRange  Range           `json:"stop_range"`    // what the bark's spread would make of it
	Wood       Range           `json:"wood"`          // radial depth into wood that this stop gives
	WoodPath   quantity.Length `json:"wood_path"`     // length of the hole that lies in wood
	Rings      [2]float64      `json:"rings"`         // growth rings reached, fewest and most
	OpeningW   quantity.Length `json:"opening_width"` // the ellipse in the bark
	OpeningH   quantity.Length `json:"opening_height"`
	GirthShare float64         `json:"girth_share"` // share of the girth cut by all holes, 0-1
	HoleVolume quantity.Volume `json:"hole_volume"` // in wood, of one hole
	Findings   []why.Finding   `json:"findings,omitempty"`
	Why        why.Reason      `json:"why"`
}

// Range is low, likely, high.
type Range struct {
	Low    quantity.Length `json:"low"`
	Likely quantity.Length `json:"likely"`
	High   quantity.Length `json:"high"`
}

// Compute sets the drill. Faults of the input (no girth, angle not within
// 0-60°, depths reversed) come back as blocking findings.
func Compute(in Input) Result { panic("contract") }
