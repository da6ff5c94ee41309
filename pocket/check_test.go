package pocket

import (
	"encoding/json"
	"strings"
	"testing"

	"sapwell/internal/forest"
)

func checked[T any](t *testing.T, name string, input any) T {
	t.Helper()
	text, err := json.Marshal(input)
	if err != nil {
		t.Fatal(err)
	}
	var a struct {
		OK    T
		Error *Problem
	}
	if err := json.Unmarshal(New().Call(name, text), &a); err != nil || a.Error != nil {
		t.Fatal(name, err, a.Error)
	}
	return a.OK
}

// A list that is handed out in parts is the same list: no tree is lost, cut or
// named twice.
func TestListInParts(t *testing.T) {
	var csv strings.Builder
	if err := forest.Write(&csv, 1300, 7); err != nil {
		t.Fatal(err)
	}
	whole := checked[treesChecked](t, "trees", treesInput{CSV: csv.String(), Batches: true})
	if whole.All > 0 || whole.Trees != 1300 || len(whole.Batches) != 6 {
		t.Fatal(whole.Faults, whole.Trees, len(whole.Batches))
	}
	var tags []string
	stems := 0
	for _, part := range whole.Batches {
		one := checked[treesChecked](t, "trees", treesInput{CSV: part})
		if one.All > 0 || one.Trees > usualBatch {
			t.Fatal(one.Faults, one.Trees)
		}
		tags, stems = append(tags, one.Tags...), stems+one.Stems
	}
	if strings.Join(tags, " ") != strings.Join(whole.Tags, " ") || stems != whole.Stems {
		t.Error(len(tags), stems, whole.Stems)
	}
}

// What is wrong is told with its line, and nothing is handed out to be imported.
func TestListWithFaults(t *testing.T) {
	const csv = "nr,girth,girth_height,species\nQ-1,96,12 in,white ash\nQ-2,84 in,12 in,no such tree\n"
	none := checked[treesChecked](t, "trees", treesInput{CSV: csv})
	if none.Trees != 0 || none.All == 0 || none.Headings[0].Near == "" {
		t.Error("the list has no tags, and was read:", none.Trees, none.Faults)
	}
	got := checked[treesChecked](t, "trees", treesInput{CSV: csv, Headings: []string{"tag", "girth", "girth_height", "species"}, Batches: true})
	if got.All != 2 || got.Faults[0].Line != 2 || got.Faults[1].Line != 3 || len(got.Batches) > 0 || strings.Contains(got.Faults[0].Text, "⟨") {
		t.Error(got)
	}
}

func TestLabelChecked(t *testing.T) {
	got := checked[labelChecked](t, "label", labelInput{File: "format: sapwell-label-1\nid: demo-x\n"})
	if got.Sound || len(got.Faults) == 0 || got.Label.ID != "demo-x" || strings.Contains(got.Faults[0].Text, "⟨") {
		t.Error(got)
	}
}

// A proof of nothing does not hold, and says at which step.
func TestProofOfNothing(t *testing.T) {
	got := checked[proven](t, "proof", proofInput{Line: "{}", Receipt: "{}", Head: "{}"})
	if got.Holds || len(got.Steps) != 4 || got.Steps[0].Why == "" {
		t.Error(got)
	}
}
