package verdict

import (
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"

	"pgregory.net/rapid"

	"sapwell/engine/bole"
	"sapwell/engine/dose"
	"sapwell/engine/host"
	"sapwell/engine/label"
	"sapwell/engine/quantity"
	"sapwell/engine/stock"
	"sapwell/engine/why"
	"sapwell/internal/outside"
)

// yes is a flag of the host table.
func yes() host.Sourced[bool] { return host.Sourced[bool]{Value: true, Source: why.CommonPractice} }

// withActive is the may-we label with another active ingredient.
func withActive(c *Case, names ...string) {
	c.Label.Class.Ingredients = nil
	for _, n := range names {
		c.Label.Class.Ingredients = append(c.Label.Class.Ingredients, label.Ingredient{Name: n})
	}
}

// tree makes the case a tree of another kind, listed on the label.
func tree(c *Case, scientific string) {
	c.Species = kind(scientific)
	c.Label.Hosts = append(c.Label.Hosts, label.Host{Taxon: strings.Fields(scientific)[0]})
}

// TestRules: one fact changed from case G01, and the findings that must follow.
// The rules come from FIFRA 2(ee), Reg. 1107/2009, 40 CFR 171, OAR 603-057 and
// the studies each rule cites; what has no source is marked at the rule.
func TestRules(t *testing.T) {
	for _, tc := range []struct {
		name   string
		change func(*Case)
		want   []string
	}{
		// The tree and the label.
		{"unlisted host", func(c *Case) { c.Species = kind("Acer rubrum") }, []string{"block host.not_listed"}},
		{"unlisted host, EU", func(c *Case) { c.Species = kind("Acer rubrum"); c.Jurisdiction = EU }, []string{"block host.not_listed"}},
		{"excluded species", func(c *Case) {
			c.Species = kind("Fraxinus excelsior")
			c.Label.Hosts = append(c.Label.Hosts, label.Host{Taxon: "Fraxinus excelsior", Excluded: true})
		}, []string{"block host.excluded"}},
		{"genus, one species excluded", func(c *Case) {
			c.Label.Hosts = append(c.Label.Hosts, label.Host{Taxon: "Fraxinus excelsior", Excluded: true})
		}, []string{"ask host.species_unknown"}},
		{"genus, one species listed", func(c *Case) { c.Label.Hosts = []label.Host{{Taxon: "Fraxinus americana"}} }, []string{"ask host.species_unknown"}},
		{"kind not given", func(c *Case) { c.Species = host.Species{} }, []string{"ask host.unknown"}},
		{"palm", func(c *Case) { tree(c, "Phoenix canariensis"); c.Species.Anatomy.Value = host.Palm }, []string{"warn host.palm"}},
		{"label at fault", func(c *Case) { c.Label.Product.RegNo = "" }, []string{"block label.missing"}},
		{"no day", func(c *Case) { c.Date = on("0001-01-01") }, []string{"ask date.unknown"}},
		{"no jurisdiction, unlisted pest", func(c *Case) { c.Jurisdiction = ""; c.Pest = "Lymantria dispar" }, []string{"ask jurisdiction.unknown", "block pest.not_listed"}},
		{"no pest", func(c *Case) { c.Pest = "" }, []string{"ask pest.not_given"}},
		{"pest by code", func(c *Case) { c.Pest = "AGRLPL" }, nil},
		{"live wires", func(c *Case) { c.LiveWires = Yes }, []string{"warn site.live_wires"}},

		// Oregon and linden.
		{"OR linden imidacloprid", func(c *Case) { tree(c, "Tilia cordata"); c.Region = "OR"; withActive(c, "imidacloprid") }, []string{"block region.ai_host_banned"}},
		{"OR linden clothianidin", func(c *Case) { tree(c, "Tilia"); c.Region = "or"; withActive(c, "Clothianidin") }, []string{"block region.ai_host_banned"}},
		{"OR linden emamectin", func(c *Case) { tree(c, "Tilia cordata"); c.Region = "OR" }, nil},
		{"OR ash imidacloprid", func(c *Case) { c.Region = "OR"; withActive(c, "imidacloprid") }, nil},
		{"WA linden imidacloprid", func(c *Case) { tree(c, "Tilia cordata"); c.Region = "WA"; withActive(c, "imidacloprid") }, nil},
		{"state not given", func(c *Case) { tree(c, "Tilia cordata"); withActive(c, "dinotefuran") }, []string{"ask region.unknown"}},

		// Dose.
		{"no dose", func(c *Case) { c.Doses = nil }, []string{"ask dose.missing"}},
		{"two stems over together", func(c *Case) {
			c.girth(60 * inch)
			c.Stems[0].Name = "1"
			c.Stems = append(c.Stems, bole.Stem{Name: "2", Ring: c.Stems[0].Ring})
			c.redose()
		}, []string{"block dose.over_max_per_application"}},
		{"planned above", func(c *Case) { c.Planned = 65 * mL }, []string{"block dose.planned_above"}},
		{"planned below, US", func(c *Case) { c.Planned = 60 * mL }, nil},
		{"planned below, forbidden", func(c *Case) { c.Planned = 60 * mL; c.Label.NoDeviation = true }, []string{"block dose.planned_below"}},
		{"planned below, EU", func(c *Case) { c.Planned = 60 * mL; c.Jurisdiction = EU }, []string{"ask dose.planned_below"}},

		// History.
		{"treated today", func(c *Case) { c.daysAgo(0) }, []string{"block interval.too_short"}},
		{"product not noted", func(c *Case) { c.daysAgo(100); c.Earlier[0].Label = "" }, []string{"block interval.too_short"}},
		{"another product", func(c *Case) { c.daysAgo(100); c.Earlier[0].Label = "other" }, nil},
		{"another product, same active", func(c *Case) {
			c.daysAgo(100)
			c.Earlier[0].Label, c.Earlier[0].Active = "other", []string{"Emamectin benzoate"}
		}, []string{"ask interval.same_active", "warn resistance.same_group"}},
		{"the last of two counts", func(c *Case) {
			c.daysAgo(100)
			c.Earlier = append(c.Earlier, Application{Date: on("2020-06-10"), Label: c.Label.ID})
		}, []string{"block interval.too_short"}},
		{"future date", func(c *Case) { c.daysAgo(-1) }, []string{"ask history.bad_date"}},
		{"no date", func(c *Case) { c.Earlier = []Application{{Label: c.Label.ID}} }, []string{"ask history.bad_date"}},
		{"once a year", func(c *Case) { c.daysAgo(364); c.Label.Ceilings.IntervalDays, c.Label.Ceilings.Applications = 0, 1 }, []string{"block interval.too_many_per_year"}},
		{"once a year, a year ago", func(c *Case) { c.daysAgo(365); c.Label.Ceilings.IntervalDays, c.Label.Ceilings.Applications = 0, 1 }, nil},
		{"just the year's most", func(c *Case) { c.daysAgo(300); c.Label.Ceilings.IntervalDays, c.Label.Ceilings.PerYear = 0, 128*mL }, nil},
		{"over the year's most", func(c *Case) { c.daysAgo(300); c.Label.Ceilings.IntervalDays, c.Label.Ceilings.PerYear = 0, 127*mL }, []string{"block dose.over_max_per_year"}},
		{"volume not noted", func(c *Case) {
			c.daysAgo(300)
			c.Earlier[0].Total = 0
			c.Label.Ceilings.IntervalDays, c.Label.Ceilings.PerYear = 0, 128*mL
		}, []string{"ask history.volume_unknown"}},
		{"per hectare", func(c *Case) { c.Label.Ceilings.AIPerAreaYear = 100 * quantity.Gram }, nil},
		{"same group as last", func(c *Case) {
			c.daysAgo(800)
			c.Earlier[0].Label, c.Earlier[0].Active = "other", []string{"abamectin"}
		}, []string{"warn resistance.same_group"}},
		{"another group", func(c *Case) { c.daysAgo(800); c.Earlier[0].Active = []string{"imidacloprid"} }, nil},

		// Bloom and bees.
		{"in bloom", func(c *Case) { c.BloomOver = No }, []string{"block bloom.not_over"}},
		{"emamectin in spring, bee tree", func(c *Case) { c.Species.Bees = yes(); c.Date = on("2026-05-02") }, []string{"warn bees.season"}},
		{"emamectin in fall, bee tree", func(c *Case) { c.Species.Bees = yes(); c.Date = on("2026-10-02") }, nil},
		{"imidacloprid in fall, bee tree", func(c *Case) { c.Species.Bees = yes(); c.Date = on("2026-10-02"); withActive(c, "imidacloprid") }, []string{"warn bees.season"}},
		{"imidacloprid in spring, bee tree", func(c *Case) { c.Species.Bees = yes(); c.Date = on("2026-05-02"); withActive(c, "imidacloprid") }, nil},

		// Food and sap.
		{"eaten, not a crop on the label", func(c *Case) { c.Eaten = Yes }, []string{"block food.crop_not_listed"}},
		{"a crop, whatever was answered", func(c *Case) { c.Eaten = No; c.Crop = true }, []string{"block food.crop_not_listed"}},
		{"crop listed, no wait stated", func(c *Case) { c.Eaten = Yes; c.Label.Hosts[0].Crop = true }, []string{"block food.phi_not_stated"}},
		{"crop listed, wait stated", func(c *Case) { c.Eaten = Yes; c.Label.Hosts[0].Crop = true; c.Label.Food.PHIDays = number(30) }, nil},
		{"food kind, not asked", func(c *Case) { c.Species.Food = yes() }, []string{"ask food.eaten_unknown"}},
		{"food kind, not eaten", func(c *Case) { c.Species.Food = yes(); c.Eaten = No }, nil},
		{"tapped", func(c *Case) { c.Tapped = Yes }, []string{"block sap.tapping_not_allowed"}},
		{"tapped, label blocks", func(c *Case) { c.Tapped = Yes; c.Label.Food.Tapping = "blocked" }, []string{"block sap.tapping_not_allowed"}},
		{"tapped, label allows", func(c *Case) { c.Tapped = Yes; c.Label.Food.Tapping = "allowed" }, nil},
		{"tapping kind, not asked", func(c *Case) { c.Species.Tapped = yes() }, []string{"ask sap.tapped_unknown"}},

		// People.
		{"not certified", func(c *Case) { c.Certified = No }, []string{"block people.not_certified"}},
		{"certified not known", func(c *Case) { c.Certified = Unknown }, []string{"ask people.certified_unknown"}},
		{"general use", func(c *Case) {
			c.Certified = No
			c.Label.Class.RestrictedUse, c.Label.Class.ProfessionalOnly = false, false
		}, nil},
		{"professional, US", func(c *Case) { c.Certified = No; c.Label.Class.RestrictedUse = false }, []string{"ask people.professional_only"}},
		{"professional, UK", func(c *Case) { c.Certified = No; c.Label.Class.RestrictedUse = false; c.Jurisdiction = UK }, []string{"block people.professional_only"}},

		// Canopy: 30 and 50 %, five points of doubt.
		{"24 %", func(c *Case) { c.CanopyLoss = number(24) }, nil},
		{"25 %", func(c *Case) { c.CanopyLoss = number(25) }, []string{"ask canopy.judge"}},
		{"49 %", func(c *Case) { c.CanopyLoss = number(49) }, []string{"ask canopy.judge"}},
		{"51 %", func(c *Case) { c.CanopyLoss = number(51) }, []string{"ask canopy.judge"}},
		{"56 %", func(c *Case) { c.CanopyLoss = number(56) }, []string{"block canopy.do_not_treat"}},
		{"own cut points", func(c *Case) { c.CanopyLoss = number(56); c.Bands = Bands{Judge: 40, Stop: 60, Doubt: 2} }, []string{"ask canopy.judge"}},
		{"cut points reversed", func(c *Case) { c.CanopyLoss = number(10); c.Bands = Bands{Judge: 60, Stop: 40} }, []string{"ask canopy.impossible"}},
		{"101 %", func(c *Case) { c.CanopyLoss = number(101) }, []string{"ask canopy.impossible"}},
		{"elm at 90 %: never decided", func(c *Case) { elm(c, US); c.CanopyLoss = number(90) }, []string{"warn pest.not_listed"}},

		// Weather and season.
		{"33 °C", func(c *Case) { c.Air = celsius(33) }, []string{"warn weather.hot"}},
		{"32 °C", func(c *Case) { c.Air = celsius(32) }, nil},
		{"over the label's limit", func(c *Case) { c.Air = celsius(30.1); c.Label.Conditions.AirMax = celsius(30) }, []string{"block weather.too_hot"}},
		{"on the label's limit", func(c *Case) { c.Air = celsius(30); c.Label.Conditions.AirMax = celsius(30) }, nil},
		{"label allows 35", func(c *Case) { c.Air = celsius(33); c.Label.Conditions.AirMax = celsius(35) }, nil},
		{"too cold", func(c *Case) { c.Air = celsius(9); c.Label.Conditions.AirMin = celsius(10) }, []string{"block weather.too_cold"}},
		{"drought", func(c *Case) { c.Drought = Yes }, []string{"warn weather.drought"}},
		{"drought, moist soil asked", func(c *Case) { c.Drought = Yes; c.Label.Conditions.MoistSoil = true }, []string{"block weather.soil_dry"}},
		{"before the label's stage", func(c *Case) { c.BBCH = number(50); c.Label.Conditions.BBCHFrom, c.Label.Conditions.BBCHTo = 69, 91 }, []string{"block season.outside_label"}},
		{"within it", func(c *Case) { c.BBCH = number(75); c.Label.Conditions.BBCHFrom = 69; c.Label.Conditions.BBCHTo = 91 }, nil},
		{"stage not given", func(c *Case) { c.Label.Conditions.BBCHFrom, c.Label.Conditions.BBCHTo = 69, 91 }, []string{"ask season.stage_unknown"}},
		{"bare", func(c *Case) { c.BBCH = number(7) }, []string{"warn season.leaves"}},
		{"bare conifer", func(c *Case) { c.BBCH = number(7); c.Species.Anatomy.Value = host.Tracheid }, nil},
		{"oak in March, California", func(c *Case) { tree(c, "Quercus agrifolia"); c.Region = "CA"; c.Date = on("2026-03-10") }, []string{"warn season.oak_ramorum"}},
		{"oak in March, Ohio", func(c *Case) { tree(c, "Quercus rubra"); c.Region = "OH"; c.Date = on("2026-03-10") }, nil},
		{"oak in August, California", func(c *Case) { tree(c, "Quercus agrifolia"); c.Region = "CA"; c.Date = on("2026-08-10") }, nil},

		// Lots.
		{"good lot", func(c *Case) { oldCold(c); c.Lots[0].Expires = c.Date; c.Lots[0].Coldest = celsius(5) }, nil},
		{"another product's lot", func(c *Case) { oldCold(c); c.Lots[0].Label = "other" }, nil},
	} {
		t.Run(tc.name, func(t *testing.T) {
			c := ash()
			tc.change(&c)
			o := Judge(c)
			expect(t, o, tc.want...)
			blanksFilled(t, slices.Concat(o.Findings, o.Open, o.Notes))
		})
	}
	outside.Ran(t, "FIFRA 2(ee); Reg. (EC) 1107/2009; 40 CFR 171; OAR 603-057", "findings when one fact changes")
}

