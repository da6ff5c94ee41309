package verdict

import (
	"slices"
	"strings"

	"sapwell/engine/label"
	"sapwell/engine/why"
)

// resistanceRules: does the same mode of action come twice running?
func resistanceRules() []Rule {
	return []Rule{{Code: "resistance.same_group", Source: why.IRAC, Check: sameGroup}}
}

// sameGroup compares the label's groups with those of the last application.
func sameGroup(c Case) []why.Finding {
	last, ok := latest(usable(c))
	if !ok {
		return nil
	}
	for _, in := range c.Label.Class.Ingredients {
		for _, group := range groups(in) {
			if slices.ContainsFunc(last.Active, func(n string) bool { return strings.EqualFold(n, in.Name) || groupOf(n) == group }) {
				return from(lister(group), report(why.Warn, in.Name, why.T("active", in.Name), why.T("group", group), why.T("earlier", last.Date)))
			}
		}
	}
	return nil
}

// lister is who lists a group.
func lister(group string) why.Source {
	if strings.HasPrefix(group, "FRAC") {
		return why.FRAC
	}
	return why.IRAC
}

// groups of an ingredient: as the label prints them, else as listed below.
func groups(in label.Ingredient) []string {
	var gs []string
	if in.IRAC != "" {
		gs = append(gs, "IRAC "+strings.ToUpper(in.IRAC))
	}
	if in.FRAC != "" {
		gs = append(gs, "FRAC "+strings.ToUpper(in.FRAC))
	}
	if g := groupOf(in.Name); len(gs) == 0 && g != "" {
		gs = append(gs, g)
	}
	return gs
}

// groupOf is the group of an active ingredient that earlier applications are
// known by. IRAC groups, and FRAC 3 of propiconazole, 1 of thiabendazole and
// carbendazim, P07 of phosphites, 25 and 41, are from memory; the other FRAC
// groups were read in university pages. Empty: not known here.
func groupOf(active string) string {
	switch strings.ToLower(strings.TrimSpace(active)) {
	case "emamectin benzoate", "abamectin":
		return "IRAC 6"
	case "imidacloprid", "dinotefuran", "thiamethoxam", "clothianidin", "acetamiprid":
		return "IRAC 4A"
	case "acephate", "dicrotophos", "oxydemeton-methyl":
		return "IRAC 1B"
	case "chlorantraniliprole", "cyantraniliprole":
		return "IRAC 28"
	case "spinosad":
		return "IRAC 5"
	case "spirotetramat":
		return "IRAC 23"
	case "tebuconazole", "metconazole", "propiconazole":
		return "FRAC 3"
	case "thiophanate-methyl", "thiabendazole", "carbendazim":
		return "FRAC 1"
	case "fosetyl-aluminium", "fosetyl", "potassium phosphite", "phosphonic acid":
		return "FRAC P07"
	case "oxytetracycline":
		return "FRAC 41"
	case "streptomycin":
		return "FRAC 25"
	}
	return ""
}
