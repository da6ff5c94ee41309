package stock

import (
	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// Emptiness is what the arithmetic of 40 CFR 261.7(b) comes to for one unit. It is
// a comparison of figures, never a legal status of the unit: that rule holds only
// where the residue would be a hazardous waste, which others decide.
type Emptiness string

// The four answers.
const (
	Meets         Emptiness = "meets_261_7"
	DoesNotMeet   Emptiness = "does_not_meet"
	Undetermined  Emptiness = "undetermined"
	NotApplicable Emptiness = "not_applicable"
)

// Residue is what is left in a unit and what a full one holds, both in one measure:
// by weight, or by the volume of one liquid, whose share is the same. What was not
// exactly seen stays a range.
type Residue struct {
	Low, High int64 // Low <= High
	Of        int64 // above 0; 0: not known
}

// Weighed is the residue of a unit on the scale: what it weighs now less what the
// bare device weighs, give or take the step of the scale, since each of the two
// readings may be off by half a step. Content is what a full unit holds.
func Weighed(now, bare, content, step quantity.Mass) Residue {
	left := int64(now - bare)
	if left < -int64(step) { // lighter than the bare device: a slip of the scale or the pen
		return Residue{}
	}
	return Residue{Low: max(0, left-int64(step)), High: max(0, left+int64(step)), Of: int64(content)}
}

// Drained is the residue of a unit by what was seen left in it of its fill, at
// least and at most.
func Drained(least, most, fill quantity.Volume) Residue {
	return Residue{Low: int64(least), High: int64(most), Of: int64(fill)}
}

// Together adds units up: the ranges of a bag.
func (r Residue) Together(other Residue) Residue {
	return Residue{r.Low + other.Low, r.High + other.High, r.Of + other.Of}
}

// Unit is what is known of a unit that is to be thrown away. nil is not known.
type Unit struct {
	Residue   *Residue
	Depth     *quantity.Length // of what stands on the bottom
	Taken     *bool            // all that common practice takes out is out
	Hazardous *bool            // the residue would be a hazardous waste
	Acute     *bool            // an acute one (P-listed)
	Pressed   *bool            // still under pressure
}

// The limits of 261.7(b)(1)(ii) and (iii): 2.5 cm on the bottom, and 3 % by weight of
// what a container of up to 119 US gallons holds; a unit holds some millilitres.
const (
	mostDepth   = 25 * quantity.Millimetre
	mostPercent = 3
)

// Empty compares. Everything removable is out AND (at most 2.5 cm stand on the
// bottom OR at most 3 % of the content are left). A residue that is not hazardous
// is outside the rule. An acute one has a test of its own (triple rinse, or an
// equal), and a unit under pressure has to lose it first: of these nothing is told
// here but what the figures rule out.
func (u Unit) Empty() Emptiness {
	if said(u.Hazardous, false) {
		return NotApplicable
	}
	if said(u.Taken, false) || said(u.Pressed, true) {
		return DoesNotMeet
	}
	little := either(u.shallow(), u.small())
	switch {
	case little == no:
		return DoesNotMeet
	case little == yes && said(u.Taken, true) && said(u.Hazardous, true) && said(u.Acute, false) && said(u.Pressed, false):
		return Meets
	}
	return Undetermined
}

func said(b *bool, what bool) bool { return b != nil && *b == what }

// leg is one of the two ways in which little may be left.
type leg int

const (
	unsure leg = iota
	yes
	no
)

// either holds when one leg holds, and fails when both fail.
func either(a, b leg) leg {
	switch {
	case a == yes || b == yes:
		return yes
	case a == no && b == no:
		return no
	}
	return unsure
}

func (u Unit) shallow() leg {
	switch {
	case u.Depth == nil:
		return unsure
	case *u.Depth <= mostDepth:
		return yes
	}
	return no
}

// small: on the limit is within it, and a range across the limit tells nothing. The
// share is compared as whole numbers, so that 3 % is 3 %.
func (u Unit) small() leg {
	r := u.Residue
	switch {
	case r == nil || r.Of <= 0 || r.Low < 0 || r.High < r.Low:
		return unsure
	case within(r.High, r.Of):
		return yes
	case !within(r.Low, r.Of):
		return no
	}
	return unsure
}

// within compares in floating point only where whole numbers would overflow.
func within(left, of int64) bool {
	const most = 1 << 55
	if left > most || of > most {
		return float64(left)*100 <= float64(of)*mostPercent
	}
	return left*100 <= of*mostPercent
}

// Why says what was compared with what.
func (u Unit) Why() why.Reason {
	r := why.Reason{Rule: "stock.empty", Result: why.T("emptiness", string(u.Empty())), Source: why.CFR261}
	if u.Residue != nil && u.Residue.Of > 0 {
		r.Low, r.High = u.Residue.percent(u.Residue.Low), u.Residue.percent(u.Residue.High)
		r.Inputs = append(r.Inputs, why.T("residue_percent", r.High))
	}
	if u.Depth != nil {
		r.Inputs = append(r.Inputs, why.T("residue_depth", *u.Depth))
	}
	return r
}

func (r Residue) percent(part int64) float64 { return float64(part) / float64(r.Of) * 100 }