// TestOpenAndNotes: what is open at case G01, and what a bee tree and a
// pressurised unit add.
func TestOpenAndNotes(t *testing.T) {
	c := ash()
	o := Judge(c)
	want := []string{"ask canopy.not_rated", "ask food.eaten_unasked", "ask history.none", "ask lot.none", "ask site.wires_unseen", "ask weather.air_unknown", "ask weather.soil_unknown"}
	if got := said(o.Open); !slices.Equal(got, want) {
		t.Errorf("open: got %v, want %v", got, want)
	}
	if got := said(o.Notes); !slices.Equal(got, []string{"note dose.wide_spacing"}) { // 6 in is 15.24 cm
		t.Errorf("notes: %v", got)
	}
	c.Species.Bees, c.Species.Tapped = yes(), host.Sourced[bool]{}
	c.Label.Unit.Gauge = 10 * quantity.PSI
	c.Label.Conditions.NotInRain, c.Label.Conditions.HoursFrom = true, "18:00"
	c.Lots = []stock.Lot{{ID: "A1", Expires: c.Date}}
	c.CanopyLoss, c.Air, c.Drought, c.LiveWires, c.Eaten = number(10), celsius(20), No, No, No
	c.daysAgo(800)
	o = Judge(c)
	want = []string{"ask lot.no_log", "ask sap.tapped_unasked", "ask season.hours", "ask weather.rain"}
	if got := said(o.Open); !slices.Equal(got, want) {
		t.Errorf("open: got %v, want %v", got, want)
	}
	if got := said(o.Notes); !slices.Equal(got, []string{"note bees.visited", "note dose.wide_spacing"}) {
		t.Errorf("notes: %v", got)
	}
	elm(&c, US)
	c.CanopyLoss = number(80)
	if got := said(Judge(c).Open); !slices.Contains(got, "ask canopy.your_judgement") {
		t.Errorf("elm at 80 %%: %v", got)
	}
}

