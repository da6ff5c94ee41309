package verdict

import (
	"slices"
	"strings"

	"sapwell/engine/bole"
	"sapwell/engine/host"
	"sapwell/engine/label"
	"sapwell/engine/why"
)

// siteRules: is the label sound, is this tree on it, and where does it stand?
func siteRules() []Rule {
	return []Rule{
		{Code: "label.*", Source: why.TheLabel, Check: labelFaults},
		{Code: "bole.*", Source: why.Own, Check: boleFaults},
		{Code: "date.unknown", Source: why.Own, Check: dateUnknown},
		{Code: "jurisdiction.unknown", Source: why.Own, Check: jurisdictionUnknown},
		{Code: "host.unknown", Source: why.TheLabel, Check: hostUnknown},
		{Code: "host.species_unknown", Source: why.TheLabel, Check: speciesUnknown},
		{Code: "host.excluded", Source: why.TheLabel, Check: hostExcluded},
		{Code: "host.not_listed", Source: why.TheLabel, Check: hostNotListed},
		{Code: "host.palm", Source: why.Memory, Check: palm},
		{Code: "region.ai_host_banned", In: []Jurisdiction{US, ""}, Source: why.OAR603057, Check: bannedHere},
		{Code: "region.unknown", In: []Jurisdiction{US, ""}, Source: why.OAR603057, Check: regionUnknown},
		{Code: "site.water_near", Source: why.TheLabel, Check: waterNear},
		{Code: "site.water_unknown", Source: why.TheLabel, Check: waterUnknown},
		{Code: "site.live_wires", Source: why.CommonPractice, Check: liveWires},
		{Code: "site.wires_unseen", Source: why.CommonPractice, Open: true, Check: wiresUnseen},
	}
}

// labelFaults passes on what blocks the label itself: it then plans nothing.
// What a careful reader would look at again was said when it was read.
func labelFaults(c Case) []why.Finding {
	return slices.DeleteFunc(label.Check(c.Label), func(f why.Finding) bool { return f.Severity != why.Block })
}

func boleFaults(c Case) []why.Finding { return (bole.Tree{Species: c.Species, Stems: c.Stems}).Check() }

// dateUnknown: without a day no interval and no expiry can be told.
func dateUnknown(c Case) []why.Finding {
	if c.Date.IsZero() {
		return report(why.Ask, "date")
	}
	return nil
}

func jurisdictionUnknown(c Case) []why.Finding {
	if c.law() != "" {
		return nil
	}
	return report(why.Ask, "jurisdiction", why.T("jurisdiction", string(c.Jurisdiction)))
}

func hostUnknown(c Case) []why.Finding {
	if c.Species.Scientific == "" {
		return report(why.Ask, "species")
	}
	return nil
}

// speciesUnknown: a tree known to the genus only, and a label that lists or
// excludes some species of it.
func speciesUnknown(c Case) []why.Finding {
	row, listed := c.Label.Lists(c.Species.Scientific)
	switch {
	case listed, c.Species.Scientific == "":
		return nil
	case row.Excluded && finer(row.Taxon, c.Species.Scientific),
		!row.Excluded && someSpecies(c.Label, c.Species):
		return report(why.Ask, "species", why.T("host", c.Species.Scientific))
	}
	return nil
}

// someSpecies reports whether the label lists some species of the tree's genus.
func someSpecies(l label.Label, s host.Species) bool {
	return slices.ContainsFunc(l.Hosts, func(h label.Host) bool {
		return !h.Excluded && finer(h.Taxon, s.Scientific)
	})
}

// finer reports whether a taxon lies within the genus that name is. A name of
// more than a genus has nothing finer here.
func finer(taxon, name string) bool {
	words := strings.Fields(taxon)
	return len(words) > 1 && len(strings.Fields(name)) == 1 && strings.EqualFold(words[0], name)
}

func hostExcluded(c Case) []why.Finding {
	row, _ := c.Label.Lists(c.Species.Scientific)
	if !row.Excluded || finer(row.Taxon, c.Species.Scientific) {
		return nil
	}
	return report(why.Block, "species", why.T("host", c.Species.Scientific), why.T("taxon", row.Taxon))
}

// hostNotListed: a site that is not on the label is not open to anyone's
// judgement, in the US (FIFRA 2(ee) eases the pest, not the site) or elsewhere.
func hostNotListed(c Case) []why.Finding {
	row, listed := c.Label.Lists(c.Species.Scientific)
	if listed || row.Excluded || c.Species.Scientific == "" || someSpecies(c.Label, c.Species) {
		return nil
	}
	return report(why.Block, "species", why.T("host", c.Species.Scientific))
}

// palm: no cambium, so no hole ever closes, and every year adds to them.
func palm(c Case) []why.Finding {
	if c.Species.Anatomy.Value == host.Palm {
		return report(why.Warn, "species", why.T("host", c.Species.Scientific))
	}
	return nil
}

// ban is an active ingredient that a state does not allow on a genus, by any
// method. Another state is another row.
type ban struct {
	state, genus, active string
	source               why.Source // where it is not the rule's own
}

// bans: the Oregon rule of 2014 (imidacloprid, dinotefuran) was read; that the
// permanent rule adds the other two is memory.
var bans = []ban{
	{"OR", "Tilia", "imidacloprid", ""},
	{"OR", "Tilia", "dinotefuran", ""},
	{"OR", "Tilia", "clothianidin", why.Memory},
	{"OR", "Tilia", "thiamethoxam", why.Memory},
}

func bannedHere(c Case) []why.Finding {
	return banned(c, why.Block, func(state string) bool { return state == c.state() })
}

func banned(c Case, s why.Severity, in func(state string) bool) []why.Finding {
	var fs []why.Finding
	for _, b := range bans {
		for _, ai := range c.Label.Class.Ingredients {
			if in(b.state) && isGenus(c.Species, b.genus) && strings.EqualFold(ai.Name, b.active) {
				fs = append(fs, why.Finding{Severity: s, Place: ai.Name, Source: b.source,
					Terms: []why.Term{why.T("host", c.Species.Scientific), why.T("active", ai.Name), why.T("state", b.state)}})
			}
		}
	}
	return fs
}

// regionUnknown asks for the state where a state's rule could stop the job.
func regionUnknown(c Case) []why.Finding {
	if c.state() != "" {
		return nil
	}
	return banned(c, why.Ask, func(string) bool { return true })
}

func isGenus(s host.Species, genus string) bool {
	words := strings.Fields(s.Scientific)
	return len(words) > 0 && strings.EqualFold(words[0], genus)
}

func liveWires(c Case) []why.Finding {
	if c.LiveWires == Yes {
		return report(why.Warn, "live_wires")
	}
	return nil
}

func wiresUnseen(c Case) []why.Finding {
	if c.LiveWires == Unknown {
		return report(why.Ask, "live_wires")
	}
	return nil
}

// waterNear: an injected tree drifts nothing, but a spill or what is left in a unit
// reaches a drain.
func waterNear(c Case) []why.Finding {
	least := c.Label.Site.WaterBuffer
	if least <= 0 || c.Water == nil || *c.Water >= least {
		return nil
	}
	return report(why.Block, "water", why.T("water", *c.Water), why.T("water_buffer", least))
}

func waterUnknown(c Case) []why.Finding {
	if least := c.Label.Site.WaterBuffer; least > 0 && c.Water == nil {
		return report(why.Ask, "water", why.T("water_buffer", least))
	}
	return nil
}
