package pocket

import (
	"encoding/json"
	"strings"
	"testing"
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
