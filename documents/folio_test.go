package documents

import (
	"fmt"
	"strings"
	"testing"

	"sapwell/engine/quantity"
)

// Wherever a part begins on a page, and wherever that page ends in it, its name and
// facts run over nothing.
func TestPartsOverThePagesEnd(t *testing.T) {
	v := speak(t, "es", metric)
	for down := range 40 {
		f := sheetPaper(v, Letter, "ledger.title", "", ourFirm, quantity.Date{}, "")
		f.y = f.bottom() - float64(down)
		for _, key := range []string{"paper.part.units", "paper.part.notices", "paper.part.who"} { // names of two and three lines
			var items []item
			for i := range 9 {
				items = append(items, item{fmt.Sprint("caption ", i), "a value", false})
			}
			f.part(key, items)
		}
		for i, p := range f.done() {
			checkPage(t, fmt.Sprintf("%d mm above the end, page %d", down, i+1), p)
		}
	}
}

// What is kept together stands on one page, from its heading to its last line; what is
// longer than a page flows.
func TestKeptTogether(t *testing.T) {
	v := speak(t, "en", inch)
	for down := range 60 {
		f := sheetPaper(v, A4, "ledger.title", "", ourFirm, quantity.Date{}, "")
		f.y = f.bottom() - float64(down)
		f.whole(func(f *folio) {
			f.section("ledger.all", 5)
			f.para(strings.Repeat("some words of it ", 30), plain)
			f.signBoxes("paper.contract.sign.firm", "paper.contract.sign.client")
		})
		pages := f.done()
		last := pages[len(pages)-1]
		text := allText([]*page{last})
		for _, want := range []string{v.Say("ledger.all"), "some words", "For the firm"} {
			if !strings.Contains(text, want) {
				t.Fatalf("%d mm above the end: %q is not on the last page:\n%s", down, want, text)
			}
		}
	}
	f := sheetPaper(v, A4, "ledger.title", "", ourFirm, quantity.Date{}, "")
	f.whole(func(f *folio) { f.para(strings.Repeat("words without end ", 3000), plain) })
	if n := len(f.done()); n < 3 {
		t.Errorf("%d pages", n)
	}
}

// No line ends between a figure and its unit, nor between a time and its offset.
func TestUnitsCling(t *testing.T) {
	for _, s := range []string{"a text of 40 g/L, and", "the sign is 7 11/16 in × 7 ⅝ in.", "on 2026-11-25 22:56 +00:00 then", "or 15:40 −04:00.", "it is 22 °C there", "«5 mm»"} {
		for w := 8.0; w < 80; w++ {
			for _, l := range fullWrap(s, w, 10, plain) {
				first, _, _ := strings.Cut(l, " ")
				if strings.ContainsAny(first, "°+−") && width("22:56 +00:00", plain, 10) <= w || strings.HasPrefix(first, "g/L") || strings.HasPrefix(first, "in.") || first == "mm»" {
					if w > 30 {
						t.Errorf("%q in %.0f mm: a line begins with %q", s, w, first)
					}
				}
			}
		}
	}
}
