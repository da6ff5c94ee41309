package quantity

import (
	"errors"
	"math"
	"strings"
	"testing"
)

// What each text means follows from the definitions of the units (SP 811) and
// plain arithmetic; how people write it is common practice, no source.

func TestParseLength(t *testing.T) {
	const in, ft, mm = 25_400_000, 304_800_000, 1_000_000
	for text, want := range map[string]Length{
		"96 in": 96 * in, "96in": 96 * in, `96"`: 96 * in, "96″": 96 * in, "96''": 96 * in, " 96  IN. ": 96 * in,
		"96 inches": 96 * in, "96 pulgadas": 96 * in, "96 [in_i]": 96 * in, "+96 in": 96 * in, "96\u00a0in": 96 * in,
		`8'2"`: 98 * in, "8′ 2″": 98 * in, "8 ft 2 in": 98 * in, "8ft2in": 98 * in, "8'2": 98 * in,
		`8'-2"`: 98 * in, `8' - 2"`: 98 * in, "8 pies 2 pulg": 98 * in,
		"8 ft 2 1/2 in": 98*in + in/2, `8'-2 1/2"`: 98*in + in/2, "8' 2½": 98*in + in/2,
		"8-1/2 in": 8*in + in/2, "8 1/2 in": 8*in + in/2, "8½ in": 8*in + in/2, "8 ½\"": 8*in + in/2, "8-½ in": 8*in + in/2,
		`3/8"`: 3 * in / 8, "¼ in": in / 4, "2½ in": 2*in + in/2, "⅜ in": 3 * in / 8, "3⁄8 in": 3 * in / 8,
		"11/64 in": 11 * in / 64, "17/16 in": 17 * in / 16, "⅔ ft": 8 * in, "1/3 ft": 4 * in,
		"2.44 m": 2440 * mm, "244 cm": 2440 * mm, ".5 m": 500 * mm, "0.5 m": 500 * mm, "2 m 44 cm": 2440 * mm,
		"2 m 5 mm": 2005 * mm, "1 km": 1_000_000 * mm, "2.5 metros": 2500 * mm, "8.5 ft": 102 * in, "2 yd 1 ft": 7 * ft,
		"-1/8 in": -in / 8, "−8 1/2 in": -(8*in + in/2), `-8'2"`: -98 * in,
		"0 in": 0, "0.0000004 mm": 0, "0.0000005 mm": 1, "1.5 nm": 2, "-1.5 nm": -2,
		"9223372036854775807 nm": math.MaxInt64, "-9223372036854775808 nm": math.MinInt64,
	} {
		if got, err := ParseLength(text, Reading{}); err != nil || got != want {
			t.Errorf("%q: %d, %v, want %d nm", text, got, err, want)
		}
	}
}

func TestParseLengthRefuses(t *testing.T) {
	for text, want := range map[string]string{
		"": "a number with a unit", "96": "a number with a unit", "in": "a number with a unit",
		"2,44 m": `"." as the decimal mark`, "1,234 mm": `"." as the decimal mark`, "1,234.5 mm": `"." as the decimal mark`,
		"1 234 mm": "a number", "8 - 1/2 in": "a number", "3-4 in": "a number", "96 inx": "a number",
		"5 MM": "a number", "5 M": "a number", "96 psi": "a number", "5 ft2": "a number", "8 ft 2": "a number",
		"8 5/4 in": "below one", "8 4/4 in": "below one", "1/0 in": "not zero", "8 1/0 in": "not zero",
		"1.5 1/2 in": "a number", "½2 in": "a number", "1/2/3 in": "a number", "5. in": "a number", "1e3 mm": "a number",
		"8.5 ft 2 in": "larger units first", "2 in 8 ft": "larger units first", "8 ft 14 in": "larger units first",
		"8 ft 12 in": "larger units first", "2 m 3 in": "larger units first", "8 ft 2 ft": "larger units first",
		"9223372036854775808 nm": "smaller number", "999999999999999999999 km": "smaller number",
		"--3 in": "a number", "- in": "a number", "NaN in": "a number", "Inf m": "a number", "96 in ": "",
		"٣ in": "a number", "96 in\x00": "a number", "\xff in": "a number", strings.Repeat("9", 70) + " in": "a number",
	} {
		got, err := ParseLength(text, Reading{})
		if want == "" {
			if err != nil {
				t.Errorf("%q: %v, want it read", text, err)
			}
			continue
		}
		var p *ParseError
		if !errors.As(err, &p) || got != 0 || p.Kind != "length" || !strings.Contains(p.Want, want) {
			t.Errorf("%q: %d, %v, want a refusal with %q", text, got, err, want)
		}
	}
}

