package words

import (
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// page is doc/nomenclature.md: the first column of each table, by section.
func page(t *testing.T) map[string][]string {
	t.Helper()
	text, err := os.ReadFile("../doc/nomenclature.md")
	if err != nil {
		t.Fatal(err)
	}
	rows, section := map[string][]string{}, ""
	for _, line := range strings.Split(string(text), "\n") {
		if title, ok := strings.CutPrefix(line, "## "); ok {
			section = title
		}
		cells := strings.Split(line, "|")
		if len(cells) < 3 || strings.HasPrefix(line, "|---") || strings.HasPrefix(line, "| name | meaning |") || cells[1] == " word " {
			continue
		}
		if section == "Terms" || section == "Fields that mislead" {
			if len(cells) != 7 || strings.TrimSpace(cells[2]) == "" || strings.TrimSpace(cells[3]) == "" {
				t.Errorf("%q: want name, meaning, wire, range, used by", line)
			}
		}
		rows[section] = append(rows[section], strings.TrimSpace(cells[1]))
	}
	return rows
}

// speaking are the folders whose findings and reasons reach a reader.
var speaking = []string{"../engine", "../actions", "../labelfile", "../treelist"}

// Every name that the code gives to a term has its row in doc/nomenclature.md,
// and every row is a name that the code gives, in T or by way of a variable.
func TestEveryTermIsInTheNomenclature(t *testing.T) {
	terms, bare := map[string]string{}, map[string]bool{}
	for _, dir := range speaking {
		u := scan(t, dir)
		maps.Copy(terms, u.terms)
		maps.Copy(bare, u.bare)
	}
	rows := page(t)["Terms"]
	for _, name := range slices.Sorted(maps.Keys(terms)) {
		if !slices.Contains(rows, name) {
			t.Errorf("term %q, used at %s, has no row in doc/nomenclature.md", name, terms[name])
		}
	}
	for _, name := range rows {
		if terms[name] == "" && !bare[name] {
			t.Errorf("doc/nomenclature.md explains %q, which no code gives", name)
		}
	}
	if sorted := slices.Sorted(slices.Values(rows)); !slices.Equal(rows, sorted) || len(slices.Compact(sorted)) != len(rows) {
		t.Error("the terms of doc/nomenclature.md are not each once, in the order of the alphabet")
	}
}

// Every word a reason is printed with is that of a term in the nomenclature.
func TestWordsOfTermsAreInTheNomenclature(t *testing.T) {
	all, err := catalogue()
	if err != nil {
		t.Fatal(err)
	}
	rows := page(t)["Terms"]
	for key := range all["en"] {
		if name, ok := strings.CutPrefix(key, "term."); ok && !slices.Contains(rows, name) {
			t.Errorf("%s is the word of no term in doc/nomenclature.md", key)
		}
	}
}

// The Spanish sentences keep to one word for one thing, as the page says.
func TestSpanishKeepsToItsWords(t *testing.T) {
	text, err := os.ReadFile("../doc/nomenclature.md")
	if err != nil {
		t.Fatal(err)
	}
	_, rest, _ := strings.Cut(string(text), "## The same in Spanish")
	rest, _, _ = strings.Cut(rest, "\n## ")
	var avoided []string
	for _, line := range strings.Split(rest, "\n") {
		if cells := strings.Split(line, "|"); len(cells) == 5 && cells[1] != " word " {
			for _, word := range strings.Split(cells[3], ",") {
				if word = strings.Trim(word, " -"); word != "" {
					avoided = append(avoided, word)
				}
			}
		}
	}
	if len(avoided) < 5 {
		t.Fatalf("only %v are avoided: is the table still there?", avoided)
	}
	all, err := catalogue()
	if err != nil {
		t.Fatal(err)
	}
	for key, m := range all["es"] {
		for _, word := range avoided {
			if strings.Contains(strings.ToLower(m.One+" "+m.Other), word) {
				t.Errorf("%s: %q says %q", key, m.Other, word)
			}
		}
	}
}

var tagged = regexp.MustCompile(`json:"([A-Za-z0-9_]+)|name: "([a-z0-9_]+)"`)

// Every field that the page explains is a key of some JSON, or a column of a list.
func TestFieldsOfTheNomenclatureExist(t *testing.T) {
	known := map[string]bool{}
	err := filepath.WalkDir("..", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go") {
			return err
		}
		text, err := os.ReadFile(name)
		for _, m := range tagged.FindAllStringSubmatch(string(text), -1) {
			known[m[1]+m[2]] = true
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range page(t)["Fields that mislead"] {
		for _, path := range strings.Split(row, ", ") {
			for _, key := range strings.Split(path, ".") {
				if key = strings.TrimSuffix(key, "[]"); !known[key] {
					t.Errorf("doc/nomenclature.md explains %q, but %q is no key", row, key)
				}
			}
		}
	}
}
