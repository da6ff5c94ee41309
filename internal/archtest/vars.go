package archtest

import (
	"fmt"
	"go/ast"
	"go/token"
)

// checkVars lets a pure package have package-level variables only as tables:
// unexported and never written to. (Go has no constant slices or maps.)
func checkVars(p pkg) []string {
	vars := map[string]token.Pos{}
	var faults []string
	fault := func(pos token.Pos, format string, args ...any) {
		where := p.fset.Position(pos)
		faults = append(faults, fmt.Sprintf("%s:%d: ", where.Filename, where.Line)+fmt.Sprintf(format, args...))
	}
	for _, f := range p.files {
		for _, decl := range f.Decls {
			gen, ok := decl.(*ast.GenDecl)
			if !ok || gen.Tok != token.VAR {
				continue
			}
			for _, spec := range gen.Specs {
				for _, id := range spec.(*ast.ValueSpec).Names {
					if id.Name == "_" {
						continue
					}
					if id.IsExported() {
						fault(id.Pos(), "exported variable %s can be changed by anyone: make it a function or a constant", id.Name)
					}
					vars[id.Name] = id.Pos()
				}
			}
		}
	}
	for _, f := range p.files {
		ast.Inspect(f, func(n ast.Node) bool {
			for _, target := range written(n) {
				if id := root(target); id != nil && isPackageVar(id, vars) {
					fault(id.Pos(), "package variable %s is written to: state comes in as an argument", id.Name)
				}
			}
			return true
		})
	}
	return faults
}

// written lists the expressions that n changes or lets others change.
func written(n ast.Node) []ast.Expr {
	switch n := n.(type) {
	case *ast.AssignStmt:
		if n.Tok != token.DEFINE {
			return n.Lhs
		}
	case *ast.IncDecStmt:
		return []ast.Expr{n.X}
	case *ast.UnaryExpr:
		if n.Op == token.AND {
			return []ast.Expr{n.X}
		}
	}
	return nil
}

// root is the identifier at the bottom of a.b[c].d, or nil.
func root(e ast.Expr) *ast.Ident {
	for {
		switch x := e.(type) {
		case *ast.Ident:
			return x
		case *ast.SelectorExpr:
			e = x.X
		case *ast.IndexExpr:
			e = x.X
		case *ast.StarExpr:
			e = x.X
		case *ast.ParenExpr:
			e = x.X
		default:
			return nil
		}
	}
}

// isPackageVar tells a package variable from a local one of the same name: the
// parser resolves names within a file, and across files leaves Obj nil.
func isPackageVar(id *ast.Ident, vars map[string]token.Pos) bool {
	pos, known := vars[id.Name]
	return known && (id.Obj == nil || id.Obj.Pos() == pos)
}
