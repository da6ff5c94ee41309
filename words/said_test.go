package words

import (
	"slices"
	"testing"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// The expected texts follow from the messages given here, by hand.
func TestFindings(t *testing.T) {
	p := printer(t, "en", american, `{"finding.x": "The girth is {girth}.", "remedy.x": "Measure again."}`)
	found := []why.Finding{{Code: "x", Severity: why.Ask, Place: "stems[0]", Terms: []why.Term{why.T("girth", 96*quantity.Inch)}, Source: why.TheLabel}}
	want := []Finding{{"x", "ask", "stems[0]", "The girth is 96 in.", "Measure again.", "the product label"}}
	if got := p.Findings(found); !slices.Equal(got, want) {
		t.Errorf("got %+v, want %+v", got, want)
	}
	if none := p.Findings(nil); none == nil || len(none) > 0 {
		t.Errorf("none: %v, want an empty list, which JSON shows as one", none)
	}
}

func TestRefusal(t *testing.T) {
	p := printer(t, "en", american, `{"refusal.y": "{field}: {mark} is not one of {most}."}`)
	terms := []why.Term{why.T("mark", 17), why.T("most", 16)}
	if got := p.Refusal("y", "marks[0]", "plain", terms...); got != "marks[0]: 17 is not one of 16." {
		t.Errorf("got %q", got)
	}
	if got := p.Refusal("z", "marks[0]", "marks[0]: plain", terms...); got != "marks[0]: plain" {
		t.Errorf("without words: got %q", got)
	}
}
