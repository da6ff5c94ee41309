// Package archtest answers: does the tree still stand as doc/house.md draws it?
//
// The import table is read from the fenced block "imports" in doc/house.md, so
// the drawing and the wall are one thing. Sources are parsed, not built.
package archtest

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// Module is the import path of the project.
const module = "sapwell"

// pureRoots are the floors that may not touch the world.
var pureRoots = []string{"engine", "journal", "entries", "views", "actions", "records", "calc"}

// bannedImports and why each is banned in a pure package.
var bannedImports = map[string]string{
	"os":           "files and environment belong to cmd",
	"io/ioutil":    "files belong to cmd",
	"net":          "the engine knows no network",
	"net/http":     "the engine knows no network",
	"database/sql": "storage comes in as an argument",
	"syscall/js":   "the browser belongs to cmd/sapwell-wasm",
	"math/rand":    "chance needs a seed from the caller: math/rand/v2 with a source",
	"crypto/rand":  "chance comes in as bytes",
	"log":          "return an error or handle it",
	"log/slog":     "return an error or handle it",
	"embed":        "data of the engine is Go; only what a law asks stands in files, in records",
	"unsafe":       "not needed",
}

// clockCalls read or wait for the clock.
var clockCalls = []string{"Now", "Since", "Until", "Sleep", "After", "AfterFunc", "Tick", "NewTimer", "NewTicker"}

// seedless are the functions of math/rand/v2 that draw from the global source.
var seedless = []string{"Int", "IntN", "Int32", "Int32N", "Int64", "Int64N", "Uint32", "Uint32N", "Uint64", "Uint64N", "UintN", "N", "Float32", "Float64", "Perm", "Shuffle", "NormFloat64", "ExpFloat64"}

// Package is one directory of Go files.
type pkg struct {
	dir   string
	files map[string]*ast.File // by path, tests left out
	fset  *token.FileSet
}

// Check reads every package below root and returns what breaks the house.
func Check(root fs.FS) ([]string, error) {
	house, err := fs.ReadFile(root, "doc/house.md")
	if err != nil {
		return nil, fmt.Errorf("read the drawing of the house: %w", err)
	}
	table, err := importTable(string(house))
	if err != nil {
		return nil, err
	}
	pkgs, err := load(root)
	if err != nil {
		return nil, err
	}
	var faults []string
	for _, p := range pkgs {
		faults = append(faults, checkComment(p)...)
		faults = append(faults, checkImports(p, table)...)
		if isPure(p.dir) {
			faults = append(faults, checkPure(p)...)
		}
	}
	for dir := range table {
		if !slices.ContainsFunc(pkgs, func(p pkg) bool { return p.dir == dir }) {
			faults = append(faults, fmt.Sprintf("doc/house.md: the imports block names %s, which does not exist", dir))
		}
	}
	slices.Sort(faults)
	return faults, nil
}

var importBlock = regexp.MustCompile("(?s)```imports\n(.*?)```")

// importTable reads lines "package: allowed allowed ..." ; a name ending in /*
// stands for all below it.
func importTable(house string) (map[string][]string, error) {
	m := importBlock.FindStringSubmatch(house)
	if m == nil {
		return nil, fmt.Errorf("doc/house.md: no fenced block named imports")
	}
	table := map[string][]string{}
	for line := range strings.Lines(m[1]) {
		name, allowed, ok := strings.Cut(strings.TrimSpace(line), ":")
		if !ok {
			return nil, fmt.Errorf("doc/house.md: imports line %q has no colon", line)
		}
		table[name] = strings.Fields(allowed)
	}
	return table, nil
}

func load(root fs.FS) ([]pkg, error) {
	byDir := map[string]*pkg{}
	err := fs.WalkDir(root, ".", func(p string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && (d.Name() == "testdata" || d.Name() == "node_modules" || p != "." && strings.HasPrefix(d.Name(), ".")) {
			return fs.SkipDir
		}
		if d.IsDir() || !strings.HasSuffix(p, ".go") || strings.HasSuffix(p, "_test.go") {
			return nil
		}
		src, err := fs.ReadFile(root, p)
		if err != nil {
			return err
		}
		dir := path.Dir(p)
		if byDir[dir] == nil {
			byDir[dir] = &pkg{dir: dir, files: map[string]*ast.File{}, fset: token.NewFileSet()}
		}
		f, err := parser.ParseFile(byDir[dir].fset, p, src, parser.ParseComments)
		byDir[dir].files[p] = f
		return err
	})
	var pkgs []pkg
	for _, p := range byDir {
		pkgs = append(pkgs, *p)
	}
	return pkgs, err
}

