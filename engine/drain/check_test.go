package drain_test

import (
	"encoding/json"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"sapwell/engine/drain"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// Each slip is refused with its own code and the field it is in; the model is
// then empty and answers nothing.
func TestRefusals(t *testing.T) {
	for _, c := range []struct {
		code, place string
		spoil       func(*drain.Unit)
	}{
		{"drain.gas_range", "gas", func(u *drain.Unit) { u.Gas = 0 }},
		{"drain.gas_range", "gas", func(u *drain.Unit) { u.Gas = 11 * quantity.Litre }},
		{"drain.liquid_range", "liquid", func(u *drain.Unit) { u.Liquid = -1 }},
		{"drain.gauge_range", "gauge", func(u *drain.Unit) { u.Gauge = -1 }},
		{"drain.gauge_range", "gauge", func(u *drain.Unit) { u.Gauge = quantity.Pressure(math.NaN()) }},
		{"drain.pull_range", "pull", func(u *drain.Unit) { u.Pull = quantity.Pressure(math.Inf(1)) }},
		{"drain.altitude_range", "fill_height", func(u *drain.Unit) { u.FillHeight = 9001 * quantity.Metre }},
		{"drain.altitude_range", "altitude", func(u *drain.Unit) { u.Altitude = -501 * quantity.Metre }},
		{"drain.head_range", "head", func(u *drain.Unit) { u.Head, u.Density = 31*quantity.Metre, 1000 }},
		{"drain.temperature_range", "filled_at", func(u *drain.Unit) { u.FilledAt = 0 }},
		{"drain.temperature_range", "used_at", func(u *drain.Unit) { u.UsedAt = celsius(81) }},
		{"drain.density_range", "density", func(u *drain.Unit) { u.Head = quantity.Centimetre }},
	} {
		u := plain(6, 4, psi(10))
		c.spoil(&u)
		m, fs := u.Model(0.004)
		if len(fs) != 1 || fs[0].Code != c.code || fs[0].Place != c.place || fs[0].Severity != why.Block {
			t.Errorf("%s %s: %+v", c.code, c.place, fs)
		}
		if _, ok := m.TimeToEmpty(); ok || m != (drain.Model{}) {
			t.Errorf("%s: a model all the same: %+v", c.code, m)
		}
	}
	for _, g := range []float64{-1, 1e-13, 1e7, math.NaN()} {
		if _, fs := plain(6, 4, psi(10)).Model(g); !slices.Equal(codes(fs), []string{"drain.conductance_range"}) {
			t.Errorf("conductance %v: %v", g, fs)
		}
	}
	if _, fs := (drain.Unit{}).Model(-1); len(fs) != 5 {
		t.Errorf("everything wrong at once: %v", codes(fs))
	}
}

// The ends of the stated ranges are inside.
func TestEdgesAreAccepted(t *testing.T) {
	for _, at := range []float64{-500, 9000} {
		u := plain(6, 4, psi(10))
		u.Altitude, u.FillHeight = metres(at), metres(at)
		if _, fs := u.Model(0); len(fs) != 0 {
			t.Errorf("%v m: %v", at, fs)
		}
	}
}

// A flat unit, a unit below its hole and back pressure as large as the gauge
// never start: a warning, nothing delivered, all of it left.
func TestNeverStarts(t *testing.T) {
	flat, below, against := plain(6, 4, 0), plain(6, 4, 0), plain(6, 4, psi(10))
	below.Head, below.Density = -quantity.Centimetre, 1000
	against.Pull = -psi(10)
	for name, u := range map[string]drain.Unit{"flat": flat, "below": below, "against": against} {
		m, fs := u.Model(0.004)
		if !slices.Equal(codes(fs), []string{"drain.never_starts"}) || why.Blocks(fs) {
			t.Errorf("%s: %v", name, fs)
		}
		v, ok := m.DeliveredAt(1e6)
		stall, stalls := m.StallVolume()
		if v != 0 || !ok || m.Left() != 4 || m.Empties() || stall != 0 || !stalls || m.Stalls() != nil {
			t.Errorf("%s: %v mL out, %v left, stall %v", name, v, m.Left(), stall)
		}
	}
}

// Not knowing the conductance costs the times and nothing else.
func TestWithoutConductance(t *testing.T) {
	m := mustModel(t, plain(6, 4, psi(10)), 0)
	if !m.Empties() || m.At(2).Left != ml(2) {
		t.Error("volumes and pressures need no conductance")
	}
	if v, ok := m.DeliveredAt(10); ok || v != 0 {
		t.Errorf("%v mL at an unknown conductance", v)
	}
	if _, ok := m.TimeTo(1); ok {
		t.Error("a time at an unknown conductance")
	}
}

// Lifting early: half of 4 mL out of 6 mL gas at 10 psi leaves 3.83 psi (hand
// computation in TestBoyleTable) and 2 mL. Drained to the last drop 0.12 psi is
// left (0.84 kPa), which is not warned of.
func TestLift(t *testing.T) {
	m := mustModel(t, plain(6, 4, psi(10)), 0)
	fs := m.Lift(2)
	if !slices.Equal(codes(fs), []string{"drain.pressure_left"}) || fs[0].Severity != why.Warn {
		t.Fatalf("%+v", fs)
	}
	gauge, left := fs[0].Terms[0].Value.(quantity.Pressure), fs[0].Terms[1].Value
	if math.Abs(gauge.PSI()-3.826) > 0.001 || left != ml(2) {
		t.Errorf("gauge %v psi, left %v", gauge.PSI(), left)
	}
	if fs := m.Lift(4); fs != nil {
		t.Errorf("drained: %+v", fs)
	}
	// Much gas over little liquid: pressure stays when the liquid is gone.
	if fs := mustModel(t, plain(8, 2, psi(10)), 0).Lift(2); len(fs) != 1 {
		t.Errorf("emptied under pressure: %+v", fs)
	}
	for _, odd := range []float64{-1, math.NaN(), math.Inf(-1)} {
		if got := m.At(odd); got != m.At(0) {
			t.Errorf("At(%v) = %+v", odd, got)
		}
	}
	if got := m.At(math.Inf(1)); got != m.At(4) {
		t.Errorf("At(+Inf) = %+v", got)
	}
}

// drain.json D05: 5 mL over 6 mL gas at 10 psi, 0.9172421654 mL stay.
func TestStalls(t *testing.T) {
	fs := mustModel(t, plain(6, 5, psi(10)), 0).Stalls()
	if !slices.Equal(codes(fs), []string{"drain.stalls"}) || fs[0].Terms[0].Value != quantity.Volume(917_243) {
		t.Errorf("%+v", fs)
	}
	if fs := mustModel(t, plain(6, 4, psi(10)), 0).Stalls(); fs != nil {
		t.Errorf("a unit that empties: %+v", fs)
	}
}

// Filled at 5 °C and left in a truck at 35 °C: 12.66 psi (Gay-Lussac by hand).
func TestStored(t *testing.T) {
	u := plain(6, 4, psi(10))
	u.FilledAt = celsius(5)
	fs := u.Stored(celsius(35))
	if !slices.Equal(codes(fs), []string{"drain.hot_storage"}) || math.Abs(fs[0].Terms[0].Value.(quantity.Pressure).PSI()-12.664) > 0.001 {
		t.Errorf("%+v", fs)
	}
	if fs := u.Stored(celsius(5)); fs != nil {
		t.Errorf("kept as filled: %+v", fs)
	}
	if fs := (drain.Unit{}).Stored(celsius(500)); !why.Blocks(fs) {
		t.Errorf("nonsense: %+v", fs)
	}
}

func TestWhy(t *testing.T) {
	u := plain(6, 5, psi(10))
	r := u.Why(mustModel(t, u, 0))
	if r.Rule != "drain.boyle" || r.Result.Value != quantity.Volume(917_243) || len(r.Because) != 1 {
		t.Errorf("%+v", r)
	}
	u.Altitude = metres(1500)
	if r := u.Why(mustModel(t, u, 0)); len(r.Because) != 2 || r.Because[1].Rule != "drain.moved" {
		t.Errorf("moved: %+v", r.Because)
	}
}

// Every code and rule this package can give has its words in both languages.
func TestWords(t *testing.T) {
	findings := strings.Fields(`gas_range liquid_range gauge_range pull_range altitude_range head_range
		temperature_range density_range conductance_range never_starts stalls pressure_left hot_storage
		no_timed_drains timed_range`)
	for _, lang := range []string{"en", "es"} {
		raw, err := os.ReadFile("../../words/" + lang + "/drain.json")
		if err != nil {
			t.Fatal(err)
		}
		var words map[string]any
		if err := json.Unmarshal(raw, &words); err != nil {
			t.Fatalf("%s: %v", lang, err)
		}
		for _, f := range findings {
			for _, key := range []string{"finding.drain." + f, "remedy.drain." + f} {
				if words[key] == nil {
					t.Errorf("%s: no %s", lang, key)
				}
			}
		}
		for _, rule := range []string{"boyle", "air", "moved", "forecast", "rank", "weather"} {
			if words["rule.drain."+rule] == nil {
				t.Errorf("%s: no rule.drain.%s", lang, rule)
			}
		}
	}
}
