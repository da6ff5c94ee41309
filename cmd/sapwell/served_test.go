package main

import (
	"bufio"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
)

// running is a server that a test started.
type running struct {
	*exec.Cmd
	said string // up to the line that says how to end it
	site string
	rest chan string // what it printed after that, when it has ended
}

// patience is how long a server may take to start, and to end.
const patience = 60 * time.Second

var at = regexp.MustCompile(`(?m)^Sapwell (?:is at|está en) (\S+)$`)

// started runs a command that serves, and returns when it says that it does.
func started(cmd *exec.Cmd) (*running, error) {
	out, err := cmd.StdoutPipe()
	if err != nil {
		return nil, err
	}
	cmd.Stderr = cmd.Stdout
	if err := cmd.Start(); err != nil {
		return nil, err
	}
	r := &running{Cmd: cmd, rest: make(chan string, 1)}
	watch := time.AfterFunc(patience, func() { _ = cmd.Process.Kill() })
	defer watch.Stop()
	lines := bufio.NewReader(out)
	for !strings.Contains(r.said, "Ctrl-C") {
		line, err := lines.ReadString('\n')
		r.said += line
		if err != nil {
			return nil, fmt.Errorf("%v: it ended: %v\n%s", cmd.Args, cmd.Wait(), r.said)
		}
	}
	found := at.FindStringSubmatch(r.said)
	if found == nil {
		return nil, fmt.Errorf("%v: no address\n%s", cmd.Args, r.said)
	}
	r.site = found[1]
	go func() { text, _ := io.ReadAll(lines); r.rest <- string(text) }()
	return r, nil
}

// end presses Ctrl-C. It must end soon, well, and without a word.
func (r *running) end() error {
	if r.ProcessState != nil {
		return nil
	}
	if err := r.Process.Signal(os.Interrupt); err != nil {
		return err
	}
	watch := time.AfterFunc(patience, func() { _ = r.Process.Kill() })
	defer watch.Stop()
	rest := <-r.rest
	if err := r.Wait(); err != nil || rest != "" {
		return fmt.Errorf("ended with %v, saying %q", err, rest)
	}
	return nil
}

// serving starts sapwell for a Go test; TestMain put it in PATH.
func serving(t *testing.T, args ...string) *running {
	t.Helper()
	return servingAs(t, exec.Command("sapwell", args...))
}

func servingAs(t *testing.T, cmd *exec.Cmd) *running {
	t.Helper()
	r, err := started(cmd)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := r.end(); err != nil {
			t.Error(err)
		}
	})
	return r
}

// served starts a server for a script: served NAME ARGUMENT... sets $NAME to its
// address and writes what it said to the file NAME.
func served(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: served NAME COMMAND ARGUMENT...")
	}
	cmd := exec.Command("sapwell", append(args[1:], "--listen", "127.0.0.1:0")...)
	cmd.Dir, cmd.Env = ts.Getenv("WORK"), append(os.Environ(), "HOME="+ts.Getenv("HOME"), "TZ="+ts.Getenv("TZ"))
	r, err := started(cmd)
	ts.Check(err)
	ts.Setenv(args[0], r.site)
	ts.Check(os.WriteFile(filepath.Join(cmd.Dir, args[0]), []byte(r.said), 0o644))
	ts.Value(serversKey{}).(map[string]*running)[args[0]] = r
	ts.Defer(func() {
		if r.ProcessState == nil {
			_ = r.Process.Kill()
			_ = r.Wait()
		}
	})
}

type serversKey struct{}

// ended ends such a server: ended NAME.
func ended(ts *testscript.TestScript, neg bool, args []string) {
	r, ok := ts.Value(serversKey{}).(map[string]*running)[args[0]]
	if neg || len(args) != 1 || !ok {
		ts.Fatalf("usage: ended NAME, of a server that was started")
	}
	ts.Check(r.end())
}

// keeps sets a variable to what the last command printed: keeps NAME.
func keeps(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: keeps NAME")
	}
	ts.Setenv(args[0], strings.TrimSpace(ts.ReadFile("stdout")))
}

// narrow holds what the last command printed against the width of a terminal. Only
// a word that cannot be broken may be longer.
func narrow(ts *testscript.TestScript, neg bool, args []string) {
	for line := range strings.Lines(ts.ReadFile("stdout")) {
		line = strings.TrimSuffix(line, "\n")
		if len([]rune(line)) > columns && strings.Contains(strings.TrimSpace(line), " ") {
			ts.Fatalf("%d columns: %s", len([]rune(line)), line)
		}
	}
}
