package bore

import (
	"math"

	"sapwell/engine/bole"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// modelSpread is how far bark at one place may be from a model's figure: 30 %
// either way. An own convention; no published spread fits the flare.
const modelSpread = 0.30

// bark is what is known of the bark of a stem, and how.
type bark struct {
	thickness Range
	measured  bool
	findings  []why.Finding
	reason    why.Reason
}

// barkUnder takes bark from the probe, else from the models, else reports
// known = false. Readings were checked before.
func barkUnder(in Input) (b bark, known bool) {
	if s, ok := bole.BarkSpread(in.Bark); ok {
		return probed(s), true
	}
	return modelled(in)
}

// probed takes low, mean and high of the readings. One reading knows nothing of
// the spread, and says so.
func probed(s bole.Spread) bark {
	b := bark{thickness: Range{s.Low, s.Mean, s.High}, measured: true}
	if s.Readings == 1 {
		b.findings = []why.Finding{{Code: "bore.one_bark_reading", Severity: why.Note, Place: "bark",
			Terms: []why.Term{why.T("bark", s.Mean)}, Source: why.Own}}
	}
	b.reason = why.Reason{Rule: "bore.bark_probed", Result: why.T("bark", s.Mean),
		Inputs: []why.Term{why.T("readings", s.Readings)}, Source: why.Geometry, Low: s.Low, High: s.High}
	return b
}

// modelled takes the mean of the models there are as likely, and stretches the
// thinner and the thicker of them by the spread.
func modelled(in Input) (b bark, known bool) {
	diameter := in.Girth.Diameter()
	raile, clark := in.Species.Bark.Value.Thickness(diameter)
	var models []quantity.Length
	var because []why.Reason
	model := func(thickness *quantity.Length, rule string, source why.Source, inputs ...why.Term) {
		if thickness != nil {
			models = append(models, *thickness)
			because = append(because, why.Reason{Rule: rule, Result: why.T("bark", *thickness),
				Inputs: append([]why.Term{why.T("diameter", diameter)}, inputs...), Source: source})
		}
	}
	m := in.Species.Bark.Value
	model(raile, "bore.bark_ratio", why.Raile1982, why.T("ratio", m.RatioK))
	model(clark, "bore.bark_linear", why.Clark1991, why.T("coefficient_a", m.LinearA), why.T("coefficient_b", m.LinearB))
	if len(models) == 0 {
		return bark{}, false
	}
	first, last := models[0], models[len(models)-1]
	b.thickness = Range{
		Low:    scaled(min(first, last), 1-modelSpread),
		Likely: (first + last) / 2,
		High:   scaled(max(first, last), 1+modelSpread),
	}
	if m.OfGenus {
		b.findings = append(b.findings, note("bore.bark_of_genus", "species", why.Own, why.T("host", in.Species.Scientific)))
	}
	b.reason = why.Reason{Rule: "bore.bark_modelled", Result: why.T("bark", b.thickness.Likely), Source: why.Own,
		Low: b.thickness.Low, High: b.thickness.High, Because: because}
	return b, true
}

// scaled is l·f to the nanometre.
func scaled(l quantity.Length, f float64) quantity.Length {
	return quantity.Length(math.Round(float64(l) * f))
}