// TestOrder: block, ask, warn; within each the order of the rules.
func TestOrder(t *testing.T) {
	c := ash()
	c.LiveWires, c.Certified, c.BloomOver = Yes, Unknown, Unknown
	c.girth(97 * inch)
	var got []string
	o := Judge(c)
	for _, f := range o.Findings {
		got = append(got, f.Code)
	}
	want := []string{"dose.over_max_per_application", "bloom.unknown", "people.certified_unknown", "site.live_wires"}
	if !slices.Equal(got, want) || o.Overall != Stop {
		t.Errorf("%v, %v", o.Overall, got)
	}
	if len(o.Why.Because) != len(want) || o.Why.Result.Value != "stop" {
		t.Errorf("why: %+v", o.Why)
	}
}

// catalogue is every message of both languages, read once.
var catalogue = sync.OnceValues(func() (map[string]map[string]string, error) {
	all := map[string]map[string]string{"en": {}, "es": {}}
	for lang, words := range all {
		areas, err := filepath.Glob("../../words/" + lang + "/*.json")
		if err != nil {
			return nil, err
		}
		for _, area := range areas {
			b, err := os.ReadFile(area)
			if err != nil {
				return nil, err
			}
			raw := map[string]json.RawMessage{}
			if err := json.Unmarshal(b, &raw); err != nil {
				return nil, fmt.Errorf("%s: %w", area, err)
			}
			for k, v := range raw {
				words[k] = string(v)
			}
		}
	}
	return all, nil
})

