package bole

import (
	"math"

	"sapwell/engine/quantity"
)

// Diameter is girth over π (plane geometry; a stem that is not round is thinner
// than this says), to the nanometre. It is the diameter at g.Height and at no
// other height.
func (g Girth) Diameter() quantity.Length {
	return quantity.Length(math.Round(float64(g.Around) / math.Pi))
}

// GirthFromDiameter is for readings of a diameter tape or calliper, and for
// tables that hold diameters: π·d at the stated height, to the nanometre. There
// is no reading without a height, and none that does not say which of the two
// it is.
func GirthFromDiameter(d, height quantity.Length) Girth {
	return Girth{Around: quantity.Length(math.Round(float64(d) * math.Pi)), Height: height}
}

// heightDoubt is how far a height may be from a published breast height and
// still be it: 5 mm, half the step in which such heights are written. Own.
const heightDoubt = 5 * quantity.Millimetre

// breastHeights are the heights called breast height: 1.30 m in most of the
// world, 1.37 m (4.5 ft = 1.3716 m) in the USA, 1.20 m in Japan and Korea,
// 1.40 m in New Zealand. 1.37 m: Magarik, Roman and Henning 2020 (Urban
// Forestry & Urban Greening); the others: a single weak page, so widely agreed
// that they are kept.
var breastHeights = [...]quantity.Length{
	1200 * quantity.Millimetre,
	1300 * quantity.Millimetre,
	1370 * quantity.Millimetre,
	54 * quantity.Inch,
	1400 * quantity.Millimetre,
}

// AtBreastHeight tells whether the girth was taken at one of the published
// breast heights. It does not say that they are the same height.
func (g Girth) AtBreastHeight() bool {
	for _, h := range breastHeights {
		if max(g.Height-h, h-g.Height) <= heightDoubt {
			return true
		}
	}
	return false
}

// EquivalentDiameter is the diameter of one stem with the basal area of all:
// √(Σd²) (Stewart and Salazar 1992, Agroforestry Systems 19:173-183), to the
// nanometre. No stem gives 0.
func EquivalentDiameter(ds []quantity.Length) quantity.Length {
	var whole float64
	for _, d := range ds {
		whole = math.Hypot(whole, float64(d)) // never overflows, and one stem stays exact
	}
	return quantity.Length(math.Round(whole))
}

// Girths lists the girths measured on the stem, the ring's first.
func (s Stem) Girths() []Girth {
	if s.Breast == nil {
		return []Girth{s.Ring.Girth}
	}
	return []Girth{s.Ring.Girth, *s.Breast}
}
