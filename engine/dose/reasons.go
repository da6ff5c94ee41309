package dose

import (
	"math"

	"sapwell/engine/bole"
	"sapwell/engine/label"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// readingReason says which girth was taken and why that one.
func readingReason(l label.Label, g bole.Girth) []why.Reason {
	rs := []why.Reason{{
		Rule: "dose.girth_at_height", Result: why.T("girth", g.Around),
		Inputs: []why.Term{why.T("height", g.Height), why.T("height_of_label", l.Rate.Measure.Height)},
		Source: why.TheLabel,
	}}
	if l.Rate.Measure.What == "girth" {
		return rs
	}
	return []why.Reason{{
		Rule: "dose.diameter", Result: why.T("diameter", g.Diameter()),
		Inputs: []why.Term{why.T("girth", g.Around)}, Source: why.Geometry, Because: rs,
	}}
}

// totalReason is the top of the chain: the total, because of so many units of
// such sizes, because of the rule, because of the reading.
func totalReason(l label.Label, p plan, reading []why.Reason) why.Reason {
	rule := p.rule
	rule.Because = reading
	total := why.Reason{
		Rule: "dose.total", Result: why.T("total", nil), Source: why.TheLabel,
		Inputs: []why.Term{why.T("units", p.units)}, Because: append([]why.Reason{rule}, p.spaced...),
		Rounding: string(p.rounding),
	}
	for _, f := range p.fills {
		total.Inputs = append(total.Inputs, why.T("units", f.Units), why.T("size", f.Size))
	}
	if len(p.fills) > 0 {
		total.Inputs = total.Inputs[1:]
		total.Result = why.T("total", p.total())
	}
	if most := l.Ceilings.PerApplication; most > 0 {
		total.Inputs = append(total.Inputs, why.T("ceiling", most))
	}
	return total
}

// holesReason says how a dose per diameter came to so many holes. Their girth is
// the one at the label's height, as all of the rule.
func (j job) holesReason(holes int, how label.Rounding) []why.Reason {
	step := j.l.Rate.Spacing
	return []why.Reason{{
		Rule: "dose.holes_spaced", Result: why.T("holes", holes), Source: why.TheLabel, Rounding: string(how),
		Inputs: []why.Term{why.T("girth", j.around), why.T("spacing", step), why.T("quotient", float64(j.around)/float64(step))},
	}}
}

// actives is the mass of each active ingredient in the total, where the label
// prints its content.
func actives(l label.Label, total quantity.Volume, girths []bole.Girth) []Active {
	if total == 0 {
		return nil
	}
	var as []Active
	for _, in := range l.Class.Ingredients {
		if in.Content.Mass <= 0 || in.Content.Per <= 0 {
			continue
		}
		m := in.Content.In(total)
		as = append(as, Active{Name: in.Name, Total: m, PerDBH: perDBH(m, girths)})
	}
	return as
}

// perDBH is mass per centimetre of the diameter measured at breast height; nil
// where none was.
func perDBH(m quantity.Mass, girths []bole.Girth) *quantity.MassPerLength {
	for _, g := range girths {
		if !g.AtBreastHeight() || g.Around <= 0 {
			continue
		}
		perCm := float64(m) * math.Pi * float64(quantity.Centimetre) / float64(g.Around)
		return &quantity.MassPerLength{Mass: quantity.Mass(math.Round(perCm)), Per: quantity.Centimetre}
	}
	return nil
}
