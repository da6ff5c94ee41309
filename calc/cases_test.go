package calc

import (
	"encoding/json"
	"errors"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"sapwell/internal/outside"
)

// cases reads one list of a case file, each case as it stands.
func cases(t testing.TB, file, list string) []json.RawMessage {
	t.Helper()
	raw, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	var doc map[string]json.RawMessage
	if err := json.Unmarshal(raw, &doc); err != nil {
		t.Fatal(err)
	}
	var all []json.RawMessage
	if err := json.Unmarshal(doc[list], &all); err != nil {
		t.Fatal(err)
	}
	return all
}

func list(all []json.RawMessage) string {
	var texts []string
	for _, c := range all {
		texts = append(texts, string(c))
	}
	return "[" + strings.Join(texts, ",") + "]"
}

// ringCase is a case with its proven answer.
type ringCase struct {
	Name      string
	N         int
	Count     int `json:"n"`
	MinGap    int `json:"smin"`
	Forbidden [][2]int
	Fissures  []int
	Weight    int64  `json:"wf"`
	Cap       int    `json:"cap"`
	Status    string `json:"status"`
	Most      int    `json:"n_max"`
	Cost      *int64 `json:"Z"`
}

// cost recomputes the objective of a set of marks from its definition, and says
// whether every mark and gap is allowed.
func (c ringCase) cost(marks []int) (z int64, ok bool) {
	ok = len(marks) == c.Count && slices.IsSorted(marks)
	for i, x := range marks {
		for _, a := range c.Forbidden {
			for y := a[0]; ; y = (y + 1) % c.N {
				ok = ok && x != y
				if y == a[1] {
					break
				}
			}
		}
		gap := marks[(i+1)%len(marks)] - x
		if gap <= 0 {
			gap += c.N
		}
		ok = ok && gap >= c.MinGap && x >= 0 && x < c.N
		z += int64(gap) * int64(gap)
		near := c.Cap
		for _, f := range c.Fissures {
			d := (x - f + c.N) % c.N
			near = min(near, d, c.N-d)
		}
		if len(c.Fissures) > 0 {
			z += c.Weight * int64(near) * int64(near)
		}
	}
	return z, ok
}

// The whole case file through the door, as a list and one by one: status, the
// greatest count and the least cost are those proven outside, and the marks
// offered make that cost.
func TestMarksCases(t *testing.T) {
	all := cases(t, "../engine/marks/testdata/marks.json", "instances")
	if len(all) != 10 {
		t.Fatalf("%d cases", len(all))
	}
	var together []marksOut
	answer(t, "marks", list(all), &together)
	for i, raw := range all {
		var c ringCase
		if err := json.Unmarshal(raw, &c); err != nil {
			t.Fatal(err)
		}
		var got marksOut
		answer(t, "marks", string(raw), &got)
		if a, b := mustJSON(t, got), mustJSON(t, together[i]); a != b {
			t.Errorf("%s: alone %s, in a list %s", c.Name, a, b)
		}
		if got.Name != c.Name || got.Status != c.Status || got.Most != c.Most || (got.Cost == nil) != (c.Cost == nil) {
			t.Errorf("%s: %+v; want %s, %d", c.Name, got, c.Status, c.Most)
			continue
		}
		if c.Cost == nil {
			if len(got.Positions) > 0 {
				t.Errorf("%s: positions %v for what cannot be placed", c.Name, got.Positions)
			}
			continue
		}
		z, ok := c.cost(got.Positions)
		if !ok || z != *c.Cost || *got.Cost != *c.Cost {
			t.Errorf("%s: Z %d, its marks cost %d, allowed %v; proven %d", c.Name, *got.Cost, z, ok, *c.Cost)
		}
	}
	outside.Ran(t, "testdata/marks.json: optima proven by HiGHS 1.2 and CBC 2.10.8", "calc marks, ten rings")
}

func mustJSON(t testing.TB, v any) string {
	t.Helper()
	raw, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return string(raw)
}

// drainCase is the answer of a case file.
type drainCase struct {
	ID      string   `json:"id"`
	Stall   *float64 `json:"stall_volume_mL"`
	Empties bool     `json:"empties"`
	ToEmpty *float64 `json:"time_to_empty_min"`
	Left    float64  `json:"left_in_unit_mL"`
	Points  []struct {
		V float64  `json:"v_mL"`
		T *float64 `json:"t_min"`
	} `json:"points"`
}

func near(a, b *float64) bool {
	if a == nil || b == nil {
		return a == b
	}
	return math.Abs(*a-*b) <= 1e-9*math.Max(math.Abs(*a), math.Abs(*b))
}

func TestDrainCases(t *testing.T) {
	all := cases(t, "../engine/drain/testdata/drain.json", "cases")
	if len(all) != 15 {
		t.Fatalf("%d cases", len(all))
	}
	var got []drainOut
	answer(t, "drain", list(all), &got)
	for i, raw := range all {
		var c drainCase
		if err := json.Unmarshal(raw, &c); err != nil {
			t.Fatal(err)
		}
		g := got[i]
		if g.ID != c.ID || g.Empties != c.Empties || !near(g.Stall, c.Stall) || !near(g.ToEmpty, c.ToEmpty) || math.Abs(g.Left-c.Left) > 1e-9*4 {
			t.Errorf("%s: %+v; want %+v", c.ID, g, c)
		}
		if len(g.Points) != len(c.Points) {
			t.Fatalf("%s: %d points, want %d", c.ID, len(g.Points), len(c.Points))
		}
		for j, p := range c.Points {
			if !near(g.Points[j].T, p.T) {
				t.Errorf("%s: %v mL at %v min, want %v", c.ID, p.V, *g.Points[j].T, *p.T)
			}
		}
	}
	outside.Ran(t, "testdata/drain.json: closed form evaluated outside, within 5e-15 of scipy DOP853", "calc drain, 15 units, to 1e-9")
}

// The other direction: the times of the case file give back its volumes.
func TestDrainAtTimes(t *testing.T) {
	for _, raw := range cases(t, "../engine/drain/testdata/drain.json", "cases") {
		var question map[string]any
		var c drainCase
		if err := errors.Join(json.Unmarshal(raw, &question), json.Unmarshal(raw, &c)); err != nil {
			t.Fatal(err)
		}
		var minutes []float64
		for _, p := range c.Points {
			minutes = append(minutes, *p.T)
		}
		question["at_min"] = minutes
		asked, err := json.Marshal(question)
		if err != nil {
			t.Fatal(err)
		}
		var got drainOut
		answer(t, "drain", string(asked), &got)
		for j, p := range c.Points {
			if v := got.At[j].V; math.Abs(v-p.V) > 1e-9*p.V {
				t.Errorf("%s: %v mL after %v min, want %v", c.ID, v, *p.T, p.V)
			}
		}
	}
	outside.Ran(t, "testdata/drain.json: closed form evaluated outside", "calc drain by time, 15 units, to 1e-9")
}
