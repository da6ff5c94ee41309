package dose

import (
	"testing"

	"sapwell/engine/bole"
	"sapwell/engine/label"
	"sapwell/engine/quantity"
)

// A label of 1 mL/cm and a hole each 20 cm, on 64.3 cm of diameter (202 cm of
// girth): 64.3 mL stated, 10.1 holes (arithmetic). What is rounded to whole units
// is the total, what is rounded to whole holes is their count; the stated dose
// is rounded by nobody.
func TestReasonsRoundWhatIsRounded(t *testing.T) {
	l := mayWe()
	l.Unit.Fills = []quantity.Volume{4 * mL, 8 * mL}
	l.Rate = label.Rate{Kind: label.DosePerDia, Rounding: label.RoundUp, Spacing: 20 * quantity.Centimetre,
		Measure: label.Measure{What: "diameter", Height: 54 * inch},
		Volume:  &quantity.VolumePerLength{Volume: mL, Per: quantity.Centimetre}}
	l.Ceilings = label.Ceilings{}
	r := Compute(Input{Label: l, Girths: []bole.Girth{bole.GirthFromDiameter(643*quantity.Millimetre, 54*inch)}})
	if r.Stated != 64300*quantity.Microlitre || r.Total != 68*mL || r.Holes != 11 {
		t.Fatalf("stated %v, total %v, holes %d", r.Stated, r.Total, r.Holes)
	}
	because := r.Why
	if because.Rounding != "up" || len(because.Because) != 2 {
		t.Fatalf("total: rounding %q, because %d", because.Rounding, len(because.Because))
	}
	if stated := because.Because[0]; stated.Rule != "dose.dose_per_diameter" || stated.Rounding != "" {
		t.Errorf("stated: %s, rounding %q", stated.Rule, stated.Rounding)
	}
	if holes := because.Because[1]; holes.Rule != "dose.holes_spaced" || holes.Result.Value != 11 || holes.Rounding != "up" {
		t.Errorf("holes: %+v", holes)
	}
}
