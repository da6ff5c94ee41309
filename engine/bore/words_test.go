package bore

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// provoke gives, for every finding of this package, an input that brings it up.
func provoke() map[string]func(*Input) {
	return map[string]func(*Input){
		"bore.no_girth":                 func(x *Input) { x.Girth.Around = 0 },
		"bore.no_bit":                   func(x *Input) { x.Hole.Bit = 0 },
		"bore.angle_out_of_range":       func(x *Input) { x.Hole.Angle = quantity.Angle(math.NaN()) },
		"bore.no_depth":                 func(x *Input) { x.Hole.DepthMax = 0 },
		"bore.depths_reversed":          func(x *Input) { x.Hole.DepthMin = in },
		"bore.holes_negative":           func(x *Input) { x.Holes = -1 },
		"bore.no_step":                  func(x *Input) { x.Step = -1 },
		"bore.bark_reading_impossible":  func(x *Input) { x.Bark[0].Thickness = 16 * in },
		"bore.girth_not_at_holes":       func(x *Input) { x.Girth.Height = 54 * in },
		"bore.girth_share_large":        func(x *Input) { x.Holes = 160 },
		"bore.outermost_ring":           func(x *Input) {},
		"bore.palm":                     func(x *Input) { x.Species.Anatomy.Value = "palm" },
		"bore.bark_unknown":             func(x *Input) { x.Bark, x.Species.Bark.Value.RatioK, x.Species.Bark.Value.LinearB = nil, 0, 0 },
		"bore.bark_not_measured":        func(x *Input) { x.Bark, x.Girth.Around, x.Hole.DepthMin, x.Hole.DepthMax = nil, 12*in, 4*mm, 20*mm },
		"bore.model_bark_too_uncertain": func(x *Input) { x.Bark = nil },
		"bore.bark_of_genus":            func(x *Input) { x.Bark, x.Species.Bark.Value.OfGenus = nil, true },
		"bore.one_bark_reading":         func(x *Input) { x.Bark = x.Bark[:1] },
		"bore.no_step_fits":             func(x *Input) { x.Step = 5 * in },
		"bore.beyond_pith":              func(x *Input) { x.Girth.Around, x.Hole.DepthMax = 4*in, in },
		"bore.bark_varies":              func(x *Input) { x.Bark[0].Thickness = in },
	}
}

// sayings reads what an area of the catalogue says; plurals do not occur here.
func sayings(t *testing.T, lang string) map[string]string {
	t.Helper()
	all := map[string]string{}
	for _, area := range []string{"terms", "bore", "bole"} {
		b, err := os.ReadFile(filepath.Join("../../words", lang, area+".json"))
		if err != nil {
			t.Fatal(err)
		}
		var m map[string]string
		if err := json.Unmarshal(b, &m); err != nil {
			t.Fatal(err)
		}
		for k, v := range m {
			all[k] = v
		}
	}
	return all
}

// blanks lists the {names} in a text.
func blanks(text string) (names []string) {
	for _, m := range regexp.MustCompile(`\{(\w+)\}`).FindAllStringSubmatch(text, -1) {
		names = append(names, m[1])
	}
	return names
}

// Every finding comes up, has its sentence and remedy in both languages, and
// carries a term for each blank; every rule and term of the reasons has words.
func TestFindingsAndReasonsHaveWords(t *testing.T) {
	for _, lang := range []string{"en", "es"} {
		say := sayings(t, lang)
		var walk func(r why.Reason)
		walk = func(r why.Reason) {
			for _, k := range append([]why.Term{r.Result}, r.Inputs...) {
				if say["term."+k.Name] == "" {
					t.Errorf("%s: term.%s is missing", lang, k.Name)
				}
			}
			if say["rule."+r.Rule] == "" {
				t.Errorf("%s: rule.%s is missing", lang, r.Rule)
			}
			for _, b := range r.Because {
				walk(b)
			}
		}
		for code, spoil := range provoke() {
			x := shallow(t, "white ash")
			spoil(&x)
			r := Compute(x)
			walk(r.Why)
			i := slices.IndexFunc(r.Findings, func(f why.Finding) bool { return f.Code == code })
			if i < 0 {
				t.Errorf("%s does not come up: %v", code, codes(r.Findings))
				continue
			}
			for _, key := range []string{"finding." + code, "remedy." + code} {
				if say[key] == "" {
					t.Errorf("%s: %s is missing", lang, key)
				}
				for _, name := range blanks(say[key]) {
					if name != "place" && !slices.ContainsFunc(r.Findings[i].Terms, func(k why.Term) bool { return k.Name == name }) {
						t.Errorf("%s: %s has no term for {%s}", lang, key, name)
					}
				}
			}
		}
	}
}

// The list of provocations is that of the source.
func TestEveryFindingIsProvoked(t *testing.T) {
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	quoted := regexp.MustCompile(`(?:block|ask|note)\("(bore\.\w+)"|Code: "(bore\.\w+)"`)
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		src, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range quoted.FindAllStringSubmatch(string(src), -1) {
			if code := m[1] + m[2]; provoke()[code] == nil {
				t.Errorf("%s: nothing provokes %s", name, code)
			}
		}
	}
}
