package quantity

import (
	"math"
	"testing"

	"sapwell/internal/outside"
)

// TestNIST checks units against NIST SP 811 (2008), appendix B.8 (factors for
// units listed alphabetically). A factor printed in bold there is exact; the
// others have seven digits and must be met to half a unit of the last.
func TestNIST(t *testing.T) {
	length := func(s string) float64 { l, err := ParseLength(s, Reading{}); fatal(t, err); return l.Metres() }
	volume := func(s string) float64 {
		v, err := ParseVolume(s, Reading{})
		fatal(t, err)
		return v.Millilitres() * 1e-6
	}
	mass := func(s string) float64 { m, err := ParseMass(s, Reading{}); fatal(t, err); return m.Grams() * 1e-3 }
	pressure := func(s string) float64 { p, err := ParsePressure(s, Reading{}); fatal(t, err); return float64(p) }
	angle := func(s string) float64 { a, err := ParseAngle(s, Reading{}); fatal(t, err); return float64(a) }
	span := func(s string) float64 { d, err := ParseSpan(s, Reading{}); fatal(t, err); return d.Minutes() * 60 }
	for _, c := range []struct {
		row   string // as SP 811 names it
		text  string
		read  func(string) float64
		want  float64
		exact bool
	}{
		{"inch (in) to meter (m) 2.54 E-02", "1 in", length, 2.54e-2, true},
		{"foot (ft) to meter (m) 3.048 E-01", "1 ft", length, 3.048e-1, true},
		{"yard (yd) to meter (m) 9.144 E-01", "1 yd", length, 9.144e-1, true},
		{"fluid ounce (U.S.) to cubic meter 2.957 353 E-05", "1 fl oz", volume, 2.957353e-5, false},
		{"pint (U.S. liquid) to cubic meter 4.731 765 E-04", "1 pt", volume, 4.731765e-4, false},
		{"quart (U.S. liquid) to cubic meter 9.463 529 E-04", "1 qt", volume, 9.463529e-4, false},
		{"gallon (U.S.) to cubic meter 3.785 412 E-03", "1 gal", volume, 3.785412e-3, false},
		{"cubic inch (in3) to cubic meter 1.638 706 E-05", "1 in3", volume, 1.638706e-5, false},
		{"liter (L) to cubic meter 1.0 E-03", "1 L", volume, 1e-3, true},
		{"ounce (avoirdupois) to kilogram 2.834 952 E-02", "1 oz", mass, 2.834952e-2, false},
		{"pound (avoirdupois) to kilogram 4.535 924 E-01", "1 lb", mass, 4.535924e-1, false},
		{"psi to pascal 6.894 757 E+03", "1 psi", pressure, 6.894757e3, false},
		{"bar to pascal 1.0 E+05", "1 bar", pressure, 1e5, true},
		{"atmosphere, standard to pascal 1.013 25 E+05", "1 atm", pressure, 101325, true},
		{"kilogram-force per square centimeter to pascal 9.806 65 E+04", "1 kgf/cm2", pressure, 98066.5, true},
		{"inch of mercury, conventional to pascal 3.386 389 E+03", "1 inHg", pressure, 3386.389, false},
		{"millimeter of mercury, conventional to pascal 1.333 224 E+02", "1 mmHg", pressure, 133.3224, false},
		{"degree (angle) to radian 1.745 329 E-02", "1°", angle, 1.745329e-2, false},
		{"minute (min) to second 6.0 E+01", "1 min", span, 60, true},
		{"hour (h) to second 3.6 E+03", "1 h", span, 3600, true},
		{"day (d) to second 8.64 E+04", "1 d", span, 86400, true},
	} {
		got := c.read(c.text)
		tolerance := 0.0
		if !c.exact {
			tolerance = 0.5e-6 * math.Pow(10, math.Floor(math.Log10(c.want)))
		}
		if math.Abs(got-c.want) > tolerance*(1+1e-9) {
			t.Errorf("%s: %s is %.10g, want %.7g", c.row, c.text, got, c.want)
		}
	}
	outside.Ran(t, "NIST SP 811 (2008) B.8", "21 conversion factors")
}

