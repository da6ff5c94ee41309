package drain

import (
	"math"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// Where a value is refused as a slip of the pen. Own limits, wider than any unit
// in use: they keep the arithmetic finite and catch wrong units of measure.
const (
	leastVolume  = quantity.Microlitre
	mostVolume   = 10 * quantity.Litre
	mostGauge    = 3000 * quantity.Kilopascal
	mostPull     = 10_000 * quantity.Kilopascal
	mostHead     = 30 * quantity.Metre
	lowest       = -500 * quantity.Metre // dry land
	highest      = 9000 * quantity.Metre
	coldestC     = -40.0 // hard frost
	hottestC     = 80.0  // a closed truck in the sun
	leastDensity = 500.0 // kg/m³
	mostDensity  = 3000.0
	leastG       = 1e-12 // mL/(min kPa)
	mostG        = 1e6
)

// noDrive is taken for none: a micropascal is less than the rounding of the
// pressures it is the difference of.
const noDrive = 1e-6

// smallGauge is the gauge pressure (2 kPa, 20 cm of water) below which lifting a
// unit is not warned of. Own: about what a needle gauge can just show.
const smallGauge = 2 * quantity.Kilopascal

// Model makes the gas-law model of the unit in a hole of the given conductance
// in mL/(min kPa), 0 meaning not known: volumes and pressures are then answered,
// times are not. Findings that block come with a zero Model.
//
// drain.never_starts is a warning: no drive at the start, so the gas alone
// delivers nothing.
func (u Unit) Model(conductance float64) (Model, []why.Finding) {
	fs := u.check(conductance)
	if why.Blocks(fs) {
		return Model{}, fs
	}
	outside := float64(AirPressure(u.Altitude))
	push := u.Density*gravity*u.Head.Metres() + float64(u.Pull)
	m := Model{
		gas:     float64(u.Gas),
		liquid:  float64(u.Liquid),
		outside: outside,
		gauge:   float64(u.GaugeAt(u.UsedAt)),
		b:       outside - push,
		g:       conductance * nanolitres / perKPa,
	}
	m.drive = m.gauge + push
	if m.drive < noDrive {
		m.drive = 0
		fs = append(fs, neverStarts(u, m))
	}
	return m, fs
}

// check reports what is outside the limits above, one code a kind of value and
// the field as its place.
func (u Unit) check(g float64) []why.Finding {
	var fs []why.Finding
	add := func(place string, ok bool, code string, value, low, high any) {
		if !ok {
			fs = append(fs, why.Finding{
				Code: "drain." + code + "_range", Severity: why.Block, Place: place, Source: why.Own,
				Terms: []why.Term{why.T("value", value), why.T("low", low), why.T("high", high)},
			})
		}
	}
	coldest, hottest := quantity.Celsius(coldestC), quantity.Celsius(hottestC)
	add("gas", within(u.Gas, leastVolume, mostVolume), "gas", u.Gas, leastVolume, mostVolume)
	add("liquid", within(u.Liquid, leastVolume, mostVolume), "liquid", u.Liquid, leastVolume, mostVolume)
	add("gauge", within(u.Gauge, 0, mostGauge), "gauge", u.Gauge, quantity.Pressure(0), mostGauge)
	add("pull", within(u.Pull, -mostPull, mostPull), "pull", u.Pull, -mostPull, mostPull)
	add("fill_height", within(u.FillHeight, lowest, highest), "altitude", u.FillHeight, lowest, highest)
	add("altitude", within(u.Altitude, lowest, highest), "altitude", u.Altitude, lowest, highest)
	add("head", within(u.Head, -mostHead, mostHead), "head", u.Head, -mostHead, mostHead)
	add("filled_at", within(u.FilledAt, coldest, hottest), "temperature", u.FilledAt, coldest, hottest)
	add("used_at", within(u.UsedAt, coldest, hottest), "temperature", u.UsedAt, coldest, hottest)
	add("density", u.Density == 0 && u.Head == 0 || within(u.Density, leastDensity, mostDensity),
		"density", u.Density, leastDensity, mostDensity)
	add("conductance", g == 0 || within(g, leastG, mostG), "conductance", g, leastG, mostG)
	return fs
}

// within reports low <= x <= high; not-a-number is never within.
func within[T ~int64 | ~float64](x, low, high T) bool { return x >= low && x <= high }

func neverStarts(u Unit, m Model) why.Finding {
	return why.Finding{
		Code: "drain.never_starts", Severity: why.Warn, Source: why.BoyleMariotte,
		Terms: []why.Term{why.T("gauge", quantity.Pressure(m.gauge)), why.T("pull", u.Pull)},
	}
}

// Stalls reports drain.stalls, with how much stays for ever, when the gas starts
// but cannot push all liquid out.
func (m Model) Stalls() []why.Finding {
	if m.Empties() || m.drive <= 0 {
		return nil
	}
	left := quantity.Volume(math.Ceil(m.Left() * nanolitres))
	return []why.Finding{{
		Code: "drain.stalls", Severity: why.Warn, Source: why.BoyleMariotte,
		Terms: []why.Term{
			why.T("left", left),
			why.T("liquid", quantity.Volume(m.liquid)),
			why.T("gas_space", quantity.Volume(m.gas)),
		},
	}}
}

// Lift reports drain.pressure_left when a unit lifted after so many mL have left
// is still under pressure: it can spit product. So can an emptied one.
func (m Model) Lift(delivered float64) []why.Finding {
	s := m.At(delivered)
	if s.Gauge <= smallGauge {
		return nil
	}
	return []why.Finding{{
		Code: "drain.pressure_left", Severity: why.Warn, Source: why.BoyleMariotte,
		Terms: []why.Term{why.T("gauge", s.Gauge), why.T("left", s.Left)},
	}}
}

// Stored reports drain.hot_storage when a full unit kept at temperature t has
// more gauge pressure than it was filled with, as in a closed truck. A unit or a
// temperature outside the limits is refused as by Model.
func (u Unit) Stored(t quantity.Temperature) []why.Finding {
	u.UsedAt = t
	if fs := u.check(0); why.Blocks(fs) {
		return fs
	}
	p := u.GaugeAt(t)
	if !(p > u.Gauge) {
		return nil
	}
	return []why.Finding{{
		Code: "drain.hot_storage", Severity: why.Note, Source: why.BoyleMariotte,
		Terms: []why.Term{why.T("gauge", p), why.T("filled_gauge", u.Gauge), why.T("temperature", t)},
	}}
}

// Why says how the model's answer "so much can leave" was reached.
func (u Unit) Why(m Model) why.Reason {
	r := why.Reason{
		Rule:   "drain.boyle",
		Result: why.T("left", quantity.Volume(math.Ceil(m.Left()*nanolitres))),
		Inputs: []why.Term{
			why.T("gas_space", u.Gas), why.T("liquid", u.Liquid),
			why.T("gauge", quantity.Pressure(m.gauge)), why.T("pull", u.Pull), why.T("head", u.Head),
		},
		Source: why.BoyleMariotte,
		Because: []why.Reason{{
			Rule:   "drain.air",
			Result: why.T("air_pressure", quantity.Pressure(m.outside)),
			Inputs: []why.Term{why.T("altitude", u.Altitude)},
			Source: why.ISA1976,
		}},
	}
	if u.FilledAt != u.UsedAt || u.FillHeight != u.Altitude {
		r.Because = append(r.Because, why.Reason{
			Rule:   "drain.moved",
			Result: why.T("gauge", quantity.Pressure(m.gauge)),
			Inputs: []why.Term{
				why.T("filled_gauge", u.Gauge), why.T("filled_at", u.FilledAt), why.T("used_at", u.UsedAt),
				why.T("fill_height", u.FillHeight), why.T("altitude", u.Altitude),
			},
			Source: why.BoyleMariotte,
		})
	}
	return r
}
