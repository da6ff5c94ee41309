package dose

import (
	"math"

	"sapwell/engine/label"
	"sapwell/engine/quantity"
)

// diameterOf returns g/π, rounded to whole nanometres. A diameter tape reading
// D that is kept as the girth π·D, itself rounded to whole nanometres, comes
// back as just D: half a nanometre of girth is a sixth of one of diameter. In
// float64 the division is good to 1 part in 2⁵² and adds nothing for a trunk.
func diameterOf(g quantity.Length) quantity.Length {
	return quantity.Length(math.Round(float64(g) / math.Pi))
}

// count returns how many steps of a length the label counts in x: up takes a
// begun step as whole, down leaves it, nearest takes it from one half on (a
// half goes up). All in whole numbers: x ≥ 0, step > 0.
func count(x, step quantity.Length, how label.Rounding) int64 {
	whole, begun := x/step, x%step
	if how == label.RoundUp && begun > 0 || how == label.RoundNearest && begun >= step-begun {
		whole++
	}
	return int64(whole)
}
