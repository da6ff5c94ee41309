package verdict

import (
	"slices"
	"testing"

	"sapwell/engine/host"
	"sapwell/engine/label"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/internal/outside"
)

// fed is the ash as a crop on the label with 30 days to wait.
func fed(c *Case) {
	c.Eaten = Yes
	c.Label.Hosts[0].Crop = true
	c.Label.Food.PHIDays = number(30)
}

// older gives the case an application of another product with the same active
// ingredient so many days ago.
func older(c *Case, days int) {
	c.Earlier = []Application{{Date: c.Date.AddDate(0, 0, -days), Label: "other", Active: []string{"Emamectin Benzoate"}, Total: 8 * mL}}
}

func metres(n int) *quantity.Length { l := quantity.Length(n) * quantity.Metre; return &l }

// TestGates: one fact changed from case G01 (which has no findings), and exactly the
// findings that must follow. From the label as it is written; where a law says it,
// 40 CFR 171.201 (age 18, or 16 in the family of a private applicator, trained within
// 12 months; read in the State of Washington's page), 24(c) and New York's narrower
// 2(ee) from memory; 40 CFR 170.203 has no exception of injection for handlers, and
// leaves out parks, lawns and grounds for looks. The work is on 2026-06-10.
func TestGates(t *testing.T) {
	for _, tc := range []struct {
		name   string
		change func(*Case)
		want   []string
	}{
		{"authorised to this day", func(c *Case) { c.Label.Product.AuthorisedUntil = on("2026-06-10") }, nil},
		{"over since yesterday", func(c *Case) { c.Label.Product.AuthorisedUntil = on("2026-06-09") }, []string{"block authority.expired"}},
		{"to be used up", func(c *Case) {
			c.Label.Product.AuthorisedUntil, c.Label.Product.UseUpUntil = on("2026-05-01"), on("2026-06-10")
		}, []string{"warn authority.use_up"}},
		{"used up too late", func(c *Case) {
			c.Label.Product.AuthorisedUntil, c.Label.Product.UseUpUntil = on("2026-05-01"), on("2026-06-09")
		}, []string{"block authority.expired"}},
		{"for this state", func(c *Case) { c.Label.Product.States = []string{"WA", "OR"}; c.Region = "US-WA" }, nil},
		{"for another state", func(c *Case) { c.Label.Product.States = []string{"OR"}; c.Region = "WA" }, []string{"block authority.other_state"}},
		{"for some state", func(c *Case) { c.Label.Product.States = []string{"OR"} }, []string{"ask authority.state_unknown"}},

		{"far from water", func(c *Case) { c.Label.Site.WaterBuffer = *metres(10); c.Water = metres(10) }, nil},
		{"near water", func(c *Case) { c.Label.Site.WaterBuffer = *metres(10); c.Water = metres(9) }, []string{"block site.water_near"}},
		{"water not looked for", func(c *Case) { c.Label.Site.WaterBuffer = *metres(10) }, []string{"ask site.water_unknown"}},
		{"no distance on the label", func(c *Case) { c.Water = metres(0) }, nil},

		{"a state restricts it", stateLimited("NY", No), []string{"ask people.professional_only", "block people.not_certified"}},
		{"a state restricts it, who is not known", stateLimited("New York", Unknown), []string{"ask people.certified_unknown", "ask people.professional_only"}},
		{"a state restricts it, which is not known", stateLimited("", No), []string{"ask people.professional_only", "ask people.state_restricted"}},
		{"another state restricts it", stateLimited("WA", No), []string{"ask people.professional_only"}},

		{"helper of 18, trained a year ago to the day", func(c *Case) { c.Operator = &Operator{Age: number(18), Trained: on("2025-06-10")} }, nil},
		{"trained a year and a day ago", func(c *Case) { c.Operator = &Operator{Age: number(18), Trained: on("2025-06-09")} }, []string{"block people.training_old"}},
		{"to be trained tomorrow", func(c *Case) { c.Operator = &Operator{Age: number(18), Trained: on("2026-06-11")} }, []string{"block people.training_old"}},
		{"helper of 17", func(c *Case) { c.Operator = &Operator{Age: number(17), Trained: on("2026-06-01")} }, []string{"block people.operator_young"}},
		{"of 16, of the family", func(c *Case) { c.Operator = &Operator{Age: number(16), Family: Yes, Trained: on("2026-06-01")} }, nil},
		{"of 15, of the family", func(c *Case) { c.Operator = &Operator{Age: number(15), Family: Yes, Trained: on("2026-06-01")} }, []string{"block people.operator_young"}},
		{"helper of whom nothing is known", func(c *Case) { c.Operator = &Operator{} }, []string{"ask people.operator_age_unknown", "ask people.training_unknown"}},
		{"helper, and not restricted-use", func(c *Case) {
			c.Label.Class = label.Classification{SignalWord: "CAUTION", Ingredients: c.Label.Class.Ingredients}
			c.Operator = &Operator{}
		}, nil},
		{"helper in the EU", func(c *Case) { c.Jurisdiction, c.Operator = EU, &Operator{} }, nil},

		{"unlisted pest in New York", func(c *Case) { elm(c, US); c.Region = "NY" }, []string{"ask pest.written_advice", "warn pest.not_listed"}},
		{"unlisted pest in Washington", func(c *Case) { elm(c, US); c.Region = "WA" }, []string{"warn pest.not_listed"}},

		{"harvest on the first day", func(c *Case) { fed(c); c.Harvest = on("2026-07-10") }, nil},
		{"harvest a day too soon", func(c *Case) { fed(c); c.Harvest = on("2026-07-09") }, []string{"block food.harvest_too_near"}},
		{"harvest not known", fed, nil},
		{"bears after a year", func(c *Case) { fed(c); c.Label.Food.NonBearingMonths = 12; c.Harvest = on("2027-06-10") }, nil},
		{"bears within the year", func(c *Case) { fed(c); c.Label.Food.NonBearingMonths = 12; c.Harvest = on("2027-06-09") }, []string{"block food.bears_too_soon"}},
		{"when it bears is not known", func(c *Case) { fed(c); c.Label.Food.NonBearingMonths = 12 }, []string{"ask food.harvest_unknown"}},
		{"not eaten, though the label is for trees that do not bear", func(c *Case) { c.Eaten, c.Label.Food.NonBearingMonths = No, 12 }, nil},

		{"the label forbids grazing, and cattle graze", func(c *Case) { c.Grazed, c.Label.Food.Grazing = Yes, "blocked" }, []string{"block food.grazing_blocked"}},
		{"the label forbids grazing, and nothing grazes", func(c *Case) { c.Grazed, c.Label.Food.Grazing = No, "blocked" }, nil},
		{"the label forbids grazing, and nobody said", func(c *Case) { c.Label.Food.Grazing = "blocked" }, []string{"ask food.grazed_unknown"}},
		{"cattle off for some days", func(c *Case) { c.Grazed, c.Label.Food.GrazingDays = Yes, number(28) }, []string{"warn food.grazing_later"}},
		{"for some days, and nobody said", func(c *Case) { c.Label.Food.GrazingDays = number(28) }, []string{"ask food.grazed_unknown"}},
		{"no day to wait", func(c *Case) { c.Grazed, c.Label.Food.GrazingDays = Yes, number(0) }, nil},
		{"grazing allowed", func(c *Case) { c.Label.Food.Grazing = "allowed" }, nil},
		{"cattle, and the label says nothing", func(c *Case) { c.Grazed = Yes }, nil},

		{"further lines of the label, unasked", func(c *Case) { c.Label.Also = []string{"Not in wind over 10 mph.", "Not mixed."} }, []string{"ask demand.unasked", "ask demand.unasked"}},
		{"further lines, seen to", func(c *Case) { c.Label.Also, c.Also = []string{"Not mixed."}, Yes }, nil},
		{"further lines, one not kept", func(c *Case) { c.Label.Also, c.Also = []string{"Not mixed."}, No }, []string{"block demand.not_kept"}},
		{"no further line", func(c *Case) { c.Also = No }, nil},

		{"in an orchard", func(c *Case) { c.Context = "orchard" }, []string{"warn people.worker_protection"}},
		{"in a nursery", func(c *Case) { c.Context = "nursery" }, []string{"warn people.worker_protection"}},
		{"in a forest that is cut", func(c *Case) { c.Context = "forest" }, []string{"warn people.worker_protection"}},
		{"in a park", func(c *Case) { c.Context = "amenity" }, nil},
		{"at a house", func(c *Case) { c.Context = "residential" }, nil},
		{"in an orchard of the EU", func(c *Case) { c.Context, c.Jurisdiction = "orchard", EU }, nil},

		{"another product within the interval", func(c *Case) { older(c, 100) }, []string{"ask interval.same_active", "warn resistance.same_group"}},
		{"and the label counts it", func(c *Case) { older(c, 100); c.Label.Ceilings.AllProducts = true }, []string{"block interval.too_short", "warn resistance.same_group"}},
		{"counts all, and limits the year", func(c *Case) {
			older(c, 100)
			c.Label.Ceilings = label.Ceilings{PerApplication: 64 * mL, PerYear: 200 * mL, AllProducts: true}
		}, []string{"ask history.volume_unknown", "warn resistance.same_group"}},

		{"64 mL of 40 g/L are 2.56 g", func(c *Case) { c.Label.Ceilings.AIPerYear = 2560 * quantity.Milligram }, nil},
		{"one milligram more than allowed", func(c *Case) { c.Label.Ceilings.AIPerYear = 2559 * quantity.Milligram }, []string{"block ceiling.active_over"}},
		{"with what was given before", func(c *Case) {
			c.Label.Ceilings = label.Ceilings{PerApplication: 64 * mL, AIPerYear: 5 * quantity.Gram}
			c.daysAgo(100)
		}, []string{"block ceiling.active_over"}},
		{"amount before not noted", func(c *Case) {
			c.Label.Ceilings = label.Ceilings{PerApplication: 64 * mL, AIPerYear: 5 * quantity.Gram}
			c.daysAgo(100)
			c.Earlier[0].Total = 0
		}, []string{"ask ceiling.active_unknown"}},
		{"content not stated", func(c *Case) {
			c.Label.Class.Ingredients[0].Content = quantity.MassPerVolume{}
			c.Label.Ceilings.AIPerYear = 5 * quantity.Gram
		}, []string{"ask ceiling.active_unknown"}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			c := ash()
			tc.change(&c)
			got := slices.DeleteFunc(said(Judge(c).Findings), func(s string) bool {
				return s == "warn resistance.same_group" && !slices.Contains(tc.want, s) // its own tests
			})
			slices.Sort(tc.want)
			if !slices.Equal(got, tc.want) {
				t.Errorf("got %v, want %v", got, tc.want)
			}
		})
	}
	outside.Ran(t, "40 CFR 171.201 as the State of Washington tells it; 40 CFR 170.203; the label", "gates of place, people, food, water, year")
}

