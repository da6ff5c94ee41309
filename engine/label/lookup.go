package label

import (
	"strings"

	"sapwell/engine/quantity"
)

// Heights at which a diameter counts as breast height: 1.2 m (Japan, Korea),
// 1.3 m (most of the world), 4.5 ft (USA) and 1.4 m (New Zealand) are in use.
const (
	breastHeightLow  = 120 * quantity.Centimetre
	breastHeightHigh = 140 * quantity.Centimetre
)

// Lists reports whether the label lists the taxon, and by which row. A row
// matches when its words begin the tree's name: "Acer" lists every maple, "Acer
// rubrum" that species and its varieties.
//
// An exclusion wins over every listing. It also holds for a tree known only as
// "Acer" when some species of Acer is excluded: the tree may be that one. The
// row returned is then the exclusion.
func (l Label) Lists(scientific string) (Host, bool) {
	tree := taxonWords(scientific)
	var listing Host
	listed := false
	for _, h := range l.Hosts {
		row := taxonWords(h.Taxon)
		if len(row) == 0 || len(tree) == 0 {
			continue
		}
		if h.Excluded && (begins(row, tree) || begins(tree, row)) {
			return h, false
		}
		if !h.Excluded && !listed && begins(tree, row) {
			listing, listed = h, true
		}
	}
	return listing, listed
}

// taxonWords folds a scientific name to comparable words: lower case, without
// hybrid signs, rank marks and cultivar names.
func taxonWords(name string) []string {
	name, _, _ = strings.Cut(name, "'")
	name = strings.ReplaceAll(strings.ToLower(name), "×", " ")
	words := strings.Fields(name)
	kept := words[:0]
	for _, w := range words {
		switch w {
		case "x", "subsp.", "ssp.", "var.", "f.", "spp.", "sp.":
		default:
			kept = append(kept, w)
		}
	}
	return kept
}

// begins reports whether words starts with prefix.
func begins(words, prefix []string) bool {
	if len(prefix) > len(words) {
		return false
	}
	for i, w := range prefix {
		if words[i] != w {
			return false
		}
	}
	return true
}

// TargetsPest reports whether the label lists the pest, by the name the label
// uses, by its EPPO code, or by another name of it that is known here.
func (l Label) TargetsPest(name string) bool {
	for _, p := range l.Pests {
		if SamePest(p.Name, name) || SamePest(p.EPPO, name) {
			return true
		}
	}
	return false
}

// foldName makes names comparable: lower case, single spaces.
func foldName(s string) string { return strings.Join(strings.Fields(strings.ToLower(s)), " ") }

// MeasureIsBreastHeight reports whether the label measures at breast height, as
// any country defines it (1.2 to 1.4 m above ground).
func (r Rate) MeasureIsBreastHeight() bool {
	return r.Measure.Height >= breastHeightLow && r.Measure.Height <= breastHeightHigh
}
