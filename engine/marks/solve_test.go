package marks

import (
	"encoding/json"
	"os"
	"testing"
)

type caseFile struct {
	Instances []struct {
		Name      string
		N         int
		Count     int `json:"n"`
		MinGap    int `json:"smin"`
		Forbidden [][2]int
		Fissures  []int
		Weight    int `json:"wf"`
		Cap       int `json:"cap"`
		Status    string
		Most      int `json:"n_max"`
		Z         *int64
	}
}

func cases(t testing.TB) map[string]Instance { return nil }

func TestCases(t *testing.T) {
	raw, err := os.ReadFile("testdata/marks.json")
	if err != nil {
		t.Fatal(err)
	}
	var f caseFile
	if err := json.Unmarshal(raw, &f); err != nil {
		t.Fatal(err)
	}
	var s Solver
	for _, c := range f.Instances {
		in := Instance{c.N, c.Count, c.MinGap, c.Forbidden, c.Fissures, c.Weight, c.Cap}
		sol, err := s.Solve(in)
		if err != nil {
			t.Fatal(err)
		}
		t.Log(c.Name, sol.Cost, sol.Most, testing.Benchmark(func(b *testing.B) {
			for b.Loop() {
				s.Solve(in)
			}
		}))
		if sol.Most != c.Most || sol.Feasible != (c.Z != nil) || c.Z != nil && *c.Z != sol.Cost {
			t.Errorf("%s: %+v", c.Name, sol)
		}
	}
}
