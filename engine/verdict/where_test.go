package verdict

import (
	"slices"
	"testing"

	"sapwell/engine/label"
	"sapwell/internal/outside"
)

// linden is the ash case as a linden under a label of imidacloprid that lists it.
func linden() Case {
	c := ash()
	c.Species = kind("Tilia americana")
	c.Label.Hosts = []label.Host{{Taxon: "Tilia"}}
	c.Label.Class.Ingredients[0].Name = "imidacloprid"
	c.redose()
	return c
}

// Oregon forbids imidacloprid on linden by any method (OAR 603-057-0388, read in
// its rule of 2014). However the state is written, it is Oregon; ISO 3166-2 has
// it as US-OR.
func TestOregonHoweverWritten(t *testing.T) {
	for _, region := range []string{"OR", "or", " OR ", "US-OR", "us-or", "Oregon", "OREGON"} {
		c := linden()
		c.Region = region
		if got := said(Judge(c).Findings); !slices.Contains(got, "block region.ai_host_banned") {
			t.Errorf("%q: %v", region, got)
		}
	}
	c := linden()
	c.Region = "WA"
	if got := said(Judge(c).Findings); slices.Contains(got, "block region.ai_host_banned") || slices.Contains(got, "ask region.unknown") {
		t.Errorf("Washington: %v", got)
	}
	outside.Ran(t, "OAR 603-057-0388, rule of 2014; ISO 3166-2", "imidacloprid on linden in Oregon")
}

// Where nobody said whose law holds, or it is none known here, the strictest rule
// does: an unlisted pest stops, and so does what one state forbids.
func TestLawUnknownIsStrict(t *testing.T) {
	for _, where := range []Jurisdiction{"", "CA", "us", "Mars"} {
		c := ash()
		c.Jurisdiction, c.Pest = where, "Lymantria dispar"
		got := said(Judge(c).Findings)
		for _, want := range []string{"ask jurisdiction.unknown", "block pest.not_listed"} {
			if !slices.Contains(got, want) {
				t.Errorf("%q: %v lacks %q", where, got, want)
			}
		}
		c = linden()
		c.Jurisdiction = where
		if got := said(Judge(c).Findings); !slices.Contains(got, "ask region.unknown") {
			t.Errorf("%q, linden, no state: %v", where, got)
		}
		if c.Region = "Oregon"; !slices.Contains(said(Judge(c).Findings), "block region.ai_host_banned") {
			t.Errorf("%q, linden in Oregon is not stopped", where)
		}
	}
}

// A rule of a US state says nothing in the EU or the UK.
func TestStatesAreOfTheUS(t *testing.T) {
	for _, where := range []Jurisdiction{EU, UK} {
		c := linden()
		c.Jurisdiction, c.Region = where, "OR"
		if got := said(Judge(c).Findings); slices.Contains(got, "block region.ai_host_banned") {
			t.Errorf("%s: %v", where, got)
		}
	}
}
