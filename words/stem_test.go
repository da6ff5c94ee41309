package words

import (
	"testing"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// What is found on one stem of several says so; a sentence that has the stem in
// it is left as it is.
func TestFindingOfAStem(t *testing.T) {
	for _, c := range []struct{ lang, want string }{
		{"en", "Stem b: A girth of 30 m is not possible."},
		{"es", "Tronco b: Un perímetro de 30 m no es posible."},
	} {
		p, err := New(c.lang, quantity.Style{System: quantity.Metric})
		if err != nil {
			t.Fatal(err)
		}
		girth := why.T("girth", "30 m")
		one, _ := p.Finding(why.Finding{Code: "dose.girth_impossible", Terms: []why.Term{girth, why.T("stem", "b")}})
		all, _ := p.Finding(why.Finding{Code: "dose.girth_impossible", Terms: []why.Term{girth}})
		twice, _ := p.Finding(why.Finding{Code: "bole.stem_name_twice", Terms: []why.Term{why.T("stem", "b")}})
		if prefix := one[:len(one)-len(all)]; one != prefix+all || prefix != c.want[:len(prefix)] {
			t.Errorf("%s: %q and %q", c.lang, one, all)
		}
		if want := p.Say("finding.bole.stem_name_twice", why.T("stem", "b")); twice != want {
			t.Errorf("%s: %q, want %q", c.lang, twice, want)
		}
	}
}
