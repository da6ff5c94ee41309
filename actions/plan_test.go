package actions

import (
	"encoding/json"
	"math"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"

	"sapwell/engine/bole"
	"sapwell/engine/host"
	"sapwell/engine/label"
	"sapwell/engine/quantity"
	"sapwell/engine/stock"
	"sapwell/engine/verdict"
	"sapwell/engine/why"
	"sapwell/internal/outside"
	"sapwell/labelfile"
)

const inch = quantity.Inch

func readLabel(t testing.TB, name string) label.Label {
	t.Helper()
	f, err := os.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	l, faults := labelfile.Read(name, f)
	if slices.ContainsFunc(faults, func(f labelfile.Fault) bool { return f.Severity == why.Block }) {
		t.Fatalf("%s: %v", name, faults)
	}
	return l
}

// ash is a green ash of one stem with probed bark, treated for the first time.
func ash(t testing.TB, girth quantity.Length) Job {
	t.Helper()
	species, err := host.Lookup("Fraxinus pennsylvanica")
	if err != nil {
		t.Fatal(err)
	}
	loss := 10
	return Job{
		Label: readLabel(t, "../labelfile/testdata/maywe.yaml"),
		Tree: bole.Tree{Tag: "A-1", Species: species, Stems: []bole.Stem{{
			Ring: bole.Ring{Girth: bole.Girth{Around: girth, Height: 12 * inch}},
			Bark: []bole.BarkReading{{Thickness: inch / 2}, {At: girth / 2, Thickness: inch / 2}},
		}}},
		Facts: verdict.Circumstances{
			Jurisdiction: verdict.US, Date: quantity.NewDate(2026, 6, 9), Pest: "Agrilus planipennis",
			CanopyLoss: &loss, BloomOver: verdict.Yes, Certified: verdict.Yes,
		},
	}
}

func codes(fs []why.Finding) []string {
	var list []string
	for _, f := range fs {
		list = append(list, string(f.Severity)+" "+f.Code)
	}
	return list
}

// Common practice, no source: 96 in over 6 in is 16 units, evenly 6 in apart, at
// 45° and 1/4-3/8 in into the wood. With bark of 1/2 in the bit wants
// (1/2 + 5/16)·√2 = 1.149 in: 1 1/8 in on a stop set in sixteenths.
func TestThePlanOfCommonPractice(t *testing.T) {
	p := NewPlanner(Settings{System: quantity.Imperial}).Tree(ash(t, 96*inch))
	if len(p.Opinion.Findings) > 0 || !p.Go() {
		t.Fatalf("findings %v", codes(p.Opinion.Findings))
	}
	s := p.Stems[0]
	if s.Dose.Units != 16 || p.Total() != 64*quantity.Millilitre {
		t.Errorf("%d units, %v", s.Dose.Units, p.Total())
	}
	for i, gap := range s.Marks.Gaps {
		if gap != 6*inch {
			t.Errorf("gap %d is %v in", i, gap.Inches())
		}
	}
	if want := 9 * inch / 8; s.Bore.Stop != want {
		t.Errorf("stop %v in, want %v in", s.Bore.Stop.Inches(), want.Inches())
	}
	if wood := s.Bore.Wood.Likely.Inches(); wood < 1.0/4 || wood > 3.0/8 || math.Abs(wood-(1.125*math.Sqrt2/2-0.5)) > 1e-6 {
		t.Errorf("wood %v in", wood)
	}
	if s.Unit.Forecast.N != 0 || s.Unit.Gas != nil {
		t.Errorf("unit %+v: this label states no gas space, and nothing was timed", s.Unit)
	}
	outside.Ran(t, "common practice, no source", "96 in: 16 units, 6 in apart, 45°, stop 1 1/8 in")
}

// G02 through the whole plan: the numbers stay to be seen, and nothing is asked
// of the stock.
func TestAPlanOverTheCeilingIsStopped(t *testing.T) {
	p := NewPlanner(Settings{System: quantity.Imperial}).Tree(ash(t, 97*inch))
	if p.Go() || p.Stems[0].Dose.Units != 17 || p.Needs() != nil {
		t.Errorf("go %v, %d units, needs %v", p.Go(), p.Stems[0].Dose.Units, p.Needs())
	}
}

