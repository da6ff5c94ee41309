package bole

import (
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"testing"

	"sapwell/engine/why"
)

// provoke gives, for every finding of this package, a tree that brings it up.
func provoke() map[string]Tree {
	stem := func(f func(*Stem)) Tree {
		s := Stem{Ring: ring(96*in, Arc{90 * in, 6 * in, Canker}), Breast: &Girth{Around: 88 * in, Height: 54 * in}}
		s.Bark, s.Ring.Wounds = []BarkReading{{}}, []Wound{{}}
		f(&s)
		return Tree{Stems: []Stem{s}}
	}
	return map[string]Tree{
		"bole.girth_not_positive":    stem(func(s *Stem) { s.Ring.Girth.Around = 0 }),
		"bole.girth_unlikely":        stem(func(s *Stem) { s.Ring.Girth.Around = in }),
		"bole.height_missing":        stem(func(s *Stem) { s.Ring.Girth.Height = 0 }),
		"bole.height_unlikely":       stem(func(s *Stem) { s.Ring.Girth.Height = in }),
		"bole.off_ring":              stem(func(s *Stem) { s.Ring.Arcs[0].To = -1 }),
		"bole.arc_nothing_or_all":    stem(func(s *Stem) { s.Ring.Arcs[0].To = 90 * in }),
		"bole.arc_kind_unknown":      stem(func(s *Stem) { s.Ring.Arcs[0].Kind = "hole" }),
		"bole.wound_width":           stem(func(s *Stem) { s.Ring.Wounds[0].Width = -1 }),
		"bole.nothing_alive":         stem(func(s *Stem) { s.Ring.Arcs[0] = Arc{0, 96 * in, Cavity} }),
		"bole.two_girths_one_height": stem(func(s *Stem) { s.Breast.Height = 12 * in }),
		"bole.not_breast_height":     stem(func(s *Stem) { s.Breast.Height = 40 * in }),
		"bole.tapers_upward":         stem(func(s *Stem) { s.Breast.Around = 99 * in }),
		"bole.bark_impossible":       stem(func(*Stem) {}),
		"bole.no_stem":               {},
		"bole.stem_name_twice":       {Stems: []Stem{{Ring: ring(50 * in)}, {Ring: ring(50 * in)}}},
	}
}

// Every finding in the source comes up, has its sentence and remedy in both
// languages, and carries a term for each blank.
func TestFindingsHaveWords(t *testing.T) {
	src, err := os.ReadFile("check.go")
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range regexp.MustCompile(`finding\("(bole\.\w+)"`).FindAllStringSubmatch(string(src), -1) {
		if _, ok := provoke()[m[1]]; !ok {
			t.Errorf("nothing provokes %s", m[1])
		}
	}
	blank := regexp.MustCompile(`\{(\w+)\}`)
	for _, lang := range []string{"en", "es"} {
		b, err := os.ReadFile(filepath.Join("../../words", lang, "bole.json"))
		if err != nil {
			t.Fatal(err)
		}
		var say map[string]string
		if err := json.Unmarshal(b, &say); err != nil {
			t.Fatal(err)
		}
		for code, tree := range provoke() {
			fs := tree.Check()
			i := slices.IndexFunc(fs, func(f why.Finding) bool { return f.Code == code })
			if i < 0 {
				t.Errorf("%s does not come up: %q", code, codes(fs))
				continue
			}
			for _, key := range []string{"finding." + code, "remedy." + code} {
				if say[key] == "" {
					t.Errorf("%s: %s is missing", lang, key)
				}
				for _, m := range blank.FindAllStringSubmatch(say[key], -1) {
					if m[1] != "place" && !slices.ContainsFunc(fs[i].Terms, func(k why.Term) bool { return k.Name == m[1] }) {
						t.Errorf("%s: %s has no term for {%s}", lang, key, m[1])
					}
				}
			}
		}
	}
}
