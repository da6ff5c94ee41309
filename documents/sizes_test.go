package documents

import (
	"strings"
	"testing"

	"sapwell/engine/quantity"
)

// The crew must know which units to carry to the tree: with two sizes the sheet
// tells how many of each. 5 × 8 mL and 4 × 4 mL are 56 mL (arithmetic).
func TestSheetTellsTheSizes(t *testing.T) {
	for _, lang := range []string{"en", "es"} {
		s := evenSheet(9, 74*quantity.Inch)
		s.PerUnit, s.Total = 0, 56*quantity.Millilitre
		s.Fills = []FillUse{{8 * quantity.Millilitre, 5}, {4 * quantity.Millilitre, 4}}
		v := speak(t, lang, metric)
		pages, err := sheetPages(s, v, A4)
		if err != nil {
			t.Fatal(err)
		}
		for _, want := range []string{"5 × 8 mL + 4 × 4 mL", v.Say("sheet.fills.alternate")} {
			if text := strings.Join(strings.Fields(allText(pages)), " "); !strings.Contains(text, want) {
				t.Errorf("%s: the page does not say %q: %s", lang, want, text)
			}
		}
	}
}

// A stop that rests on a table's bark is never shown as if it were the stop.
func TestModelledStopIsPresetOnly(t *testing.T) {
	v := speak(t, "en", inch)
	for _, measured := range []bool{true, false} {
		s := evenSheet(16, 96*quantity.Inch)
		s.BarkMeasured = measured
		pages, err := sheetPages(s, v, Letter)
		if err != nil {
			t.Fatal(err)
		}
		if got := strings.Contains(allText(pages), v.Say("sheet.stop.preset")); got == measured {
			t.Errorf("bark measured %v: told as pre-set %v", measured, got)
		}
	}
}
