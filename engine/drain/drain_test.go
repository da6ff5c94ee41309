package drain_test

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"sapwell/engine/drain"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/internal/outside"
)

// drainCase is one case of testdata/drain.json: the closed form evaluated outside
// this project, which agrees with scipy solve_ivp (DOP853) within 5e-15.
type drainCase struct {
	ID        string   `json:"id"`
	Gas       float64  `json:"Vg0_mL"`
	Liquid    float64  `json:"V0_mL"`
	Gauge     float64  `json:"p0_gauge_kPa"`
	Alt       float64  `json:"alt_m"`
	FillAlt   float64  `json:"fill_alt_m"`
	Use       float64  `json:"T_use_C"`
	Fill      float64  `json:"T_fill_C"`
	Rho       float64  `json:"rho"`
	Head      float64  `json:"h_m"`
	Pull      float64  `json:"pull_kPa"`
	G20       float64  `json:"G20_mL_min_kPa"`
	Scale     bool     `json:"scale_visc"`
	Patm      float64  `json:"Patm_kPa"`
	P0        float64  `json:"P0_abs_kPa"`
	GaugeUse  float64  `json:"gauge_at_use_kPa"`
	Stall     *float64 `json:"stall_volume_mL"`
	Empties   bool     `json:"empties"`
	Limit     *float64 `json:"ratio_limit"`
	ToEmpty   *float64 `json:"time_to_empty_min"`
	LeftInUse float64  `json:"left_in_unit_mL"`
	Points    []struct {
		V float64 `json:"v_mL"`
		T float64 `json:"t_min"`
	} `json:"points"`
}

func ml(v float64) quantity.Volume           { return quantity.Volume(math.Round(v * 1e6)) }
func metres(v float64) quantity.Length       { return quantity.Length(math.Round(v * 1e9)) }
func kPa(v float64) quantity.Pressure        { return quantity.Pressure(v * 1000) }
func psi(v float64) quantity.Pressure        { return quantity.Pressure(v) * quantity.PSI }
func near(got, want, tol float64) bool       { return math.Abs(got-want) <= tol*math.Abs(want) }
func celsius(c float64) quantity.Temperature { return quantity.Celsius(c) }

func (c drainCase) unit() drain.Unit {
	return drain.Unit{
		Gas: ml(c.Gas), Liquid: ml(c.Liquid), Gauge: kPa(c.Gauge),
		FillHeight: metres(c.FillAlt), Altitude: metres(c.Alt),
		FilledAt: celsius(c.Fill), UsedAt: celsius(c.Use),
		Head: metres(c.Head), Density: c.Rho, Pull: kPa(c.Pull),
	}
}

func (c drainCase) conductance() float64 {
	if c.Scale {
		return drain.ConductanceAt(c.G20, celsius(c.Use))
	}
	return c.G20
}

func cases(t testing.TB) []drainCase {
	t.Helper()
	raw, err := os.ReadFile("testdata/drain.json")
	if err != nil {
		t.Fatal(err)
	}
	var file struct{ Cases []drainCase }
	if err := json.Unmarshal(raw, &file); err != nil {
		t.Fatal(err)
	}
	if len(file.Cases) != 15 {
		t.Fatalf("testdata/drain.json has %d cases, want 15", len(file.Cases))
	}
	return file.Cases
}

// mustModel makes a model and fails on a blocking finding.
func mustModel(t testing.TB, u drain.Unit, g float64) drain.Model {
	t.Helper()
	m, fs := u.Model(g)
	if why.Blocks(fs) {
		t.Fatalf("%+v is refused: %v", u, fs)
	}
	return m
}

// Every value of drain.json, times to volumes and volumes to times, to 1e-9.
func TestCases(t *testing.T) {
	const tol = 1e-9
	for _, c := range cases(t) {
		t.Run(c.ID, func(t *testing.T) {
			u := c.unit()
			m := mustModel(t, u, c.conductance())
			check := func(what string, got, want float64) {
				t.Helper()
				if !near(got, want, tol) {
					t.Errorf("%s = %.17g, want %.17g (off by %.2g)", what, got, want, got/want-1)
				}
			}
			air := drain.AirPressure(u.Altitude)
			check("Patm", air.Kilopascals(), c.Patm)
			check("gauge at use", m.At(0).Gauge.Kilopascals(), c.GaugeUse)
			check("P0", (m.At(0).Gauge + air).Kilopascals(), c.P0)
			check("left", m.Left(), c.LeftInUse)
			if m.Empties() != c.Empties {
				t.Errorf("empties = %v", m.Empties())
			}
			stall, ok := m.StallVolume()
			if ok != (c.Stall != nil) {
				t.Errorf("stalls = %v", ok)
			} else if ok {
				check("stall volume", stall, *c.Stall)
				check("ratio limit", stall/c.Gas, *c.Limit)
			}
			min, ok := m.TimeToEmpty()
			if ok != (c.ToEmpty != nil) {
				t.Errorf("time to empty = %v, %v", min, ok)
			} else if ok {
				check("time to empty", min, *c.ToEmpty)
			}
			for _, p := range c.Points {
				min, ok := m.TimeTo(p.V)
				if !ok {
					t.Errorf("never reaches %v mL", p.V)
				}
				check("time", min, p.T)
				v, ok := m.DeliveredAt(p.T)
				if !ok {
					t.Errorf("no volume at %v min", p.T)
				}
				check("volume", v, p.V)
			}
		})
	}
	outside.Ran(t, "closed form evaluated outside, agrees with scipy DOP853, in drain.json", "15 units, to 1e-9")
}
