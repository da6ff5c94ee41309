package marks

import (
	"slices"
	"testing"

	"sapwell/engine/bole"
	"sapwell/engine/quantity"
)

// 97 in for 17 marks is an even gap of 5.7059 in (arithmetic). The reason calls
// it a gap, not the label's spacing, claims no rounding of it, and its range is
// that of the gaps there are.
func TestReasonIsOfTheGaps(t *testing.T) {
	var s Solver
	p, err := s.Place(bole.Ring{Girth: bole.Girth{Around: 97 * quantity.Inch}}, 17, DefaultRules(quantity.Imperial, day(2026, 6, 1)))
	if err != nil {
		t.Fatal(err)
	}
	if p.Why.Result.Name != "gap" || p.Why.Result.Value != 97*quantity.Inch/17 || p.Why.Rounding != "" {
		t.Errorf("result %+v, rounding %q", p.Why.Result, p.Why.Rounding)
	}
	if p.Why.Low != slices.Min(p.Gaps) || p.Why.High != slices.Max(p.Gaps) {
		t.Errorf("between %v and %v; the gaps are %v", p.Why.Low, p.Why.High, p.Gaps)
	}
}
