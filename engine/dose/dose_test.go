package dose

import (
	"testing"

	"sapwell/engine/bole"
	"sapwell/engine/label"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

const (
	inch = quantity.Inch
	mL   = quantity.Millilitre
)

// mayWe is the label of the may-we cases: one unit per 6 in of girth at 1 ft,
// rounded up, 4 mL a unit, at most 64 mL.
func mayWe() label.Label {
	return label.Label{
		ID:       "fictional-1",
		Unit:     label.UnitSpec{Fills: []quantity.Volume{4 * mL}},
		Class:    label.Classification{Ingredients: []label.Ingredient{{Name: "emamectin benzoate", Content: quantity.MassPerVolume{Mass: 40 * quantity.Gram, Per: quantity.Litre}}}},
		Ceilings: label.Ceilings{PerApplication: 64 * mL},
		Rate: label.Rate{
			Kind: label.BySpacing, Rounding: label.RoundUp, Spacing: 6 * inch,
			Measure: label.Measure{What: "girth", Height: quantity.Foot},
		},
	}
}

func at(l label.Label, around quantity.Length) Input {
	return Input{Label: l, Girths: []bole.Girth{{Around: around, Height: l.Rate.Measure.Height}}}
}

func codes(fs []why.Finding) (cs []string) {
	for _, f := range fs {
		cs = append(cs, string(f.Severity)+" "+f.Code)
	}
	return cs
}

func TestSpacingCase(t *testing.T) {
	r := Compute(at(mayWe(), 96*inch))
	if r.Units != 16 || r.Holes != 16 || r.Total != 64*mL || r.PerUnit != 4*mL || len(r.Findings) != 0 {
		t.Errorf("G01: %+v", r)
	}
	r = Compute(at(mayWe(), 97*inch))
	if r.Units != 17 || r.Total != 68*mL || len(codes(r.Findings)) != 1 || codes(r.Findings)[0] != "block dose.over_max_per_application" {
		t.Errorf("G02: %+v", r)
	}
	l := mayWe()
	l.Rate.Rounding = label.Unspecified
	r = Compute(at(l, 97*inch))
	if r.Units != 0 || r.Total != 0 || len(r.Findings) != 1 || codes(r.Findings)[0] != "block label.rounding_unspecified" {
		t.Errorf("G03: %+v", r)
	}
}
