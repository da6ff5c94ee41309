package label

import (
	"strings"
	"time"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

func (c *checker) identity(l Label) {
	c.need("id", l.ID != "")
	if l.ID != "" && !idForm.MatchString(l.ID) {
		c.fault("label.id_format", "id", why.T("value", l.ID))
	}
	c.need("version", !l.Version.IsZero())
	c.need("product.name", l.Product.Name != "")
	c.need("product.reg_no", l.Product.RegNo != "")
	c.need("product.registrant", l.Product.Registrant != "")
	c.need("product.country", l.Product.Country != "")
	if l.Product.Country != "" && !countryForm.MatchString(l.Product.Country) {
		c.fault("label.country_format", "product.country", why.T("value", l.Product.Country))
	}
	if l.Product.Country == "US" && l.Product.RegNo != "" && !usRegNoForm.MatchString(l.Product.RegNo) {
		c.add("label.reg_no_format", why.Warn, why.Memory, "product.reg_no", why.T("value", l.Product.RegNo))
	}
	c.states("product.states", l.Product.States)
	if p := l.Product; !p.UseUpUntil.IsZero() && !p.UseUpUntil.After(p.AuthorisedUntil) {
		c.fault("label.range_reversed", "product.use_up_until", why.T("low", p.AuthorisedUntil), why.T("high", p.UseUpUntil))
	}
}

// states checks codes of states or provinces: two or three capitals or digits, the
// part behind the hyphen of ISO 3166-2.
func (c *checker) states(list string, codes []string) {
	seen := map[string]bool{}
	for i, code := range codes {
		place := at(list, i, "")
		if !stateForm.MatchString(code) {
			c.fault("label.state_format", place, why.T("value", code))
		}
		c.once(seen, place, code, code)
	}
}

func (c *checker) classification(l Label) {
	const list = "classification.active_ingredients"
	c.accept("classification.signal_word", l.Class.SignalWord, "DANGER", "WARNING", "CAUTION")
	if l.Class.RestrictedUse && l.Class.SignalWord == "" {
		c.doubt("label.signal_word_missing", "classification.signal_word")
	}
	c.need(list, len(l.Class.Ingredients) > 0)
	if len(l.Class.Ingredients) > 1 && l.Rate.Mass != nil {
		c.fault("label.mass_unclear", "rate.mass_per_diameter")
	}
	c.states("classification.state_restricted", l.Class.StateRestricted)
	seen := map[string]bool{}
	for i, a := range l.Class.Ingredients {
		c.need(at(list, i, "name"), a.Name != "")
		c.once(seen, at(list, i, "name"), foldName(a.Name), a.Name)
		c.content(at(list, i, "content"), a, l.Rate)
		if a.IRAC != "" && !iracForm.MatchString(a.IRAC) {
			c.add("label.irac_format", why.Warn, why.IRAC, at(list, i, "irac"), why.T("value", a.IRAC))
		}
		if a.FRAC != "" && !fracForm.MatchString(a.FRAC) {
			c.add("label.frac_format", why.Warn, why.FRAC, at(list, i, "frac"), why.T("value", a.FRAC))
		}
	}
}

// content checks one concentration. A rate in grams of active ingredient cannot
// be turned into units without it; otherwise it is only wished for.
func (c *checker) content(place string, a Ingredient, r Rate) {
	stated := a.Content != quantity.MassPerVolume{}
	switch {
	case !stated && r.Mass != nil:
		c.fault("label.content_missing", place, why.T("active", a.Name))
	case !stated:
		c.wish(place, false)
	case a.Content.Mass <= 0 || a.Content.Per <= 0:
		c.positive(place, true, a.Content)
	case float64(a.Content.Mass)/float64(a.Content.Per) > 2000: // 2 kg/L: denser than any liquid product
		most := quantity.MassPerVolume{Mass: 2000 * quantity.Gram, Per: quantity.Litre}
		c.unlikely(place, a.Content, quantity.MassPerVolume{Per: quantity.Litre}, most)
	}
}

// once reports a key that stood there before; empty keys are reported as missing.
func (c *checker) once(seen map[string]bool, place, key, printed string) {
	if key != "" && seen[key] {
		c.fault("label.stated_twice", place, why.T("value", printed))
	}
	seen[key] = true
}

func (c *checker) hosts(hosts []Host) {
	listed := 0
	seen := map[string]bool{}
	for i, h := range hosts {
		place := at("hosts", i, "taxon")
		c.need(place, h.Taxon != "")
		if h.Taxon != "" && !taxonForm.MatchString(h.Taxon) {
			c.fault("label.taxon_format", place, why.T("value", h.Taxon))
		}
		c.once(seen, place, strings.Join(taxonWords(h.Taxon), " "), h.Taxon)
		if !h.Excluded {
			listed++
		}
	}
	c.need("hosts", listed > 0)
}

func (c *checker) pests(l Label) {
	if l.PestsOnly {
		c.need("pests", len(l.Pests) > 0)
	} else {
		c.wish("pests", len(l.Pests) > 0)
	}
	seen := map[string]bool{}
	for i, p := range l.Pests {
		c.need(at("pests", i, "name"), p.Name != "")
		c.once(seen, at("pests", i, "name"), foldName(p.Name), p.Name)
		if p.EPPO != "" && !pestCodeForm.MatchString(p.EPPO) {
			c.add("label.eppo_format", why.Block, why.EPPO, at("pests", i, "eppo"), why.T("value", p.EPPO))
		}
	}
}

func (c *checker) unit(u UnitSpec) {
	const low, high = quantity.Millilitre / 10, 500 * quantity.Millilitre
	c.need("unit.fills", len(u.Fills) > 0)
	seen := map[quantity.Volume]bool{}
	for i, v := range u.Fills {
		place := at("unit.fills", i, "")
		switch {
		case v <= 0:
			c.positive(place, true, v)
		case seen[v]:
			c.fault("label.stated_twice", place, why.T("value", v))
		case v < low || v > high:
			c.unlikely(place, v, low, high)
		}
		seen[v] = true
	}
	c.positive("unit.gas_space", u.GasSpace < 0, u.GasSpace)
	c.positive("unit.pressure", u.Gauge < 0, u.Gauge)
	c.positive("unit.filled_at", u.FilledAt < 0, u.FilledAt)
	// Above 200 kPa gauge at 20 °C transport law calls it a gas; units of this
	// kind hold about 70 kPa.
	if most := 200 * quantity.Kilopascal; u.Gauge > most {
		c.unlikely("unit.pressure", u.Gauge, quantity.Pressure(0), most)
	}
}

func (c *checker) conditions(k Conditions) {
	c.warmth("conditions.air_min", k.AirMin, k.AirMax)
	c.stage("conditions.bbch_from", k.BBCHFrom)
	c.stage("conditions.bbch_to", k.BBCHTo)
	if k.BBCHFrom > 0 && k.BBCHTo == 0 {
		c.fault("label.range_half", "conditions.bbch_to")
	}
	if k.BBCHTo > 0 && k.BBCHFrom > k.BBCHTo {
		c.fault("label.range_reversed", "conditions.bbch_from", why.T("low", k.BBCHFrom), why.T("high", k.BBCHTo))
	}
	c.hours("conditions.hours_from", k.HoursFrom)
	c.hours("conditions.hours_to", k.HoursTo)
	if (k.HoursFrom == "") != (k.HoursTo == "") {
		c.fault("label.range_half", "conditions.hours_from")
	}
}

// stage checks a growth stage, 0 to 99 (BBCH monograph, Meier 2001).
func (c *checker) stage(place string, bbch int) {
	if bbch < 0 || bbch > 99 {
		c.fault("label.bbch_range", place, why.T("value", bbch))
	}
}

// hours checks a time of day. A window may run over midnight, so the order of
// the two is no fault.
func (c *checker) hours(place, hhmm string) {
	if _, err := time.Parse("15:04", hhmm); hhmm != "" && (err != nil || len(hhmm) != len("15:04")) {
		c.fault("label.hours_format", place, why.T("value", hhmm))
	}
}

func (c *checker) people(l Label) {
	for i, line := range l.Also {
		c.need(at("also", i, ""), line != "")
	}
	c.wish("people.ppe", len(l.People.PPE) > 0)
	for i, p := range l.People.PPE {
		c.need(at("people.ppe", i, ""), p != "")
	}
	c.wish("people.re_entry", l.People.REI != "")
	c.count("people.re_entry_hours", l.People.REIHours)
	c.count("food.pre_harvest_days", l.Food.PHIDays)
	c.positive("food.non_bearing_months", l.Food.NonBearingMonths < 0, l.Food.NonBearingMonths)
	c.accept("food.grazing", l.Food.Grazing, "allowed", "blocked")
	c.count("food.grazing_days", l.Food.GrazingDays)
	c.positive("site.water_buffer", l.Site.WaterBuffer < 0, l.Site.WaterBuffer)
	c.need("food.tapping", l.Food.Tapping != "")
	c.accept("food.tapping", l.Food.Tapping, "allowed", "blocked", "unspecified")
	c.warmth("storage.min", l.Storage.Min, l.Storage.Max)
	c.wish("storage", l.Storage != Storage{})
	c.statements(l.Statements)
	c.firstAid(l.FirstAid.Steps)
	c.wish("disposal", l.Disposal != Disposal{})
}

func (c *checker) count(place string, n *int) {
	if n != nil {
		c.positive(place, *n < 0, *n)
	}
}

// statements: the code is that of the Globally Harmonized System, H or P or EUH with
// three digits, several joined by "+".
func (c *checker) statements(all []Statement) {
	for i, s := range all {
		c.need(at("statements", i, "text"), s.Text != "")
		if s.Code != "" && !hazardForm.MatchString(s.Code) {
			c.fault("label.not_accepted", at("statements", i, "code"), why.T("value", s.Code), why.T("accepted", "H318, EUH401, P305+P351+P338"))
		}
	}
}

func (c *checker) firstAid(steps []FirstAidStep) {
	const list = "first_aid.steps"
	c.wish(list, len(steps) > 0)
	seen := map[string]bool{}
	for i, s := range steps {
		c.need(at(list, i, "route"), s.Route != "")
		c.accept(at(list, i, "route"), s.Route, "eyes", "skin", "inhaled", "swallowed")
		c.once(seen, at(list, i, "route"), s.Route, s.Route)
		c.need(at(list, i, "text"), s.Text != "")
	}
}
