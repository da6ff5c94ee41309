package quantity

import (
	"fmt"
	"math"
	"math/big"
)

// The readers below take what people write (see reader for the grammar) and
// give the value exactly, or rounded once to the nearest part where the unit
// demands it. They return a *ParseError and the zero value for anything else:
// they never guess. Feet and inches, hours and minutes may be written together.

// ParseLength reads 96 in, 96", 8'2", 8 ft 2 1/2 in, 3/8", 2½ in, 2.44 m, 244 cm.
func ParseLength(s string, in Reading) (Length, error) {
	n, err := readWhole(lengthKind(), s, in)
	return Length(n), err
}

// ParseVolume reads 64 mL, 0.5 L, 2 fl oz. Ounces, pints and gallons are those
// of the United States. Below zero is refused.
func ParseVolume(s string, in Reading) (Volume, error) {
	n, err := readWhole(volumeKind(), s, in)
	return Volume(n), err
}

// ParseMass reads 0.2 g, 200 mg, 1 lb 4 oz. Below zero is refused.
func ParseMass(s string, in Reading) (Mass, error) {
	n, err := readWhole(massKind(), s, in)
	return Mass(n), err
}

// ParseSpan reads 25 min, 1 h 20 min, 90 s, 2 days. Below zero is refused.
func ParseSpan(s string, in Reading) (Span, error) {
	n, err := readWhole(spanKind(), s, in)
	return Span(n), err
}

// ParsePressure reads 10 psi, 68.9 kPa, 0.69 bar. "psig" is taken as psi; "psia"
// is refused, because an absolute reading in a gauge field is 1 atm too high.
func ParsePressure(s string, in Reading) (Pressure, error) {
	p, err := readFloat(pressureKind(), s, in)
	return Pressure(p), err
}

// ParseTemperature reads 68 °F, 20 C, -3 °C, and refuses what is below absolute zero.
func ParseTemperature(s string, in Reading) (Temperature, error) {
	t, err := readFloat(temperatureKind(), s, in)
	return Temperature(t), err
}

// ParseAngle reads 45°, 45 deg.
func ParseAngle(s string, in Reading) (Angle, error) {
	a, err := readFloat(angleKind(), s, in)
	return Angle(a), err
}

// ParseVolumePerLength reads 2 mL/cm, 1 mL per 2 in.
func ParseVolumePerLength(s string, in Reading) (VolumePerLength, error) {
	above, below, err := readRate(volumeKind(), lengthKind(), s, in)
	return VolumePerLength{Volume(above), Length(below)}, err
}

// ParseMassPerLength reads 0.2 g/in, 0.08 g per cm.
func ParseMassPerLength(s string, in Reading) (MassPerLength, error) {
	above, below, err := readRate(massKind(), lengthKind(), s, in)
	return MassPerLength{Mass(above), Length(below)}, err
}

// ParseMassPerVolume reads 40 g/L, 4 mg per mL.
func ParseMassPerVolume(s string, in Reading) (MassPerVolume, error) {
	above, below, err := readRate(massKind(), volumeKind(), s, in)
	return MassPerVolume{Mass(above), Volume(below)}, err
}

// readWhole reads a measure that is a whole number of parts.
func readWhole(k *kind, s string, in Reading) (int64, error) {
	r := newReader(k, s, in)
	n := r.round(r.measure())
	if err := r.err(); err != nil {
		return 0, err
	}
	return n, nil
}

// round rounds to parts and refuses what is out of range; nil is 0.
func (r *reader) round(value *big.Rat) int64 {
	if value == nil {
		return 0
	}
	n, fits := nearest(value)
	if !fits {
		r.fail("a smaller number")
	}
	return n
}

// readFloat reads a measure in coherent SI units.
func readFloat(k *kind, s string, in Reading) (float64, error) {
	r := newReader(k, s, in)
	value := r.measure()
	if err := r.err(); err != nil {
		return 0, err
	}
	f, _ := value.Float64()
	if math.IsInf(f, 0) {
		r.fail("a smaller number")
	}
	return f, r.err()
}

// rateKind is the kind of a quotient, for its errors; its units are those above.
func rateKind(above, below *kind) *kind {
	k := *above
	k.name = above.name + " per " + below.name
	k.want = "a rate with both units, such as 2 mL/cm, 0.2 g per 2 in or 40 g/L"
	return &k
}

// readRate reads a quotient. Both of its parts are kept as they are written;
// what it is counted per must be above zero.
func readRate(above, below *kind, s string, in Reading) (amount, divisor int64, err error) {
	k := rateKind(above, below)
	r := newReader(k, withBare(s, in.Bare), Reading{DecimalComma: in.DecimalComma})
	amount = r.round(r.measure())
	if !r.take("/") && !r.take("per ") && !r.take("por ") {
		r.fail(k.want)
	}
	k.units = below.units
	if divisor = r.round(r.per()); divisor <= 0 {
		r.fail(k.want)
	}
	if err := r.err(); err != nil {
		return 0, 0, err
	}
	return amount, divisor, nil
}

// per reads what a rate is counted per: a unit, or a number with a unit.
func (r *reader) per() *big.Rat {
	r.take(" ")
	if r.fault != "" {
		return nil
	}
	if u, n := r.kind.match(r.rest); u != nil {
		r.rest = r.rest[n:]
		return big.NewRat(u.num, u.den)
	}
	return r.measure()
}

// withBare adds the unit of bare numbers to a rate that is only a number.
func withBare(s, bare string) string {
	for _, c := range s {
		if !('0' <= c && c <= '9' || c == '.' || c == ',' || c == ' ') {
			return s
		}
	}
	return fmt.Sprintf("%s %s", s, bare)
}