// What marks and bore find belongs to the opinion of the tree.
func TestMarksThatDoNotFitStopTheTree(t *testing.T) {
	job := ash(t, 60*inch)
	job.Tree.Stems[0].Ring.Arcs = []bole.Arc{{From: 0, To: 50 * inch, Kind: bole.Cavity}}
	p := NewPlanner(Settings{System: quantity.Imperial}).Tree(job)
	if got := codes(p.Opinion.Findings); p.Go() || !slices.Contains(got, "block marks.too_many") {
		t.Errorf("go %v, findings %v", p.Go(), got)
	}
}

// A ring that cannot be read is a finding, never a plan and never a panic.
func TestAnImpossibleRingIsStopped(t *testing.T) {
	job := ash(t, 60*inch)
	job.Tree.Stems[0].Ring.Wounds = []bole.Wound{{At: 61 * inch}}
	p := NewPlanner(Settings{System: quantity.Imperial}).Tree(job)
	if p.Go() || p.Stems[0].Marks != nil {
		t.Errorf("go %v, marks %v, findings %v", p.Go(), p.Stems[0].Marks, codes(p.Opinion.Findings))
	}
}

// Two stems of 48 in are within the label each (8 units, 32 mL) and together
// (64 mL); two of 54 in (9 units, 36 mL) are not (72 mL).
func TestStemsAreCountedTogether(t *testing.T) {
	twins := func(girth quantity.Length) Plan {
		job := ash(t, girth)
		stem := job.Tree.Stems[0]
		job.Tree.Stems = []bole.Stem{stem, stem}
		job.Tree.Stems[0].Name, job.Tree.Stems[1].Name = "1", "2"
		return NewPlanner(Settings{System: quantity.Imperial}).Tree(job)
	}
	p := twins(48 * inch)
	want := []stock.Need{{For: "A-1/1", Label: "maywe", Size: 4 * quantity.Millilitre, Units: 8}, {For: "A-1/2", Label: "maywe", Size: 4 * quantity.Millilitre, Units: 8}}
	if !p.Go() || !slices.Equal(p.Needs(), want) {
		t.Errorf("go %v, needs %v, findings %v", p.Go(), p.Needs(), codes(p.Opinion.Findings))
	}
	if p := twins(54 * inch); p.Go() || !slices.Contains(codes(p.Opinion.Findings), "block dose.over_max_per_application") {
		t.Errorf("72 mL: go %v, findings %v", p.Go(), codes(p.Opinion.Findings))
	}
}

// Stewart & Salazar 1992 (Agroforestry Systems 19): stems of 5, 6 and 8 are as
// one of sqrt(125) = 11.18. Girths here are those of 5, 6 and 8 in, at 4.5 ft.
func TestEquivalentDiameterOfSeveralStems(t *testing.T) {
	job := ash(t, 30*inch)
	stem := job.Tree.Stems[0]
	job.Tree.Stems = nil
	for i, d := range []quantity.Length{5 * inch, 6 * inch, 8 * inch} {
		g := bole.GirthFromDiameter(d, 54*inch)
		stem.Name, stem.Breast = string(rune('1'+i)), &g
		job.Tree.Stems = append(job.Tree.Stems, stem)
	}
	p := NewPlanner(Settings{System: quantity.Imperial}).Tree(job)
	if p.Equivalent == nil || math.Abs(p.Equivalent.Inches()-11.1803) > 1e-3 {
		t.Errorf("%v", p.Equivalent)
	}
	job.Tree.Stems[1].Breast = nil
	if p := NewPlanner(Settings{System: quantity.Imperial}).Tree(job); p.Equivalent != nil {
		t.Errorf("%v although one stem was not measured there", *p.Equivalent)
	}
}

