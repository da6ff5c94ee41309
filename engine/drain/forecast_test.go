package drain_test

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"sapwell/engine/drain"
	"sapwell/engine/host"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/internal/outside"
)

var classes = []host.Uptake{host.Fast, host.Medium, host.Slow, host.VerySlow, host.UnknownUptake}

func timed(c host.Uptake, emptied bool, min ...float64) (past []drain.Timed) {
	for _, m := range min {
		past = append(past, drain.Timed{Class: c, Time: quantity.Span(m * float64(quantity.Minute)), Emptied: emptied})
	}
	return past
}

func codes(fs []why.Finding) (out []string) {
	for _, f := range fs {
		out = append(out, f.Code)
	}
	return out
}

// Nobody has timed anything: very wide, in the order of the published ranks,
// within "minutes to days" (common practice, no source), widest when even the
// rank is not known, and said to be a guess.
func TestPriorIsWideAndSaysSo(t *testing.T) {
	var last quantity.Span
	for _, c := range classes {
		f := drain.Predict(c, nil, nil)
		if f.N != 0 || f.Class != c || !slices.Equal(codes(f.Findings), []string{"drain.no_timed_drains"}) {
			t.Errorf("%s: %+v", c, f)
		}
		if f.Why.Source != why.Own {
			t.Errorf("%s: the prior's source is %q", c, f.Why.Source)
		}
		if f.GSD < 2 || f.P50 < 5*quantity.Minute || f.P90 > 5*quantity.Day {
			t.Errorf("%s: P50 %v min, P90 %v min, GSD %.2f", c, f.P50.Minutes(), f.P90.Minutes(), f.GSD)
		}
		if c != host.UnknownUptake && f.P50 <= last {
			t.Errorf("%s: P50 %v min is not over the faster rank's", c, f.P50.Minutes())
		}
		last = f.P50
	}
	known, unknown := drain.Predict(host.Slow, nil, nil), drain.Predict(host.UnknownUptake, nil, nil)
	if unknown.GSD <= known.GSD {
		t.Errorf("unknown uptake: GSD %.2f, known %.2f", unknown.GSD, known.GSD)
	}
	outside.Ran(t, "common practice, no source", "a drain takes minutes to days")
}

// With many drains of one's own the forecast is theirs, whatever the rank said:
// the quantiles of a log-normal with median 40 min and GSD 1.5, at the z of
// standard normal tables (0.90: 1.281552).
func TestOwnDrainsTakeOver(t *testing.T) {
	var past []drain.Timed
	const n = 2000
	for i := range n {
		z := math.Sqrt2 * math.Erfinv(2*(float64(i)+0.5)/n-1)
		past = append(past, timed(host.VerySlow, true, 40*math.Pow(1.5, z))...)
	}
	f := drain.Predict(host.VerySlow, past, nil)
	want90 := 40 * math.Pow(1.5, 1.281552)
	if f.N != n || len(f.Findings) != 0 || !near(f.P50.Minutes(), 40, 0.02) || !near(f.P90.Minutes(), want90, 0.02) || !near(f.GSD, 1.5, 0.01) {
		t.Errorf("P50 %v, P90 %v (want 40, %.1f), GSD %v, n %d", f.P50.Minutes(), f.P90.Minutes(), want90, f.GSD, f.N)
	}
	outside.Ran(t, "standard normal tables", "quantiles of 2000 drains of known distribution")
}

func TestOtherClassesAndBadTimesAreLeftOut(t *testing.T) {
	past := slices.Concat(timed(host.Fast, true, 10, 12), timed(host.Slow, true, 0, -5, 1e6), timed(host.Slow, true, 100))
	f := drain.Predict(host.Slow, past, nil)
	if f.N != 1 || !slices.Equal(codes(f.Findings), []string{"drain.timed_range"}) || f.Findings[0].Terms[0].Value != 3 {
		t.Errorf("n %d, findings %+v", f.N, f.Findings)
	}
}

