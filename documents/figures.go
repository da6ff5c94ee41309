package documents

import (
	"fmt"
	"strconv"
	"strings"

	"sapwell/engine/quantity"
)

// Figures as a crew reads them off a tape: inches with real fractions, or
// centimetres with the millimetre behind the point. Nothing here feeds a
// computation.

// vulgar is the fractions of an eighth that the typeface draws as one glyph.
var vulgar = map[[2]int64]string{
	{1, 2}: "½", {1, 4}: "¼", {3, 4}: "¾",
	{1, 8}: "⅛", {3, 8}: "⅜", {5, 8}: "⅝", {7, 8}: "⅞",
}

// measure is a length split for setting: whole and fraction may be set in
// different sizes and aligned.
type measure struct{ Whole, Part, Unit string }

// String is "12 ⅛ in", "11/64 in", "31.5 cm".
func (m measure) String() string {
	s := m.Whole
	if m.Part != "" && s != "" && !strings.ContainsAny(m.Part[:1], ".,") {
		s += " "
	}
	return s + m.Part + " " + m.Unit
}

// tape is a tape reading: to 1/16 in, or to the millimetre.
func tape(l quantity.Length, st quantity.Style) measure {
	if st.System == quantity.Imperial {
		return inches(l, 16)
	}
	mm := roundTo(l, quantity.Millimetre)
	return measure{strconv.FormatInt(mm/10, 10), point10(mm%10, st), "cm"}
}

func point10(d int64, st quantity.Style) string {
	if st.DecimalComma {
		return "," + strconv.FormatInt(d, 10)
	}
	return "." + strconv.FormatInt(d, 10)
}

// inches rounds to 1/parts in and reduces. parts is a power of two.
func inches(l quantity.Length, parts int64) measure {
	n := roundTo(l, quantity.Inch/quantity.Length(parts))
	whole, n := n/parts, n%parts
	m := measure{strconv.FormatInt(whole, 10), "", "in"}
	if n == 0 {
		return m
	}
	for n%2 == 0 {
		n, parts = n/2, parts/2
	}
	if m.Part = vulgar[[2]int64{n, parts}]; m.Part == "" {
		m.Part = fmt.Sprintf("%d/%d", n, parts)
	}
	if whole == 0 {
		m.Whole = ""
	}
	return m
}

// roundTo is l in steps, halves up. Lengths on a sheet are never negative.
func roundTo(l, step quantity.Length) int64 { return int64((l + step/2) / step) }

// drill is a setting of the drill: to 1/16 in, or to the millimetre.
func drill(l quantity.Length, st quantity.Style) measure {
	if st.System == quantity.Imperial {
		return inches(l, 16)
	}
	return measure{strconv.FormatInt(roundTo(l, quantity.Millimetre), 10), "", "mm"}
}

// bitSize is the diameter as it is stamped on the bit. A bit made in inches
// keeps its fraction beside the millimetres, or nobody finds it in the box; one
// made in millimetres keeps those.
func bitSize(l quantity.Length, st quantity.Style) string {
	const tenth = quantity.Millimetre / 10
	byInch := l%(quantity.Inch/64) == 0
	// 11/64 in and the like are no whole number of nanometres when typed in mm.
	if !byInch && l%tenth == 0 {
		return decimal(float64(l)/float64(quantity.Millimetre), 1, st) + " mm"
	}
	frac := inches(l, 64).String()
	if st.System == quantity.Imperial {
		return frac
	}
	return decimal(float64(l)/float64(quantity.Millimetre), 1, st) + " mm (" + frac + ")"
}

// decimal prints v with at most digits decimals and no empty ones.
func decimal(v float64, digits int, st quantity.Style) string {
	s := strconv.FormatFloat(v, 'f', digits, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if st.DecimalComma {
		s = strings.Replace(s, ".", ",", 1)
	}
	return s
}

// millilitres is a volume in mL whatever the person's units: labels and units
// are marked in mL.
func millilitres(v quantity.Volume, st quantity.Style) string {
	return decimal(v.Millilitres(), 2, st) + " mL"
}

// span is a time without false minutes: to the minute below ten, to five below
// an hour, to ten below ten hours, to the hour above.
func span(s quantity.Span) string {
	step := quantity.Minute
	switch {
	case s >= 10*quantity.Hour:
		step = quantity.Hour
	case s >= quantity.Hour:
		step = 10 * quantity.Minute
	case s >= 10*quantity.Minute:
		step = 5 * quantity.Minute
	}
	s = max((s+step/2)/step*step, quantity.Minute)
	h, m := s/quantity.Hour, s%quantity.Hour/quantity.Minute
	switch {
	case h == 0:
		return fmt.Sprintf("%d min", m)
	case m == 0:
		return fmt.Sprintf("%d h", h)
	}
	return fmt.Sprintf("%d h %d min", h, m)
}