func TestDecimalComma(t *testing.T) {
	comma := Reading{DecimalComma: true}
	if got, err := ParseLength("2,44 m", comma); err != nil || got != 2440*Millimetre {
		t.Errorf("2,44 m: %d, %v", got, err)
	}
	if got, err := ParseVolumePerLength("0,71 mL/cm", comma); err != nil || got != (VolumePerLength{710 * Microlitre, Centimetre}) {
		t.Errorf("0,71 mL/cm: %v, %v", got, err)
	}
	for _, text := range []string{"2.44 m", "1.234 mm", "1.234,5 mm", "1,234,5 mm"} {
		if got, err := ParseLength(text, comma); err == nil {
			t.Errorf("%q with a decimal comma: %d, want a refusal", text, got)
		}
	}
}

func TestBareNumbers(t *testing.T) {
	inches := Reading{Bare: "in"}
	for text, want := range map[string]Length{"96": 96 * Inch, "8 1/2": 8*Inch + Inch/2, "¼": Inch / 4, "30 cm": 300 * Millimetre, "8'2": 98 * Inch} {
		if got, err := ParseLength(text, inches); err != nil || got != want {
			t.Errorf("%q: %d, %v, want %d", text, got, err, want)
		}
	}
	if _, err := ParseLength("96", Reading{Bare: "bananas"}); err == nil {
		t.Error("a bare unit that is none was taken")
	}
	if got, err := ParseVolumePerLength("2", Reading{Bare: "mL/cm"}); err != nil || got != (VolumePerLength{2 * Millilitre, Centimetre}) {
		t.Errorf("2: %v, %v", got, err)
	}
	if got, err := ParseTemperature("-3", Reading{Bare: "°C"}); err != nil || got != Celsius(-3) {
		t.Errorf("-3: %v, %v", got, err)
	}
}

func TestParseVolumeMassSpan(t *testing.T) {
	for text, want := range map[string]Volume{
		"64 mL": 64 * Millilitre, "64ml": 64 * Millilitre, "64 cc": 64 * Millilitre, "64 cm³": 64 * Millilitre,
		"0.5 L": 500 * Millilitre, "1/2 l": 500 * Millilitre, "250 µL": 250 * Microlitre, "250 μl": 250 * Microlitre,
		"2 fl oz": 59_147_059, "2 fl. oz.": 59_147_059, "0 mL": 0, "-0 mL": 0,
	} {
		if got, err := ParseVolume(text, Reading{}); err != nil || got != want {
			t.Errorf("%q: %d, %v, want %d", text, got, err, want)
		}
	}
	for text, want := range map[string]Mass{
		"0.2 g": 200 * Milligram, "200 mg": 200 * Milligram, "1 lb 4 oz": 20 * 28_349_523_125, "3 kg": 3000 * Gram,
	} {
		if got, err := ParseMass(text, Reading{}); err != nil || got != want {
			t.Errorf("%q: %d, %v, want %d", text, got, err, want)
		}
	}
	for text, want := range map[string]Span{
		"25 min": 25 * Minute, "1 h 20 min": 80 * Minute, "1h20min": 80 * Minute, "90 s": 90 * Second, "2 days": 2 * Day,
		"2 días": 2 * Day, "1 d 2 h 3 min 4 s": Day + 2*Hour + 3*Minute + 4*Second, "1 d 4 s": Day + 4*Second, "1.5 h": 90 * Minute,
	} {
		if got, err := ParseSpan(text, Reading{}); err != nil || got != want {
			t.Errorf("%q: %d, %v, want %d", text, got, err, want)
		}
	}
	refused(t, ParseVolume, "64 ML", "64 oz", "-1 mL", "1 L 200 mL", "64 g")
	refused(t, ParseMass, "5 Mg", "5 MG", "-1 g", "1 lb 16 oz", "5 mL")
	refused(t, ParseSpan, "1 h 60 min", "-1 s", "1.5 h 3 min", "5 m", "1:20")
}