// stateLimited is a product for all but in New York, where it is restricted.
func stateLimited(region string, certified Answer) func(*Case) {
	return func(c *Case) {
		c.Label.Class.RestrictedUse, c.Label.Class.StateRestricted = false, []string{"NY"}
		c.Region, c.Certified = region, certified
	}
}

// The days to wait bind whoever harvests: when nobody said when that is, it is still
// to be asked, and the plan does not hang on it.
func TestHarvestStaysOpen(t *testing.T) {
	c := ash()
	fed(&c)
	if got := said(Judge(c).Open); !slices.Contains(got, "ask food.harvest_unasked") {
		t.Errorf("open: %v", got)
	}
	c.Harvest = on("2026-09-01")
	if got := said(Judge(c).Open); slices.Contains(got, "ask food.harvest_unasked") {
		t.Errorf("open, with a harvest: %v", got)
	}
}

// What a state does not allow is told with the state, and its source is the row's.
func TestBansNameTheirState(t *testing.T) {
	for active, source := range map[string]why.Source{"imidacloprid": why.OAR603057, "Clothianidin": why.Memory} {
		c := linden()
		c.Label.Class.Ingredients[0].Name, c.Region = active, "OR"
		i := slices.IndexFunc(Judge(c).Findings, func(f why.Finding) bool { return f.Code == "region.ai_host_banned" })
		if i < 0 {
			t.Fatalf("%s: %v", active, said(Judge(c).Findings))
		}
		f := Judge(c).Findings[i]
		if f.Source != source || !slices.Contains(f.Terms, why.T("state", "OR")) {
			t.Errorf("%s: %+v", active, f)
		}
	}
	c := linden()
	c.Species = host.Species{Scientific: "Fraxinus americana"}
	c.Region = "OR"
	if got := said(Judge(c).Findings); slices.Contains(got, "block region.ai_host_banned") {
		t.Errorf("ash in Oregon: %v", got)
	}
}

// By the label's 28 days after 10 June livestock comes back on 8 July.
func TestGrazingDay(t *testing.T) {
	c := ash()
	c.Grazed, c.Label.Food.GrazingDays = Yes, number(28)
	for _, f := range Judge(c).Findings {
		if len(f.Terms) != 1 || f.Terms[0].Value != on("2026-07-08") {
			t.Errorf("%+v", f)
		}
	}
}
