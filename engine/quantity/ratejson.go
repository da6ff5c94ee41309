package quantity

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math/big"
	"strings"
)

// Rates keep both of their parts on the wire: 2 mL/cm is {"value": 2, "unit":
// "mL/cm"}, 1 mL per 2 in is {"value": 1, "unit": "mL/(2.[in_i])"} - UCUM has
// whole factors in units. A rate that is not stated (both parts zero) is null.

// MarshalJSON writes millilitres per length.
func (r VolumePerLength) MarshalJSON() ([]byte, error) {
	return writeRate(int64(r.Volume), int64(Millilitre), "mL", int64(r.Per), lengthCode(r.Per))
}

// MarshalJSON writes grams per length.
func (r MassPerLength) MarshalJSON() ([]byte, error) {
	return writeRate(int64(r.Mass), int64(Gram), "g", int64(r.Per), lengthCode(r.Per))
}

// MarshalJSON writes grams per volume.
func (r MassPerVolume) MarshalJSON() ([]byte, error) {
	code := divisor(int64(r.Per), per{int64(Litre), "L"}, per{int64(Millilitre), "mL"}, per{1, "nL"})
	return writeRate(int64(r.Mass), int64(Gram), "g", int64(r.Per), code)
}

// UnmarshalJSON reads {"value": 2, "unit": "mL/cm"} or "2 mL/cm".
func (r *VolumePerLength) UnmarshalJSON(b []byte) error {
	return readRateJSON(b, volumeKind(), lengthKind(), (*int64)(&r.Volume), (*int64)(&r.Per))
}

// UnmarshalJSON reads {"value": 0.2, "unit": "g/[in_i]"} or "0.2 g/in".
func (r *MassPerLength) UnmarshalJSON(b []byte) error {
	return readRateJSON(b, massKind(), lengthKind(), (*int64)(&r.Mass), (*int64)(&r.Per))
}

// UnmarshalJSON reads {"value": 40, "unit": "g/L"} or "40 g/L".
func (r *MassPerVolume) UnmarshalJSON(b []byte) error {
	return readRateJSON(b, massKind(), volumeKind(), (*int64)(&r.Mass), (*int64)(&r.Per))
}

// per is a unit below the stroke: its size in parts and its UCUM code.
type per struct {
	parts int64
	code  string
}

// lengthCode is the UCUM code of exactly l, in inches if it was written so.
func lengthCode(l Length) string {
	return divisor(int64(l), per{int64(Centimetre), "cm"}, per{int64(Inch), "[in_i]"},
		per{int64(Millimetre), "mm"}, per{1, "nm"})
}

// divisor writes n as a whole number of the first unit that divides it: "cm",
// "(2.[in_i])".
func divisor(n int64, units ...per) string {
	for _, u := range units {
		if n == u.parts {
			return u.code
		}
		if n%u.parts == 0 {
			return fmt.Sprintf("(%d.%s)", n/u.parts, u.code)
		}
	}
	return ""
}

// writeRate writes amount/unit per what code says.
func writeRate(amount, unit int64, above string, below int64, code string) ([]byte, error) {
	if amount == 0 && below == 0 {
		return []byte("null"), nil
	}
	if below <= 0 {
		return nil, fmt.Errorf("a rate of %d parts per %d cannot be written: want more than zero below the stroke", amount, below)
	}
	return writeParts(amount, unit, above+"/"+code)
}

// readRateJSON reads an object or a string into the two parts of a rate.
func readRateJSON(b []byte, above, below *kind, amount, divisor *int64) error {
	b = bytes.TrimSpace(b)
	if bytes.Equal(b, []byte("null")) {
		return nil
	}
	var a, d int64
	var err error
	if bytes.HasPrefix(b, []byte(`"`)) {
		var s string
		if err = json.Unmarshal(b, &s); err == nil {
			a, d, err = readRate(above, below, s, Reading{})
		}
	} else {
		a, d, err = readRateWire(b, rateKind(above, below), above, below)
	}
	if err != nil {
		return err
	}
	*amount, *divisor = a, d
	return nil
}

// readRateWire reads the object form.
func readRateWire(b []byte, k, above, below *kind) (amount, divisor int64, err error) {
	n, code, err := readWire(b, k)
	if err != nil {
		return 0, 0, err
	}
	wrong := &ParseError{excerpt(b), k.name, k.want}
	upper, lower, _ := strings.Cut(code, "/")
	factor, lower := wholeFactor(lower)
	u, length := above.match(upper)
	v, lowerLength := below.match(lower)
	if u == nil || v == nil || length != len(upper) || lowerLength != len(lower) {
		return 0, 0, wrong
	}
	amount, fits := nearest(u.of(n))
	divisor, alsoFits := nearest(v.of(factor))
	if !fits || !alsoFits || divisor <= 0 {
		return 0, 0, wrong
	}
	return amount, divisor, nil
}

// wholeFactor takes "(2.[in_i])" apart into 2 and "[in_i]"; "cm" is 1 and "cm".
func wholeFactor(code string) (*big.Rat, string) {
	one := big.NewRat(1, 1)
	inner, open := strings.CutPrefix(code, "(")
	inner, closed := strings.CutSuffix(inner, ")")
	digits, unit, dot := strings.Cut(inner, ".")
	if !open || !closed || !dot || digits == "" || len(digits) > 19 || strings.Trim(digits, "0123456789") != "" {
		return one, code
	}
	return decimal(digits, ""), unit
}
