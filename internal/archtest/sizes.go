package archtest

import (
	"fmt"
	"go/ast"
	"io/fs"
	"path"
	"slices"
	"strings"
)

// Sizes says how long functions and files are on each floor, the longest by
// name, and which packages export more than forty names. Nothing fails by it.
func Sizes(root fs.FS) ([]string, error) {
	pkgs, err := load(root)
	if err != nil {
		return nil, err
	}
	floors := map[string]*floor{}
	var lines []string
	for _, p := range pkgs {
		first, _, _ := strings.Cut(p.dir, "/")
		if floors[first] == nil {
			floors[first] = &floor{}
		}
		floors[first].measure(p)
		if n := exported(p); n > 40 {
			lines = append(lines, fmt.Sprintf("%s exports %d names", p.dir, n))
		}
	}
	for name, f := range floors {
		lines = append(lines, name+": "+f.String())
	}
	slices.Sort(lines)
	return lines, nil
}

// floor gathers the lengths of one top folder.
type floor struct {
	functions, files []int
	longest          string
}

func (f *floor) measure(p pkg) {
	for name, file := range p.files {
		f.files = append(f.files, p.fset.Position(file.FileEnd).Line)
		for _, d := range file.Decls {
			fn, ok := d.(*ast.FuncDecl)
			if !ok || fn.Body == nil {
				continue
			}
			n := p.fset.Position(fn.End()).Line - p.fset.Position(fn.Pos()).Line + 1
			if len(f.functions) == 0 || n > slices.Max(f.functions) {
				f.longest = path.Base(name) + " " + fn.Name.Name
			}
			f.functions = append(f.functions, n)
		}
	}
}

func (f *floor) String() string {
	return fmt.Sprintf("functions %s (%s), files %s", spread(f.functions), f.longest, spread(f.files))
}

// spread is median / 95th percentile / longest.
func spread(ns []int) string {
	if len(ns) == 0 {
		return "none"
	}
	slices.Sort(ns)
	return fmt.Sprintf("%d / %d / %d lines", ns[len(ns)/2], ns[len(ns)*95/100], ns[len(ns)-1])
}

func exported(p pkg) int {
	n := 0
	for _, file := range p.files {
		for name := range file.Scope.Objects {
			if ast.IsExported(name) {
				n++
			}
		}
	}
	return n
}
