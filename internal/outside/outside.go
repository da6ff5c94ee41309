// Package outside answers, for tests: which checks against something outside
// the project ran, and is the outside program there that a check needs?
package outside

import (
	"os"
	"os/exec"
	"runtime"
	"testing"
)

// debianPython is the interpreter that the distribution's scipy belongs to. A
// python3 found earlier in PATH may be another one, without it.
const debianPython = "/usr/bin/python3"

// Ran logs one line, "outside: <source> | <what>", from which .ci/test makes its
// list. Call it at the end of a test that holds this project against something
// it did not make: a standard, a table, a published example, another program.
func Ran(t testing.TB, source, what string) {
	t.Helper()
	t.Logf("outside: %s | %s", source, what)
}

// Tool returns the path of a program that a check needs. Where it is missing a
// person's test is skipped, with the reason; with CI=true in the environment it
// fails, so that no check is lost without notice. Under js no other program can
// be run, and the test is skipped.
func Tool(t testing.TB, name string) string {
	t.Helper()
	noProgramsUnderJS(t)
	path, err := exec.LookPath(name)
	if err != nil {
		missing(t, name)
	}
	return path
}

// Python is Tool for a Python 3 that has scipy.
func Python(t testing.TB) string {
	t.Helper()
	noProgramsUnderJS(t)
	if err := exec.Command(debianPython, "-c", "import scipy").Run(); err != nil {
		missing(t, debianPython+" with scipy")
	}
	return debianPython
}

func noProgramsUnderJS(t testing.TB) {
	t.Helper()
	if runtime.GOOS == "js" {
		t.SkipNow()
	}
}

// missing ends the test.
func missing(t testing.TB, what string) {
	t.Helper()
	if os.Getenv("CI") == "true" {
		t.Fatalf("%s is not installed, and CI=true demands it (make tools installs it)", what)
	}
	t.Skipf("SKIPPED, NOT CHECKED: %s is not installed; `make tools` installs it", what)
}
