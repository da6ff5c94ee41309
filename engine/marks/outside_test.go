package marks

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"sapwell/internal/outside"
)

// Outside solvers: GLPK (glpsol 5.0, Debian glpk-utils), CBC 2.10.8 (Debian
// coinor-cbc) and HiGHS (in scipy 1.10.1, Debian python3-scipy). They get the ring
// as a mixed-integer circulation and know nothing of this package's method.

// circulation writes in as an LP file: binary z_x_g, a mark at x followed by a
// gap g; in = out at every tick; n arcs; gaps summing to N (once round).
func circulation(in Instance) string {
	var b strings.Builder
	var sum, turn, names []string
	out, into := make([][]string, in.N), make([][]string, in.N)
	b.WriteString("Minimize\n obj: 0 u")
	for x := range in.N {
		for g := in.MinGap; g <= in.N-(in.Count-1)*in.MinGap; g++ {
			y := (x + g) % in.N
			if !refOpen(in, x) || !refOpen(in, y) {
				continue
			}
			z := fmt.Sprintf("z_%d_%d", x, g)
			fmt.Fprintf(&b, "\n + %d %s", int64(g*g)+refFee(in, x), z)
			sum, turn = append(sum, z), append(turn, fmt.Sprintf("%d %s", g, z))
			names = append(names, z)
			out[x], into[y] = append(out[x], "+ "+z), append(into[y], "- "+z)
		}
	}
	b.WriteString("\nSubject To\n")
	for x := range in.N {
		fmt.Fprintf(&b, " c%d: 0 u %s %s = 0\n", x, strings.Join(out[x], "\n "), strings.Join(into[x], "\n "))
	}
	all := append([]string{"0 u"}, sum...)
	fmt.Fprintf(&b, " marks: %s = %d\n", strings.Join(all, "\n + "), in.Count)
	fmt.Fprintf(&b, " turn: %s = %d\n", strings.Join(append([]string{"0 u"}, turn...), "\n + "), in.N)
	fmt.Fprintf(&b, "Bounds\n u = 0\nBinary\n %s\nEnd\n", strings.Join(names, "\n "))
	return b.String()
}

// glpsol and cbc return the optimum, or none.
func glpsol(t *testing.T, path, lp string) int64 {
	sol := lp + ".glp"
	text, err := exec.Command(path, "--lp", lp, "-o", sol).CombinedOutput()
	if err != nil {
		t.Fatalf("glpsol: %v\n%s", err, text)
	}
	report, _ := os.ReadFile(sol)
	switch {
	case bytes.Contains(text, []byte("NO PRIMAL FEASIBLE")), bytes.Contains(text, []byte("NO INTEGER FEASIBLE")):
		return none
	case !bytes.Contains(report, []byte("INTEGER OPTIMAL")):
		t.Fatalf("glpsol: no optimum\n%s\n%s", text, report)
	}
	for line := range strings.Lines(string(report)) {
		if f := strings.Fields(line); len(f) >= 4 && f[0] == "Objective:" {
			v, err := strconv.ParseFloat(f[3], 64)
			if err != nil {
				t.Fatal(err)
			}
			return int64(v + 0.5)
		}
	}
	t.Fatalf("glpsol: no objective in\n%s", report)
	return none
}

func cbc(t *testing.T, path, lp string) int64 {
	sol := lp + ".cbc"
	text, err := exec.Command(path, lp, "ratioGap", "0", "solve", "solu", sol).CombinedOutput()
	if err != nil {
		t.Fatalf("cbc: %v\n%s", err, text)
	}
	report, _ := os.ReadFile(sol)
	first, _, _ := strings.Cut(string(report), "\n")
	f := strings.Fields(first)
	if strings.Contains(strings.ToLower(first), "infeasible") {
		return none
	}
	if len(f) == 0 || f[0] != "Optimal" {
		t.Fatalf("cbc: %q\n%s", first, text)
	}
	v, err := strconv.ParseFloat(f[len(f)-1], 64)
	if err != nil {
		t.Fatal(err)
	}
	return int64(v + 0.5)
}