func isPure(dir string) bool {
	first, _, _ := strings.Cut(dir, "/")
	return slices.Contains(pureRoots, first)
}

func checkComment(p pkg) []string {
	for _, f := range p.files {
		if f.Doc != nil {
			return nil
		}
	}
	return []string{p.dir + ": no package comment; it should say which question the package answers"}
}

func checkImports(p pkg, table map[string][]string) []string {
	allowed, listed := table[p.dir]
	if !listed {
		return []string{p.dir + ": not in the imports block of doc/house.md"}
	}
	var faults []string
	for name, f := range p.files {
		for _, imp := range f.Imports {
			to, ours := strings.CutPrefix(importPath(imp), module+"/")
			if ours && !matches(allowed, to) {
				faults = append(faults, fmt.Sprintf("%s: %s may not import %s (doc/house.md)", name, p.dir, to))
			}
		}
	}
	return faults
}

func matches(allowed []string, to string) bool {
	return slices.ContainsFunc(allowed, func(a string) bool {
		below, all := strings.CutSuffix(a, "/*")
		return a == to || a == "*" || all && strings.HasPrefix(to, below+"/")
	})
}

func checkPure(p pkg) []string {
	var faults []string
	for name, f := range p.files {
		at := func(pos token.Pos) string { return fmt.Sprintf("%s:%d", name, p.fset.Position(pos).Line) }
		for _, imp := range f.Imports {
			to := importPath(imp)
			if why, bad := bannedImports[to]; bad && !(to == "embed" && p.dir == "records") {
				faults = append(faults, fmt.Sprintf("%s: imports %s: %s", at(imp.Pos()), to, why))
			}
			if first, _, _ := strings.Cut(to, "/"); strings.Contains(first, ".") && strings.HasPrefix(p.dir, "engine/") {
				faults = append(faults, fmt.Sprintf("%s: imports %s: no third-party module in the engine", at(imp.Pos()), to))
			}
		}
		ast.Inspect(f, func(n ast.Node) bool {
			if sel, ok := n.(*ast.SelectorExpr); ok {
				if fault := impureCall(f, sel); fault != "" {
					faults = append(faults, at(sel.Pos())+": "+fault)
				}
			}
			if fn, ok := n.(*ast.FuncDecl); ok && fn.Recv == nil && fn.Name.Name == "init" {
				faults = append(faults, at(fn.Pos())+": init runs before anyone asked")
			}
			return true
		})
	}
	return append(faults, checkVars(p)...)
}

// impureCall tells whether sel reads the clock or the global random source.
func impureCall(f *ast.File, sel *ast.SelectorExpr) string {
	id, ok := sel.X.(*ast.Ident)
	if !ok || id.Obj != nil { // a local name shadows the package
		return ""
	}
	switch {
	case id.Name == localName(f, "time") && slices.Contains(clockCalls, sel.Sel.Name):
		return "time." + sel.Sel.Name + ": the clock comes in as an argument"
	case id.Name == localName(f, "math/rand/v2") && slices.Contains(seedless, sel.Sel.Name):
		return "rand." + sel.Sel.Name + ": chance needs a seed from the caller"
	}
	return ""
}

// localName is the name under which f knows the package, or "".
func localName(f *ast.File, pkgPath string) string {
	for _, imp := range f.Imports {
		if importPath(imp) != pkgPath {
			continue
		}
		if imp.Name != nil {
			return imp.Name.Name
		}
		if pkgPath == "math/rand/v2" {
			return "rand"
		}
		return path.Base(pkgPath)
	}
	return ""
}

func importPath(imp *ast.ImportSpec) string {
	p, _ := strconv.Unquote(imp.Path.Value)
	return p
}
