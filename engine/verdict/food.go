package verdict

import (
	"slices"

	"sapwell/engine/host"
	"sapwell/engine/label"
	"sapwell/engine/why"
)

// foodRules: does anyone eat or tap from this tree? Residues reach fruit, nuts
// and sap, so a tree that feeds someone needs a label that says so and a time
// to wait; and a tree of a kind that may feed someone is asked about.
func foodRules() []Rule {
	return []Rule{
		{Code: "food.crop_not_listed", Source: why.TheLabel, Check: cropNotListed},
		{Code: "food.phi_not_stated", Source: why.TheLabel, Check: phiNotStated},
		{Code: "food.harvest_too_near", Source: why.TheLabel, Check: harvestTooNear},
		{Code: "food.harvest_unknown", Source: why.TheLabel, Check: harvestUnknown},
		{Code: "food.harvest_unasked", Source: why.TheLabel, Open: true, Check: harvestUnasked},
		{Code: "food.bears_too_soon", Source: why.TheLabel, Check: bearsTooSoon},
		{Code: "food.eaten_unknown", Source: why.Memory, Check: eatenUnknown},
		{Code: "food.eaten_unasked", Source: why.TheLabel, Open: true, Check: eatenUnasked},
		{Code: "food.grazing_blocked", Source: why.TheLabel, Check: grazingBlocked},
		{Code: "food.grazing_later", Source: why.TheLabel, Check: grazingLater},
		{Code: "food.grazed_unknown", Source: why.TheLabel, Check: grazedUnknown},
		{Code: "sap.tapping_not_allowed", Source: why.TheLabel, Check: tappingNotAllowed},
		{Code: "sap.tapped_unknown", Source: why.Memory, Check: tappedUnknown},
		{Code: "sap.tapped_unasked", Source: why.TheLabel, Open: true, Check: tappedUnasked},
	}
}

// eaten: a crop is eaten, whatever else was answered.
func eaten(c Case) Answer {
	if c.Crop {
		return Yes
	}
	return c.Eaten
}

// listedAsCrop: some listing of this tree names it as a food-bearing crop.
func listedAsCrop(c Case) bool {
	if _, listed := c.Label.Lists(c.Species.Scientific); !listed {
		return false
	}
	return slices.ContainsFunc(c.Label.Hosts, func(h label.Host) bool {
		one := label.Label{Hosts: []label.Host{h}}
		_, listed := one.Lists(c.Species.Scientific)
		return listed && h.Crop
	})
}

func cropNotListed(c Case) []why.Finding {
	if eaten(c) != Yes || listedAsCrop(c) {
		return nil
	}
	return report(why.Block, "eaten", why.T("host", c.Species.Scientific))
}

func phiNotStated(c Case) []why.Finding {
	if eaten(c) != Yes || !listedAsCrop(c) || c.Label.Food.PHIDays != nil {
		return nil
	}
	return report(why.Block, "food.pre_harvest_days", why.T("host", c.Species.Scientific))
}

// harvestTooNear counts from this application to the first harvest of any eaten
// part; that day itself is late enough.
func harvestTooNear(c Case) []why.Finding {
	days := c.Label.Food.PHIDays
	if eaten(c) != Yes || days == nil || c.Harvest.IsZero() || c.Date.IsZero() {
		return nil
	}
	if earliest := c.Date.AddDate(0, 0, *days); c.Harvest.Before(earliest) {
		return report(why.Block, "harvest", why.T("harvest", c.Harvest), why.T("harvest_earliest", earliest))
	}
	return nil
}

// harvestUnknown: a label for trees that do not bear hangs on when this one does.
func harvestUnknown(c Case) []why.Finding {
	if n := c.Label.Food.NonBearingMonths; n > 0 && eaten(c) == Yes && c.Harvest.IsZero() {
		return report(why.Ask, "harvest", why.T("months", n))
	}
	return nil
}

// harvestUnasked: the days to wait are known, and so bind whoever harvests; when
// that is can be asked later.
func harvestUnasked(c Case) []why.Finding {
	days := c.Label.Food.PHIDays
	if eaten(c) != Yes || days == nil || *days == 0 || !c.Harvest.IsZero() {
		return nil
	}
	return report(why.Ask, "harvest", why.T("days", *days))
}

func bearsTooSoon(c Case) []why.Finding {
	n := c.Label.Food.NonBearingMonths
	if n <= 0 || eaten(c) != Yes || c.Harvest.IsZero() || c.Date.IsZero() || !c.Harvest.Before(c.Date.AddDate(0, n, 0)) {
		return nil
	}
	return report(why.Block, "harvest", why.T("harvest", c.Harvest), why.T("months", n))
}

func eatenUnknown(c Case) []why.Finding {
	if eaten(c) == Unknown && c.Species.Food.Value {
		return from(c.Species.Food.Source, report(why.Ask, "eaten", why.T("host", c.Species.Scientific)))
	}
	return nil
}

// eatenUnasked stays open for kinds nobody is known to eat from: the owner may
// still do so.
func eatenUnasked(c Case) []why.Finding {
	if eaten(c) == Unknown && !c.Species.Food.Value {
		return report(why.Ask, "eaten", why.T("host", c.Species.Scientific))
	}
	return nil
}

func grazingBlocked(c Case) []why.Finding {
	if c.Grazed != Yes || c.Label.Food.Grazing != "blocked" {
		return nil
	}
	return report(why.Block, "grazed")
}

// grazingLater tells from which day on livestock may come back.
func grazingLater(c Case) []why.Finding {
	days := c.Label.Food.GrazingDays
	if c.Grazed != Yes || c.Label.Food.Grazing == "blocked" || days == nil || *days == 0 || c.Date.IsZero() {
		return nil
	}
	return report(why.Warn, "grazed", why.T("grazing_earliest", c.Date.AddDate(0, 0, *days)))
}

// grazedUnknown asks only where the label sets a limit.
func grazedUnknown(c Case) []why.Finding {
	f := c.Label.Food
	if c.Grazed != Unknown || f.Grazing != "blocked" && (f.GrazingDays == nil || *f.GrazingDays == 0) {
		return nil
	}
	return report(why.Ask, "grazed")
}

// tappingNotAllowed: what the label does not expressly allow is taken for
// blocked.
func tappingNotAllowed(c Case) []why.Finding {
	if c.Tapped != Yes || c.Label.Food.Tapping == "allowed" {
		return nil
	}
	return report(why.Block, "tapped", why.T("tapping", c.Label.Food.Tapping))
}

func tappedUnknown(c Case) []why.Finding {
	if tapsMatter(c) && c.Species.Tapped.Value {
		return from(c.Species.Tapped.Source, report(why.Ask, "tapped", why.T("host", c.Species.Scientific)))
	}
	return nil
}

// tappedUnasked stays open only where it is not known whether the kind is ever
// tapped.
func tappedUnasked(c Case) []why.Finding {
	if tapsMatter(c) && notKnown(c.Species.Tapped) {
		return report(why.Ask, "tapped", why.T("host", c.Species.Scientific))
	}
	return nil
}

func tapsMatter(c Case) bool { return c.Tapped == Unknown && c.Label.Food.Tapping != "allowed" }

func notKnown(f host.Sourced[bool]) bool { return f.Source == "" }