func bothLanguages(t *testing.T) map[string]map[string]string {
	t.Helper()
	all, err := catalogue()
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// blanksFilled fails when a sentence has a blank that the finding's terms do not
// fill, or a term that has no name.
func blanksFilled(t *testing.T, fs []why.Finding) {
	t.Helper()
	for lang, words := range bothLanguages(t) {
		for _, f := range fs {
			if strings.HasPrefix(f.Code, "label.") || strings.HasPrefix(f.Code, "bole.") {
				continue
			}
			text := words["finding."+f.Code] + words["remedy."+f.Code]
			for _, blank := range regexp.MustCompile(`\{([a-z_]+)\}`).FindAllStringSubmatch(text, -1) {
				if !slices.ContainsFunc(f.Terms, func(t why.Term) bool { return t.Name == blank[1] }) {
					t.Errorf("%s %s: nothing fills {%s}", lang, f.Code, blank[1])
				}
			}
			for _, term := range f.Terms {
				if words["term."+term.Name] == "" {
					t.Errorf("%s %s: term %q has no name", lang, f.Code, term.Name)
				}
			}
		}
	}
}

// TestRulesAreWhole: every rule has a code, a source and a check; every code has
// its sentence and its remedy in both languages; none of them says "legal".
func TestRulesAreWhole(t *testing.T) {
	for lang, words := range bothLanguages(t) {
		for _, r := range Rules() {
			if r.Code == "" || r.Source == "" || r.Check == nil {
				t.Errorf("rule %q is not whole", r.Code)
			}
			for _, key := range []string{"finding." + r.Code, "remedy." + r.Code} {
				if words[key] == "" && !strings.HasSuffix(r.Code, ".*") {
					t.Errorf("%s: no %s", lang, key)
				}
			}
		}
		for _, key := range slices.Sorted(maps.Keys(words)) {
			mine := slices.ContainsFunc(Rules(), func(r Rule) bool { return strings.HasSuffix(key, r.Code) })
			for _, word := range []string{" legal", "compliant", "approved", "permitted by law", "aprobado", "cumple con la ley"} {
				if mine && strings.Contains(strings.ToLower(words[key]), word) {
					t.Errorf("%s %s says %q", lang, key, word)
				}
			}
		}
	}
}

// Whatever is left out of a case, no rule panics, and a missing fact never makes
// the opinion milder.
func TestMissingFactsNeverPass(t *testing.T) {
	rank := func(o Overall) int { return slices.Index([]Overall{NothingFound, Caution, AskFirst, Stop}, o) }
	rapid.Check(t, func(t *rapid.T) {
		c := ash()
		answer := rapid.SampledFrom([]Answer{Yes, No})
		c.BloomOver, c.Certified = Yes, answer.Draw(t, "certified")
		c.Species.Food, c.Species.Tapped = yes(), yes()
		c.Eaten, c.Tapped = answer.Draw(t, "eaten"), answer.Draw(t, "tapped")
		good := c
		good.Certified, good.Eaten, good.Tapped = Yes, No, No
		known := rank(Judge(good).Overall)
		if known != 0 {
			t.Fatalf("a good case finds %v", said(Judge(good).Findings))
		}
		c = good
		switch rapid.IntRange(0, 6).Draw(t, "lost") {
		case 0:
			c.BloomOver = Unknown
		case 1:
			c.Certified = Unknown
		case 2:
			c.Eaten = Unknown
		case 3:
			c.Tapped = Unknown
		case 4:
			c.Pest = ""
		case 5:
			c.Jurisdiction = ""
		case 6:
			c.Doses = []dose.Result{}
		}
		if rank(Judge(c).Overall) < rank(AskFirst) {
			t.Fatalf("a lost fact passed: %v", said(Judge(c).Findings))
		}
	})
	Judge(Case{}) // nothing at all must not panic
}

func BenchmarkJudge(b *testing.B) {
	c := ash()
	for b.Loop() {
		Judge(c)
	}
}
