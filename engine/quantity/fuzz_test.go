package quantity

import (
	"math"
	"testing"
)

// Each target demands of a parser, for any text in either reading: it never
// panics, and what it accepts prints to a text that it accepts again, within half
// the last digit printed.

// checkText parses text, prints it and parses that. apart is how far two values
// are from each other, resolution how far Text may be from v.
func checkText[T interface{ Text(Style) string }](t *testing.T, text string, comma bool, bare string,
	parse func(string, Reading) (T, error), apart func(a, b T) float64, resolution func(T) float64) {
	v, err := parse(text, Reading{DecimalComma: comma, Bare: bare})
	if err != nil {
		return
	}
	for _, system := range []System{Metric, Imperial} {
		printed := v.Text(Style{System: system, DecimalComma: comma})
		back, err := parse(printed, Reading{DecimalComma: comma})
		if err != nil {
			if atTheEdge(err) {
				continue
			}
			t.Fatalf("%q was read and printed as %q: %v", text, printed, err)
		}
		if off := apart(v, back); off > resolution(v) {
			t.Fatalf("%q was read and printed as %q, which is %g off", text, printed, off)
		}
	}
}

// atTheEdge: a value at the end of the range may be rounded beyond it in print,
// or print with more digits than anyone writes.
func atTheEdge(err error) bool {
	p := err.(*ParseError)
	return p.Want == "a smaller number" || p.Want == temperatureKind().floor || len(p.Text) > maxText
}

func seeds(f *testing.F, texts ...string) {
	for _, s := range texts {
		f.Add(s, false, "")
		f.Add(s, true, "in")
	}
}

func whole[T ~int64](a, b T) float64 { return math.Abs(float64(a) - float64(b)) }

func FuzzParseLength(f *testing.F) {
	seeds(f, "96 in", `8'2"`, "8 ft 2 1/2 in", "8-1/2 in", "2½ in", "2.44 m", "2,44 m", "-1/8 in", "96", "8'2", "1 m 5 mm", "9223372036854775807 nm")
	f.Fuzz(func(t *testing.T, text string, comma bool, bare string) {
		checkText(t, text, comma, bare, ParseLength, whole[Length], func(l Length) float64 {
			return float64(max(lengthStep(l.abs()), l.abs()/1000)) // 3 digits of very long ones
		})
	})
}

// lengthStep is half the coarsest step in which Text prints lengths of that size.
func lengthStep(size Length) Length {
	switch {
	case size >= 20*Metre:
		return Foot/2 + 1
	case size >= 4*Inch:
		return Inch/16 + 1
	case size >= Inch:
		return Inch/32 + 1
	}
	return Inch/64 + 1
}

func FuzzParseVolume(f *testing.F) {
	seeds(f, "64 mL", "0.5 L", "2 fl oz", "1/3 gal", "0,5 L", "250 µL", "-1 mL")
	f.Fuzz(func(t *testing.T, text string, comma bool, bare string) {
		checkText(t, text, comma, bare, ParseVolume, whole[Volume], func(v Volume) float64 {
			return float64(max(Microlitre/2, v/100)) // 2 digits at the least: 0.05 of 10 mL, 5 of 1000
		})
	})
}

func FuzzParseMass(f *testing.F) {
	seeds(f, "0.2 g", "200 mg", "1 lb 4 oz", "2,5 kg", "3 µg")
	f.Fuzz(func(t *testing.T, text string, comma bool, bare string) {
		checkText(t, text, comma, bare, ParseMass, whole[Mass], func(m Mass) float64 {
			return float64(max(Milligram/20, m/100))
		})
	})
}

func FuzzParseSpan(f *testing.F) {
	seeds(f, "25 min", "1 h 20 min", "90 s", "2 days", "1,5 h", "1 d 2 h 3 min 4 s")
	f.Fuzz(func(t *testing.T, text string, comma bool, bare string) {
		checkText(t, text, comma, bare, ParseSpan, whole[Span], func(s Span) float64 {
			switch { // half of what Text rounds to
			case s < 90*Second:
				return float64(Second / 2)
			case s < 10*Minute:
				return float64(3 * Second)
			case s < 2*Day-Minute/2:
				return float64(Minute / 2)
			}
			return float64(Hour / 2)
		})
	})
}

