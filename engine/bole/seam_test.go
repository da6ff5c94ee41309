package bole

import (
	"testing"

	"sapwell/engine/quantity"
)

// The girth is the zero again (a tape that closes): a stretch between the two
// names is one place, which may mean nothing or all, except that 0 to the girth
// is how the whole ring is written.
func TestStretchThatEndsWhereItBegins(t *testing.T) {
	const girth = 60 * quantity.Inch
	for _, c := range []struct {
		from, to quantity.Length
		asks     bool
		live     quantity.Length
	}{
		{girth, 0, true, 0}, // asked; until answered nothing counts as alive
		{0, 0, true, girth},
		{girth, girth, true, girth},
		{0, girth, false, 0},
		{girth, 5 * quantity.Inch, false, 55 * quantity.Inch},
		{55 * quantity.Inch, girth, false, 55 * quantity.Inch},
		{55 * quantity.Inch, 0, false, 55 * quantity.Inch},
	} {
		r := Ring{Girth: Girth{Around: girth, Height: quantity.Foot}, Arcs: []Arc{{From: c.from, To: c.to, Kind: Cavity}}}
		asks := false
		for _, f := range r.Check() {
			asks = asks || f.Code == "bole.arc_nothing_or_all"
		}
		if asks != c.asks || r.LiveGirth() != c.live {
			t.Errorf("%v to %v: asks %v, live %v; want %v, %v", c.from, c.to, asks, r.LiveGirth(), c.asks, c.live)
		}
	}
}
