package main

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"sapwell": main})
}

// TestScripts runs the scripts in testdata; anyone can read them. Every script
// finds the scenario of the demo in demo/ and the label of the may-we cases
// (doc/validation.md) as maywe.yaml.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata",
		Setup:               scenario,
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Cmds:                map[string]func(*testscript.TestScript, bool, []string){"exits": exits, "latin1": latin1},
	})
}

func scenario(e *testscript.Env) error {
	if err := os.CopyFS(filepath.Join(e.WorkDir, "demo"), os.DirFS("demo")); err != nil {
		return err
	}
	label, err := os.ReadFile("../../labelfile/testdata/maywe.yaml")
	if err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(e.WorkDir, "maywe.yaml"), label, 0o644)
}

// exits runs a program and wants an exit code: exits 3 sapwell plan ...
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits CODE PROGRAM ARGUMENT...")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	err = ts.Exec(args[1], args[2:]...)
	got := 0
	if exit, ok := errors.AsType[*exec.ExitError](err); ok {
		got = exit.ExitCode()
	} else {
		ts.Check(err)
	}
	if got != want {
		ts.Fatalf("exit code %d, want %d", got, want)
	}
}

// latin1 turns \xNN in a file into that byte: a script itself is UTF-8.
func latin1(ts *testscript.TestScript, neg bool, args []string) {
	for _, name := range args {
		text, err := strconv.Unquote(`"` + strings.NewReplacer(`"`, `\"`, "\n", `\n`).Replace(ts.ReadFile(name)) + `"`)
		ts.Check(err)
		ts.Check(os.WriteFile(ts.MkAbs(name), []byte(text), 0o644))
	}
}

// The blocks of doc/cli.md that begin with "$ sapwell" or "$ echo" are run in
// their order, in one folder, and print what the manual shows. A line "..." there
// stands for lines left out.
func TestManual(t *testing.T) {
	script := manualScript(t)
	dir := t.TempDir()
	name := filepath.Join(dir, "manual.txtar")
	if err := os.WriteFile(name, []byte(script), 0o644); err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Files: []string{name}, Setup: scenario,
		Cmds: map[string]func(*testscript.TestScript, bool, []string){"shows": shows},
	})
}

func manualScript(t *testing.T) string {
	text, err := os.ReadFile("../../doc/cli.md")
	if err != nil {
		t.Fatal(err)
	}
	var script, files strings.Builder
	n := 0
	for i, block := range strings.Split(string(text), "```") {
		_, body, _ := strings.Cut(block, "\n")
		if i%2 == 0 || !strings.HasPrefix(body, "$ ") {
			continue
		}
		for _, one := range strings.Split(body[2:], "\n$ ") {
			n++
			command, want, _ := strings.Cut(strings.ReplaceAll(one, "\\\n", ""), "\n")
			want = strings.TrimSuffix(want, "\n")
			fmt.Fprintf(&script, "shows want%d %s\n", n, quoted(command))
			fmt.Fprintf(&files, "-- want%d --\n%s\n", n, want)
		}
	}
	if n < 10 {
		t.Fatalf("%d examples in doc/cli.md", n)
	}
	return script.String() + files.String()
}

// quoted makes one argument of a testscript of a text.
func quoted(s string) string { return "'" + strings.ReplaceAll(s, "'", "''") + "'" }

// shows runs a line in sh and compares what it prints, on stdout and stderr
// together, with a file.
func shows(ts *testscript.TestScript, neg bool, args []string) {
	_ = ts.Exec("sh", "-c", "("+args[1]+") 2>&1") // the exit code is no part of the example
	got := strings.Split(strings.TrimSpace(ts.ReadFile("stdout")), "\n")
	want := strings.Split(strings.TrimSpace(ts.ReadFile(args[0])), "\n")
	if !alike(want, got) {
		ts.Fatalf("%s\nprints\n%s\nand doc/cli.md shows\n%s", args[1], strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

// alike compares lines; "..." in want stands for any number of lines.
func alike(want, got []string) bool {
	for i, line := range want {
		if line == "..." {
			for j := i; j <= len(got); j++ {
				if alike(want[i+1:], got[j:]) {
					return true
				}
			}
			return false
		}
		if i >= len(got) || strings.TrimRight(got[i], " ") != line {
			return false
		}
	}
	return len(want) == len(got)
}
