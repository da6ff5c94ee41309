package quantity

import "math"

// Tick is the finest step a person can set off on a tape round a trunk: 1/8 in
// or 5 mm (common practice, no source).
func Tick(s System) Length {
	if s == Imperial {
		return Inch / 8
	}
	return 5 * Millimetre
}

// Tape prints l rounded to the tick of the tape: "12 1/8 in", "244.5 cm".
// Halves go away from zero.
func (l Length) Tape(st Style) string {
	l = l.RoundTo(Tick(st.System))
	if st.System == Imperial {
		return l.Frac(8)
	}
	return number(int64(l), int64(Centimetre), 1, st) + " cm"
}

// RoundTo returns the multiple of step nearest to l, halves away from zero. A
// step of zero or less leaves l as it is; near the end of the range the last
// multiple that fits is returned.
func (l Length) RoundTo(step Length) Length {
	if step <= 0 {
		return l
	}
	down := l - l%step // towards zero
	switch rest := l % step; {
	case rest >= step-rest && rest > 0 && down <= math.MaxInt64-step:
		return down + step
	case -rest >= step+rest && rest < 0 && down >= math.MinInt64+step:
		return down - step
	}
	return down
}
