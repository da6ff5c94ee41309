// Command slim answers: what of a Go program's WebAssembly need a browser not load?
//
// A third of what is left after packing are tables that say for each instruction which
// line of which file it came from, and the names of functions: for traces, which nobody
// reads on a phone. They cannot be left out at the build. slim takes the names of all
// functions but those of the runtime (which looks at them), the files, the lines and what
// else only traces read out of the finished program; the code and all that the garbage
// collector needs stay, byte for byte. It knows the layout of these tables in some
// versions of Go (package runtime of the Go source, symtab.go and runtime2.go). A program
// of any other stays as it is: then the app works as well, and is larger.
//
//	slim in.wasm out.wasm
package main

import (
	"fmt"
	"os"
	"runtime"
	"strings"
)

// known are the versions of Go whose tables were looked at, by the beginning of their
// names. A tool is run by the Go that made the program.
var known = [...]string{"go1.26"}

func main() {
	if len(os.Args) != 3 {
		fmt.Fprintln(os.Stderr, "usage: slim in.wasm out.wasm")
		os.Exit(2)
	}
	if err := run(os.Args[1], os.Args[2]); err != nil {
		fmt.Fprintln(os.Stderr, "slim:", err)
		os.Exit(1)
	}
}

func run(in, out string) error {
	program, err := os.ReadFile(in)
	if err != nil {
		return err
	}
	slimmed, err := slimOf(program, runtime.Version())
	if err != nil {
		fmt.Fprintf(os.Stderr, "slim: %s: left as it is, so the first load of the app is larger: %v\n", in, err)
		slimmed = program
	}
	return os.WriteFile(out, slimmed, 0o755) //nolint:gosec // a program, as the one it was made of
}

// slimOf makes a program of this version of Go slim.
func slimOf(program []byte, version string) ([]byte, error) {
	for _, k := range known {
		if strings.HasPrefix(version, k) {
			return slim(program)
		}
	}
	return nil, fmt.Errorf("the tables of %s are not known, only those of %s", version, strings.Join(known[:], ", "))
}

// slim rewrites the data of a program.
func slim(program []byte) ([]byte, error) {
	m, err := parse(program)
	if err != nil {
		return nil, err
	}
	t, err := findTables(m.memory)
	if err != nil {
		return nil, err
	}
	if err := t.clear(); err != nil {
		return nil, err
	}
	return m.bytes(), nil
}
