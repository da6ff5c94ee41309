package dose

import (
	"sapwell/engine/label"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// perDiameter: so many millilitres, or grams of active ingredient, per so much
// diameter; whole units of the sizes sold come as near as the label's rounding
// lets them. Where the label also spaces the holes, every hole gets a unit.
func (j job) perDiameter() plan {
	how, fs := j.rounding()
	if fs != nil {
		return none(fs...)
	}
	stated, rule, fs := j.stated()
	if fs != nil {
		return none(fs...)
	}
	var holes int64
	if step := j.l.Rate.Spacing; step > 0 {
		if holes = count(j.around, step, how); holes > maxUnits {
			return none(tooMany("rate.spacing", holes))
		}
	}
	p := j.fill(stated, rule, how, int(holes))
	if p.units > 0 && holes > 0 {
		p.spaced = j.holesReason(int(holes), how)
	}
	return p
}

// stated is the dose the label states, to the nearest microlitre: less than
// half of one is no difference, so a diameter kept as a girth gives back its
// own dose.
func (j job) stated() (quantity.Volume, why.Reason, []why.Finding) {
	rate, d := j.l.Rate, j.diameter()
	rule := why.Reason{
		Rule: "dose." + string(label.DosePerDia), Source: why.TheLabel,
		Inputs: []why.Term{why.T("diameter", d)},
	}
	var v quantity.Volume
	switch {
	case rate.Volume != nil && rate.Volume.Volume > 0 && rate.Volume.Per > 0:
		v = rate.Volume.Over(d)
		rule.Inputs = append(rule.Inputs, why.T("rate", *rate.Volume))
	case rate.Mass != nil && rate.Mass.Mass > 0 && rate.Mass.Per > 0:
		content, fs := j.content()
		if fs != nil {
			return 0, rule, fs
		}
		v = content.Holding(rate.Mass.Over(d))
		rule.Inputs = append(rule.Inputs, why.T("rate", *rate.Mass), why.T("content", content))
	default:
		return 0, rule, []why.Finding{block("dose.rate_missing", "rate")}
	}
	if v > maxVolume {
		return 0, rule, []why.Finding{block("dose.rate_impossible", "rate", why.T("volume", v), why.T("most", maxVolume))}
	}
	v = (v + quantity.Microlitre/2) / quantity.Microlitre * quantity.Microlitre
	rule.Result = why.T("stated", v)
	rule.Inputs = append(rule.Inputs, ofLabel(j.l)...)
	return v, rule, nil
}

// content is the strength a rate in grams needs: with two active ingredients a
// gram of which one would be a guess.
func (j job) content() (quantity.MassPerVolume, []why.Finding) {
	in := j.l.Class.Ingredients
	if len(in) != 1 || in[0].Content.Mass <= 0 || in[0].Content.Per <= 0 {
		return quantity.MassPerVolume{}, []why.Finding{block("dose.content_unclear", "classification.active_ingredients",
			why.T("ingredients", len(in)))}
	}
	return in[0].Content, nil
}

// fill makes a stated dose of whole units, at least one a hole. Holes of 0 are
// as many as units. What whole units add or leave out is always said.
func (j job) fill(stated quantity.Volume, rule why.Reason, how label.Rounding, holes int) plan {
	sizes := ascending(j.sizes())
	if len(sizes) == 0 {
		return none(block("dose.no_unit_size", "unit.fills"))
	}
	w := windowOf(stated, sizes[0], how)
	fills, ok := pick(w, sizes, holes, j.l.Ceilings.PerApplication)
	if !ok {
		return none(j.unfilled(w, sizes[0], holes))
	}
	p := plan{fills: fills, stated: stated, rule: rule}
	if how != exactly {
		p.rounding = how
	}
	for _, f := range fills {
		p.units += f.Units
	}
	p.holes = p.units
	if holes > 0 {
		p.holes = holes
	}
	p.findings = offStated(p)
	return p
}

// unfilled says why no units make the dose.
func (j job) unfilled(w window, smallest quantity.Volume, holes int) why.Finding {
	volume, least := why.T("stated", w.stated), why.T("size", smallest)
	switch {
	case w.high < smallest:
		return lessThanOne(j.around)
	case int64(w.high/smallest) > maxUnits:
		return tooMany("rate", int64(w.high/smallest))
	case quantity.Volume(holes)*smallest > w.high:
		return block("dose.holes_exceed_dose", "rate.spacing", why.T("holes", holes), volume, least)
	}
	if _, ok := fewest(ascending(j.sizes()), w.high); !ok {
		return block("dose.sizes_uneven", "unit.fills", volume)
	}
	return notFromUnits("unit.fills", w.stated)
}

// offStated notes how whole units differ from the stated dose: the label's
// rounding allows it, but nobody should have to find it out.
func offStated(p plan) []why.Finding {
	total := p.total()
	code, off := "dose.above_stated", total-p.stated
	if off < 0 {
		code, off = "dose.below_stated", -off
	}
	if off == 0 {
		return nil
	}
	return []why.Finding{{
		Code: code, Severity: why.Note, Place: "rate.rounding", Source: why.TheLabel,
		Terms: []why.Term{why.T("total", total), why.T("stated", p.stated), why.T("off", off)},
	}}
}
