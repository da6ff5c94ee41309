package main

import (
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"sapwell/internal/forest"
)

// BenchmarkPlan100000 runs the real binary over a seeded list of 100,000 trees,
// once for every format that streams, and reports seconds and peak memory.
func BenchmarkPlan100000(b *testing.B) {
	dir := b.TempDir()
	bin, list := filepath.Join(dir, "sapwell"), filepath.Join(dir, "forest.csv")
	if out, err := exec.Command("go", "build", "-o", bin, ".").CombinedOutput(); err != nil {
		b.Fatalf("build: %v\n%s", err, out)
	}
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
	args := []string{"plan", list, "--date", demoDay, "--certified", "yes", "--label", strings.Join(labels, ",")}
	for _, format := range []string{"csv", "table", "json"} {
		b.Run(format, func(b *testing.B) {
			for b.Loop() {
				cmd := exec.Command(bin, append(args, "--format", format)...)
				cmd.Stdout = io.Discard
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
