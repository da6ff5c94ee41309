package quantity

import (
	"fmt"
	"math"
	"math/big"
	"strings"
)

// Text prints l as a person reads it off a tape, rounded to the nearest:
// inches to 1/8 (to 1/16 below 4 in, to 1/32 below 1 in, and any exact 64th
// below 4 in, so that bits keep their names), feet from 100 ft on; or cm to
// 0.1 (mm to 0.1 below 10 cm), metres from 20 m on.
func (l Length) Text(st Style) string {
	size := l.abs()
	if st.System == Imperial {
		switch {
		case size >= 100*Foot:
			return number(int64(l), int64(Foot), 0, st) + " ft"
		case size >= 4*Inch:
			return l.Frac(8)
		case size%(Inch/64) == 0:
			return l.Frac(64)
		case size >= Inch:
			return l.Frac(16)
		}
		return l.Frac(32)
	}
	switch {
	case size >= 20*Metre:
		return number(int64(l), int64(Metre), 1, st) + " m"
	case size >= 10*Centimetre:
		return number(int64(l), int64(Centimetre), 1, st) + " cm"
	}
	return number(int64(l), int64(Millimetre), 1, st) + " mm"
}

// Frac prints l in inches with a fraction of at most den parts in lowest terms,
// rounded to the nearest: Frac(64) of a drill bit is "11/64 in". den below 1 is 1.
func (l Length) Frac(den int) string {
	d := int64(max(den, 1))
	parts := mulDiv(int64(l), d, int64(Inch))
	sign := ""
	if parts < 0 {
		sign, parts = "-", -parts
	}
	whole, num := parts/d, parts%d
	if num == 0 {
		return fmt.Sprintf("%s%d in", sign, whole)
	}
	common := gcd(num, d)
	fraction := fmt.Sprintf("%d/%d in", num/common, d/common)
	if whole == 0 {
		return sign + fraction
	}
	return fmt.Sprintf("%s%d %s", sign, whole, fraction)
}

func gcd(a, b int64) int64 {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// Text prints mL (to 0.01 below 10 mL, else to 0.1), litres from 10 L on: in
// both systems, because syringes and units are marked so.
func (v Volume) Text(st Style) string {
	switch size := v.abs(); {
	case size >= 10*Litre:
		return number(int64(v), int64(Litre), 2, st) + " L"
	case size >= 10*Millilitre:
		return number(int64(v), int64(Millilitre), 1, st) + " mL"
	case size >= Millilitre:
		return number(int64(v), int64(Millilitre), 2, st) + " mL"
	}
	return number(int64(v), int64(Millilitre), 3, st) + " mL"
}

// Text prints grams to 0.01, mg to 0.1 below 1 g, kg from 10 kg on, in both
// systems: labels give active ingredient so.
func (m Mass) Text(st Style) string {
	switch size := m.abs(); {
	case size >= 10_000*Gram:
		return number(int64(m), 1000*int64(Gram), 2, st) + " kg"
	case size >= Gram:
		return number(int64(m), int64(Gram), 2, st) + " g"
	}
	return number(int64(m), int64(Milligram), 1, st) + " mg"
}

// Text prints 45 s, 2.5 min, 25 min, 1 h 20 min, 3 d 4 h: two parts at most.
func (s Span) Text(st Style) string {
	sign, size := "", s
	if s < 0 {
		sign, size = "-", -max(s, -math.MaxInt64)
	}
	switch {
	case size < 90*Second:
		return sign + number(int64(size), int64(Second), 0, st) + " s"
	case size < 10*Minute:
		return sign + number(int64(size), int64(Minute), 1, st) + " min"
	case size < Hour-Minute/2:
		return sign + number(int64(size), int64(Minute), 0, st) + " min"
	case size < 2*Day-Minute/2:
		return sign + twoParts(size, Minute, Hour, "h", "min")
	}
	return sign + twoParts(size, Hour, Day, "d", "h")
}

// twoParts prints size rounded to step as whole large parts and the rest.
func twoParts(size, step, large Span, largeName, stepName string) string {
	steps := Span(mulDiv(int64(size), 1, int64(step)))
	whole, rest := steps/(large/step), steps%(large/step)
	if rest == 0 {
		return fmt.Sprintf("%d %s", whole, largeName)
	}
	return fmt.Sprintf("%d %s %d %s", whole, largeName, rest, stepName)
}

// Text prints psi or kPa to 0.1.
func (p Pressure) Text(st Style) string {
	if st.System == Imperial {
		return decimals(p.PSI(), 1, st) + " psi"
	}
	return decimals(p.Kilopascals(), 1, st) + " kPa"
}

// Text prints °F or °C to 0.1.
func (t Temperature) Text(st Style) string {
	if st.System == Imperial {
		return decimals(t.Fahrenheit(), 1, st) + " °F"
	}
	return decimals(t.Celsius(), 1, st) + " °C"
}

// Text prints degrees to 0.1.
func (a Angle) Text(st Style) string { return decimals(a.Degrees(), 1, st) + "°" }

// Text prints the rate in the units it was written in, whatever the system, so
// that it can be held against the label: 2 mL/cm, 1 mL/2 in.
func (r VolumePerLength) Text(st Style) string {
	return number(int64(r.Volume), int64(Millilitre), 6, st) + " mL/" + perLength(r.Per, st)
}

// Text prints the rate in the units it was written in: 0.2 g/in.
func (r MassPerLength) Text(st Style) string {
	return number(int64(r.Mass), int64(Gram), 9, st) + " g/" + perLength(r.Per, st)
}

// Text prints g/L: 40 g/L.
func (r MassPerVolume) Text(st Style) string {
	if r.Per != Litre && r.Per != 0 {
		return number(int64(r.Mass), int64(Gram), 9, st) + " g/" + number(int64(r.Per), int64(Millilitre), 6, st) + " mL"
	}
	return number(int64(r.Mass), int64(Gram), 9, st) + " g/L"
}

// perLength prints the length below the stroke: "cm", "2 in". Zero is "cm".
func perLength(l Length, st Style) string {
	unit, name := Centimetre, "cm"
	if l%(Inch/64) == 0 && l%Millimetre != 0 {
		unit, name = Inch, "in"
	}
	if l == unit || l == 0 {
		return name
	}
	return number(int64(l), int64(unit), 7, st) + " " + name
}

// number prints n/unit with at most so many decimals, rounded to the nearest,
// without zeros at the end.
func number(n, unit int64, places int, st Style) string {
	return trimmed(fixed(big.NewRat(n, unit), places), st)
}

// decimals is number for what is a float64; NaN and infinities print as such.
func decimals(f float64, places int, st Style) string {
	r := new(big.Rat).SetFloat64(f)
	if r == nil {
		return fmt.Sprint(f)
	}
	// 20 °C is held as 293.15 K and comes back a few parts in 1e15 off: rounding
	// first to 9 places keeps an exact half a half.
	return trimmed(fixed(numeral(fixed(r, 9)), places), st)
}

// trimmed drops zeros after the mark, the sign of zero, and sets the mark.
func trimmed(s string, st Style) string {
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		s = "0"
	}
	if st.DecimalComma {
		s = strings.Replace(s, ".", ",", 1)
	}
	return s
}

func (l Length) abs() Length { return max(l, -max(l, -math.MaxInt64)) }
func (v Volume) abs() Volume { return max(v, -max(v, -math.MaxInt64)) }
func (m Mass) abs() Mass     { return max(m, -max(m, -math.MaxInt64)) }
