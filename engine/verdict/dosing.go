package verdict

import (
	"slices"
	"strings"

	"sapwell/engine/bole"
	"sapwell/engine/dose"
	"sapwell/engine/label"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// doseRules: what the dose has to say, for each stem and for the tree.
func doseRules() []Rule {
	return []Rule{
		{Code: "dose.*", Source: why.TheLabel, Check: doseFindings},
		{Code: "dose.missing", Source: why.TheLabel, Check: doseMissing},
		{Code: "dose.over_max_per_application", Source: why.TheLabel, Check: overAsTree},
		{Code: "dose.planned_above", Source: why.TheLabel, Check: plannedAbove},
		{Code: "dose.planned_below", Source: why.FIFRA2ee, Check: plannedBelow},
		{Code: "dose.wide_spacing", Source: why.AshPorts, Check: wideSpacing},
	}
}

// doseFindings passes on what each stem's dose found. A fault of the label that
// the label's own check reports is not said twice.
func doseFindings(c Case) []why.Finding {
	known := labelFaults(c)
	var fs []why.Finding
	for i, d := range c.Doses {
		for _, f := range d.Findings {
			twice := func(k why.Finding) bool { return k.Code == f.Code }
			if strings.HasPrefix(f.Code, "label.") && slices.ContainsFunc(known, twice) {
				continue
			}
			fs = append(fs, bole.OfStem(f, c.Stems, i))
		}
	}
	return fs
}

// doseMissing: every stem wants its dose; a stem without one would pass unseen.
func doseMissing(c Case) []why.Finding {
	if len(c.Doses) == 0 || len(c.Doses) != len(c.Stems) {
		return report(why.Ask, "stems", why.T("stems", len(c.Stems)), why.T("doses", len(c.Doses)))
	}
	return nil
}

func overAsTree(c Case) []why.Finding {
	_, fs := dose.Together(c.Label, c.Doses)
	return fs
}

// plannedAbove: more than the dose of the label is not open to judgement.
func plannedAbove(c Case) []why.Finding {
	total, _ := dose.Together(c.Label, c.Doses)
	if total == 0 || c.Planned <= total {
		return nil
	}
	return report(why.Block, "planned", why.T("planned", c.Planned), why.T("total", total))
}

// plannedBelow: in the US less than the dose is open unless the label forbids it
// (FIFRA 2(ee)); elsewhere the authorisation must be read (use as authorised).
func plannedBelow(c Case) []why.Finding {
	total, _ := dose.Together(c.Label, c.Doses)
	if c.Planned <= 0 || c.Planned >= total {
		return nil
	}
	s, source := why.Ask, why.EU1107
	switch {
	case c.Label.NoDeviation:
		s, source = why.Block, why.TheLabel
	case c.Jurisdiction == US:
		s, source = why.Note, why.FIFRA2ee
	}
	return from(source, report(s, "planned", why.T("planned", c.Planned), why.T("total", total)))
}

// wideSpacing notes a label that spaces holes in ash wider than any that was
// tried with emamectin benzoate: 8 a metre (12.5 cm) protected for two years, 16
// a metre for up to three. The label decides; the gap is to be seen.
func wideSpacing(c Case) []why.Finding {
	const tried = quantity.Metre / 8
	emamectin := slices.ContainsFunc(c.Label.Class.Ingredients, func(in label.Ingredient) bool {
		return strings.EqualFold(in.Name, "emamectin benzoate")
	})
	if !emamectin || !isGenus(c.Species, "Fraxinus") || c.Label.Rate.Spacing <= tried {
		return nil
	}
	return report(why.Note, "rate.spacing", why.T("spacing", c.Label.Rate.Spacing), why.T("tried", tried))
}
