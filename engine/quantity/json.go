package quantity

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"math/big"
	"strconv"
	"strings"
)

// On the wire every measure is {"value": number, "unit": UCUM code}, always in
// one unit a type: mm, mL, g, min, kPa, Cel, deg, and for rates mL/cm, g/cm, g/L.
// The digits are exact for whole parts and the shortest that read back to the
// same value for the rest, so writing and reading loses nothing. What is read
// may be in any unit the parsers know, or a string as people write it ("96 in").
// A number without unit is refused.

// wire is the object form.
type wire struct {
	Value json.Number `json:"value"`
	Unit  string      `json:"unit"`
}

// MarshalJSON writes millimetres.
func (l Length) MarshalJSON() ([]byte, error) { return writeParts(int64(l), int64(Millimetre), "mm") }

// MarshalJSON writes millilitres.
func (v Volume) MarshalJSON() ([]byte, error) { return writeParts(int64(v), int64(Millilitre), "mL") }

// MarshalJSON writes grams.
func (m Mass) MarshalJSON() ([]byte, error) { return writeParts(int64(m), int64(Gram), "g") }

// MarshalJSON writes minutes.
func (s Span) MarshalJSON() ([]byte, error) {
	exact := big.NewRat(int64(s), int64(Minute))
	back := func(r *big.Rat) bool {
		n, ok := nearest(r.Mul(r, big.NewRat(int64(Minute), 1)))
		return ok && n == int64(s)
	}
	return writeShortest(exact, back, "min")
}

// MarshalJSON writes kilopascals: the shortest digits in pascals with the point
// three places further left, which reads back to the same pascals.
func (p Pressure) MarshalJSON() ([]byte, error) {
	if size := math.Abs(float64(p)); size != 0 && (size < 1 || size >= 1e12) || math.IsNaN(float64(p)) {
		return writeFloat(float64(p), 1000, 1, 0, "kPa")
	}
	digits := thousandth(strconv.FormatFloat(math.Abs(float64(p)), 'f', -1, 64))
	if p < 0 {
		digits = "-" + digits
	}
	return []byte(`{"value":` + digits + `,"unit":"kPa"}`), nil
}

// thousandth moves the point of plain digits three places to the left.
func thousandth(digits string) string {
	whole, rest, _ := strings.Cut(digits, ".")
	whole = "0000" + whole
	cut := len(whole) - 3
	left := strings.TrimLeft(whole[:cut-1], "0") + whole[cut-1:cut]
	return strings.TrimSuffix(left+"."+strings.TrimRight(whole[cut:]+rest, "0"), ".")
}

// MarshalJSON writes degrees Celsius.
func (t Temperature) MarshalJSON() ([]byte, error) {
	return writeFloat(float64(t), 1, 1, 273_15, "Cel")
}

// MarshalJSON writes degrees.
func (a Angle) MarshalJSON() ([]byte, error) {
	return writeFloat(float64(a), 17_453_292_519_943_295, 1_000_000_000_000_000_000, 0, "deg")
}

// UnmarshalJSON reads {"value": 96, "unit": "[in_i]"} or "96 in".
func (l *Length) UnmarshalJSON(b []byte) error { return readParts(b, lengthKind(), (*int64)(l)) }

// UnmarshalJSON reads {"value": 64, "unit": "mL"} or "64 mL".
func (v *Volume) UnmarshalJSON(b []byte) error { return readParts(b, volumeKind(), (*int64)(v)) }

// UnmarshalJSON reads {"value": 200, "unit": "mg"} or "200 mg".
func (m *Mass) UnmarshalJSON(b []byte) error { return readParts(b, massKind(), (*int64)(m)) }

// UnmarshalJSON reads {"value": 25, "unit": "min"} or "1 h 20 min".
func (s *Span) UnmarshalJSON(b []byte) error { return readParts(b, spanKind(), (*int64)(s)) }

// UnmarshalJSON reads {"value": 10, "unit": "[psi]"} or "10 psi".
func (p *Pressure) UnmarshalJSON(b []byte) error { return readSI(b, pressureKind(), (*float64)(p)) }

// UnmarshalJSON reads {"value": 68, "unit": "[degF]"} or "68 °F".
func (t *Temperature) UnmarshalJSON(b []byte) error {
	return readSI(b, temperatureKind(), (*float64)(t))
}

// UnmarshalJSON reads {"value": 45, "unit": "deg"} or "45°".
func (a *Angle) UnmarshalJSON(b []byte) error { return readSI(b, angleKind(), (*float64)(a)) }

// writeParts writes n/unit exactly; unit is a power of ten.
func writeParts(n, unit int64, code string) ([]byte, error) {
	sign, size := "", magnitude(n)
	if n < 0 {
		sign = "-"
	}
	digits := sign + strconv.FormatUint(size/uint64(unit), 10)
	if rest := size % uint64(unit); rest > 0 {
		decimals := strconv.FormatUint(uint64(unit)+rest, 10)[1:] // the 1 in front keeps the zeros
		digits += "." + strings.TrimRight(decimals, "0")
	}
	return []byte(`{"value":` + digits + `,"unit":"` + code + `"}`), nil
}

// writeFloat writes an SI value f in the unit for which f = (value + offset/100) * num/den.
func writeFloat(f float64, num, den, offset int64, code string) ([]byte, error) {
	exact := new(big.Rat).SetFloat64(f)
	if exact == nil {
		return nil, fmt.Errorf("%v cannot be written: want a finite number", f)
	}
	shift := big.NewRat(offset, 100)
	exact.Mul(exact, big.NewRat(den, num)).Sub(exact, shift)
	back := func(r *big.Rat) bool {
		got, _ := r.Add(r, shift).Mul(r, big.NewRat(num, den)).Float64()
		return got == f
	}
	return writeShortest(exact, back, code)
}