// A unit that the gas cannot empty says so beside the minutes.
func TestForecastOfAUnitThatStalls(t *testing.T) {
	m := mustModel(t, plain(6, 5, psi(10)), 0)
	f := drain.Predict(host.Fast, timed(host.Fast, true, 20), &m)
	if !slices.Equal(codes(f.Findings), []string{"drain.stalls"}) {
		t.Errorf("findings %v", codes(f.Findings))
	}
}

// A drain that was not over is never dropped: it moves the forecast up. Dropping
// them would leave it where it was; counting them as over would put it lower.
func TestNotOverMovesUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := rapid.SampledFrom(classes).Draw(t, "class")
		minutes := rapid.SliceOfN(rapid.Float64Range(5, 500), 0, 8)
		over, notOver := minutes.Draw(t, "over"), minutes.Draw(t, "not over")
		past := timed(c, true, over...)
		without := drain.Predict(c, past, nil)
		with := drain.Predict(c, append(past, timed(c, false, notOver...)...), nil)
		if with.P50 < without.P50 {
			t.Fatalf("P50 %v min fell to %v", without.P50.Minutes(), with.P50.Minutes())
		}
		asOver := drain.Predict(c, append(past, timed(c, true, notOver...)...), nil)
		if with.P50 < asOver.P50 {
			t.Fatalf("P50 %v min, but %v were they taken as over", with.P50.Minutes(), asOver.P50.Minutes())
		}
	})
}

// Any history gives an ordered, finite forecast that does not depend on the
// order of the drains.
func TestForecastHolds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var past []drain.Timed
		for range rapid.IntRange(0, 20).Draw(t, "n") {
			past = append(past, drain.Timed{
				Class:   rapid.SampledFrom(classes).Draw(t, "class"),
				Time:    quantity.Span(rapid.Int64Range(-1, int64(70*quantity.Day)).Draw(t, "time")),
				Emptied: rapid.Bool().Draw(t, "emptied"),
			})
		}
		f := drain.Predict(host.Slow, past, nil)
		low := f.Quantile(0.1)
		if low <= 0 || f.P50 <= low || f.P90 <= f.P50 || !(f.GSD > 1) || math.IsInf(f.GSD, 0) {
			t.Fatalf("%+v, P10 %v", f, low)
		}
		slices.Reverse(past)
		g := drain.Predict(host.Slow, past, nil)
		if g.P50 != f.P50 || g.P90 != f.P90 || g.N != f.N {
			t.Fatalf("%v %v forwards, %v %v backwards", f.P50, f.P90, g.P50, g.P90)
		}
	})
}

// Standard normal tables: z of 0.5, 0.9, 0.95, 0.975, 0.99.
func TestQuantile(t *testing.T) {
	f := drain.Forecast{P50: 100 * quantity.Minute, GSD: math.E}
	for p, z := range map[float64]float64{0.5: 0, 0.9: 1.281552, 0.95: 1.644854, 0.975: 1.959964, 0.99: 2.326348, 0.1: -1.281552} {
		want := 100 * math.Exp(z)
		if got := f.Quantile(p).Minutes(); math.Abs(got-want) > 0.01 {
			t.Errorf("p = %v: %v min, want %v", p, got, want)
		}
	}
	if f.Quantile(0) != f.Quantile(0.001) || f.Quantile(1) != f.Quantile(0.999) {
		t.Error("p is not held inside 0.001 to 0.999")
	}
	outside.Ran(t, "standard normal tables", "six quantiles")
}

func BenchmarkPredict(b *testing.B) {
	for name, past := range map[string][]drain.Timed{
		"none": nil, "10": timed(host.Slow, true, 20, 25, 30, 35, 40, 50, 60, 70, 80, 90),
		"8+2": slices.Concat(timed(host.Slow, true, 20, 25, 30, 35, 40, 50, 60, 70), timed(host.Slow, false, 80, 90)),
	} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				drain.Predict(host.Slow, past, nil)
			}
		})
	}
}
