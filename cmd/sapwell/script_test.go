package main

import (
	"errors"
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
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"exits": exits, "latin1": latin1, "served": served, "ended": ended, "keeps": keeps, "narrow": narrow,
		},
	})
}

func scenario(e *testscript.Env) error {
	e.Values[serversKey{}] = map[string]*running{}
	e.Setenv("TZ", "America/Chicago")
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
