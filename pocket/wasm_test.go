package pocket

import (
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"sapwell/internal/outside"
)

// A browser's engine and ours are the same: a day's calls, with clock and chance in
// them, are answered by the WebAssembly under Node with the very same bytes.
func TestWebAssemblyAnswersAlike(t *testing.T) {
	if testing.Short() {
		t.Skip("builds the engine for WebAssembly")
	}
	node := outside.Tool(t, "node")
	d := newDay(t)
	d.begin()
	d.look()
	d.work()
	d.look()
	answers, _ := d.inWebAssembly(node)
	for i, a := range d.asked {
		if answers[i] != a.Answer {
			t.Errorf("%s %.200s\nhere  %.2000s\nthere %.2000s", a.Name, a.Input, a.Answer, answers[i])
		}
	}
	outside.Ran(t, "Node.js and its WebAssembly", "the answers of pocket")
}

// inWebAssembly asks the same again there, and tells how long each call took in ms.
func (d *day) inWebAssembly(node string) (answers []string, times []float64) {
	d.t.Helper()
	goroot, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		d.t.Fatal(err)
	}
	engine := d.built()
	calls, err := json.Marshal(d.asked)
	if err != nil {
		d.t.Fatal(err)
	}
	run := exec.Command(node, "testdata/run.cjs", filepath.Join(strings.TrimSpace(string(goroot)), "lib/wasm/wasm_exec.js"), engine)
	run.Stdin, run.Stderr = bytes.NewReader(calls), os.Stderr
	out, err := run.Output()
	if err != nil {
		d.t.Fatal(err)
	}
	var told struct {
		Answers []string
		Times   []float64
	}
	if err := json.Unmarshal(out, &told); err != nil || len(told.Answers) != len(d.asked) {
		d.t.Fatalf("%d answers, want %d: %v", len(told.Answers), len(d.asked), err)
	}
	return told.Answers, told.Times
}

// built is the engine as `make engine` builds it.
func (d *day) built() string {
	d.t.Helper()
	whole, engine := filepath.Join(d.t.TempDir(), "whole.wasm"), filepath.Join(d.t.TempDir(), "engine.wasm")
	build := exec.Command("go", "build", "-trimpath", "-gcflags=all=-l", "-ldflags=-s -w", "-o", whole, "sapwell/cmd/sapwell-wasm")
	build.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm")
	for _, step := range []*exec.Cmd{build, exec.Command("go", "run", "sapwell/internal/slim", whole, engine)} {
		if out, err := step.CombinedOutput(); err != nil {
			d.t.Fatalf("%v: %s", err, out)
		}
	}
	return engine
}
