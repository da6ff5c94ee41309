package verdict

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"sapwell/engine/dose"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// intervalRules: what was given before, and does the label leave room?
func intervalRules() []Rule {
	return []Rule{
		{Code: "history.bad_date", Source: why.Own, Check: badDate},
		{Code: "history.none", Source: why.TheLabel, Open: true, Check: noHistory},
		{Code: "interval.too_short", Source: why.TheLabel, Check: tooShort},
		{Code: "interval.same_active", Source: why.TheLabel, Check: sameActive},
		{Code: "interval.too_many_per_year", Source: why.TheLabel, Check: tooMany},
		{Code: "history.volume_unknown", Source: why.TheLabel, Check: volumeUnknown},
		{Code: "dose.over_max_per_year", Source: why.TheLabel, Check: overYear},
		{Code: "ceiling.active_over", Source: why.TheLabel, Check: activeOver},
		{Code: "ceiling.active_unknown", Source: why.TheLabel, Check: activeUnknown},
		{Code: "ceiling.area_unchecked", Source: why.TheLabel, Open: true, Check: areaUnchecked},
	}
}

// badDate asks about applications dated after the day of the work, or not at
// all: no interval can be told from them.
func badDate(c Case) []why.Finding {
	var fs []why.Finding
	for i, a := range c.Earlier {
		if a.Date.IsZero() || !c.Date.IsZero() && a.Date.DaysTo(c.Date) < 0 {
			fs = append(fs, report(why.Ask, fmt.Sprintf("earlier[%d].date", i), why.T("earlier", a.Date), why.T("date", c.Date))...)
		}
	}
	return fs
}

// limited reports whether the label has a limit that history decides.
func limited(c Case) bool {
	k := c.Label.Ceilings
	return k.IntervalDays > 0 || k.Applications > 0 || k.PerYear > 0 || k.AIPerYear > 0
}

func noHistory(c Case) []why.Finding {
	if limited(c) && len(c.Earlier) == 0 {
		return report(why.Ask, "earlier")
	}
	return nil
}

// usable are the earlier applications that a date can be told of.
func usable(c Case) []Application {
	if c.Date.IsZero() {
		return nil
	}
	return slices.DeleteFunc(slices.Clone(c.Earlier), func(a Application) bool {
		return a.Date.IsZero() || a.Date.DaysTo(c.Date) < 0
	})
}

// ofLabel are those of this product, and where the label counts every product with
// its active ingredient those too. One whose product nobody noted may be of this
// product, so it counts.
func ofLabel(c Case) []Application {
	return slices.DeleteFunc(usable(c), func(a Application) bool {
		if c.ofOther(a) && c.Label.Ceilings.AllProducts {
			return !sharesActive(c, a)
		}
		return c.ofOther(a) || a.Label == "" && len(a.Active) > 0 && !sharesActive(c, a)
	})
}

// ofOther reports whether an application was of another product.
func (c Case) ofOther(a Application) bool { return a.Label != "" && a.Label != c.Label.ID }

func sharesActive(c Case, a Application) bool {
	for _, in := range c.Label.Class.Ingredients {
		if slices.ContainsFunc(a.Active, func(n string) bool { return strings.EqualFold(n, in.Name) }) {
			return true
		}
	}
	return false
}

// latest is the last of them.
func latest(as []Application) (Application, bool) {
	if len(as) == 0 {
		return Application{}, false
	}
	return slices.MaxFunc(as, func(a, b Application) int { return a.Date.Compare(b.Date.Time) }), true
}

func tooShort(c Case) []why.Finding {
	return within(c, ofLabel(c), why.Block)
}

// sameActive asks when another product with the same active ingredient was given
// within the interval: whether the label counts it, the label must say.
func sameActive(c Case) []why.Finding {
	if c.Label.Ceilings.AllProducts {
		return nil // they count, see ofLabel
	}
	others := slices.DeleteFunc(usable(c), func(a Application) bool { return !c.ofOther(a) || !sharesActive(c, a) })
	return within(c, others, why.Ask)
}

// within reports a last application nearer than the label's interval.
func within(c Case, as []Application, s why.Severity) []why.Finding {
	last, ok := latest(as)
	least := c.Label.Ceilings.IntervalDays
	if !ok || least <= 0 || last.Date.DaysTo(c.Date) >= least {
		return nil
	}
	return report(s, "earlier", why.T("days", last.Date.DaysTo(c.Date)), why.T("interval_days", least), why.T("earlier", last.Date))
}

// year is what this product came to in the label's year. A volume of another product
// says nothing of this one: it counts as not noted.
func year(c Case) dose.Year {
	var past []dose.Past
	for _, a := range ofLabel(c) {
		p := dose.Past{Date: a.Date, Total: a.Total}
		if c.ofOther(a) {
			p.Total = 0
		}
		past = append(past, p)
	}
	return dose.InYear(c.Label, c.Date, past)
}

func tooMany(c Case) []why.Finding {
	most, had := c.Label.Ceilings.Applications, year(c).Applications
	if most <= 0 || had < most {
		return nil
	}
	return report(why.Block, "earlier", why.T("applications", had), why.T("most", most))
}

// volumeUnknown: an amount nobody noted cannot be shown to leave room.
func volumeUnknown(c Case) []why.Finding {
	if y := year(c); c.Label.Ceilings.PerYear > 0 && y.Unknown > 0 {
		return report(why.Ask, "earlier", why.T("applications", y.Unknown))
	}
	return nil
}

// overYear compares what was given with what the year's most leaves for this
// application.
func overYear(c Case) []why.Finding {
	most, had, now := c.Label.Ceilings.PerYear, year(c), amount(c)
	if most <= 0 || now <= had.Leaves(most) {
		return nil
	}
	return report(why.Block, "earlier", why.T("total", now), why.T("earlier_total", had.Total), why.T("ceiling", most))
}

// active is the active ingredient of this application and of the label's year before
// it; unknown where a content or an earlier amount is not. The label's own figure
// speaks of its one ingredient; of several it is not known which.
func active(c Case) (grams quantity.Mass, known bool) {
	in := c.Label.Class.Ingredients
	if len(in) != 1 || in[0].Content.Per <= 0 || in[0].Content.Mass <= 0 {
		return 0, false
	}
	had := year(c)
	given := float64(had.Total + amount(c))
	return quantity.Mass(math.Ceil(given / float64(in[0].Content.Per) * float64(in[0].Content.Mass))), had.Unknown == 0
}

func activeOver(c Case) []why.Finding {
	most := c.Label.Ceilings.AIPerYear
	if sum, _ := active(c); most <= 0 || sum <= most {
		return nil
	}
	sum, _ := active(c)
	return report(why.Block, "earlier", why.T("active_mass", sum), why.T("active_most", most))
}

func activeUnknown(c Case) []why.Finding {
	most := c.Label.Ceilings.AIPerYear
	if sum, known := active(c); most <= 0 || known || sum > most {
		return nil
	}
	return report(why.Ask, "earlier", why.T("active_most", most))
}

// amount is what this application will give: what is planned, else the dose.
func amount(c Case) quantity.Volume {
	if c.Planned > 0 {
		return c.Planned
	}
	total, _ := dose.Together(c.Label, c.Doses)
	return total
}

// areaUnchecked: a limit per hectare needs the area and all that was given on
// it, which one tree's facts do not hold.
func areaUnchecked(c Case) []why.Finding {
	if m := c.Label.Ceilings.AIPerAreaYear; m > 0 {
		return report(why.Ask, "ceilings.ai_per_hectare_year", why.T("per_hectare", m))
	}
	return nil
}
