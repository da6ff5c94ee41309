package views

import (
	"encoding/json"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// Each code that is raised stands in the table of Flag, has words in every
// language and a history that expects it; and nothing else stands there.
func TestFlagsAreExplained(t *testing.T) {
	raised, explained := map[string]bool{}, map[string]bool{}
	names, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range names {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		src, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range regexp.MustCompile(`"([a-z]+\.[a-z_]+)"`).FindAllSubmatch(src, -1) {
			raised[string(m[1])] = true
		}
		for _, m := range regexp.MustCompile(`(?m)^//\t([a-z]+\.[a-z_]+)  `).FindAllSubmatch(src, -1) {
			explained[string(m[1])] = true
		}
	}
	want := slices.Sorted(maps.Keys(raised))
	if got := slices.Sorted(maps.Keys(explained)); !slices.Equal(got, want) || len(want) < 30 {
		t.Errorf("raised %v\nexplained %v", want, got)
	}
	for _, lang := range []string{"en", "es"} {
		if got := slices.Sorted(maps.Keys(flagWords(t, lang))); !slices.Equal(got, want) {
			t.Errorf("raised %v\nin %s %v", want, lang, got)
		}
	}
	told := ""
	for _, lines := range histories(t) {
		told += strings.Join(lines, "\n") + "\n"
	}
	for _, code := range want {
		if code != "amendment.unreadable" && !strings.Contains(told, code+":") {
			t.Errorf("no history expects %s", code)
		}
	}
}

func flagWords(t *testing.T, lang string) map[string]bool {
	text, err := os.ReadFile("../words/" + lang + "/views.json")
	if err != nil {
		t.Fatal(err)
	}
	var all map[string]string
	if err := json.Unmarshal(text, &all); err != nil {
		t.Fatal(err)
	}
	codes := map[string]bool{}
	for key := range all {
		if code, ok := strings.CutPrefix(key, "flag."); ok {
			codes[code] = true
		}
	}
	return codes
}
