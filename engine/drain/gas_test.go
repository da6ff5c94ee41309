package drain_test

import (
	"math"
	"testing"

	"sapwell/engine/drain"
	"sapwell/engine/quantity"
	"sapwell/internal/outside"
)

// geopotential turns a table's geometric height into geopotential metres.
func geopotential(z float64) quantity.Length {
	const radius = 6356766.0
	return metres(z * radius / (z + radius))
}

// US Standard Atmosphere 1976, table I (pressure by geometric altitude): Pa from
// memory; psi by feet as printed at engineeringtoolbox.com, "U.S. Standard
// Atmosphere" (its column head says geopotential, its figures are geometric).
// 89875 Pa at 1000 m geopotential: worked example in MathWorks' documentation of
// atmosisa.
func TestAirPressureTables(t *testing.T) {
	for z, want := range map[float64]float64{
		0: 101325, 500: 95461, 1000: 89876, 1500: 84560, 2000: 79501, 2500: 74692,
	} {
		got := float64(drain.AirPressure(geopotential(z)))
		if math.Abs(got-want) > 1 {
			t.Errorf("geometric %v m: %.1f Pa, want %v", z, got, want)
		}
		// A map's height put in as it stands errs by less than 2e-4.
		if got := float64(drain.AirPressure(metres(z))); !near(got, want, 2e-4) {
			t.Errorf("map height %v m: %.1f Pa, want %v", z, got, want)
		}
	}
	if got := float64(drain.AirPressure(metres(1000))); math.Abs(got-89875) > 0.5 {
		t.Errorf("geopotential 1000 m: %.2f Pa, want 89875", got)
	}
	for feet, want := range map[float64]float64{
		-5000: 17.554, 0: 14.696, 5000: 12.228, 10000: 10.108, 15000: 8.297, 20000: 6.759, 30000: 4.373,
	} {
		if got := drain.AirPressure(geopotential(feet * 0.3048)).PSI(); math.Abs(got-want) > 0.001 {
			t.Errorf("%v ft: %.4f psi, want %v", feet, got, want)
		}
	}
	if got := drain.AirPressure(60 * 1000 * quantity.Metre); got != 0 {
		t.Errorf("above the formula's end: %v", got)
	}
	outside.Ran(t, "US Standard Atmosphere 1976 table I (from memory)", "six altitudes in Pa")
	outside.Ran(t, "US Standard Atmosphere as printed at engineeringtoolbox.com", "seven altitudes in psi")
	outside.Ran(t, "MathWorks atmosisa, worked example", "89875 Pa at 1000 m")
}

// Rounded psi by metres, from p = 101.325(1 - 2.25577e-5 h)^5.25588 kPa, the
// handbook form (ASHRAE Fundamentals 2017, chapter 1, equation 3).
func TestAirPressurePSI(t *testing.T) {
	for h, want := range map[float64]float64{0: 14.70, 500: 13.85, 1000: 13.04, 1609: 12.10, 2500: 10.83} {
		if got := drain.AirPressure(metres(h)).PSI(); math.Abs(got-want) > 0.005 {
			t.Errorf("%v m: %.4f psi, want %v", h, got, want)
		}
	}
	outside.Ran(t, "ASHRAE Fundamentals 2017 ch. 1 eq. 3", "five heights in psi")
}

// Gay-Lussac by hand: (14.696 + 10)·T2/T1 - 14.696 psi.
func TestGaugeAt(t *testing.T) {
	for _, c := range []struct{ fill, use, want float64 }{
		{20, 5, 8.736}, {20, 35, 11.264}, {5, 35, 12.664}, {20, 20, 10},
	} {
		u := drain.Unit{Gauge: psi(10), FilledAt: celsius(c.fill)}
		if got := u.GaugeAt(celsius(c.use)).PSI(); !near(got, c.want, 1e-4) {
			t.Errorf("filled at %v, kept at %v °C: %.4f psi, want %v", c.fill, c.use, got, c.want)
		}
	}
	u := drain.Unit{Gauge: psi(10), FilledAt: celsius(17.3), FillHeight: metres(432.1), Altitude: metres(432.1)}
	if got := u.GaugeAt(celsius(17.3)); got != u.Gauge {
		t.Errorf("not moved at all: %v, want exactly %v", got, u.Gauge)
	}
	outside.Ran(t, "Gay-Lussac's law, by hand", "gauge pressure after three changes of temperature")
}

// CRC Handbook of Chemistry and Physics, viscosity of water (mPa·s), from
// memory; the formula claims about 1 %. It keeps to that from 10 to 100 °C and is
// 2.2 % low at 0 °C.
func TestWaterViscosity(t *testing.T) {
	for c, want := range map[float64]float64{
		0: 1.793, 10: 1.306, 20: 1.002, 30: 0.7977, 40: 0.6532, 60: 0.4665, 80: 0.3544, 100: 0.2818,
	} {
		tol := 0.011
		if c == 0 {
			tol = 0.025
		}
		if got := drain.WaterViscosity(celsius(c)) * 1000; !near(got, want, tol) {
			t.Errorf("%v °C: %.4f mPa·s, want %v", c, got, want)
		}
	}
	if got := drain.ConductanceAt(0.004, celsius(20)); got != 0.004 {
		t.Errorf("conductance at 20 °C: %v", got)
	}
	outside.Ran(t, "CRC Handbook of Chemistry and Physics (from memory)", "viscosity of water at eight temperatures")
}
