package verdict

import (
	"slices"
	"testing"

	"sapwell/engine/host"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// What the other answers found stops or warns like a finding of our own; what
// they ask is left open for whoever stands at the tree.
func TestWhatOtherAnswersFound(t *testing.T) {
	c := ash()
	c.Found = []why.Finding{
		{Code: "marks.too_many", Severity: why.Block, Source: why.Own},
		{Code: "bore.bark_unknown", Severity: why.Ask, Source: why.Own},
		{Code: "marks.blocked.canker", Severity: why.Note, Source: why.Own},
	}
	o := Judge(c)
	expect(t, o, "block marks.too_many")
	if o.Overall != Stop || !slices.Contains(said(o.Open), "ask bore.bark_unknown") || !slices.Contains(said(o.Notes), "note marks.blocked.canker") {
		t.Errorf("overall %v, open %v, notes %v", o.Overall, said(o.Open), said(o.Notes))
	}
}

// One tree does not show what the hectare had.
func TestAreaCeilingStaysOpen(t *testing.T) {
	c := ash()
	c.Label.Ceilings.AIPerAreaYear = 100 * quantity.Gram
	if o := Judge(c); !slices.Contains(said(o.Open), "ask ceiling.area_unchecked") {
		t.Errorf("open %v", said(o.Open))
	}
}

// A conifer has no petals to wait for; a broadleaf of unknown bloom has.
func TestConifersHaveNoPetals(t *testing.T) {
	c := ash()
	c.BloomOver = Unknown
	c.Species.Anatomy = host.Sourced[host.Anatomy]{Value: host.Tracheid, Source: why.PorosityTexts}
	for _, f := range Judge(c).Findings {
		if f.Code == "bloom.unknown" {
			t.Error("a conifer is held up for bloom")
		}
	}
}
