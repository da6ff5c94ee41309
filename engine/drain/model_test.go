package drain_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"sapwell/engine/drain"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/internal/outside"
)

// plain is a unit at sea level and 20 °C throughout.
func plain(gas, liquid float64, gauge quantity.Pressure) drain.Unit {
	return drain.Unit{
		Gas: ml(gas), Liquid: ml(liquid), Gauge: gauge, FilledAt: celsius(20), UsedAt: celsius(20),
	}
}

// Boyle-Mariotte by hand, 10 mL unit with 4 mL liquid at 10 psi: gauge after
// each mL is 24.696·6/(6+v) - 14.696 psi.
func TestBoyleTable(t *testing.T) {
	m := mustModel(t, plain(6, 4, psi(10)), 0)
	for v, want := range []float64{10, 6.472, 3.826, 1.768, 0.122} {
		s := m.At(float64(v))
		if math.Abs(s.Gauge.PSI()-want) > 0.0006 {
			t.Errorf("%d mL out: %.4f psi, want %v", v, s.Gauge.PSI(), want)
		}
		if s.Delivered != ml(float64(v)) || s.Left != ml(float64(4-v)) {
			t.Errorf("%d mL out: delivered %v, left %v nL", v, s.Delivered, s.Left)
		}
		if math.Abs(float64(s.Drive-s.Gauge)) > 1e-9 {
			t.Errorf("%d mL out: drive %v differs from gauge %v with nothing else pushing", v, s.Drive, s.Gauge)
		}
	}
	outside.Ran(t, "Boyle-Mariotte law, by hand", "gauge after each mL")
}

// Final gauge of an emptied unit by gas fraction, by hand: 24.696 f - 14.696 psi.
func TestGaugeWhenEmptied(t *testing.T) {
	for f, want := range map[float64]float64{0.3: -7.29, 0.4: -4.82, 0.5: -2.35, 0.6: 0.12, 0.7: 2.59} {
		m := mustModel(t, plain(10*f, 10*(1-f), psi(10)), 0)
		if got := m.At(10 * (1 - f)).Gauge.PSI(); math.Abs(got-want) > 0.006 {
			t.Errorf("gas fraction %v: %.4f psi, want %v", f, got, want)
		}
		if m.Empties() != (want > 0) {
			t.Errorf("gas fraction %v: empties = %v", f, m.Empties())
		}
	}
	outside.Ran(t, "Boyle-Mariotte law, by hand", "gauge of an emptied unit at five gas fractions")
}

// One condition in two dresses: liquid over gas (0.6805 at 10 psi and sea level,
// that is gauge over air) and liquid over the whole unit (0.405).
func TestLimitTwoWays(t *testing.T) {
	for _, c := range []struct{ altitude, ofGas, ofUnit float64 }{
		{0, 0.6805, 0.40493}, {1609, math.NaN(), 0.45248},
	} {
		u := plain(6, 4, psi(10))
		u.FillHeight, u.Altitude = metres(c.altitude), metres(c.altitude)
		stall, ok := mustModel(t, u, 0).StallVolume()
		if !ok {
			t.Fatal("never stalls")
		}
		ofGas := stall / 6
		if !math.IsNaN(c.ofGas) && math.Abs(ofGas-c.ofGas) > 5e-5 {
			t.Errorf("%v m: liquid over gas %.5f, want %v", c.altitude, ofGas, c.ofGas)
		}
		if got := ofGas / (1 + ofGas); math.Abs(got-c.ofUnit) > 2e-5 {
			t.Errorf("%v m: liquid over unit %.6f, want %v", c.altitude, got, c.ofUnit)
		}
	}
	outside.Ran(t, "Boyle-Mariotte law, by hand", "most liquid that the gas can empty")
}

// The stall is decided without rounding: half an atmosphere empties a unit whose
// liquid is a nanolitre under half its gas, and not one at half.
func TestStallIsExact(t *testing.T) {
	const gauge = 101325.0 / 2
	for gas := quantity.Volume(2_100); gas < 40_000_000; gas = gas*3 + 2 {
		half := gas / 2
		u := drain.Unit{
			Gas: 2 * half, Liquid: half, Gauge: gauge, FilledAt: celsius(11.7), UsedAt: celsius(11.7),
		}
		m := mustModel(t, u, 0.004)
		if _, ok := m.TimeToEmpty(); ok || m.Empties() || m.Left() != 0 {
			t.Errorf("gas %v nL at the limit: empties %v, left %v", u.Gas, m.Empties(), m.Left())
		}
		if _, ok := m.TimeTo(half.Millilitres()); ok {
			t.Errorf("gas %v nL at the limit: reaches the last drop", u.Gas)
		}
		u.Liquid++
		if m := mustModel(t, u, 0.004); m.Empties() || !near(m.Left()*1e6, 1, 1e-9) {
			t.Errorf("gas %v nL, one over: left %v nL, want 1", u.Gas, m.Left()*1e6)
		}
		u.Liquid -= 2
		m = mustModel(t, u, 0.004)
		if min, ok := m.TimeToEmpty(); !ok || !m.Empties() || math.IsInf(min, 0) {
			t.Errorf("gas %v nL, one under: %v min, %v", u.Gas, min, ok)
		}
	}
}

