package dose

import (
	"sapwell/engine/label"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// plan is what the rule gives for one girth. No units: no number, and findings
// that say why.
type plan struct {
	units, holes int
	fills        []Fill
	stated       quantity.Volume // dose the label states, before whole units; 0: the rule counts units
	rule         why.Reason
	rounding     label.Rounding // of a stated dose to whole units; a count has its own in rule
	spaced       []why.Reason   // of the holes, where a dose per diameter is spread over them
	findings     []why.Finding
}

// total is the sum of the fills. A count without a size has none.
func (p plan) total() quantity.Volume {
	var v quantity.Volume
	for _, f := range p.fills {
		v += quantity.Volume(f.Units) * f.Size
	}
	return v
}

func none(fs ...why.Finding) plan { return plan{findings: fs} }

// job is one rule on one girth.
type job struct {
	l      label.Label
	size   quantity.Volume // chosen by the person; 0: the only one
	around quantity.Length
}

func (j job) diameter() quantity.Length { return diameterOf(j.around) }

// apply is the label's rule, whichever it is, at one girth. A stem below the
// label's least diameter gets no number.
func apply(l label.Label, size quantity.Volume, around quantity.Length) plan {
	if fs := belowMin(l, around); fs != nil {
		return none(fs...)
	}
	j := job{l, size, around}
	switch l.Rate.Kind {
	case label.BySpacing:
		return j.byCount(spaced(l.Rate.Spacing, around))
	case label.ByDiameter:
		return j.byCount(steps{"diameter", "diameter_per_unit", diameterOf(around), l.Rate.PerUnit, "rate.per_unit"})
	case label.DosePerDia:
		return j.perDiameter()
	case label.ByClass:
		return j.byClass()
	case label.FixedPerHole:
		return j.fixedPerHole()
	}
	return none(block("dose.rule_unknown", "rate.kind", why.T("rule", string(l.Rate.Kind))))
}

// rounding returns how the label rounds, or the refusal: it is never guessed,
// not even where the girth happens to give a whole number, for the next tape
// reading would not.
func (j job) rounding() (label.Rounding, []why.Finding) {
	if how := j.l.Rate.Rounding; rounds(how) {
		return how, nil
	}
	return "", []why.Finding{block("label.rounding_unspecified", "rate.rounding")}
}

func rounds(how label.Rounding) bool {
	return how == label.RoundUp || how == label.RoundDown || how == label.RoundNearest
}

// steps is a measure counted in steps, both as terms of the reason, and the
// label's field that holds the step.
type steps struct {
	measure, term string
	of, step      quantity.Length
	field         string
}

func spaced(spacing, around quantity.Length) steps {
	return steps{"girth", "spacing", around, spacing, "rate.spacing"}
}

// counted is a count by steps and its reason.
func (j job) counted(s steps, what string) (int, why.Reason, []why.Finding) {
	how, fs := j.rounding()
	if fs != nil {
		return 0, why.Reason{}, fs
	}
	if s.step <= 0 {
		return 0, why.Reason{}, []why.Finding{block("dose.rate_missing", s.field)}
	}
	n := count(s.of, s.step, how)
	switch {
	case n < 1:
		return 0, why.Reason{}, []why.Finding{lessThanOne(j.around)}
	case n > maxUnits:
		return 0, why.Reason{}, []why.Finding{tooMany(s.field, n)}
	}
	return int(n), why.Reason{
		Rule: "dose." + string(j.l.Rate.Kind), Result: why.T(what, int(n)),
		Inputs: append([]why.Term{
			why.T(s.measure, s.of), why.T(s.term, s.step), why.T("quotient", float64(s.of)/float64(s.step)),
		}, ofLabel(j.l)...),
		Source: why.TheLabel, Rounding: string(how),
	}, nil
}

func lessThanOne(around quantity.Length) why.Finding {
	return block("dose.less_than_one_unit", "rate", why.T("girth", around))
}

func tooMany(place string, n int64) why.Finding {
	return block("dose.too_many_units", place, why.T("units", int(n)), why.T("most", maxUnits))
}

func notFromUnits(place string, v quantity.Volume) why.Finding {
	return block("dose.not_from_units", place, why.T("volume", v))
}

// byCount: one unit per so much girth or diameter, one unit a hole.
func (j job) byCount(s steps) plan {
	n, rule, fs := j.counted(s, "units")
	if fs != nil {
		return none(fs...)
	}
	p := plan{units: n, holes: n, rule: rule}
	p.fills, p.findings = j.alike(n)
	return p
}

// alike fills n units with the one size there is, or the one chosen. The label
// of a rule that counts units says nothing of which, so several sizes ask.
func (j job) alike(n int) ([]Fill, []why.Finding) {
	sizes := ascending(j.l.Unit.Fills)
	for _, s := range sizes {
		if s == j.size || j.size == 0 && len(sizes) == 1 {
			return []Fill{{s, n}}, nil
		}
	}
	switch {
	case len(sizes) == 0:
		return nil, []why.Finding{block("dose.no_unit_size", "unit.fills")}
	case j.size != 0:
		return nil, []why.Finding{block("dose.size_not_sold", "unit.fills", why.T("size", j.size))}
	}
	return nil, []why.Finding{{
		Code: "dose.size_not_chosen", Severity: why.Ask, Place: "unit.fills", Source: why.TheLabel,
		Terms: []why.Term{why.T("sizes", len(sizes)), why.T("least", sizes[0]), why.T("most", sizes[len(sizes)-1])},
	}}
}

// fixedPerHole: holes by spacing, and the same dose in every one.
func (j job) fixedPerHole() plan {
	n, rule, fs := j.counted(spaced(j.l.Rate.Spacing, j.around), "holes")
	if fs != nil {
		return none(fs...)
	}
	dose := j.l.Rate.PerHole
	if dose <= 0 {
		return none(block("dose.rate_missing", "rate.per_hole"))
	}
	hole, ok := pick(windowOf(dose, 0, exactly), j.sizes(), 0, 0)
	if !ok {
		return none(notFromUnits("rate.per_hole", dose))
	}
	p := plan{holes: n, rule: rule}
	for _, f := range hole {
		f.Units *= p.holes
		p.units += f.Units
		p.fills = append(p.fills, f)
	}
	p.rule.Inputs = append(p.rule.Inputs, why.T("per_hole", dose))
	return p
}

// sizes are the unit sizes to choose from: the chosen one, or all that are sold.
func (j job) sizes() []quantity.Volume {
	if j.size > 0 {
		for _, s := range j.l.Unit.Fills {
			if s == j.size {
				return []quantity.Volume{s}
			}
		}
		return nil
	}
	return j.l.Unit.Fills
}