func TestAgainstMILP(t *testing.T) {
	for name, solver := range map[string]func(*testing.T, string, string) int64{"glpsol": glpsol, "cbc": cbc} {
		t.Run(name, func(t *testing.T) {
			path := outside.Tool(t, name)
			rng := rand.New(rand.NewPCG(2026, 11))
			var s Solver
			feasible := 0
			for i := range 30 {
				in := randomInstance(rng, 12+rng.IntN(37))
				in.Count = 2 + rng.IntN(5)
				in.MinGap = 1 + rng.IntN(in.N/in.Count+1)
				if in.N < in.Count*in.MinGap {
					continue // the programme would have no columns
				}
				lp := filepath.Join(t.TempDir(), fmt.Sprintf("ring%d.lp", i))
				if err := os.WriteFile(lp, []byte(circulation(in)), 0o600); err != nil {
					t.Fatal(err)
				}
				want := solver(t, path, lp)
				agree(t, &s, in, want)
				if want != none {
					feasible++
				}
			}
			if feasible < 10 {
				t.Errorf("only %d feasible rings compared", feasible)
			}
			outside.Ran(t, name, fmt.Sprintf("mixed-integer optima of random rings, %d of them feasible", feasible))
		})
	}
}

// TestSpeedAgainstHiGHS runs HiGHS on M06, M10 and M19 and this package in the
// same run, compares the values and prints the ratios. It takes about 20 s, so
// it runs only with SAPWELL_COMPARE=1.
func TestSpeedAgainstHiGHS(t *testing.T) {
	if os.Getenv("SAPWELL_COMPARE") != "1" {
		t.Skip("set SAPWELL_COMPARE=1 to run HiGHS beside the solver")
	}
	python := outside.Python(t)
	var s Solver
	for _, c := range caseFile(t) {
		if c.Name != "M06" && c.Name != "M10" && c.Name != "M19" {
			continue
		}
		in := c.instance()
		own := medianSolve(t, &s, in)
		row, _ := json.Marshal(map[string]any{"name": c.Name, "N": in.N, "n": in.Count, "smin": in.MinGap,
			"forbidden": in.Forbidden, "fissures": in.Fissures, "wf": in.Weight, "cap": in.Cap, "gmax": shrunkGap(in, *c.Z)})
		cmd := exec.Command(python, "testdata/highs_compare.py")
		cmd.Stdin, cmd.Stderr = bytes.NewReader(row), os.Stderr
		text, err := cmd.Output()
		if err != nil {
			t.Fatalf("highs_compare.py: %v", err)
		}
		var got struct {
			Status  int
			Value   int64
			Seconds float64
			Scipy   string
		}
		if err := json.Unmarshal(text, &got); err != nil {
			t.Fatalf("%v in %s", err, text)
		}
		sol, _ := s.Solve(in)
		if got.Status != 0 || got.Value != sol.Cost || sol.Cost != *c.Z {
			t.Errorf("%s: HiGHS status %d Z %d, here %d, want %d", c.Name, got.Status, got.Value, sol.Cost, *c.Z)
		}
		ratio := got.Seconds / own.Seconds()
		t.Logf("%s: HiGHS (scipy %s) %.2f s, here %v, ratio %.0f", c.Name, got.Scipy, got.Seconds, own, ratio)
		if ratio < 500 {
			t.Errorf("%s: only %.0f times faster than HiGHS, want 500", c.Name, ratio)
		}
	}
	outside.Ran(t, "HiGHS in scipy", "optima of M06, M10 and M19, and the time they took")
}

// shrunkGap is the widest gap a set of cost z can have, the same favour for the
// programme that the solver does itself: g² + ⌈(N-g)²/(n-1)⌉ + n·min f <= z.
func shrunkGap(in Instance, z int64) int {
	least := int64(1 << 60)
	for x := range in.N {
		if refOpen(in, x) {
			least = min(least, refFee(in, x))
		}
	}
	widest := 0
	for g := in.MinGap; g <= in.N-(in.Count-1)*in.MinGap; g++ {
		rest, k := int64(in.N-g), int64(in.Count-1)
		if int64(g*g)+(rest*rest+k-1)/k+int64(in.Count)*least <= z {
			widest = g
		}
	}
	return widest
}

func medianSolve(t testing.TB, s *Solver, in Instance) time.Duration {
	t.Helper()
	times := make([]time.Duration, 31)
	for i := range times {
		start := time.Now()
		if _, err := s.Solve(in); err != nil {
			t.Fatal(err)
		}
		times[i] = time.Since(start)
	}
	slices.Sort(times)
	return times[len(times)/2]
}
