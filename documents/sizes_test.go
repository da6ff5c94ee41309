package documents

import (
	"strings"
	"testing"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
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

// Units that no lot covers are told on the sheet: of 16, 6 here, and all there.
func TestSheetTellsWhatNoLotCovers(t *testing.T) {
	for _, lots := range [][]LotUse{{{"INV-2231", 10}}, nil} {
		s := evenSheet(16, 96*quantity.Inch)
		s.Lots, s.NoLot = lots, 16
		for _, l := range lots {
			s.NoLot -= l.Units
		}
		v := speak(t, "en", inch)
		pages := mustPages(t, s, v, Letter)
		if want := v.Say("sheet.no_lot", why.T("n", s.NoLot)); !strings.Contains(allText(pages), want) {
			t.Errorf("the page does not say %q", want)
		}
		checkPage(t, "no lot", pages[0])
	}
}

// A question is announced above the marks: its text stands with the cautions,
// where nobody looks who has the drill in hand.
func TestQuestionsAreAnnounced(t *testing.T) {
	v := madeVoice(t, "en", inch)
	for _, asked := range []int{0, 1, 3} {
		s := evenSheet(16, 96*quantity.Inch)
		s.Findings = findings(6)
		for i := range s.Findings {
			s.Findings[i].Severity = why.Warn
			if i < asked {
				s.Findings[i].Severity = why.Ask
			}
		}
		page := mustPages(t, s, v, Letter)[0]
		checkPage(t, "asked", page)
		var frame, readings float64
		for _, q := range page.Texts {
			switch {
			case strings.HasPrefix(q.S, "Do not drill yet: "):
				frame = q.At.Y
			case strings.HasPrefix(q.S, "Tape readings"):
				readings = q.At.Y
			}
		}
		if (frame > 0) != (asked > 0) || frame > readings {
			t.Errorf("%d questions: announced at %g mm, readings at %g mm", asked, frame, readings)
		}
	}
}
