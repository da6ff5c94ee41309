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

// radialDepths is the label's depth measured radially.
func radialDepths(h label.Hole, g slope) (low, high quantity.Length) {
	if h.AlongBore {
		return g.radial(h.DepthMin), g.radial(h.DepthMax)
	}
	return h.DepthMin, h.DepthMax
}
