package verdict

import (
	"testing"

	"sapwell/engine/label"
	"sapwell/engine/quantity"
	"sapwell/engine/stock"
	"sapwell/internal/outside"
)

// TestMayWe is the table of may-we cases (cases made for this project from the rules
// read in FIFRA 2(ee) as WAC 16-228-1225, and the label): the exact findings.
func TestMayWe(t *testing.T) {
	for _, tc := range []struct {
		id     string
		change func(*Case)
		want   []string
		all    Overall
	}{
		{"G01", func(*Case) {}, nil, NothingFound},
		{"G02", func(c *Case) { c.girth(97 * inch) }, []string{"block dose.over_max_per_application"}, Stop},
		{"G03", func(c *Case) { c.Label.Rate.Rounding = label.Unspecified; c.girth(97 * inch) }, []string{"block label.rounding_unspecified"}, Stop},
		{"G05 729", func(c *Case) { c.daysAgo(729) }, []string{"block interval.too_short"}, Stop},
		{"G05 730", func(c *Case) { c.daysAgo(730) }, nil, NothingFound},
		{"G06 US", func(c *Case) { elm(c, US) }, []string{"warn pest.not_listed"}, Caution},
		{"G06 EU", func(c *Case) { elm(c, EU) }, []string{"block pest.not_listed"}, Stop},
		{"G06 UK", func(c *Case) { elm(c, UK) }, []string{"block pest.not_listed"}, Stop},
		{"G06 US exclusive", func(c *Case) { elm(c, US); c.Label.PestsOnly = true }, []string{"block pest.not_listed"}, Stop},
		{"G08", func(c *Case) { c.BloomOver = Unknown }, []string{"block bloom.unknown"}, Stop},
		{"G11", oldCold, []string{"block lot.expired", "block lot.storage_out_of_range"}, Stop},
		{"G13", tableWithGap, []string{"block label.table_gap"}, Stop},
	} {
		t.Run(tc.id, func(t *testing.T) {
			c := ash()
			tc.change(&c)
			o := Judge(c)
			expect(t, o, tc.want...)
			if o.Overall != tc.all {
				t.Errorf("overall %q, want %q", o.Overall, tc.all)
			}
		})
	}
	outside.Ran(t, "FIFRA 2(ee) as in WAC 16-228-1225; the label", "12 may-we cases")
}

// elm is G06: a listed host with a pest the label does not list.
func elm(c *Case, j Jurisdiction) {
	c.Species = kind("Ulmus")
	c.Pest = "Scolytus multistriatus"
	c.Jurisdiction = j
}

// oldCold is G11: expired the day before, logged at −3 °C.
func oldCold(c *Case) {
	c.Lots = []stock.Lot{{ID: "A1", Label: c.Label.ID, Size: 4 * mL, Units: 20,
		Expires: c.Date.AddDate(0, 0, -1), Coldest: celsius(-3), Warmest: celsius(20)}}
}

// tableWithGap is G13: classes 10-15 and 16-20 in, and a tree of 15.5 in, whose
// girth is π·15.5 in.
func tableWithGap(c *Case) {
	c.Label.Rate = label.Rate{Kind: label.ByClass, Measure: label.Measure{What: "diameter", Height: quantity.Foot},
		Classes: []label.Class{{From: 10 * inch, To: 15 * inch, Units: 8}, {From: 16 * inch, To: 20 * inch, Units: 10}}}
	c.girth(1_236_845_028) // π · 393.7 mm
}

// TestCountsOfTheMayWeCases: G01 gives 16 units and 64 mL, G02 17 and 68, both
// shown; G03 and G13 offer no number.
func TestCountsOfTheMayWeCases(t *testing.T) {
	c := ash()
	if d := c.Doses[0]; d.Units != 16 || d.Total != 64*mL {
		t.Errorf("G01: %d units, %v", d.Units, d.Total)
	}
	c.girth(97 * inch)
	if d := c.Doses[0]; d.Units != 17 || d.Total != 68*mL {
		t.Errorf("G02: %d units, %v", d.Units, d.Total)
	}
	for name, change := range map[string]func(*Case){
		"G03": func(c *Case) { c.Label.Rate.Rounding = label.Unspecified; c.redose() }, "G13": tableWithGap,
	} {
		c := ash()
		change(&c)
		if d := c.Doses[0]; d.Units != 0 || d.Total != 0 {
			t.Errorf("%s: %d units, %v; want none", name, d.Units, d.Total)
		}
	}
}
