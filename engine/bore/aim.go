package bore

import (
	"math"

	"sapwell/engine/label"
	"sapwell/engine/quantity"
)

// slope turns radial lengths into lengths along the bore and back, to the
// nanometre.
type slope struct{ cos float64 }

func (s slope) along(radial quantity.Length) quantity.Length {
	return quantity.Length(math.Round(float64(radial) / s.cos))
}

func (s slope) radial(along quantity.Length) quantity.Length {
	return quantity.Length(math.Round(float64(along) * s.cos))
}

// target is the stop aimed at and the one that can be set.
type target struct {
	least, most quantity.Length // stops between which the label's depth is kept under the likely bark
	exact       quantity.Length // half-way between them
	stop        quantity.Length // the whole step nearest to exact, the shorter of two
	fits        bool            // least ≤ stop ≤ most
}

// aim finds the stop. Depths count along the bore when the label says so, else
// radially. The interval is symmetric round exact, so if the nearest step is
// outside it, every step is.
func aim(h label.Hole, g slope, bark, step quantity.Length) target {
	low, high := h.DepthMin, h.DepthMax
	if !h.AlongBore {
		low, high = g.along(low), g.along(high)
	}
	b := g.along(bark)
	t := target{least: b + low, most: b + high}
	t.exact = (t.least + t.most) / 2
	t.stop = (2*t.exact + step - 1) / (2 * step) * step
	t.fits = t.least <= t.stop && t.stop <= t.most
	return t
}

// A probe table has at most so many rows: more are not read with a drill in hand.
const mostSettings = 6

// Bark for which a table is given when nothing is known of it (own convention):
// from that of a young smooth stem to that of an old furrowed one.
const (
	thinnest = quantity.Inch / 4
	thickest = 3 * quantity.Inch / 2
)

// settings lists the stop for bark in even steps that cover what may be found.
// Steps are whole multiples of twice the stop's own: bark is read no finer.
func settings(in Input, g slope, bark Range) []Setting {
	low, high := bark.Low, bark.High
	if high == 0 {
		low, high = thinnest, thickest
	}
	unit := 2 * in.Step
	by := unit
	for low = low / by * by; (high-low+by-1)/by+1 > mostSettings; low = low / by * by {
		by += unit
	}
	var list []Setting
	for b := max(low, by); ; b += by {
		if a := aim(in.Hole, g, b, in.Step); a.fits {
			list = append(list, Setting{b, a.stop})
		}
		if b >= high {
			return list
		}
	}
}

// radialDepths is the label's depth measured radially.
func radialDepths(h label.Hole, g slope) (low, high quantity.Length) {
	if h.AlongBore {
		return g.radial(h.DepthMin), g.radial(h.DepthMax)
	}
	return h.DepthMin, h.DepthMax
}
