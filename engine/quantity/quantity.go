// Package quantity answers: how much of what, exactly?
//
// Measures are types, so a girth cannot be added to a pressure. What a person
// counts or reads off a scale (length, volume, mass, time span) is a whole
// number of a small SI part, so that inches, feet, pounds and their usual
// fractions are exact and "96 in over 6 in" is 16 and not 16.000000000000004.
// What only enters physics (pressure, temperature, angle) is a float64 in the
// coherent SI unit.
//
// Conversion factors are those of NIST SP 811 (2008), appendix B. Exact:
// in, ft, yd, lb, oz (avoirdupois), US gallon, mL, L, cm, mm, degree Celsius and
// Fahrenheit (as temperatures). Rounded to the nearest part: US fluid ounce (to
// 1 nL), psi (to double precision).
//
// The package reads and prints; it never decides. It has more exported names
// than others because every measure needs its type, the units people write and
// a parser of its own; one generic parser would only move the names into its
// type argument.
package quantity

// Length is a distance in nanometres; the range is ±9.2e9 m.
type Length int64

// The lengths people write. 1 in = 25.4 mm and 1 ft = 0.3048 m exactly (SP 811 B.8).
const (
	Micrometre Length = 1_000
	Millimetre Length = 1_000_000
	Centimetre Length = 10 * Millimetre
	Metre      Length = 1000 * Millimetre
	Inch       Length = 25_400_000
	Foot       Length = 12 * Inch
)

// Metres returns l in metres.
func (l Length) Metres() float64 { return float64(l) / float64(Metre) }

// Millimetres returns l in millimetres.
func (l Length) Millimetres() float64 { return float64(l) / float64(Millimetre) }

// Inches returns l in inches.
func (l Length) Inches() float64 { return float64(l) / float64(Inch) }

// Volume is an amount of liquid or gas space in nanolitres.
type Volume int64

// 1 mL = 1 cm³ exactly.
const (
	Microlitre Volume = 1_000
	Millilitre Volume = 1_000_000
	Litre      Volume = 1000 * Millilitre
)

// Millilitres returns v in millilitres.
func (v Volume) Millilitres() float64 { return float64(v) / float64(Millilitre) }

// Mass is in nanograms. 1 lb = 453.592 37 g and 1 oz = 28.349 523 125 g exactly.
type Mass int64

// The masses people write.
const (
	Milligram Mass = 1_000_000
	Gram      Mass = 1000 * Milligram
)

// Grams returns m in grams.
func (m Mass) Grams() float64 { return float64(m) / float64(Gram) }

// Span is a length of time in nanoseconds, like time.Duration.
type Span int64

// The spans people write.
const (
	Second Span = 1_000_000_000
	Minute Span = 60 * Second
	Hour   Span = 60 * Minute
	Day    Span = 24 * Hour
)

// Minutes returns s in minutes.
func (s Span) Minutes() float64 { return float64(s) / float64(Minute) }

// Pressure is in pascals. Whether it is gauge or absolute is said by the name
// of the variable or field that holds it.
type Pressure float64

// 1 psi = 6894.757 293 168 361 Pa (SP 811 B.8 prints 6.894 757 E+03; the digits
// follow from 1 lbf = 4.448 221 615 260 5 N and 1 in = 0.0254 m, both exact).
const (
	Pascal     Pressure = 1
	Kilopascal Pressure = 1000
	PSI        Pressure = 6894.757293168361
)

// Kilopascals returns p in kPa.
func (p Pressure) Kilopascals() float64 { return float64(p) / float64(Kilopascal) }

// PSI returns p in pounds-force per square inch.
func (p Pressure) PSI() float64 { return float64(p) / float64(PSI) }

// Temperature is a thermodynamic temperature in kelvin.
type Temperature float64

// Celsius makes a temperature from degrees Celsius.
func Celsius(c float64) Temperature { return Temperature(c + 273.15) }

// Celsius returns t in degrees Celsius.
func (t Temperature) Celsius() float64 { return float64(t) - 273.15 }

// Fahrenheit returns t in degrees Fahrenheit.
func (t Temperature) Fahrenheit() float64 { return t.Celsius()*1.8 + 32 }

// Angle is a plane angle in radians.
type Angle float64

// Degree is π/180 rad.
const Degree Angle = 0.017453292519943295

// Degrees returns a in degrees.
func (a Angle) Degrees() float64 { return float64(a) / float64(Degree) }

// VolumePerLength is a rate such as 2 mL per cm of diameter. Both parts are
// kept as the label prints them, so no division is done before it must be.
type VolumePerLength struct {
	Volume Volume
	Per    Length
}

// MassPerLength is a rate such as 0.2 g a.i. per inch of diameter.
type MassPerLength struct {
	Mass Mass
	Per  Length
}

// MassPerVolume is a concentration such as 40 g a.i. per litre.
type MassPerVolume struct {
	Mass Mass
	Per  Volume
}

// System is the user's choice of units at the edges.
type System int

// The two systems on tapes and gauges.
const (
	Metric System = iota
	Imperial
)

// Style is how a person wants numbers printed and read.
type Style struct {
	System       System
	DecimalComma bool
}
