package label

import (
	"testing"

	"pgregory.net/rapid"

	"sapwell/engine/quantity"
	"sapwell/internal/outside"
)

// Expectations follow from the meaning of scientific names and of "all maples
// except sugar maple": common practice, no source.
func TestLists(t *testing.T) {
	l := Label{Hosts: []Host{
		{Taxon: "Acer"}, {Taxon: "Acer saccharum", Excluded: true}, {Taxon: "Tilia", Excluded: true},
		{Taxon: "Fraxinus americana"}, {Taxon: "Populus × canadensis"}, {Taxon: "Quercus"}, {Taxon: "Tilia cordata"},
	}}
	cases := []struct {
		tree, row string
		want      bool
	}{
		{"Acer rubrum", "Acer", true},
		{"acer  RUBRUM", "Acer", true},
		{"Acer rubrum 'Red Sunset'", "Acer", true},
		{"Acer saccharum", "Acer saccharum", false},
		{"Acer saccharum subsp. nigrum", "Acer saccharum", false},
		{"Acer", "Acer saccharum", false}, // may be the excluded one
		{"Acer sp.", "Acer saccharum", false},
		{"Tilia cordata", "Tilia", false}, // listed further down: the exclusion wins
		{"Tilia", "Tilia", false},
		{"Fraxinus americana", "Fraxinus americana", true},
		{"Fraxinus", "", false}, // only one species is listed
		{"Fraxinus nigra", "", false},
		{"Populus x canadensis", "Populus × canadensis", true},
		{"Populus canadensis", "Populus × canadensis", true},
		{"Quercus robur", "Quercus", true},
		{"Querc", "", false}, // part of a word is no match
		{"Ulmus", "", false},
		{"", "", false},
	}
	for _, c := range cases {
		if row, got := l.Lists(c.tree); got != c.want || row.Taxon != c.row {
			t.Errorf("Lists(%q) = %q, %v; want %q, %v", c.tree, row.Taxon, got, c.row, c.want)
		}
	}
	outside.Ran(t, "common practice, no source", "what a scientific name on a label covers")
}

// However the rows are ordered, no tree of an excluded taxon is listed.
func TestExclusionWins(t *testing.T) {
	genus := rapid.SampledFrom([]string{"Acer", "Tilia"})
	species := rapid.SampledFrom([]string{"", " rubrum", " cordata"})
	rapid.Check(t, func(t *rapid.T) {
		var l Label
		for range rapid.IntRange(1, 6).Draw(t, "rows") {
			l.Hosts = append(l.Hosts, Host{Taxon: genus.Draw(t, "genus") + species.Draw(t, "species"), Excluded: rapid.Bool().Draw(t, "excluded")})
		}
		tree := genus.Draw(t, "tree genus") + species.Draw(t, "tree species")
		row, listed := l.Lists(tree)
		if listed && row.Excluded {
			t.Fatalf("listed by an exclusion: %+v", row)
		}
		for _, h := range l.Hosts {
			if h.Excluded && h.Taxon == tree && listed {
				t.Fatalf("%q is excluded and listed by %+v", tree, row)
			}
		}
	})
}

// Code and name read together in the EPPO global database.
func TestTargetsPest(t *testing.T) {
	l := Label{Pests: []Pest{{"Agrilus planipennis", "AGRLPL"}, {"Adelges tsugae", ""}}}
	for name, want := range map[string]bool{
		"Agrilus planipennis": true, "AGRILUS  planipennis": true, "AGRLPL": true, "agrlpl": true,
		"Adelges tsugae": true, "Agrilus": false, "AGRLAX": false, "": false, " ": false,
	} {
		if got := l.TargetsPest(name); got != want {
			t.Errorf("TargetsPest(%q) = %v, want %v", name, got, want)
		}
	}
	outside.Ran(t, "EPPO Global Database", "a pest by its name and by its code")
}

// Breast height: 4.5 ft in the USA, 1.30 m in most countries, 1.20 m in Japan
// and Korea, 1.40 m in New Zealand.
func TestMeasureIsBreastHeight(t *testing.T) {
	for height, want := range map[quantity.Length]bool{
		54 * in: true, 130 * cm: true, 120 * cm: true, 140 * cm: true, 137 * cm: true,
		12 * in: false, 119 * cm: false, 141 * cm: false, 0: false,
	} {
		if got := (Rate{Measure: Measure{"diameter", height}}).MeasureIsBreastHeight(); got != want {
			t.Errorf("height %v mm: %v, want %v", height.Millimetres(), got, want)
		}
	}
	outside.Ran(t, "common practice, no source", "breast heights by country")
}

// Codes read in published lists: EPPO global database, IRAC classification
// v11.1 (2024); FRAC codes partly from memory.
func TestCodeFormats(t *testing.T) {
	for _, s := range []string{"AGRLPL", "PHYTRA", "1MONCG"} {
		if !pestCodeForm.MatchString(s) {
			t.Errorf("EPPO %q refused", s)
		}
	}
	for _, s := range []string{"", "agrlpl", "FRXAM", "AGRLPLX", "1mong"} {
		if pestCodeForm.MatchString(s) {
			t.Errorf("EPPO %q taken", s)
		}
	}
	for _, s := range []string{"6", "4A", "1B", "28", "5", "UN", "23"} {
		if !iracForm.MatchString(s) {
			t.Errorf("IRAC %q refused", s)
		}
	}
	for _, s := range []string{"3", "1", "P07", "41", "25", "M01", "P 07"} {
		if !fracForm.MatchString(s) {
			t.Errorf("FRAC %q refused", s)
		}
	}
	for _, s := range []string{"Fraxinus", "Fraxinus pennsylvanica", "Populus × canadensis", "Populus x canadensis",
		"Fraxinus angustifolia subsp. oxycarpa", "Fraxinus chinensis var. rhynchophylla", "Arctostaphylos uva-ursi"} {
		if !taxonForm.MatchString(s) {
			t.Errorf("taxon %q refused", s)
		}
	}
	for _, s := range []string{"ash", "Fraxinus Americana", "all trees", "Fraxinus, Ulmus", "Fraxinus ", ""} {
		if taxonForm.MatchString(s) {
			t.Errorf("taxon %q taken", s)
		}
	}
	outside.Ran(t, "EPPO Global Database; IRAC v11.1 (2024)", "forms of codes")
	outside.Ran(t, "FRAC codes (partly from memory)", "forms of codes")
}
