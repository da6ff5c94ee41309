package dose

import (
	"sapwell/engine/label"
	"sapwell/engine/quantity"
)

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
