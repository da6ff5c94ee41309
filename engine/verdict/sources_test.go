package verdict

import (
	"slices"
	"testing"

	"sapwell/engine/host"
	"sapwell/engine/label"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// sourceOf is who is named for a code, wherever the opinion holds it.
func sourceOf(t *testing.T, o Opinion, code string) why.Source {
	t.Helper()
	for _, f := range slices.Concat(o.Findings, o.Open, o.Notes) {
		if f.Code == code {
			return f.Source
		}
	}
	t.Fatalf("%s was not found", code)
	return ""
}

// A finding names who says so: the authority of the place, the list the group is
// on, the source of the fact about the tree; not whoever the rule names first.
func TestFindingsNameTheirSource(t *testing.T) {
	less := func(where Jurisdiction) Case {
		c := ash()
		c.Jurisdiction, c.Planned = where, 32*mL
		return c
	}
	strict := less(US)
	strict.Label.NoDeviation = true
	fed := ash()
	fed.Species = kind("Tilia cordata")
	fed.Species.Food = host.Sourced[bool]{Value: true, Source: why.CommonPractice}
	fed.Species.Tapped = host.Sourced[bool]{Value: true, Source: why.Memory}
	fed.Species.Bees = host.Sourced[bool]{Value: true, Source: why.CommonPractice}
	uncertified := func(where Jurisdiction) Case {
		c := ash()
		c.Jurisdiction, c.Certified = where, Unknown
		return c
	}
	group := func(active, irac, frac string) Case {
		c := ash()
		c.Label.Class.Ingredients = []label.Ingredient{{Name: active, IRAC: irac, FRAC: frac,
			Content: quantity.MassPerVolume{Mass: 40 * quantity.Gram, Per: quantity.Litre}}}
		c.Earlier = []Application{{Date: c.Date.AddDate(-3, 0, 0), Label: "other", Active: []string{active}}}
		return c
	}
	for _, w := range []struct {
		name string
		c    Case
		code string
		want why.Source
	}{
		{"less in the US", less(US), "dose.planned_below", why.FIFRA2ee},
		{"less in the EU", less(EU), "dose.planned_below", why.EU1107},
		{"less, and the label forbids it", strict, "dose.planned_below", why.TheLabel},
		{"restricted in the US", uncertified(US), "people.certified_unknown", why.CFR171},
		{"restricted in the UK", uncertified(UK), "people.certified_unknown", why.TheLabel},
		{"eaten", fed, "food.eaten_unknown", why.CommonPractice},
		{"tapped", fed, "sap.tapped_unknown", why.Memory},
		{"bees", fed, "bees.visited", why.CommonPractice},
		{"an insecticide", group("emamectin benzoate", "6", ""), "resistance.same_group", why.IRAC},
		{"a fungicide", group("tebuconazole", "", "3"), "resistance.same_group", why.FRAC},
	} {
		if got := sourceOf(t, Judge(w.c), w.code); got != w.want {
			t.Errorf("%s: %s names %q, want %q", w.name, w.code, got, w.want)
		}
	}
}