// TestExactParts pins the parts of units whose definition is exact: the
// international yard and pound of 1959 (1 yd = 0.9144 m, 1 lb = 0.453 592 37 kg)
// and the gallon of 231 in³ (NIST Handbook 44, appendix C).
func TestExactParts(t *testing.T) {
	for text, want := range map[string]Length{
		"1 in": 25_400_000, "1 ft": 304_800_000, "1 yd": 914_400_000, "1/64 in": 396_875,
		"96 in": 96 * 25_400_000, "2.54 cm": 25_400_000, "0.3048 m": 304_800_000,
	} {
		if got, err := ParseLength(text, Reading{}); err != nil || got != want {
			t.Errorf("%s: %d, %v, want %d nm", text, got, err, want)
		}
	}
	for text, want := range map[string]Mass{"1 lb": 453_592_370_000, "16 oz": 453_592_370_000, "1 oz": 28_349_523_125} {
		if got, err := ParseMass(text, Reading{}); err != nil || got != want {
			t.Errorf("%s: %d, %v, want %d ng", text, got, err, want)
		}
	}
	for text, want := range map[string]Volume{
		"1 gal": 231 * 16_387_064, "128 fl oz": 231 * 16_387_064, "8 pt": 231 * 16_387_064,
		"1 fl oz": 29_573_530, // 29 573 529.5625 nL
		"1 in3":   16_387_064,
	} {
		if got, err := ParseVolume(text, Reading{}); err != nil || got != want {
			t.Errorf("%s: %d, %v, want %d nL", text, got, err, want)
		}
	}
	outside.Ran(t, "international yard and pound 1959; NIST Handbook 44 C", "15 units, exact to the nm, ng, nL")
}

// TestTemperatureScales checks the formulas of SP 811 B.8, t/°C = (t/°F - 32)/1.8
// and T/K = t/°C + 273.15, at the points every handbook gives.
func TestTemperatureScales(t *testing.T) {
	for _, c := range []struct {
		fahrenheit, celsius string
		kelvin              float64
	}{
		{"32 °F", "0 °C", 273.15}, {"212 °F", "100 °C", 373.15}, {"68 °F", "20 °C", 293.15},
		{"-40 °F", "-40 °C", 233.15}, {"90 °F", "32.2222222222222222 °C", 305.3722222222222},
		{"-459.67 °F", "-273.15 °C", 0},
	} {
		f, err := ParseTemperature(c.fahrenheit, Reading{})
		fatal(t, err)
		k, err := ParseTemperature(c.celsius, Reading{})
		fatal(t, err)
		if math.Abs(float64(f)-c.kelvin) > 1e-12 || math.Abs(float64(k)-c.kelvin) > 1e-12 {
			t.Errorf("%s is %v, %s is %v, want %v K", c.fahrenheit, float64(f), c.celsius, float64(k), c.kelvin)
		}
	}
	if got := Celsius(100).Fahrenheit(); math.Abs(got-212) > 1e-10 {
		t.Errorf("100 °C is %v °F, want 212", got)
	}
	outside.Ran(t, "NIST SP 811 (2008) B.8", "°F, °C and K at six points")
}

// TestCommonPractice checks the counts of the trade: 96 in of girth at one unit
// per 6 in is 16 units, not 16.000000000000004. Common practice, no source.
func TestCommonPractice(t *testing.T) {
	girth, err := ParseLength("96 in", Reading{})
	fatal(t, err)
	step, err := ParseLength("6 in", Reading{})
	fatal(t, err)
	if girth/step != 16 || girth%step != 0 {
		t.Errorf("96 in / 6 in = %d rest %d, want 16 rest 0", girth/step, girth%step)
	}
	if n := Inch / 64 * 64; n != Inch {
		t.Errorf("64 times 1/64 in is %d nm, want %d", n, Inch)
	}
	// 10 psi is 68.95 kPa (10 × 6.894 757, SP 811).
	if p := (10 * PSI).Kilopascals(); math.Abs(p-68.94757) > 1e-5 {
		t.Errorf("10 psi is %v kPa, want 68.94757", p)
	}
	outside.Ran(t, "common practice, no source", "96 in at one unit per 6 in is 16")
	outside.Ran(t, "NIST SP 811 (2008) B.8", "10 psi in kPa")
}

func fatal(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
