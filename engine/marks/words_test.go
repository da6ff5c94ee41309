package marks

import (
	"encoding/json"
	"os"
	"testing"

	"sapwell/engine/bole"
)

// Every finding this package can make has its sentence and remedy in both
// languages, in the one file that is named after it.
func TestFindingsHaveWords(t *testing.T) {
	list := []string{"too_many", "wide_gap", "little_live", "pin_in_defect", "pin_near_wound",
		"pin_too_close", "pin_off_ring", "pins_over_count", "pins_leave_no_room", "blocked." + woundKind}
	for _, k := range []bole.ArcKind{bole.Defect, bole.DeadCambium, bole.Canker, bole.Cavity, bole.Crack, bole.Girdling} {
		list = append(list, "blocked."+string(k))
	}
	for _, lang := range []string{"en", "es"} {
		raw, err := os.ReadFile("../../words/" + lang + "/marks.json")
		if err != nil {
			t.Fatal(err)
		}
		said := map[string]any{}
		if err := json.Unmarshal(raw, &said); err != nil {
			t.Fatal(err)
		}
		for _, code := range list {
			for _, part := range []string{"finding.marks.", "remedy.marks."} {
				if s, _ := said[part+code].(string); s == "" {
					t.Errorf("%s: no %s%s", lang, part, code)
				}
			}
		}
		if said["rule.marks.spread"] == nil {
			t.Errorf("%s: no rule.marks.spread", lang)
		}
	}
}
