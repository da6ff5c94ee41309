package verdict

import (
	"slices"
	"time"

	"sapwell/engine/host"
	"sapwell/engine/label"
	"sapwell/engine/why"
)

// seasonRules: is it the right time of year and day?
func seasonRules() []Rule {
	return []Rule{
		{Code: "season.outside_label", Source: why.TheLabel, Check: outsideStages},
		{Code: "season.stage_unknown", Source: why.TheLabel, Check: stageUnknown},
		{Code: "season.leaves", Source: why.Own, Check: leaves},
		{Code: "season.hours", Source: why.TheLabel, Open: true, Check: hours},
		{Code: "season.oak_ramorum", Source: why.Phytosphere, Check: oakRamorum},
	}
}

// stages is the label's window of growth stages (BBCH, 00 to 99); to is 99 when
// only a beginning is stated.
func stages(c Case) (from, to int, stated bool) {
	from, to = c.Label.Conditions.BBCHFrom, c.Label.Conditions.BBCHTo
	stated = from > 0 || to > 0
	if to == 0 {
		to = 99
	}
	return from, to, stated
}

func outsideStages(c Case) []why.Finding {
	from, to, stated := stages(c)
	if !stated || c.BBCH == nil || *c.BBCH >= from && *c.BBCH <= to {
		return nil
	}
	return report(why.Block, "bbch", why.T("bbch", *c.BBCH), why.T("bbch_from", from), why.T("bbch_to", to))
}

func stageUnknown(c Case) []why.Finding {
	from, to, stated := stages(c)
	if !stated || c.BBCH != nil {
		return nil
	}
	return report(why.Ask, "bbch", why.T("bbch_from", from), why.T("bbch_to", to))
}

// leaves: a tree without open leaves pulls no water. Published advice is "leaves
// fully expanded" (BBCH 19); that it ends with leaf fall (after 91) is our own.
// Conifers keep theirs; of hardwoods the sentence says "if it sheds its leaves".
func leaves(c Case) []why.Finding {
	hardwood := slices.Contains([]host.Anatomy{host.RingPorous, host.SemiRingPorous, host.DiffusePorous}, c.Species.Anatomy.Value)
	if c.BBCH == nil || !hardwood || *c.BBCH >= 19 && *c.BBCH <= 91 {
		return nil
	}
	return report(why.Warn, "bbch", why.T("bbch", *c.BBCH))
}

// hours: the time of day is that of the work, not of the plan.
func hours(c Case) []why.Finding {
	k := c.Label.Conditions
	if k.HoursFrom == "" && k.HoursTo == "" {
		return nil
	}
	return report(why.Ask, "conditions.hours_from", why.T("hours_from", k.HoursFrom), why.T("hours_to", k.HoursTo))
}

// oakRamorum: oaks are not to be wounded in late winter and spring where
// Phytophthora ramorum is present, for holes are its way in. Months, and the
// states where it is at home, are from memory; a place without a
// state, or without a country, is taken for one of them.
func oakRamorum(c Case) []why.Finding {
	oak := isGenus(c.Species, "Quercus") || isGenus(c.Species, "Notholithocarpus")
	if !oak || c.Date.IsZero() || c.Date.Month() < time.February || c.Date.Month() > time.May {
		return nil
	}
	there := c.law() != EU && c.law() != UK && slices.Contains([]string{"", "CA", "OR"}, c.state())
	target := label.SamePest(c.Pest, "Phytophthora ramorum")
	if !there && !target {
		return nil
	}
	return report(why.Warn, "date", why.T("host", c.Species.Scientific))
}
