package drain

import (
	"math"

	"sapwell/engine/quantity"
)

// The constants of the International Standard Atmosphere up to 11 km (ISO 2533,
// ICAO Doc 7488). The US Standard Atmosphere 1976 differs from it here only in
// the gas constant, by 2e-7 of the pressure at 2500 m.
const (
	seaLevel = 101325.0 // Pa
	seaT     = 288.15   // K
	lapse    = 0.0065   // K/m
	gravity  = 9.80665  // m/s², standard
	// exponent is gravity / (R · lapse) with R = 287.05287 J/(kg K) of dry air,
	// to the ten digits that others quote and compute with.
	exponent = 5.255879812
)

// AirPressure returns the standard atmosphere's pressure at an altitude:
//
//	p = 101325 Pa · (1 - 0.0065 h / 288.15)^5.255879812
//
// h is geopotential metres; a map's metres differ by 1 m at 2500 m. Good to the
// tropopause; above 44 km it gives 0. Weather moves the true pressure by a few
// per cent of it.
func AirPressure(altitude quantity.Length) quantity.Pressure {
	t := 1 - lapse*altitude.Metres()/seaT
	if t <= 0 {
		return 0
	}
	return quantity.Pressure(seaLevel * math.Pow(t, exponent))
}

// GaugeAt returns the gauge pressure in the full unit at the altitude of use
// and a temperature: sealed and rigid, so absolute pressure goes as absolute
// temperature (Gay-Lussac). The liquid's own expansion, which adds a little, is
// left out. u must have passed Unit.Model.
func (u Unit) GaugeAt(t quantity.Temperature) quantity.Pressure {
	ratio := float64(t / u.FilledAt)
	outside := AirPressure(u.Altitude)
	// The two air terms are taken together, so that at the place and temperature
	// of filling the gauge comes back exactly as it was filled.
	air := math.FMA(float64(AirPressure(u.FillHeight)), ratio, -float64(outside))
	return quantity.Pressure(float64(u.Gauge)*ratio + air)
}

// WaterViscosity returns the dynamic viscosity of water in Pa·s between 0 °C
// and 100 °C, within 1 % from 10 °C up and 2.2 % low at 0 °C:
//
//	μ = 2.414e-5 · 10^(247.8 / (T - 140))
//
// Product carriers differ; it is a default for how viscosity changes with
// temperature, not the product's value.
func WaterViscosity(t quantity.Temperature) float64 {
	return 2.414e-5 * math.Pow(10, 247.8/(float64(t)-140))
}

// ConductanceAt scales a conductance known at 20 °C to another temperature, by
// the viscosity of water. Any unit of conductance.
func ConductanceAt(at20 float64, t quantity.Temperature) float64 {
	return at20 * (WaterViscosity(quantity.Celsius(20)) / WaterViscosity(t))
}
