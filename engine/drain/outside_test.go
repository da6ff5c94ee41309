package drain

import (
	"bytes"
	"encoding/json"
	"math"
	"math/rand/v2"
	"os/exec"
	"testing"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/internal/outside"
)

// runPython feeds in to a script under testdata and reads its answer into out.
func runPython(t *testing.T, script string, in, out any) {
	t.Helper()
	python := outside.Python(t)
	data, err := json.Marshal(in)
	if err != nil {
		t.Fatal(err)
	}
	var stderr bytes.Buffer
	cmd := exec.Command(python, "testdata/"+script)
	cmd.Stdin, cmd.Stderr = bytes.NewReader(data), &stderr
	answer, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s: %v\n%s", script, err, stderr.String())
	}
	if err := json.Unmarshal(answer, out); err != nil {
		t.Fatal(err)
	}
}

// odeCase is what testdata/ode.py reads: kPa, mL, min, m, K, kg/m³.
type odeCase struct {
	Gas    float64   `json:"gas"`
	Gauge  float64   `json:"gauge"`
	FillM  float64   `json:"fill_m"`
	UpM    float64   `json:"up_m"`
	Filled float64   `json:"filled_k"`
	Used   float64   `json:"used_k"`
	Rho    float64   `json:"rho"`
	HeadM  float64   `json:"head_m"`
	Pull   float64   `json:"pull"`
	G      float64   `json:"g"`
	Times  []float64 `json:"times"`
}

// randomUnit draws a unit and its conductance; round figures, so that both sides
// read the same numbers.
func randomUnit(r *rand.Rand) (Unit, float64) {
	between := func(lo, hi, step float64) float64 {
		return math.Round((lo+(hi-lo)*r.Float64())/step) * step
	}
	u := Unit{
		Gas:        quantity.Volume(between(1, 20, 0.01) * 1e6),
		Liquid:     quantity.Volume(between(1, 20, 0.01) * 1e6),
		Gauge:      quantity.Pressure(between(20, 200, 1) * 1000),
		FillHeight: quantity.Length(between(-100, 2500, 1)) * quantity.Metre,
		Altitude:   quantity.Length(between(-100, 2500, 1)) * quantity.Metre,
		FilledAt:   quantity.Celsius(between(5, 35, 1)),
		UsedAt:     quantity.Celsius(between(5, 35, 1)),
		Head:       quantity.Length(between(-10, 40, 1)) * quantity.Centimetre,
		Density:    between(800, 1200, 10),
		Pull:       quantity.Pressure(between(-15, 15, 1) * 1000),
	}
	if r.IntN(3) == 0 {
		u.Pull = quantity.Pressure(between(80, 1500, 1) * 1000) // round the air's pressure and far over
	}
	return u, between(0.001, 0.05, 0.001)
}

// The closed form against step by step integration, 120 units, both ways, to
// 1e-9 (the integrator works at 1e-12 a step).
func TestAgainstIntegrator(t *testing.T) {
	const seed = 20
	r := rand.New(rand.NewPCG(seed, 0))
	var in []odeCase
	var want [][]float64 // volumes the model was asked the times of
	for len(in) < 120 {
		u, g := randomUnit(r)
		m, fs := u.Model(g)
		if why.Blocks(fs) {
			t.Fatalf("seed %d: %+v: %v", seed, u, fs)
		}
		c := odeCase{
			u.Gas.Millilitres(), u.Gauge.Kilopascals(), u.FillHeight.Metres(), u.Altitude.Metres(),
			float64(u.FilledAt), float64(u.UsedAt), u.Density, u.Head.Metres(), u.Pull.Kilopascals(), g, nil,
		}
		var vs []float64
		for _, part := range []float64{0.1, 0.4, 0.7, 0.95} {
			v := part * m.reach() / nanolitres
			if min, ok := m.TimeTo(v); ok && v > 0 {
				c.Times, vs = append(c.Times, min), append(vs, v)
			}
		}
		if len(vs) == 4 {
			in, want = append(in, c), append(want, vs)
		}
	}
	var got [][]float64
	runPython(t, "ode.py", in, &got)
	worst := 0.0
	for i, vs := range want {
		for j, v := range vs {
			off := math.Abs(got[i][j]/v - 1)
			worst = max(worst, off)
			if off > 1e-9 {
				t.Errorf("seed %d case %d %+v: at %v min the integrator has %v mL, the closed form %v", seed, i, in[i], in[i].Times[j], got[i][j], v)
			}
		}
	}
	t.Logf("largest relative difference %.2g over %d points", worst, 4*len(want))
	outside.Ran(t, "scipy solve_ivp DOP853", "120 units integrated, volumes to 1e-9")
}

// posteriorCase is what testdata/posterior.py reads.
type posteriorCase struct {
	Ended    []float64 `json:"ended"`
	Longer   []float64 `json:"longer"`
	Mean     float64   `json:"mean"`
	SD       float64   `json:"sd"`
	Spread   float64   `json:"spread"`
	SpreadSD float64   `json:"spread_sd"`
}

// The forecast's quantiles against brute force on a fine grid: none, few and
// many drains, with and without censored ones, all censored, far from the prior.
func TestAgainstBruteForce(t *testing.T) {
	p := prior{mean: 5, sd: 1.1, spread: 0.7, spreadSD: 0.34}
	r := rand.New(rand.NewPCG(7, 0))
	draw := func(n int, mean, sd float64) []float64 {
		ys := make([]float64, n)
		for i := range ys {
			ys[i] = mean + sd*r.NormFloat64()
		}
		return ys
	}
	var in []posteriorCase
	for _, c := range [][2][]float64{
		{{}, {}}, {{3}, {}}, {{}, {6}}, {{}, draw(12, 8, 0.5)}, {{}, draw(20, 9.5, 0.1)},
		{draw(3, 4, 0.3), {7}}, {draw(8, 4, 0.5), draw(4, 5, 0.2)}, {draw(30, 3, 0.25), draw(6, 3.2, 0.1)},
		{draw(5, 10, 1.5), {}}, {draw(2, 1, 0.1), draw(3, 9, 0.1)},
	} {
		in = append(in, posteriorCase{c[0], c[1], p.mean, p.sd, p.spread, p.spreadSD})
	}
	var want [][2]float64
	runPython(t, "posterior.py", in, &want)
	for i, c := range in {
		d := drains{longer: c.Longer}
		for _, y := range c.Ended {
			d.add(y)
		}
		y50, y90 := d.quantiles(p)
		if math.Abs(y50-want[i][0]) > 1e-6 || math.Abs(y90-want[i][1]) > 1e-6 {
			t.Errorf("case %d (%d ended, %d not): %.8f %.8f, want %.8f", i, len(c.Ended), len(c.Longer), y50, y90, want[i])
		}
	}
	outside.Ran(t, "scipy.stats on a grid", "ten posteriors, quantiles to 1e-6")
}
