package records

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// written are the fields that doc/record-fields.md explains.
func written(t *testing.T) []string {
	t.Helper()
	text, err := os.ReadFile("../doc/record-fields.md")
	if err != nil {
		t.Fatal(err)
	}
	_, rest, _ := strings.Cut(string(text), "\n## Fields\n")
	table, _, ok := strings.Cut(rest, "\n## ")
	if !ok {
		t.Fatal("doc/record-fields.md has no section Fields")
	}
	var fields []string
	for _, m := range regexp.MustCompile("(?m)^\\| `([a-z0-9_.]+)` \\| [^|]+ \\| [^|]+ \\|$").FindAllStringSubmatch(table, -1) {
		fields = append(fields, m[1])
	}
	return fields
}

// used are the fields that a record of a visit gets, and those any profile speaks of.
func used(t *testing.T) map[string]bool {
	t.Helper()
	fields := map[string]bool{profilesField: true}
	sources, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range sources {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range regexp.MustCompile(`s\.put\("([a-z0-9_.]+)"`).FindAllStringSubmatch(string(text), -1) {
			fields[m[1]] = !strings.HasSuffix(name, "_test.go") || fields[m[1]]
		}
	}
	add := func(list ...Field) {
		for _, f := range list {
			fields[string(f)] = true
		}
	}
	b := all()
	for _, j := range b.jurisdictions {
		for _, v := range j.Versions {
			v.Formats = append(v.Formats, b.formats...)
			v.Orders = append(v.Orders, b.orders...)
			for _, a := range v.Asks {
				add(append(a.AnyOf, a.Field)...)
				addTests(add, a.When)
			}
			for _, f := range v.Formats {
				add(f.Field)
			}
			for _, o := range v.Orders {
				add(append(o.Same, o.First, o.Then)...)
			}
			for _, l := range v.Limits {
				add(l.Fields...)
				addTests(add, l.When)
			}
			for _, d := range v.Duties {
				add(d.Done, d.Due.Told)
				addTests(add, d.When)
			}
			addTests(add, v.When)
		}
	}
	delete(fields, "")
	return fields
}

func addTests(add func(...Field), tests []test) {
	for _, t := range tests {
		add(t.Field)
	}
}

// The page explains every field, each once, and none that there is not.
func TestFieldsAreExplained(t *testing.T) {
	page, code := written(t), used(t)
	for f := range code {
		if !slices.Contains(page, f) {
			t.Errorf("doc/record-fields.md does not explain %s", f)
		}
	}
	for i, f := range page {
		if !code[f] || slices.Contains(page[:i], f) {
			t.Errorf("doc/record-fields.md explains %s, which is not there or stood before", f)
		}
	}
}