// A planner keeps scratch and what it worked out for earlier trees; neither may
// show in a later plan.
func TestAPlannerForgetsTheTreeBefore(t *testing.T) {
	fresh := NewPlanner(Settings{System: quantity.Imperial}).Tree(ash(t, 61*inch))
	used := NewPlanner(Settings{System: quantity.Imperial})
	warm := ash(t, 90*inch)
	air := quantity.Celsius(30)
	warm.Facts.Air = &air
	warm.Tree.Stems[0].Ring.Wounds = []bole.Wound{{At: 7 * inch}, {At: 40 * inch}}
	used.Tree(warm)
	if again := used.Tree(ash(t, 61*inch)); !reflect.DeepEqual(fresh, again) {
		t.Errorf("a used planner says\n%+v\na fresh one\n%+v", again, fresh)
	}
}

// The gas of a unit that the label describes is in the plan, and its pressure
// falls as it drains.
func TestGasOfAStatedUnit(t *testing.T) {
	job := ash(t, 30*inch)
	job.Label.Unit.GasSpace, job.Label.Unit.Gauge = 6*quantity.Millilitre, 10*quantity.PSI
	s := NewPlanner(Settings{System: quantity.Imperial}).Tree(job).Stems[0]
	if s.Unit.Gas == nil || len(s.Unit.Gas.Steps) != 5 || !s.Unit.Gas.Empties {
		t.Fatalf("%+v", s.Unit.Gas)
	}
	// Boyle: 24.696 psi over 6 mL becomes 14.818 psi over 10 mL, 0.122 psi gauge.
	if got := s.Unit.Gas.Steps[4].Gauge.PSI(); math.Abs(got-0.122) > 0.001 {
		t.Errorf("%v psi when empty", got)
	}
}

// Bare leaves every number and takes every explanation.
func TestBare(t *testing.T) {
	p := NewPlanner(Settings{System: quantity.Imperial}).Tree(ash(t, 96*inch))
	full, err := json.Marshal(p)
	if err != nil {
		t.Fatal(err)
	}
	bare, err := json.Marshal(p.Bare())
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(full), `"why"`) || strings.Contains(string(bare), `"why"`) || strings.Contains(string(bare), `"rule"`) {
		t.Errorf("bare: %s", bare)
	}
	if p.Stems[0].Dose.Why.Rule == "" || p.Stems[0].Marks.Why.Rule == "" {
		t.Error("Bare changed the plan itself")
	}
}

func TestCandidates(t *testing.T) {
	a := readLabel(t, "../cmd/sapwell/demo/labels/demo-a.yaml")
	b := readLabel(t, "../cmd/sapwell/demo/labels/demo-b.yaml")
	c := readLabel(t, "../cmd/sapwell/demo/labels/demo-c.yaml")
	ids := func(ls []label.Label) (ids []string) {
		for _, l := range ls {
			ids = append(ids, l.ID)
		}
		return ids
	}
	for _, tc := range []struct {
		host, pest string
		want       []string
	}{
		{"Fraxinus americana", "Agrilus planipennis", []string{"demo-a", "demo-c"}},
		{"Quercus alba", "Agrilus bilineatus", []string{"demo-a"}},
		{"Quercus alba", "", []string{"demo-a", "demo-b"}},
		{"Quercus alba", "PHYTRA", []string{"demo-b"}},
		{"Tilia cordata", "", nil},
		{"Juglans nigra", "Agrilus planipennis", nil},
	} {
		if got := ids(Candidates([]label.Label{a, b, c}, tc.host, tc.pest)); !slices.Equal(got, tc.want) {
			t.Errorf("%s, %s: %v, want %v", tc.host, tc.pest, got, tc.want)
		}
	}
}

func BenchmarkTree(b *testing.B) {
	job := ash(b, 60*inch)
	job.Tree.Stems[0].Ring.Wounds = []bole.Wound{{At: 7 * inch}, {At: 31 * inch}}
	job.Tree.Stems[0].Ring.Fissures = []quantity.Length{3 * inch, 22 * inch, 45 * inch}
	p := NewPlanner(Settings{System: quantity.Imperial})
	for b.Loop() {
		p.Tree(job)
	}
}
