package verdict

import (
	"slices"
	"strings"
	"time"

	"sapwell/engine/host"
	"sapwell/engine/why"
)

// bloomRules: is bloom over where the label waits for it, and may bees meet it?
func bloomRules() []Rule {
	return []Rule{
		{Code: "bloom.unknown", Source: why.TheLabel, Check: bloomUnknown},
		{Code: "bloom.not_over", Source: why.TheLabel, Check: bloomNotOver},
		{Code: "bees.season", Source: why.Pest2019Apple, Check: beesSeason},
		{Code: "bees.visited", Source: why.Memory, Check: beesVisited},
	}
}

// bloomUnknown: the end of bloom is seen, not reckoned from a date. Conifers and
// ginkgo have no petals to fall.
func bloomUnknown(c Case) []why.Finding {
	if c.Label.Conditions.AfterPetalFall && c.BloomOver == Unknown && c.Species.Anatomy.Value != host.Tracheid {
		return report(why.Block, "bloom_over", why.T("host", c.Species.Scientific))
	}
	return nil
}

func bloomNotOver(c Case) []why.Finding {
	if c.Label.Conditions.AfterPetalFall && c.BloomOver == No {
		return report(why.Block, "bloom_over", why.T("host", c.Species.Scientific))
	}
	return nil
}

// beeSeason is when an injection reached nectar or pollen: in apple, emamectin
// benzoate given in spring (and not in the fall before), imidacloprid given in
// the fall before (and not in spring). One crop, three years: a caution, not a
// gate. Months are those of the northern hemisphere [own].
func beeSeason(active string) (months []time.Month) {
	switch strings.ToLower(active) {
	case "emamectin benzoate":
		return []time.Month{time.March, time.April, time.May}
	case "imidacloprid":
		return []time.Month{time.September, time.October, time.November}
	}
	return nil
}

func beesSeason(c Case) []why.Finding {
	if !c.Species.Bees.Value || c.Date.IsZero() {
		return nil
	}
	var fs []why.Finding
	for _, in := range c.Label.Class.Ingredients {
		if slices.Contains(beeSeason(in.Name), c.Date.Month()) {
			fs = append(fs, report(why.Warn, in.Name, why.T("active", in.Name), why.T("host", c.Species.Scientific))...)
		}
	}
	return fs
}

// beesVisited notes a tree that bees visit when nothing graver is known of the
// season.
func beesVisited(c Case) []why.Finding {
	if !c.Species.Bees.Value || len(beesSeason(c)) > 0 {
		return nil
	}
	return from(c.Species.Bees.Source, report(why.Note, "species", why.T("host", c.Species.Scientific)))
}
