package dose

import (
	"sapwell/engine/bole"
	"sapwell/engine/label"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// measured picks the girth taken at the label's height. Girth at another height
// is another thing and is never converted.
func measured(l label.Label, girths []bole.Girth) (bole.Girth, []why.Finding) {
	want := l.Rate.Measure.Height
	if want <= 0 {
		return bole.Girth{}, []why.Finding{block("dose.height_unstated", "rate.measure.height")}
	}
	var best *bole.Girth
	for i, g := range girths {
		off := apart(g.Height, want)
		if off > sameHeight {
			continue
		}
		if best == nil || off < apart(best.Height, want) {
			best = &girths[i]
		} else if off == apart(best.Height, want) && g.Around != best.Around {
			return bole.Girth{}, []why.Finding{twoGirths(*best, g)}
		}
	}
	if best == nil {
		return bole.Girth{}, []why.Finding{noGirth(want, girths)}
	}
	if best.Around <= 0 || best.Around > maxGirth {
		return bole.Girth{}, []why.Finding{{
			Code: "dose.girth_impossible", Severity: why.Block, Place: "girths",
			Terms:  []why.Term{why.T("girth", best.Around), why.T("height", best.Height), why.T("most", maxGirth)},
			Source: why.Own,
		}}
	}
	return *best, nil
}

func apart[T quantity.Length | quantity.Volume](a, b T) T { return max(a-b, b-a) }

// noGirth names the height wanted and the nearest one there is.
func noGirth(want quantity.Length, girths []bole.Girth) why.Finding {
	f := block("dose.no_girth_at_height", "girths", why.T("height", want), why.T("have", len(girths)))
	var nearest any
	for _, g := range girths {
		if n, ok := nearest.(quantity.Length); !ok || apart(g.Height, want) < apart(n, want) {
			nearest = g.Height
		}
	}
	f.Terms = append(f.Terms, why.T("nearest", nearest))
	return f
}

func twoGirths(a, b bole.Girth) why.Finding {
	return why.Finding{
		Code: "dose.two_girths_at_height", Severity: why.Block, Place: "girths", Source: why.Own,
		Terms: []why.Term{why.T("height", a.Height), why.T("girth", a.Around), why.T("other_girth", b.Around)},
	}
}

// diameterOf is the diameter of a girth, to the nanometre. A diameter tape
// reading D that was kept as the girth π·D, to the nanometre, comes back as just
// D: half a nanometre of girth is a sixth of one of diameter. So a reading on
// the edge of a rule is on it, and needs no tolerance.
func diameterOf(around quantity.Length) quantity.Length { return bole.Girth{Around: around}.Diameter() }

// belowMin blocks a stem thinner than the label's least diameter.
func belowMin(l label.Label, around quantity.Length) []why.Finding {
	least := l.Ceilings.MinDiameter
	if least <= 0 || diameterOf(around) >= least {
		return nil
	}
	return []why.Finding{block("dose.below_min_diameter", "ceilings.min_diameter",
		why.T("diameter", diameterOf(around)), why.T("least", least))}
}
