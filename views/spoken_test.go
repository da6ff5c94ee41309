package views

import (
	"testing"

	"sapwell/entries"
)

// What is spoken of a subject is what is folded: an amended entry as amended, where it
// stood; one that no longer speaks of the subject not at all; amendments among them.
func TestSpoken(t *testing.T) {
	s, all := items(t, "lot", "ann lot: lot number=1", "ann in: stock lot=lot units=12", "ann gone: stock lot=lot units=3", "ann a: amends in units=10", "ann b: amends gone lot=other")
	var got []int
	amendments := 0
	for _, e := range Spoken(s, all) {
		switch b := e.Body.(type) {
		case entries.Stock:
			got = append(got, b.Units)
		case entries.Amendment:
			amendments++
		}
	}
	if len(got) != 1 || got[0] != 10 || amendments != 2 {
		t.Errorf("movements of %v units, %d amendments: want 10 alone, and both", got, amendments)
	}
	if Spoken(s, nil) != nil {
		t.Error("nothing was said")
	}
}
