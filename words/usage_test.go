package words

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// used is what the source code asks of the catalogue, each with the place where
// it was first seen.
type used struct {
	codes map[string]string // finding codes
	rules map[string]string // rules of reasons
	looks map[string]string // literals that look like either, e.g. block("dose.rate_missing", ...)
	terms map[string]string // names of terms
	says  map[string]string // keys that are said by name
	bare  map[string]bool   // every other literal
	built []builder         // codes put together from a variable
}

// builder is a function that puts a code or rule together from its argument.
type builder struct {
	rule           bool
	prefix, suffix string
	arg            int // which argument; -1: the code comes from a variable
}

// prefixes are the words before the dot of codes and rules: the packages that
// answer and state facts, and "lot".
var prefixes = []string{"bole", "bore", "dose", "drain", "host", "label", "lot", "marks", "stock", "verdict"}

var shape = regexp.MustCompile(`^(` + strings.Join(prefixes, "|") + `)\.[a-z0-9_]+$`)

// scan reads every non-test Go file below dir, one package after another.
func scan(t *testing.T, dir string) used {
	t.Helper()
	u := used{map[string]string{}, map[string]string{}, map[string]string{}, map[string]string{}, map[string]string{}, map[string]bool{}, nil}
	set := token.NewFileSet()
	packages := map[string][]*ast.File{}
	err := filepath.WalkDir(dir, func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go") {
			return err
		}
		file, err := parser.ParseFile(set, name, nil, parser.SkipObjectResolution)
		packages[filepath.Dir(name)] = append(packages[filepath.Dir(name)], file)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	at := func(n ast.Node) string { return set.Position(n.Pos()).String() }
	for _, files := range packages {
		builders := u.builders(files)
		for _, file := range files {
			ast.Inspect(file, func(n ast.Node) bool {
				u.note(n, at, builders)
				return true
			})
		}
	}
	return u
}

// note keeps what one node of the syntax tree uses.
func (u *used) note(n ast.Node, at func(ast.Node) string, builders map[string]builder) {
	keep := func(in map[string]string, e ast.Expr, prefix, suffix string) {
		if s, ok := literal(e); ok && in[prefix+s+suffix] == "" {
			in[prefix+s+suffix] = at(e)
		}
	}
	switch n := n.(type) {
	case *ast.KeyValueExpr:
		switch name, _ := n.Key.(*ast.Ident); {
		case name == nil || !dotted(n.Value):
		case name.Name == "Code":
			keep(u.codes, n.Value, "", "")
		case name.Name == "Rule":
			keep(u.rules, n.Value, "", "")
		}
	case *ast.CallExpr:
		name := called(n)
		switch b, isBuilder := builders[name]; {
		case len(n.Args) == 0:
		case name == "T":
			keep(u.terms, n.Args[0], "", "")
		case name == "Say":
			keep(u.says, n.Args[0], "", "")
		case isBuilder && b.arg < len(n.Args):
			in := u.codes
			if b.rule {
				in = u.rules
			}
			keep(in, n.Args[b.arg], b.prefix, b.suffix)
			if prefix, _, suffix := parts(n.Args[b.arg]); prefix+suffix != "" { // "marks.blocked." + kind
				u.built = append(u.built, builder{b.rule, b.prefix + prefix, suffix + b.suffix, -1})
			}
		}
	case *ast.BasicLit:
		if s, ok := literal(n); ok {
			u.bare[s] = true
			if shape.MatchString(s) {
				keep(u.looks, n, "", "")
			}
		}
	}
}

// builders finds the functions of a package that put codes together, and those
// that only hand their own argument on to one.
func (u *used) builders(files []*ast.File) map[string]builder {
	found := map[string]builder{}
	for more := true; more; {
		more = false
		for _, file := range files {
			for _, d := range file.Decls {
				f, ok := d.(*ast.FuncDecl)
				if !ok || f.Body == nil {
					continue
				}
				if _, done := found[f.Name.Name]; done {
					continue
				}
				if b, ok := u.builderOf(f, found); ok {
					found[f.Name.Name], more = b, true
				}
			}
		}
	}
	return found
}

