package drain

import (
	"math"
	"testing"

	"sapwell/internal/outside"
)

// Abramowitz & Stegun, table 26.2: -log10 Q(x), read again from scipy 1.10
// norm.logsf.
func TestUpperTail(t *testing.T) {
	for x, want := range map[float64]float64{
		5: 6.54265, 10: 23.11805, 15: 50.43522, 20: 88.56010, 50: 544.96634, 100: 2173.87154,
	} {
		if got := -logUpper(x) / math.Ln10; math.Abs(got-want) > 6e-6 {
			t.Errorf("x = %v: %.6f, want %v", x, got, want)
		}
	}
	outside.Ran(t, "Abramowitz and Stegun table 26.2; scipy 1.10 norm.logsf", "six tails of the normal")
}

// The hazard is minus the slope of ln Q, also across the seam at tail.
func TestHazardIsTheSlope(t *testing.T) {
	for _, z := range []float64{-6, -1, 0, 1, 3, 4.999, 5, 5.001, 8, 40, 300} {
		const h = 1e-5
		want := (logUpper(z-h) - logUpper(z+h)) / (2 * h)
		if got := hazard(z); math.Abs(got-want) > 1e-4*(1+want) {
			t.Errorf("z = %v: %.9g, slope %.9g", z, got, want)
		}
	}
	if h := hazard(math.Nextafter(tail, 0)) / hazard(tail); math.Abs(h-1) > 1e-13 {
		t.Errorf("seam of the hazard: %v", h)
	}
}

// The conjugate update of a normal mean with known variance, worked by hand:
// prior N(4, 1), variance 1/4, four observations of mean 5: precision 1 + 16,
// mean (4 + 16·5)/17 (Gelman et al., Bayesian Data Analysis, 2.5).
func TestConjugateMean(t *testing.T) {
	var d drains
	for _, y := range []float64{4.5, 5.5, 4.9, 5.1} {
		d.add(y)
	}
	mu, sd := d.mode(prior{mean: 4, sd: 1, spread: 0.5, spreadSD: 1}, 0.5)
	if math.Abs(mu-84.0/17) > 1e-12 || math.Abs(sd-1/math.Sqrt(17)) > 1e-12 {
		t.Errorf("mean %v, sd %v", mu, sd)
	}
	if math.Abs(d.ss-0.52) > 1e-12 {
		t.Errorf("sum of squares %v, want 0.52", d.ss)
	}
	outside.Ran(t, "Gelman et al., Bayesian Data Analysis 2.5", "normal mean of known variance")
}

// With a spread that is all but known and no drains the next y is normal with
// both variances added.
func TestPriorPredictive(t *testing.T) {
	p := prior{mean: 4, sd: 1.2, spread: 0.5, spreadSD: 1e-6}
	y50, y90 := drains{}.quantiles(p)
	want := 4 + 1.2815515655446004*math.Hypot(1.2, 0.5)
	if math.Abs(y50-4) > 1e-8 || math.Abs(y90-want) > 1e-8 {
		t.Errorf("%.10f %.10f, want 4 and %.10f", y50, y90, want)
	}
}

// Both series meet their direct forms at the border, and both are 1/2 at 0.
func TestSeriesMeetTheirForms(t *testing.T) {
	for _, x := range []float64{-small, small} {
		in := math.Nextafter(x, 0)
		if a, b := psi(in, math.Log1p(-in)), psi(x, math.Log1p(-x)); math.Abs(a/b-1) > 1e-14 {
			t.Errorf("psi at %v: %.17g inside, %.17g outside", x, a, b)
		}
		if a, b := chi(in), chi(x); math.Abs(a/b-1) > 1e-14 {
			t.Errorf("chi at %v: %.17g inside, %.17g outside", x, a, b)
		}
	}
	if psi(0, 0) != 0.5 || chi(0) != 0.5 || relExp(0) != 1 {
		t.Error("values at 0")
	}
}
