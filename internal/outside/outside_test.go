package outside

import (
	"fmt"
	"os/exec"
	"runtime"
	"strings"
	"testing"
)

// recorder is a test that keeps what it was told. Like a real one it ends its
// goroutine on Fatalf and Skipf.
type recorder struct {
	testing.TB
	said []string
}

func (r *recorder) Helper() {}

func (r *recorder) Logf(format string, args ...any) { r.say("log", format, args) }

func (r *recorder) Fatalf(format string, args ...any) {
	r.say("fatal", format, args)
	runtime.Goexit()
}

func (r *recorder) Skipf(format string, args ...any) {
	r.say("skip", format, args)
	runtime.Goexit()
}

func (r *recorder) say(how, format string, args []any) {
	r.said = append(r.said, how+": "+fmt.Sprintf(format, args...))
}

// during returns what a test says while f runs in it.
func during(f func(t testing.TB)) []string {
	r, over := &recorder{}, make(chan bool)
	go func() {
		defer close(over)
		f(r)
	}()
	<-over
	return r.said
}

func TestRanIsOneLine(t *testing.T) {
	got := during(func(t testing.TB) { Ran(t, "ISO 216", "A4 is 210 mm × 297 mm") })
	if len(got) != 1 || got[0] != "log: outside: ISO 216 | A4 is 210 mm × 297 mm" {
		t.Errorf("said %q", got)
	}
}

func TestToolThatIsThere(t *testing.T) {
	want, err := exec.LookPath("go")
	if err != nil {
		t.Skip("no go in PATH")
	}
	got := ""
	if said := during(func(t testing.TB) { got = Tool(t, "go") }); len(said) > 0 || got != want {
		t.Errorf("got %q, want %q; said %q", got, want, said)
	}
}

// A missing program must never pass for a check that ran.
func TestToolThatIsMissing(t *testing.T) {
	for ci, want := range map[string]string{"true": "fatal: ", "": "skip: SKIPPED, NOT CHECKED: "} {
		t.Setenv("CI", ci)
		after := false
		said := during(func(t testing.TB) {
			Tool(t, "no-such-program")
			after = true
		})
		if len(said) != 1 || !strings.HasPrefix(said[0], want) || !strings.Contains(said[0], "no-such-program") || after {
			t.Errorf("CI=%q: said %q, want one line that begins %q; went on: %v", ci, said, want, after)
		}
	}
}