// writeShortest writes exact with the fewest decimals that back takes for the
// same value; what is too small or too large for plain digits gets an exponent.
func writeShortest(exact *big.Rat, back func(*big.Rat) bool, code string) ([]byte, error) {
	if digits, ok := quick(exact, back); ok {
		return fmt.Appendf(nil, `{"value":%s,"unit":%q}`, digits, code), nil
	}
	digits, ok := "", false
	f, _ := exact.Float64()
	if math.Abs(f) < 1<<64 {
		digits, ok = shortest(0, 24, back, func(places int) string { return trimmed(fixed(exact, places), Style{}) })
	}
	if !ok { // 40 significant digits are enough for any float64
		digits, ok = shortest(1, 40, back, func(count int) string { return significant(exact, count) })
	}
	if !ok { // a temperature within 1e-20 K of absolute zero
		return nil, fmt.Errorf("%s %s cannot be written exactly", strconv.FormatFloat(f, 'g', 6, 64), code)
	}
	return fmt.Appendf(nil, `{"value":%s,"unit":%q}`, digits, code), nil
}

// quick tries a few round figures and then more and more digits: for a value of
// everyday size one of them reads back, and the search below is a hundred times
// slower.
func quick(exact *big.Rat, back func(*big.Rat) bool) (digits string, ok bool) {
	const plainest, plainmost = 1e-3, 1e12
	f, _ := exact.Float64()
	if f != 0 && (math.Abs(f) < plainest || math.Abs(f) >= plainmost) {
		return "", false
	}
	for _, digits := range []string{
		trimmed(strconv.FormatFloat(f, 'f', 4, 64), Style{}), strconv.FormatFloat(f, 'f', -1, 64),
		trimmed(fixed(exact, 15), Style{}), trimmed(fixed(exact, 18), Style{}),
	} {
		if back(numeral(digits)) {
			return digits, true
		}
	}
	return "", false
}

// shortest finds the least precision, up to most, that back accepts.
func shortest(least, most int, back func(*big.Rat) bool, write func(precision int) string) (digits string, ok bool) {
	for precision := least; precision <= most && !ok; precision++ {
		digits = write(precision)
		ok = back(numeral(digits))
	}
	return digits, ok
}

// readParts reads one measure into whole parts, rounded to the nearest.
func readParts(b []byte, k *kind, to *int64) error {
	value, err := readJSON(b, k)
	if value == nil || err != nil {
		return err
	}
	n, fits := nearest(value)
	if !fits {
		return &ParseError{excerpt(b), k.name, "a smaller number"}
	}
	*to = n
	return nil
}

// readSI reads one measure into coherent SI units.
func readSI(b []byte, k *kind, to *float64) error {
	value, err := readJSON(b, k)
	if value == nil || err != nil {
		return err
	}
	f, _ := value.Float64()
	if math.IsInf(f, 0) {
		return &ParseError{excerpt(b), k.name, "a smaller number"}
	}
	*to = f
	return nil
}

// readJSON reads an object or a string; nil and no error for null, which by the
// custom of encoding/json changes nothing.
func readJSON(b []byte, k *kind) (*big.Rat, error) {
	switch b = bytes.TrimSpace(b); {
	case bytes.Equal(b, []byte("null")):
		return nil, nil
	case bytes.HasPrefix(b, []byte(`"`)):
		var s string
		if err := json.Unmarshal(b, &s); err != nil {
			return nil, err
		}
		r := newReader(k, s, Reading{})
		value := r.measure()
		return value, r.err()
	}
	n, code, err := readWire(b, k)
	if err != nil {
		return nil, err
	}
	u, length := k.match(code)
	if u == nil || length != len(code) {
		return nil, &ParseError{excerpt(b), k.name, k.want}
	}
	value := u.of(n)
	if k.absolute && value.Sign() < 0 {
		return nil, &ParseError{excerpt(b), k.name, k.floor}
	}
	return value, nil
}

// readWire reads {"value": number, "unit": text} and nothing else.
func readWire(b []byte, k *kind) (*big.Rat, string, error) {
	var w wire
	d := json.NewDecoder(bytes.NewReader(b))
	d.DisallowUnknownFields()
	wrong := &ParseError{excerpt(b), k.name, `{"value": number, "unit": text} or ` + k.want}
	if d.Decode(&w) != nil {
		return nil, "", wrong
	}
	n := exactNumber(string(w.Value))
	if n == nil || w.Unit == "" {
		return nil, "", wrong
	}
	return n, w.Unit, nil
}

// exactNumber reads the digits of a JSON number; nil for what is absurdly long
// or large, because big.Rat would take a gigabyte for 1e999999999.
func exactNumber(s string) *big.Rat {
	_, exponent, _ := strings.Cut(strings.ToLower(s), "e")
	if e, err := strconv.Atoi("0" + strings.TrimLeft(exponent, "+-")); err != nil || e > 400 || len(s) > 2*maxText {
		return nil
	}
	return numeral(s)
}

// excerpt is the start of b for an error.
func excerpt(b []byte) string {
	if len(b) > maxText {
		return strings.ToValidUTF8(string(b[:maxText]), "�") + "..."
	}
	return string(b)
}
