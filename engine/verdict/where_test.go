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
	for _, region := range []string{"OR", "or", " OR ", "O.R.", "US-OR", "us-or", "usa-or", "Oregon", "OREGON", "Oregón"} {
		c := linden()
		c.Region = region
		if got := said(Judge(c).Findings); !slices.Contains(got, "block region.ai_host_banned") {
			t.Errorf("%q: %v", region, got)
		}
	}
	for _, region := range []string{"WA", "Washington", "new mexico", "N. Dak. ", "Guam"} {
		c := linden()
		c.Region = region
		got := said(Judge(c).Findings)
		if known := region != "N. Dak. "; slices.Contains(got, "block region.ai_host_banned") || slices.Contains(got, "ask region.unknown") == known {
			t.Errorf("%s: %v", region, got)
		}
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

// A state in words is the state that a label names by its code.
func TestLabelOfSomeStates(t *testing.T) {
	for region, want := range map[string]string{"Washington": "", "us-wa": "", "Texas": "block authority.other_state", "": "ask authority.state_unknown", "Texis": "ask authority.state_unknown"} {
		c := ash()
		c.Label.Product.States, c.Region = []string{"OR", "WA"}, region
		if got := said(Judge(c).Findings); want == "" && len(got) > 0 || want != "" && !slices.Contains(got, want) {
			t.Errorf("%q: %v, want %q", region, got, want)
		}
	}
	c := ash() // a label of another country counts its own provinces
	c.Jurisdiction, c.Label.Product.Country, c.Label.Product.States, c.Region = "", "CA", []string{"ON"}, "ca-on"
	if got := said(Judge(c).Findings); slices.Contains(got, "block authority.other_state") || slices.Contains(got, "ask authority.state_unknown") {
		t.Errorf("Ontario: %v", got)
	}
	outside.Ran(t, "ISO 3166-2:US", "states in words under a label of some states")
}

// The members of the EU are held against the treaty in the table of places.
func TestLawOf(t *testing.T) {
	for country, want := range map[string]Jurisdiction{"US": US, "usa": US, "GB": UK, "uk": UK, "EL": EU, "Alemania": EU, "IE": EU, "CH": "", "": "", "XX": "", "CA": ""} {
		if got := LawOf(country); got != want {
			t.Errorf("%s: %q, want %q", country, got, want)
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
