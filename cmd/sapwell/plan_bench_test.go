package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"sapwell/internal/forest"
)

// BenchmarkPlan100000 runs the real binary over a seeded list of 100,000 trees,
// once for every format that streams, and reports seconds and peak memory.
func BenchmarkPlan100000(b *testing.B) {
	bin, list := built(b), filepath.Join(b.TempDir(), "forest.csv")
	f, err := os.Create(list)
	if err != nil {
		b.Fatal(err)
	}
	if err := forest.Write(f, 100_000, 1); err != nil {
		b.Fatal(err)
	}
	if err := f.Close(); err != nil {
		b.Fatal(err)
	}
	labels, err := filepath.Glob("demo/labels/*.yaml")
	if err != nil {
		b.Fatal(err)
	}
	nothing, err := os.OpenFile(os.DevNull, os.O_WRONLY, 0)
	if err != nil {
		b.Fatal(err)
	}
	defer nothing.Close()
	args := []string{"plan", list, "--date", demoDay, "--certified", "yes", "--label", strings.Join(labels, ",")}
	for _, format := range []string{"csv", "table", "json"} {
		b.Run(format, func(b *testing.B) {
			for b.Loop() {
				cmd := exec.Command(bin, append(args, "--format", format)...)
				cmd.Stdout = nothing // a file: a pipe would be read by this process
				if err := cmd.Run(); err != nil {
					if code := cmd.ProcessState.ExitCode(); code != exitPartly {
						b.Fatalf("exit %d: %v", code, err)
					}
				}
				usage := cmd.ProcessState.SysUsage().(*syscall.Rusage)
				b.ReportMetric(float64(usage.Maxrss)/1024, "MiB-peak")
			}
		})
	}
}

// BenchmarkColdStart starts the real binary, which does next to nothing: what
// every call pays before its work. More than 50 ms would be felt.
func BenchmarkColdStart(b *testing.B) {
	bin := built(b)
	for b.Loop() {
		if err := exec.Command(bin, "version").Run(); err != nil {
			b.Fatal(err)
		}
	}
	if each := b.Elapsed() / time.Duration(b.N); b.N > 5 && each > 50*time.Millisecond {
		b.Errorf("%v a start, want at most 50 ms", each)
	}
}

// built is the binary as a person runs it.
func built(b *testing.B) string {
	b.Helper()
	bin := filepath.Join(b.TempDir(), "sapwell")
	if out, err := exec.Command("go", "build", "-trimpath", "-o", bin, ".").CombinedOutput(); err != nil {
		b.Fatalf("build: %v\n%s", err, out)
	}
	return bin
}
