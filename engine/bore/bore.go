// Package bore answers: how deep, at what angle, with which stop?
//
// The hole runs downward from the radius by the label's angle θ. Under radial
// bark b a radial depth w in wood needs a bit (b + w)/cos θ long beyond the stop
// collar; the hole then opens as an ellipse as wide as the bit and 1/cos θ as
// high. The stem is taken as flat at the hole: against a bit of a few
// millimetres every stem that is treated is.
//
// How much bark there is decides more than any of this. A stop from probed bark
// is offered as it is; one from a model is offered to pre-set the drill, and
// asks for a probe; without either there is no stop.
package bore

import (
	"math"

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

// Result is how to set the drill. Stop 0 means that none is offered; findings
// say why. Bark all 0 means that nothing is known of it.
type Result struct {
	Bark       Range           `json:"bark"`          // radial thickness: low, likely, high
	Measured   bool            `json:"measured"`      // bark was probed, not modelled
	Stop       quantity.Length `json:"stop"`          // length of bit beyond the stop collar
	StopRange  Range           `json:"stop_range"`    // what the bark's spread would make of it
	Wood       Range           `json:"wood"`          // radial depth into wood that this stop gives; Low is under the thickest bark
	WoodPath   quantity.Length `json:"wood_path"`     // length of the hole that lies in wood, under likely bark
	Rings      [2]float64      `json:"rings"`         // growth rings reached, fewest and most; 0, 0 in palms
	OpeningW   quantity.Length `json:"opening_width"` // the ellipse in the bark
	OpeningH   quantity.Length `json:"opening_height"`
	GirthShare float64         `json:"girth_share"`     // share of the girth cut by all holes, 0-1
	HoleVolume quantity.Volume `json:"hole_volume"`     // in wood, of one hole
	Probe      []Setting       `json:"probe,omitempty"` // the stop for what a probe finds: carried to the tree
	Findings   []why.Finding   `json:"findings,omitempty"`
	Why        why.Reason      `json:"why,omitzero"`
}

// Setting is the stop for one thickness of bark.
type Setting struct {
	Bark quantity.Length `json:"bark"`
	Stop quantity.Length `json:"stop"`
}

// Range is low, likely, high.
type Range struct {
	Low    quantity.Length `json:"low"`
	Likely quantity.Length `json:"likely"`
	High   quantity.Length `json:"high"`
}

// Compute sets the drill. Faults of the input (no girth, angle not within
// 0-60°, depths reversed) come back as blocking findings and nothing else.
func Compute(in Input) Result {
	if fs := faults(in); len(fs) > 0 {
		return Result{Findings: fs, Why: why.Reason{Rule: "bore.refused", Result: why.T("stop", nil), Source: why.Geometry}}
	}
	g := slope{math.Cos(float64(in.Hole.Angle))}
	r := Result{
		OpeningW:   in.Hole.Bit,
		OpeningH:   g.along(in.Hole.Bit),
		GirthShare: float64(in.Holes) * float64(in.Hole.Bit) / float64(in.Girth.Around),
	}
	r.Findings = append(r.Findings, remarks(in, r.GirthShare)...)
	b, known := barkUnder(in)
	r.Probe = settings(in, g, b.thickness)
	if !known {
		r.Findings = append(r.Findings, ask("bore.bark_unknown", "bark", why.Own, why.T("host", in.Species.Scientific)))
		r.Why = withoutStop(in, r)
		return r
	}
	r.Bark, r.Measured = b.thickness, b.measured
	r.Findings = append(r.Findings, b.findings...)
	a := aim(in.Hole, g, r.Bark.Likely, in.Step)
	if !a.fits {
		r.Findings = append(r.Findings, noStep(in, a))
		r.Why = withoutStop(in, r)
		return r
	}
	r.setStop(a, in, g)
	r.Findings = append(r.Findings, spreadFindings(in, g, r)...)
	r.Why = reason(in, r, a, b)
	return r
}

// setStop fills in what follows from the stop.
func (r *Result) setStop(a target, in Input, g slope) {
	r.Stop = a.stop
	middle := a.exact - g.along(r.Bark.Likely)
	r.StopRange = Range{g.along(r.Bark.Low) + middle, a.exact, g.along(r.Bark.High) + middle}
	r.WoodPath = a.stop - g.along(r.Bark.Likely)
	reach := g.radial(a.stop)
	r.Wood = Range{max(0, reach-r.Bark.High), reach - r.Bark.Likely, reach - r.Bark.Low}
	if in.Species.Anatomy.Value != host.Palm {
		r.Rings = [2]float64{rings(r.Wood.Low, widestRing), rings(r.Wood.High, narrowestRing)}
	}
	r.HoleVolume = holeVolume(in.Hole.Bit, r.WoodPath)
}

// Ring widths of urban hardwoods, from memory; slow and old trees stay below.
const (
	narrowestRing = 1 * quantity.Millimetre
	widestRing    = 6 * quantity.Millimetre
)

// rings is how many growth rings of one width a radial depth crosses.
func rings(depth, width quantity.Length) float64 { return float64(depth) / float64(width) }

// holeVolume is that of a cylinder, π/4·d²·l, to the nanolitre (1 nL = 1e15 nm³).
func holeVolume(bit, path quantity.Length) quantity.Volume {
	d := bit.Metres()
	return quantity.Volume(math.Round(math.Pi / 4 * d * d * path.Metres() * 1e12)) // 1 m³ = 1e12 nL
}