func TestParsePhysics(t *testing.T) {
	for text, want := range map[string]Pressure{
		"10 psi": 10 * PSI, "10psig": 10 * PSI, "68.9 kPa": 68_900, "0.69 bar": 69_000, "690 mbar": 69_000,
		"-3.7 kPa": -3700, "0.7 kg/cm2": 68_646.55, "1013.25 hPa": 101_325,
	} {
		if got, err := ParsePressure(text, Reading{}); err != nil || math.Abs(float64(got-want)) > 1e-10 {
			t.Errorf("%q: %v, %v, want %v", text, got, err, want)
		}
	}
	for text, want := range map[string]Temperature{
		"68 °F": 293.15, "20 C": 293.15, "-3 °C": 270.15, "20 ºC": 293.15, "20°c": 293.15, "293.15 K": 293.15, "20 Cel": 293.15,
	} {
		if got, err := ParseTemperature(text, Reading{}); err != nil || math.Abs(float64(got-want)) > 1e-12 {
			t.Errorf("%q: %v, %v, want %v", text, got, err, want)
		}
	}
	for text, want := range map[string]Angle{"45°": 45 * Degree, "45 deg": 45 * Degree, "45º": 45 * Degree, "1 rad": 1, "22 1/2°": 22.5 * Degree} {
		if got, err := ParseAngle(text, Reading{}); err != nil || got != want {
			t.Errorf("%q: %v, %v, want %v", text, got, err, want)
		}
	}
	refused(t, ParsePressure, "10 psia", "10 PA", "10 mPa", "10")
	refused(t, ParseTemperature, "-300 °C", "-1 K", "68", "20 °", "68 °F 2 °F")
	refused(t, ParseAngle, "45", "45%")
}

func TestParseRates(t *testing.T) {
	for text, want := range map[string]VolumePerLength{
		"2 mL/cm": {2 * Millilitre, Centimetre}, "2mL/cm": {2 * Millilitre, Centimetre}, "2 mL per cm": {2 * Millilitre, Centimetre},
		"2 mL por cm": {2 * Millilitre, Centimetre}, "1 mL per 2 in": {Millilitre, 2 * Inch}, "1 mL/2 in": {Millilitre, 2 * Inch},
		"1/2 mL/1/2 in": {500 * Microlitre, Inch / 2}, "0 mL/cm": {0, Centimetre},
	} {
		if got, err := ParseVolumePerLength(text, Reading{}); err != nil || got != want {
			t.Errorf("%q: %v, %v, want %v", text, got, err, want)
		}
	}
	if got, err := ParseMassPerLength("0.2 g/in", Reading{}); err != nil || got != (MassPerLength{200 * Milligram, Inch}) {
		t.Errorf("0.2 g/in: %v, %v", got, err)
	}
	if got, err := ParseMassPerVolume("40 g/L", Reading{}); err != nil || got != (MassPerVolume{40 * Gram, Litre}) {
		t.Errorf("40 g/L: %v, %v", got, err)
	}
	refused(t, ParseVolumePerLength, "2 mL", "2 mL/0 cm", "2 mL/-1 cm", "-2 mL/cm", "2/cm", "2 mL cm", "2 mL/cm/cm", "2 mL per", "2", "2 mL/mL")
	refused(t, ParseMassPerLength, "2 mL/cm", "0.2 g/L")
	refused(t, ParseMassPerVolume, "40 g/in", "40 mL/L")
}

// refused demands a *ParseError and the zero value for every text.
func refused[T comparable](t *testing.T, parse func(string, Reading) (T, error), texts ...string) {
	t.Helper()
	for _, text := range texts {
		var p *ParseError
		var zero T
		if got, err := parse(text, Reading{}); !errors.As(err, &p) || got != zero {
			t.Errorf("%q: %v, %v, want a refusal", text, got, err)
		}
	}
}

func TestParseErrorSaysWhat(t *testing.T) {
	_, err := ParseLength("8 bananas", Reading{})
	want := `length "8 bananas": want a number with a unit, such as 96 in, 8'2", 8-1/2 in or 244 cm`
	if err == nil || err.Error() != want {
		t.Errorf("got  %v\nwant %s", err, want)
	}
}
