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

	"sapwell/internal/outside"
)

// The examples of a page are the lines that begin with "$ ", and with "> " where they
// go on. They are run in their order in one shell, in a folder that holds the
// scenario of the demo as demo/, and print what the page shows, stdout and stderr
// together. A line "..." there stands for lines left out, "…" for a part of a line.
func TestPages(t *testing.T) {
	t.Setenv("TZ", "America/Chicago")
	t.Run("cli.md", func(t *testing.T) { runPage(t, "../../doc/cli.md", 25) })
	t.Run("api.md", func(t *testing.T) {
		outside.Tool(t, "jq")
		outside.Tool(t, "curl")
		runPage(t, "../../doc/api.md", 25)
		outside.Ran(t, "curl and jq", "a tree from the first entry to the closed visit, as doc/api.md has it")
	})
}

type example struct {
	line          int
	command, want string
}

// examples reads them from a page.
func examples(t *testing.T, file string) (all []example) {
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	inside := false
	for i, line := range strings.Split(string(text), "\n") {
		last := len(all) - 1
		switch {
		case strings.HasPrefix(line, "```"):
			inside = false
		case strings.HasPrefix(line, "$ "):
			all = append(all, example{line: i + 1, command: line[2:]})
			inside = true
		case inside && strings.HasPrefix(line, "> ") && all[last].want == "":
			all[last].command += "\n" + line[2:]
		case inside:
			all[last].want += line + "\n"
		}
	}
	return all
}

// usual is where sapwell serve listens, and what pages therefore show. A test takes
// another port, which is free.
const usual = "127.0.0.1:8787"

func runPage(t *testing.T, file string, least int) {
	all := examples(t, file)
	if len(all) < least {
		t.Fatalf("%d examples in %s", len(all), file)
	}
	dir := t.TempDir()
	if err := os.CopyFS(filepath.Join(dir, "demo"), os.DirFS("demo")); err != nil {
		t.Fatal(err)
	}
	sh, address := newShell(t, dir), usual
	for _, e := range all {
		command := strings.ReplaceAll(e.command, usual, address)
		var got string
		if args := strings.Fields(command); strings.HasPrefix(command, "sapwell serve ") && !strings.Contains(command, "--listen") {
			cmd := exec.Command("sapwell", append(args[1:], "--listen", "127.0.0.1:0")...)
			cmd.Dir = dir
			r := servingAs(t, cmd)
			_, address, _ = strings.Cut(r.site, "//")
			got = r.said
		} else {
			got = sh.run(t, command)
		}
		got = strings.ReplaceAll(got, address, usual)
		if !alike(lines(e.want), lines(got)) {
			t.Fatalf("%s:%d: %s\nprints\n%s\nand the page shows\n%s", file, e.line, e.command, got, e.want)
		}
	}
}

func lines(text string) []string {
	if text = strings.TrimSpace(text); text == "" {
		return nil
	}
	return strings.Split(text, "\n")
}

// alike compares lines with those of a page.
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
		if i >= len(got) || !alikeLine(line, strings.TrimRight(got[i], " ")) {
			return false
		}
	}
	return len(want) == len(got)
}

func alikeLine(want, got string) bool {
	if want == got {
		return true
	}
	pattern := strings.ReplaceAll(regexp.QuoteMeta(want), "…", ".+")
	return strings.Contains(want, "…") && regexp.MustCompile("^"+pattern+"$").MatchString(got)
}

// shell is one that stays: what a line sets the next one knows.
type shell struct {
	in  io.Writer
	out *bufio.Reader
	cmd *exec.Cmd
}

func newShell(t *testing.T, dir string) *shell {
	t.Helper()
	cmd := exec.Command("sh")
	cmd.Dir = dir
	in, err := cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	cmd.Stderr = cmd.Stdout
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = in.Close(); _ = cmd.Wait() }) // the exit code is that of the last example
	return &shell{in, bufio.NewReader(out), cmd}
}

// run has a command done and returns what it prints.
func (s *shell) run(t *testing.T, command string) string {
	t.Helper()
	watch := time.AfterFunc(patience, func() { _ = s.cmd.Process.Kill() })
	defer watch.Stop()
	const mark = "=== that was all ==="
	fmt.Fprintf(s.in, "{ %s\n} </dev/null\nprintf '\\n%s\\n'\n", command, mark)
	var text strings.Builder
	for {
		line, err := s.out.ReadString('\n')
		if err != nil {
			t.Fatalf("%s: the shell ended (%v) after\n%s", command, err, text.String())
		}
		if line == mark+"\n" {
			return text.String()
		}
		text.WriteString(line)
	}
}
