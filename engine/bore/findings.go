package bore

import (
	"fmt"
	"strings"

	"sapwell/engine/host"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// steepest is the largest angle accepted: beyond it the hole runs down the bark
// rather than into the wood, and 1/cos makes every error twice as long. Own.
const steepest = 60.0 // degrees

// largeShare of the girth cut in one round is remarked on. Own; 16 holes of
// 1/4 in on 96 in cut 4.2 %.
const largeShare = 0.10

// outermost is the percentage of flow in the outermost ring of elm (Ellmore and
// Ewers: "over 90 %").
const outermost = 90

func block(code, place string, source why.Source, terms ...why.Term) why.Finding {
	return why.Finding{Code: code, Severity: why.Block, Place: place, Terms: terms, Source: source}
}

func ask(code, place string, source why.Source, terms ...why.Term) why.Finding {
	return why.Finding{Code: code, Severity: why.Ask, Place: place, Terms: terms, Source: source}
}

func note(code, place string, source why.Source, terms ...why.Term) why.Finding {
	return why.Finding{Code: code, Severity: why.Note, Place: place, Terms: terms, Source: source}
}

// faults lists what makes the input no question at all.
func faults(in Input) (fs []why.Finding) {
	h := in.Hole
	if in.Girth.Around <= 0 {
		fs = append(fs, block("bore.no_girth", "girth", why.Geometry, why.T("girth", in.Girth.Around)))
	}
	if h.Bit <= 0 {
		fs = append(fs, block("bore.no_bit", "hole.bit", why.TheLabel, why.T("bit", h.Bit)))
	}
	if d := h.Angle.Degrees(); !(d >= 0 && d <= steepest+1e-9) { // so written that NaN is refused
		fs = append(fs, block("bore.angle_out_of_range", "hole.angle", why.Own,
			why.T("angle", h.Angle), why.T("most", quantity.Angle(steepest)*quantity.Degree)))
	}
	switch {
	case h.DepthMin <= 0 || h.DepthMax <= 0:
		fs = append(fs, block("bore.no_depth", "hole.depth_min", why.TheLabel,
			why.T("depth_min", h.DepthMin), why.T("depth_max", h.DepthMax)))
	case h.DepthMin > h.DepthMax:
		fs = append(fs, block("bore.depths_reversed", "hole.depth_min", why.TheLabel,
			why.T("depth_min", h.DepthMin), why.T("depth_max", h.DepthMax)))
	}
	if in.Holes < 0 {
		fs = append(fs, block("bore.holes_negative", "holes", why.Geometry, why.T("holes", in.Holes)))
	}
	if in.Step <= 0 {
		fs = append(fs, block("bore.no_step", "step", why.Own, why.T("step", in.Step)))
	}
	for i, b := range in.Bark {
		if b.Thickness <= 0 || in.Girth.Around > 0 && 2*b.Thickness >= in.Girth.Diameter() {
			fs = append(fs, block("bore.bark_reading_impossible", fmt.Sprintf("bark[%d]", i), why.Geometry,
				why.T("bark", b.Thickness), why.T("diameter", in.Girth.Diameter())))
		}
	}
	return fs
}

// remarks are the findings that need no stop.
func remarks(in Input, share float64) (fs []why.Finding) {
	h, at := in.Hole, in.Girth.Height
	if h.HeightMax > 0 && (at < h.HeightMin || at > h.HeightMax) {
		fs = append(fs, ask("bore.girth_not_at_holes", "girth.height", why.TheLabel,
			why.T("height", at), why.T("least", h.HeightMin), why.T("most", h.HeightMax)))
	}
	if share > largeShare {
		fs = append(fs, note("bore.girth_share_large", "holes", why.Own,
			why.T("share_percent", 100*share), why.T("holes", in.Holes), why.T("girth", in.Girth.Around)))
	}
	switch in.Species.Anatomy.Value {
	case host.RingPorous:
		source := why.Own // extended from elm to all ring-porous wood
		if genus, _, _ := strings.Cut(in.Species.Scientific, " "); genus == "Ulmus" {
			source = why.EllmoreEwers
		}
		fs = append(fs, note("bore.outermost_ring", "hole.depth_max", source, why.T("flow_percent", outermost)))
	case host.Palm:
		fs = append(fs, note("bore.palm", "species", why.Memory, why.T("host", in.Species.Scientific)))
	}
	return fs
}

// noStep says between which stops the label's depth lies, and that no whole
// step is there.
func noStep(in Input, a target) why.Finding {
	return block("bore.no_step_fits", "step", why.TheLabel,
		why.T("step", in.Step), why.T("least", a.least), why.T("most", a.most), why.T("stop", a.exact))
}

// spreadFindings says what the stop does where bark is at the ends of its
// range: too little wood, too much, or none.
func spreadFindings(in Input, g slope, r Result) (fs []why.Finding) {
	if 2*(r.Wood.Likely+r.Bark.Likely) >= in.Girth.Diameter() {
		fs = append(fs, block("bore.beyond_pith", "hole.depth_max", why.Geometry,
			why.T("stop", r.Stop), why.T("diameter", in.Girth.Diameter())))
	}
	low, high := radialDepths(in.Hole, g)
	// A stop cannot be set finer than its step, so half of one is no fault of the bark.
	slack := g.radial(in.Step) / 2
	if r.Wood.Low >= low-slack && r.Wood.High <= high+slack {
		return append(fs, notMeasured(r)...)
	}
	terms := []why.Term{why.T("bark_low", r.Bark.Low), why.T("bark_high", r.Bark.High), why.T("wood_low", r.Wood.Low),
		why.T("wood_high", r.Wood.High), why.T("depth_min", low), why.T("depth_max", high), why.T("stop", r.Stop)}
	if r.Measured {
		return append(fs, why.Finding{Code: "bore.bark_varies", Severity: why.Warn, Place: "bark", Terms: terms, Source: why.Geometry})
	}
	return append(fs, ask("bore.model_bark_too_uncertain", "bark", why.Own, terms...))
}

// notMeasured warns of a model's bark even where its spread does no harm.
func notMeasured(r Result) []why.Finding {
	if r.Measured {
		return nil
	}
	return []why.Finding{{Code: "bore.bark_not_measured", Severity: why.Warn, Place: "bark", Source: why.Own,
		Terms: []why.Term{why.T("bark", r.Bark.Likely), why.T("low", r.Bark.Low), why.T("high", r.Bark.High)}}}
}
