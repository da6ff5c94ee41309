package documents

import (
	"fmt"

	"sapwell/engine/why"
)

// check refuses a sheet that would put a wrong mark on a tree. It does not judge
// the plan; it only sees that what is to be drawn can be drawn.
func (s Sheet) check() error {
	if why.Blocks(s.Findings) {
		return nil // no mark is drawn
	}
	if len(s.Positions) == 0 {
		return fmt.Errorf("positions: none, and no finding that blocks: want one or the other")
	}
	girth := s.Ring.Girth.Around
	if girth <= 0 {
		return fmt.Errorf("ring.girth.around: %d nm: want more than 0", girth)
	}
	for i, at := range s.Positions {
		if at < 0 || at >= girth {
			return fmt.Errorf("positions[%d]: %d nm: want 0 to below the girth of %d nm", i, at, girth)
		}
		if i > 0 && at <= s.Positions[i-1] {
			return fmt.Errorf("positions[%d]: %d nm does not come after %d nm: want ascending readings", i, at, s.Positions[i-1])
		}
	}
	return s.checkHole()
}

func (s Sheet) checkHole() error {
	if n := len(s.Raise); n != 0 && n != len(s.Positions) {
		return fmt.Errorf("raise: %d values for %d positions: want one each, or none", n, len(s.Positions))
	}
	if s.Bit <= 0 {
		return fmt.Errorf("bit: %d nm: want more than 0", s.Bit)
	}
	if s.Stop < 0 {
		return fmt.Errorf("stop: %d nm: want 0 or more", s.Stop)
	}
	if a := s.Angle.Degrees(); !(a >= 0 && a <= 75) {
		return fmt.Errorf("angle: %.1f degrees: want 0 to 75", a)
	}
	if s.Units < 1 {
		return fmt.Errorf("units: %d: want at least 1", s.Units)
	}
	return nil
}