// builderOf looks into one function and reports whether it is a builder.
func (u *used) builderOf(f *ast.FuncDecl, known map[string]builder) (found builder, ok bool) {
	var params []string
	for _, field := range f.Type.Params.List {
		for _, name := range field.Names {
			params = append(params, name.Name)
		}
	}
	ast.Inspect(f.Body, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.KeyValueExpr:
			key, _ := n.Key.(*ast.Ident)
			if key == nil || key.Name != "Code" && key.Name != "Rule" {
				break
			}
			prefix, name, suffix := parts(n.Value)
			b := builder{key.Name == "Rule", prefix, suffix, slices.Index(params, name)}
			if b.arg >= 0 && name != "" {
				found, ok = b, true
			} else if prefix != "" {
				u.built = append(u.built, b)
			}
		case *ast.CallExpr:
			b, isBuilder := known[called(n)]
			if !isBuilder || b.arg >= len(n.Args) {
				break
			}
			if id, isName := n.Args[b.arg].(*ast.Ident); isName && slices.Contains(params, id.Name) {
				found, ok = b, true
				found.arg = slices.Index(params, id.Name)
			}
		}
		return true
	})
	return found, ok
}

// parts takes "label." + code + "_range" apart.
func parts(e ast.Expr) (prefix, name, suffix string) {
	switch e := e.(type) {
	case *ast.Ident:
		return "", e.Name, ""
	case *ast.BinaryExpr:
		prefix, name, suffix = parts(e.X)
		if s, ok := literal(e.Y); ok {
			return prefix, name, suffix + s
		}
		if s, ok := literal(e.X); ok {
			prefix = s
		}
		if id, ok := e.Y.(*ast.Ident); ok {
			name = id.Name
		}
	}
	return prefix, name, suffix
}

func literal(e ast.Expr) (string, bool) {
	lit, ok := e.(*ast.BasicLit)
	if !ok || lit.Kind != token.STRING {
		return "", false
	}
	s, err := strconv.Unquote(lit.Value)
	return s, err == nil
}

// dotted reports a literal with a dot: a Code without one is another's, such as
// an EPPO code, and one with a star stands for many.
func dotted(e ast.Expr) bool {
	s, ok := literal(e)
	return ok && strings.Contains(s, ".") && !strings.HasSuffix(s, "*")
}

// called is the last part of the name of what is called: "T" of why.T.
func called(c *ast.CallExpr) string {
	switch f := c.Fun.(type) {
	case *ast.Ident:
		return f.Name
	case *ast.SelectorExpr:
		return f.Sel.Name
	}
	return ""
}

// every calls check for each language and each of the names, in order.
func every(t *testing.T, names map[string]string, check func(messages map[string]message, name string) bool, what string) {
	t.Helper()
	all, err := catalogue()
	if err != nil {
		t.Fatal(err)
	}
	for _, lang := range Languages() {
		for _, name := range slices.Sorted(maps.Keys(names)) {
			if !check(all[lang], name) {
				t.Errorf("%s: %s %q, used at %s, has no words", lang, what, name, names[name])
			}
		}
	}
}

func has(messages map[string]message, key string) bool {
	_, ok := messages[key]
	return ok
}

// Every finding, rule and term that the engine makes can be said in every language.
func TestEngineHasWords(t *testing.T) {
	u := scan(t, "../engine")
	if len(u.looks) == 0 || len(u.terms) == 0 {
		t.Fatal("nothing was found in the engine: the scan is broken")
	}
	finding := func(m map[string]message, code string) bool { return has(m, "finding."+code) && has(m, "remedy."+code) }
	rule := func(m map[string]message, name string) bool { return has(m, "rule."+name) }
	every(t, u.codes, finding, "finding")
	every(t, u.rules, rule, "rule")
	every(t, u.looks, func(m map[string]message, s string) bool { return finding(m, s) || rule(m, s) }, "finding or rule")
	every(t, u.terms, func(m map[string]message, name string) bool { return has(m, "term."+name) }, "term")
	// The readers of files make findings too.
	every(t, scan(t, "../labelfile").codes, finding, "finding")
}