// The published check values for a pull equal to the air pressure (B = 0) and a
// tenth of a pascal less differ by 1e-6 and no more.
func TestNoJumpThroughZero(t *testing.T) {
	u := plain(6, 8, psi(10))
	u.Pull = 101325
	at, _ := mustModel(t, u, 0.004).TimeToEmpty()
	for _, delta := range []float64{1e-9, 1e-6, 1e-3, 0.1} {
		for _, sign := range []float64{-1, 1} {
			u.Pull = quantity.Pressure(101325 + sign*delta)
			got, ok := mustModel(t, u, 0.004).TimeToEmpty()
			if !ok || math.Abs(got/at-1) > 1.1e-5*delta+4e-16 {
				t.Errorf("pull %+g Pa: %.17g min beside %.17g", sign*delta, got, at)
			}
		}
	}
}

// drawUnit draws a unit that passes the checks, pulled and pushed at will.
func drawUnit(t *rapid.T) drain.Unit {
	return drain.Unit{
		Gas:        quantity.Volume(rapid.Int64Range(2_000, 60_000_000).Draw(t, "gas")),
		Liquid:     quantity.Volume(rapid.Int64Range(2_000, 60_000_000).Draw(t, "liquid")),
		Gauge:      kPa(rapid.Float64Range(0, 300).Draw(t, "gauge")),
		FillHeight: metres(rapid.Float64Range(-500, 4000).Draw(t, "filled up")),
		Altitude:   metres(rapid.Float64Range(-500, 4000).Draw(t, "up")),
		FilledAt:   celsius(rapid.Float64Range(-10, 45).Draw(t, "filled at")),
		UsedAt:     celsius(rapid.Float64Range(-10, 45).Draw(t, "used at")),
		Head:       metres(rapid.Float64Range(-0.2, 2).Draw(t, "head")),
		Density:    rapid.Float64Range(700, 1300).Draw(t, "density"),
		Pull: kPa(rapid.OneOf(
			rapid.Just(0.0), rapid.Float64Range(-60, 60), rapid.Float64Range(101, 102), rapid.Float64Range(100, 2000),
		).Draw(t, "pull")),
	}
}

// v(t(v)) = v and t(v(t)) = t, time rises with volume and volume with time,
// pressure falls, nothing but what is in the unit comes out.
func TestThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		u := drawUnit(t)
		m, fs := u.Model(rapid.Float64Range(1e-4, 1).Draw(t, "conductance"))
		if why.Blocks(fs) {
			t.Fatalf("refused: %v", fs)
		}
		reach := u.Liquid.Millilitres() - m.Left()
		last, lastGauge := 0.0, quantity.Pressure(math.Inf(1))
		for i := 1; i < 10; i++ {
			v := reach * float64(i) / 10
			if v == 0 {
				return
			}
			min, ok := m.TimeTo(v)
			if !ok || !(min > last) {
				t.Fatalf("%v mL of %v: %v min, %v; before %v", v, reach, min, ok, last)
			}
			if back, ok := m.DeliveredAt(min); !ok || !near(back, v, 1e-12) {
				t.Fatalf("%v mL back as %v", v, back)
			}
			s := m.At(v)
			if s.Gauge >= lastGauge || s.Delivered+s.Left != u.Liquid {
				t.Fatalf("state %+v after gauge %v", s, lastGauge)
			}
			last, lastGauge = min, s.Gauge
		}
		if all, ok := m.DeliveredAt(math.Inf(1)); !ok || math.Abs(all-reach) > 1e-15*u.Liquid.Millilitres() {
			t.Fatalf("in the end %v mL, want %v", all, reach)
		}
		if early, _ := m.DeliveredAt(last / 2); early >= reach {
			t.Fatalf("%v mL at half time of %v", early, reach)
		}
	})
}

