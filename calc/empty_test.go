package calc

import (
	"testing"

	"sapwell/internal/outside"
)

// The cases E through the door, worked out by hand from 40 CFR 261.7(b).
func TestEmptyCases(t *testing.T) {
	const known = `,"acute":"no","under_pressure":"no"}`
	for in, want := range map[string]string{
		`{"content":"10 g","residue":"0.25 g","all_removable_out":"yes","hazardous":"yes"` + known:                  "meets_261_7",
		`{"content":"10 g","residue":"0.40 g","depth":"0.8 cm","all_removable_out":"yes","hazardous":"yes"` + known: "meets_261_7",
		`{"content":"10 g","residue":"0.40 g","all_removable_out":"yes","hazardous":"yes"` + known:                  "undetermined",
		`{"content":"10 g","residue":"0.25 g","depth":"0.5 cm","all_removable_out":"no","hazardous":"yes"` + known:  "does_not_meet",
		`{"content":"10 g","residue":"0.10 g","depth":"0.2 cm","all_removable_out":"yes","hazardous":"no"` + known:  "not_applicable",
		`{"fill":"4 mL","left":"0.1 mL","left_most":"0.12 mL","all_removable_out":"yes","hazardous":"yes"` + known:  "meets_261_7",
		`{}`: "undetermined",
	} {
		var out emptyOut
		answer(t, "empty", in, &out)
		if string(out.Emptiness) != want {
			t.Errorf("%s: %s, want %s", in, out.Emptiness, want)
		}
	}
	for in, want := range map[string]string{
		`{"residue":"1 g"}`: "content: missing; what is left is a share of it",
		`{"content":"10 g","residue":"2 g","left":"1 mL"}`:        "left: stands beside residue; give what is left by weight or by volume",
		`{"content":"10 g","residue":"2 g","residue_most":"1 g"}`: "residue: want 0 or more, and at most what is left at most",
	} {
		if got := refusal(t, "empty", in); got != want {
			t.Errorf("%s: %s; want %s", in, got, want)
		}
	}
	outside.Ran(t, "40 CFR 261.7(b)(1), worked out by hand", "calc empty")
}