// Every key that any code says by name is there.
func TestSaidKeysExist(t *testing.T) {
	every(t, scan(t, "..").says, has, "key")
}

// The blanks of findings, remedies and rules are names that some code gives to a
// term, in T or by way of a variable; "place" is added by Finding itself.
func TestBlanksAreTerms(t *testing.T) {
	u := scan(t, "..")
	all, err := catalogue()
	if err != nil {
		t.Fatal(err)
	}
	for lang, messages := range all {
		for key, m := range messages {
			area, _, _ := strings.Cut(key, ".")
			if area != "finding" && area != "remedy" && area != "rule" {
				continue
			}
			for name := range blanks(m) {
				if u.terms[name] == "" && !u.bare[name] && name != "place" {
					t.Errorf("%s: %s asks for {%s}, which no code gives", lang, key, name)
				}
			}
		}
	}
}

// Every sentence of the catalogue is used: a finding or rule that no code makes
// is a left-over.
func TestNoLeftOvers(t *testing.T) {
	u := scan(t, "..")
	all, err := catalogue()
	if err != nil {
		t.Fatal(err)
	}
	for _, key := range slices.Sorted(maps.Keys(all["en"])) {
		area, name, _ := strings.Cut(key, ".")
		if (area == "finding" || area == "rule") && !u.makes(name) {
			t.Errorf("%s is said by no code", key)
		}
	}
}

// makes reports whether any code makes a finding or rule of that name. Where it
// is put together from a variable, the variable's part must be a literal somewhere.
func (u used) makes(name string) bool {
	if u.codes[name] != "" || u.rules[name] != "" || u.looks[name] != "" {
		return true
	}
	return slices.ContainsFunc(u.built, func(b builder) bool {
		rest, ok := strings.CutPrefix(name, b.prefix)
		rest, also := strings.CutSuffix(rest, b.suffix)
		return ok && also && u.bare[rest]
	})
}

// Some words are put together at run time from the values of a type: each value
// of these types has the key.
func TestTypedWords(t *testing.T) {
	for _, c := range []struct{ pkg, typ, key string }{
		{"host", "Anatomy", "value."},
		{"host", "Uptake", "value."},
		{"bole", "ArcKind", "value."},
		{"bole", "Ground", "value."},
		{"label", "Rounding", "value."},
		{"label", "RateKind", "rule.dose."},
		{"bole", "ArcKind", "finding.marks.blocked."},
		{"bole", "ArcKind", "kind."},
		{"verdict", "Overall", "plan.verdict."},
		{"verdict", "Overall", "value."},
		{"verdict", "Answer", "value."},
		{"why", "Severity", "severity."},
	} {
		values := constants(t, filepath.Join("../engine", c.pkg), c.typ)
		if len(values) == 0 {
			t.Errorf("%s.%s has no values: is it still its name?", c.pkg, c.typ)
		}
		every(t, values, func(m map[string]message, v string) bool { return has(m, c.key+v) }, c.key+"* of "+c.pkg+"."+c.typ)
	}
}

// constants lists the values of the constants of one string type in a folder.
func constants(t *testing.T, dir, typ string) map[string]string {
	t.Helper()
	values := map[string]string{}
	names, err := filepath.Glob(filepath.Join(dir, "*.go"))
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range names {
		src, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		file, err := parser.ParseFile(token.NewFileSet(), name, src, parser.SkipObjectResolution)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(file, func(n ast.Node) bool {
			if spec, ok := n.(*ast.ValueSpec); ok && len(spec.Values) == 1 {
				if of, ok := spec.Type.(*ast.Ident); ok && of.Name == typ {
					if v, ok := literal(spec.Values[0]); ok && v != "" { // "" is "not known"
						values[v] = name
					}
				}
			}
			return true
		})
	}
	return values
}