// A higher pull, more gauge, more gas or less liquid never makes it slower or
// leaves more.
func TestMoreDriveIsFaster(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		u := drawUnit(t)
		better := u
		switch rapid.IntRange(0, 3).Draw(t, "what") {
		case 0:
			better.Pull += 1000
		case 1:
			better.Gauge += 1000
		case 2:
			better.Gas += u.Gas/10 + 1
		case 3:
			better.Liquid -= u.Liquid / 10
		}
		m, _ := u.Model(0.01)
		n, _ := better.Model(0.01)
		if n.Left() > m.Left()+1e-12 || m.Empties() && !n.Empties() {
			t.Fatalf("left %v, and %v with more drive", m.Left(), n.Left())
		}
		a, ok1 := m.TimeToEmpty()
		b, ok2 := n.TimeToEmpty()
		if ok1 && !(ok2 && b <= a*(1+1e-12)) {
			t.Fatalf("%v min, and %v with more drive", a, b)
		}
	})
}

// Lambert's function gives the inverse by another road for B > 0:
// v = (A/B)(1 + W0(-z0 exp(-z0 - G B² t/A))) - Vg0, z0 = 1 - B Vg0/A. Halley's
// rule finds W0 here.
func TestLambert(t *testing.T) {
	const g, gas, air = 0.004, 6.0, 101.325
	a := (air + 68.94757293168361) * gas
	z0 := 1 - air*gas/a
	m := mustModel(t, plain(gas, 5, kPa(68.94757293168361)), g)
	for _, min := range []float64{0.5, 3, 10, 30, 100} {
		x := -z0 * math.Exp(-z0-g*air*air*min/a)
		w := x
		for range 50 {
			e := math.Exp(w)
			f := w*e - x
			w -= f / (e*(w+1) - (w+2)*f/(2*w+2))
		}
		want := a/air*(1+w) - gas
		if got, _ := m.DeliveredAt(min); !near(got, want, 1e-12) {
			t.Errorf("%v min: %.15g mL, want %.15g", min, got, want)
		}
	}
	outside.Ran(t, "Lambert's W by Halley's rule", "volume by time, another inverse")
}

// Whatever floats come in: a finding or a finite answer, in bounds, and an end.
func FuzzModel(f *testing.F) {
	f.Add(int64(6e6), int64(4e6), 68947.57, 0.0, 0.0, 293.15, 293.15, 0.0, 1000.0, 0.0, 0.004, 10.0)
	f.Add(int64(6e6), int64(8e6), 68947.57, 0.0, 1500.0, 293.15, 273.15, 0.05, 1000.0, 101325.0, 0.004, 1e9)
	f.Add(int64(1000), int64(1e10), 5e-324, 9000.0, -500.0, 233.15, 353.15, -30.0, 500.0, 1e7, 1e-12, 1e300)
	f.Add(int64(-1), int64(0), math.NaN(), math.Inf(1), 0.0, 0.0, -1.0, 0.0, 0.0, math.Inf(-1), -1.0, math.NaN())
	f.Fuzz(func(t *testing.T, gas, liquid int64, gauge, filled, up, at, use, head, rho, pull, g, x float64) {
		u := drain.Unit{
			Gas: quantity.Volume(gas), Liquid: quantity.Volume(liquid), Gauge: quantity.Pressure(gauge),
			FillHeight: metres(filled), Altitude: metres(up), FilledAt: quantity.Temperature(at),
			UsedAt: quantity.Temperature(use), Head: metres(head), Density: rho, Pull: quantity.Pressure(pull),
		}
		m, fs := u.Model(g)
		if why.Blocks(fs) {
			m = drain.Model{}
			u.Liquid = 0
		}
		stall, _ := m.StallVolume()
		min, ok := m.TimeTo(x)
		all, _ := m.TimeToEmpty()
		v, _ := m.DeliveredAt(x)
		s := m.At(x)
		for _, y := range []float64{stall, min, all, v, m.Left(), float64(s.Gauge), float64(s.Drive)} {
			if math.IsNaN(y) || math.IsInf(y, 0) {
				t.Fatalf("%+v at %v: %v", u, x, []any{stall, min, all, v, m.Left(), s})
			}
		}
		most := u.Liquid.Millilitres() * (1 + 1e-12)
		if v < 0 || v > most || m.Left() < 0 || m.Left() > most || min < 0 || ok && x > most {
			t.Fatalf("%+v at %v: v %v, left %v, min %v", u, x, v, m.Left(), min)
		}
		m.Stalls()
		m.Lift(x)
	})
}

func BenchmarkTimeTo(b *testing.B) {
	m := mustModel(b, plain(6, 4, psi(10)), 0.004)
	for b.Loop() {
		m.TimeTo(3)
	}
}

func BenchmarkDeliveredAt(b *testing.B) {
	m := mustModel(b, plain(6, 4, psi(10)), 0.004)
	for b.Loop() {
		m.DeliveredAt(30)
	}
}

func BenchmarkModel(b *testing.B) {
	u := plain(6, 4, psi(10))
	for b.Loop() {
		u.Model(0.004)
	}
}
