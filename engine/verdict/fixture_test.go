package verdict

import (
	"slices"
	"testing"

	"sapwell/engine/bole"
	"sapwell/engine/dose"
	"sapwell/engine/host"
	"sapwell/engine/label"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

const (
	inch = quantity.Inch
	mL   = quantity.Millilitre
)

func on(date string) quantity.Date {
	t, err := quantity.ParseDate(date)
	if err != nil {
		panic(err)
	}
	return t
}

func celsius(c float64) *quantity.Temperature { t := quantity.Celsius(c); return &t }

func number(n int) *int { return &n }

// mayWe is the label of the may-we cases, whole enough for label.Check.
func mayWe() label.Label {
	return label.Label{
		ID: "maywe", Version: on("2026-01-01"), Fictional: true,
		Product: label.Product{Name: "May-we Label (fictional)", RegNo: "99999-9", Registrant: "Example Registrant (fictional)", Country: "US"},
		Class: label.Classification{RestrictedUse: true, ProfessionalOnly: true, SignalWord: "WARNING", Ingredients: []label.Ingredient{
			{Name: "emamectin benzoate", Content: quantity.MassPerVolume{Mass: 40 * quantity.Gram, Per: quantity.Litre}, IRAC: "6"},
		}},
		Hosts: []label.Host{{Taxon: "Fraxinus"}, {Taxon: "Ulmus"}},
		Pests: []label.Pest{{Name: "Agrilus planipennis", EPPO: "AGRLPL"}},
		Unit:  label.UnitSpec{Fills: []quantity.Volume{4 * mL}},
		Rate: label.Rate{Kind: label.BySpacing, Rounding: label.RoundUp, Spacing: 6 * inch,
			Measure: label.Measure{What: "girth", Height: quantity.Foot}},
		Ceilings: label.Ceilings{PerApplication: 64 * mL, IntervalDays: 730},
		Hole: label.Hole{Bit: 11 * inch / 64, DepthMin: inch / 4, DepthMax: 3 * inch / 8, Angle: 45 * quantity.Degree,
			HeightMin: 6 * inch, HeightMax: 18 * inch},
		Conditions: label.Conditions{AfterPetalFall: true},
		People:     label.People{PPE: []string{"protective eyewear"}, REI: "Keep people away while units are in place."},
		Food:       label.Food{Tapping: "unspecified"},
		Storage:    label.Storage{Min: celsius(5), Max: celsius(30)},
		FirstAid:   label.FirstAid{Steps: []label.FirstAidStep{{Route: "eyes", Text: "Rinse."}}},
		Disposal:   label.Disposal{Container: "Do not reuse units."},
	}
}

// kind is a kind of tree as the host table would give it.
func kind(scientific string) host.Species {
	no := host.Sourced[bool]{Source: why.Memory}
	return host.Species{Scientific: scientific, Anatomy: host.Sourced[host.Anatomy]{Value: host.RingPorous, Source: why.Memory}, Food: no, Tapped: no}
}

// ash is case G01: 96 in, Fraxinus, emerald ash borer, bloom over, certified.
func ash() Case {
	c := Case{
		Circumstances: Circumstances{Jurisdiction: US, Date: on("2026-06-10"), Pest: "Agrilus planipennis", BloomOver: Yes, Certified: Yes},
		Species:       kind("Fraxinus"),
		Label:         mayWe(),
	}
	c.girth(96 * inch)
	return c
}

// girth gives the case one stem of a girth at 1 ft.
func (c *Case) girth(around quantity.Length) {
	c.Stems = []bole.Stem{{Ring: bole.Ring{Girth: bole.Girth{Around: around, Height: quantity.Foot}}}}
	c.redose()
}

// redose computes the doses again after the label or the stems changed.
func (c *Case) redose() {
	c.Doses = nil
	for _, s := range c.Stems {
		c.Doses = append(c.Doses, dose.Compute(dose.Input{Label: c.Label, Girths: s.Girths()}))
	}
}

// daysAgo gives the case one earlier application of the same label.
func (c *Case) daysAgo(n int) {
	c.Earlier = []Application{{Date: c.Date.AddDate(0, 0, -n), Label: c.Label.ID, Total: 64 * mL}}
}

// said lists severity and code, sorted.
func said(fs []why.Finding) []string {
	var list []string
	for _, f := range fs {
		list = append(list, string(f.Severity)+" "+f.Code)
	}
	slices.Sort(list)
	return list
}

// expect fails unless the findings are just those, in any order.
func expect(t *testing.T, o Opinion, want ...string) {
	t.Helper()
	slices.Sort(want)
	if got := said(o.Findings); !slices.Equal(got, want) {
		t.Errorf("findings: got %v, want %v", got, want)
	}
}
