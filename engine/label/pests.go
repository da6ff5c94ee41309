package label

import "slices"

// Names of one pest or disease in a row: scientific name, EPPO code, English
// names in common use. Codes and names were read together in EPPO lists, those
// of Phytophthora ramorum and Anoplophora glabripennis apart (the code was read,
// the name is from memory). English names are common practice, no source.
func pestNames() [][]string {
	return [][]string{
		{"agrilus planipennis", "agrlpl", "emerald ash borer", "eab"},
		{"agrilus anxius", "agrlax", "bronze birch borer"},
		{"agrilus bilineatus", "agrlbl", "two-lined chestnut borer", "twolined chestnut borer"},
		{"anoplophora chinensis", "anolcn", "citrus longhorned beetle", "citrus long-horned beetle"},
		{"anoplophora glabripennis", "anolgl", "asian longhorned beetle", "asian long-horned beetle", "alb"},
		{"lycorma delicatula", "lycmde", "spotted lanternfly"},
		{"bursaphelenchus xylophilus", "bursxy", "pine wood nematode", "pinewood nematode"},
		{"phytophthora ramorum", "phytra", "sudden oak death"},
		{"phytophthora kernoviae", "phytke"},
	}
}

// SamePest reports whether two names are of one pest or disease: the same but
// for case and spacing, or names of one row above. Two names that no row holds
// are not the same, whatever a reader may know.
func SamePest(a, b string) bool {
	a, b = foldName(a), foldName(b)
	if a == "" || b == "" {
		return false
	}
	return a == b || slices.ContainsFunc(pestNames(), func(row []string) bool {
		return slices.Contains(row, a) && slices.Contains(row, b)
	})
}