// within01 allows half of a tenth of the coarser unit, and the float64 in between.
func within01[T ~float64](unit T) func(T) float64 {
	return func(v T) float64 { return 0.05*float64(unit) + 1e-12*math.Abs(float64(v)) + 1e-9 }
}

func floats[T ~float64](a, b T) float64 { return math.Abs(float64(a) - float64(b)) }

func FuzzParsePressure(f *testing.F) {
	seeds(f, "10 psi", "68.9 kPa", "0,69 bar", "-3 kPa", "30 inHg", "0.7 kg/cm2")
	f.Fuzz(func(t *testing.T, text string, comma bool, bare string) {
		checkText(t, text, comma, bare, ParsePressure, floats[Pressure], within01(PSI))
	})
}

func FuzzParseTemperature(f *testing.F) {
	seeds(f, "68 °F", "20 C", "-3 °C", "20 ºC", "-273.15 °C", "-273,15 °C")
	f.Fuzz(func(t *testing.T, text string, comma bool, bare string) {
		checkText(t, text, comma, bare, ParseTemperature, floats[Temperature], within01[Temperature](1))
	})
}

func FuzzParseAngle(f *testing.F) {
	seeds(f, "45°", "45 deg", "22 1/2°", "0,785 rad", "-45º")
	f.Fuzz(func(t *testing.T, text string, comma bool, bare string) {
		checkText(t, text, comma, bare, ParseAngle, floats[Angle], within01(Degree))
	})
}

// A rate prints in full, so its text must give the same ratio to 1 part in 1e6.
func FuzzParseRates(f *testing.F) {
	seeds(f, "2 mL/cm", "1 mL per 2 in", "0.2 g/in", "40 g/L", "0,71 mL por cm", "1/2 mL/1/2 in", "40 mg/mL")
	f.Fuzz(func(t *testing.T, text string, comma bool, bare string) {
		none := func(VolumePerLength) float64 { return 1e-6 }
		checkText(t, text, comma, bare, ParseVolumePerLength, func(a, b VolumePerLength) float64 {
			return ratios(int64(a.Volume), int64(a.Per), int64(b.Volume), int64(b.Per))
		}, none)
		checkText(t, text, comma, bare, ParseMassPerLength, func(a, b MassPerLength) float64 {
			return ratios(int64(a.Mass), int64(a.Per), int64(b.Mass), int64(b.Per))
		}, func(MassPerLength) float64 { return 1e-6 })
		checkText(t, text, comma, bare, ParseMassPerVolume, func(a, b MassPerVolume) float64 {
			return ratios(int64(a.Mass), int64(a.Per), int64(b.Mass), int64(b.Per))
		}, func(MassPerVolume) float64 { return 1e-6 })
	})
}

func ratios(a, b, c, d int64) float64 {
	x, y := float64(a)/float64(b), float64(c)/float64(d)
	if x == y {
		return 0
	}
	return math.Abs(x-y) / math.Max(x, y)
}

func FuzzUnmarshalJSON(f *testing.F) {
	for _, s := range []string{`{"value":96,"unit":"[in_i]"}`, `"96 in"`, `{"value":1,"unit":"mL/(2.[in_i])"}`, `null`, `{"value":1e400,"unit":"m"}`} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		var l Length
		if err := l.UnmarshalJSON(b); err == nil {
			written, err := l.MarshalJSON()
			fatal(t, err)
			var back Length
			if err := back.UnmarshalJSON(written); err != nil || back != l {
				t.Fatalf("%s: %d written as %s came back as %d, %v", b, l, written, back, err)
			}
		}
		var r VolumePerLength
		if err := r.UnmarshalJSON(b); err == nil && r.Per != 0 {
			written, err := r.MarshalJSON()
			fatal(t, err)
			var back VolumePerLength
			if err := back.UnmarshalJSON(written); err != nil || back != r {
				t.Fatalf("%s: %v written as %s came back as %v, %v", b, r, written, back, err)
			}
		}
	})
}
