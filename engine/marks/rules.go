package marks

import (
	"fmt"

	"sapwell/engine/bole"
	"sapwell/engine/quantity"
)

// DefaultRules are conventions of this project (source "own"), meant to be
// edited: no published source was found for any of them, and a label that says
// otherwise wins.
//
//	Tick          1/8 in    5 mm    what can be read off a tape with wet gloves
//	MinGap        3 in      75 mm   half the six-inch spacing of common practice
//	Clearance     1/2 in    12 mm
//	WoundStart    3/4 in    19 mm   half-width of the blocked wood round a fresh hole
//	WoundHeals    1/8 in    3 mm    a year
//	WoundFloor    1/4 in    6 mm    closed wood still does not conduct
//	FissureCap    1 in      25 mm   farther than this, no fissure is near
//	ColumnNear    2 in      50 mm
//	RaiseBy       2 in      50 mm
//
// asOf is the day the ages of the wounds are counted to.
func DefaultRules(sys quantity.System, asOf quantity.Date) Rules {
	if sys == quantity.Imperial {
		const eighth = quantity.Inch / 8
		return Rules{
			Tick: eighth, MinGap: 3 * quantity.Inch, Clearance: 4 * eighth,
			WoundStart: 6 * eighth, WoundHeals: eighth, WoundFloor: 2 * eighth,
			FissureWeight: 2, FissureCap: quantity.Inch,
			ColumnNear: 2 * quantity.Inch, RaiseBy: 2 * quantity.Inch, AsOf: asOf,
		}
	}
	const mm = quantity.Millimetre
	return Rules{
		Tick: 5 * mm, MinGap: 75 * mm, Clearance: 12 * mm,
		WoundStart: 19 * mm, WoundHeals: 3 * mm, WoundFloor: 6 * mm,
		FissureWeight: 2, FissureCap: 25 * mm,
		ColumnNear: 50 * mm, RaiseBy: 50 * mm, AsOf: asOf,
	}
}

// check names the first rule that cannot be followed.
func (r Rules) check() error {
	if r.Tick <= 0 || r.MinGap <= 0 {
		return fmt.Errorf("marks: rules: tick is %s and min gap %s; both must be more than 0", mm(r.Tick), mm(r.MinGap))
	}
	for _, f := range []struct {
		name  string
		value quantity.Length
	}{
		{"clearance", r.Clearance}, {"wound start", r.WoundStart}, {"wound heals", r.WoundHeals},
		{"wound floor", r.WoundFloor}, {"fissure cap", r.FissureCap},
		{"column near", r.ColumnNear}, {"raise by", r.RaiseBy},
	} {
		if f.value < 0 || f.value > MaxTicks*quantity.Metre {
			return fmt.Errorf("marks: rules: %s is %s; 0 or more is accepted", f.name, mm(f.value))
		}
	}
	return nil
}

// halfWidth is how far to each side of its middle an old hole blocks the ring:
// max(floor, start - heals·age) + clearance. The age is in completed years,
// because wood closes in over a hole one growth ring at a time; a hole of
// unknown age, or dated after AsOf, counts as fresh.
func (r Rules) halfWidth(w bole.Wound) quantity.Length {
	half := r.WoundStart
	if w.Width > 0 {
		half = (w.Width + 1) / 2
	}
	if !w.Made.IsZero() {
		half -= r.WoundHeals * quantity.Length(completedYears(w.Made, r.AsOf))
	}
	return max(half, r.WoundFloor) + r.Clearance
}

// completedYears counts the anniversaries of from up to to; 0 if there are none.
// A 29 February has its anniversary on 1 March in common years.
func completedYears(from, to quantity.Date) int {
	years := to.Year() - from.Year()
	if from.AddDate(years, 0, 0).After(to) {
		years--
	}
	return max(years, 0)
}

// mm prints a length for an error text.
func mm(l quantity.Length) string { return fmt.Sprintf("%g mm", l.Millimetres()) }
