package why

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// declared lists the values of the Source constants in this package's files.
func declared(t *testing.T) map[Source]string {
	t.Helper()
	names, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	found := map[Source]string{}
	for _, name := range names {
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.SkipObjectResolution)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(file, func(n ast.Node) bool {
			if spec, ok := n.(*ast.ValueSpec); ok {
				keepSources(t, spec, found)
			}
			return true
		})
	}
	return found
}

// keepSources adds the constants of one line if they are Sources.
func keepSources(t *testing.T, spec *ast.ValueSpec, found map[Source]string) {
	t.Helper()
	if typ, ok := spec.Type.(*ast.Ident); !ok || typ.Name != "Source" || len(spec.Values) != len(spec.Names) {
		return
	}
	for i, name := range spec.Names {
		value, err := strconv.Unquote(spec.Values[i].(*ast.BasicLit).Value)
		if err != nil {
			t.Fatal(err)
		}
		if other := found[Source(value)]; other != "" {
			t.Errorf("%s and %s are both %q", other, name.Name, value)
		}
		found[Source(value)] = name.Name
	}
}

// Every Source constant has a citation and no citation lacks a constant.
func TestEverySourceIsCited(t *testing.T) {
	constants := declared(t)
	if constants[TheLabel] != "TheLabel" {
		t.Fatalf("the constants were not found: %v", constants)
	}
	for s, name := range constants {
		if _, ok := Cite(s); !ok {
			t.Errorf("%s (%q) has no citation: add a row to citations", name, s)
		}
	}
	for s := range citations() {
		if constants[s] == "" {
			t.Errorf("the citation of %q has no constant", s)
		}
	}
}

// Every citation says what it is and how far it was checked.
func TestCitationsAreWhole(t *testing.T) {
	marks := []string{"confirmed", "secondary", "abstract", "memory", "practice", "own", "derived", "label"}
	for s, c := range citations() {
		if c.By == "" || c.Title == "" || !slices.Contains(marks, c.Mark) {
			t.Errorf("%q: by %q, title %q, mark %q: want all three, the mark one of %v", s, c.By, c.Title, c.Mark, marks)
		}
		published := !slices.Contains([]string{"practice", "own", "label"}, c.Mark) && s != Memory && s != Geometry
		if published && c.Where == "" {
			t.Errorf("%q does not say where in it", s)
		}
		if strings.TrimSpace(c.Short()) != c.Short() || strings.Contains(string(s), " ") {
			t.Errorf("%q: short %q", s, c.Short())
		}
	}
	if c, ok := Cite("nobody"); ok {
		t.Errorf("an unknown source is cited as %v", c)
	}
	if c, _ := Cite(Raile1982); c.Short() != "Raile 1982" {
		t.Errorf("got %q, want Raile 1982", c.Short())
	}
}

func TestBlocks(t *testing.T) {
	for _, c := range []struct {
		severities []Severity
		want       bool
	}{{nil, false}, {[]Severity{Warn, Ask, Note}, false}, {[]Severity{Note, Block}, true}} {
		var fs []Finding
		for _, s := range c.severities {
			fs = append(fs, Finding{Code: "x", Severity: s})
		}
		if got := Blocks(fs); got != c.want {
			t.Errorf("%v: %v, want %v", c.severities, got, c.want)
		}
	}
}
