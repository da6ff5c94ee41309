package drain

import "math"

// prior is what is believed of y = ln(minutes) before any drain was timed:
// mean of y ~ Normal(mean, sd), ln(spread of y) ~ Normal(ln spread, spreadSD).
type prior struct{ mean, sd, spread, spreadSD float64 }

// drains are the observed y. Those that ended are held as count, mean and sum of
// squared deviations; longer holds the right-censored ones.
type drains struct {
	n        int
	mean, ss float64
	longer   []float64
}

// add takes in one drain that ended (Welford's update).
func (d *drains) add(y float64) {
	d.n++
	delta := y - d.mean
	d.mean += delta / float64(d.n)
	d.ss += delta * (y - d.mean)
}

func (d drains) count() int { return d.n + len(d.longer) }

// node is one part of the posterior: the next y is Normal(mu, sigma), weight w.
type node struct{ w, mu, sigma float64 }

// The two grids. Sums at equal steps of a smooth bump that dies out at both ends
// converge faster than any power of the step: for a normal bump and steps of one
// standard deviation the error is about 2·exp(-2π²) = 5e-9. Censored drains make
// it skew, so there the steps are half as wide.
const (
	muNodes     = 300  // at most, on either side of the mode
	spreadNodes = 12   // on either side of the middle
	faint       = 30.0 // e^-30 of the peak is nothing
)

// quantiles returns the 0.5 and 0.9 quantiles of the next y.
func (d drains) quantiles(p prior) (y50, y90 float64) {
	nodes := d.posterior(p)
	return quantile(nodes, 0.5), quantile(nodes, 0.9)
}

// posterior lays a grid over the spread where its posterior is not faint, and at
// each spread one over the mean.
func (d drains) posterior(p prior) []node {
	centre, half := math.Log(p.spread), 7.5*p.spreadSD
	var nodes []node
	// With many drains the posterior is a needle in the prior's grid: zoom in
	// until it fills a fair part of it.
	for range 12 {
		nodes = nodes[:0]
		step := half / spreadNodes
		var logs []float64
		for i := -spreadNodes; i <= spreadNodes; i++ {
			u := centre + float64(i)*step
			z := (u - math.Log(p.spread)) / p.spreadSD
			var l float64
			nodes, l = d.given(p, math.Exp(u), -z*z/2, nodes)
			logs = append(logs, l)
		}
		first, last := notFaint(logs)
		if 3*(last-first) >= 4*spreadNodes {
			break
		}
		centre += (float64(first+last)/2 - spreadNodes) * step
		half = (float64(last-first)/2 + 1) * step
	}
	return normalised(nodes)
}

// notFaint returns the first and last index within faint of the largest.
func notFaint(logs []float64) (first, last int) {
	peak := math.Inf(-1)
	for _, l := range logs {
		peak = math.Max(peak, l)
	}
	first = len(logs)
	for i, l := range logs {
		if l > peak-faint {
			first, last = min(first, i), i
		}
	}
	return first, last
}

// given appends the nodes at one spread, their w still logarithms, and returns
// the logarithm of their sum. Without censored drains the mean is normal and one
// node says it all. With them it walks from the mode outward, left and right,
// until the posterior is faint, for the right tail may be long.
func (d drains) given(p prior, sigma, logPrior float64, nodes []node) ([]node, float64) {
	mode, sd := d.mode(p, sigma)
	at := func(mu float64) float64 {
		return logPrior + d.logLikelihood(mu, sigma) - sq((mu-p.mean)/p.sd)/2
	}
	if len(d.longer) == 0 {
		l := at(mode) + math.Log(sd*math.Sqrt(2*math.Pi))
		return append(nodes, node{l, mode, math.Hypot(sigma, sd)}), l
	}
	// A step must resolve the posterior of the mean and the spread about it;
	// ln(step) makes sums of different spreads comparable.
	step := math.Min(sd, sigma) / 2
	first := len(nodes)
	nodes = append(nodes, node{at(mode) + math.Log(step), mode, sigma})
	peak, sum := nodes[first].w, 1.0
	for _, sign := range []float64{-1, 1} {
		for i := 1.0; i <= muNodes; i++ {
			mu := mode + sign*i*step
			l := at(mu) + math.Log(step)
			nodes = append(nodes, node{l, mu, sigma})
			sum += math.Exp(l - peak)
			if l < peak-faint {
				break
			}
		}
	}
	return nodes, peak + math.Log(sum)
}

// logLikelihood of the drains, less a constant. A drain that was not over counts
// with the probability of taking longer.
func (d drains) logLikelihood(mu, sigma float64) float64 {
	n := float64(d.n)
	l := -n*math.Log(sigma) - (d.ss+n*sq(d.mean-mu))/(2*sigma*sigma)
	for _, c := range d.longer {
		l += logUpper((c - mu) / sigma)
	}
	return l
}

// mode returns the mean of y with the highest posterior density at one spread
// and the standard deviation from the curvature there.
//
// Without censored drains this is the conjugate normal update. Each censored
// drain adds the slope hazard(z)/sigma, which is convex and falling in mu; so
// Newton's rule, started at the conjugate mean where the slope is positive,
// climbs to the root and never passes it.
func (d drains) mode(p prior, sigma float64) (mu, sd float64) {
	base := 1/(p.sd*p.sd) + float64(d.n)/(sigma*sigma)
	centre := (p.mean/(p.sd*p.sd) + float64(d.n)*d.mean/(sigma*sigma)) / base
	mu = centre
	for range 100 {
		slope, curve := base*(centre-mu), base
		for _, c := range d.longer {
			z := (c - mu) / sigma
			h := hazard(z)
			slope += h / sigma
			curve += h * (h - z) / (sigma * sigma)
		}
		sd = 1 / math.Sqrt(curve)
		if math.Abs(slope) <= 1e-6*math.Sqrt(curve) {
			break // within a millionth of sd
		}
		mu += slope / curve
	}
	return mu, sd
}

// normalised turns logarithms into weights that sum to 1, without the faint.
func normalised(nodes []node) []node {
	peak, sum := math.Inf(-1), 0.0
	for _, n := range nodes {
		peak = math.Max(peak, n.w)
	}
	kept := nodes[:0]
	for _, n := range nodes {
		if n.w > peak-faint {
			n.w = math.Exp(n.w - peak)
			sum += n.w
			kept = append(kept, n)
		}
	}
	for i := range kept {
		kept[i].w /= sum
	}
	return kept
}

// quantile returns the p-quantile of the mixture of the nodes by bisection.
func quantile(nodes []node, p float64) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, n := range nodes {
		lo, hi = math.Min(lo, n.mu-3*n.sigma), math.Max(hi, n.mu+3*n.sigma)
	}
	for hi-lo > 1e-9 {
		y, below := lo+(hi-lo)/2, 0.0
		for _, n := range nodes {
			below += n.w * math.Erfc((n.mu-y)/(n.sigma*math.Sqrt2)) / 2
		}
		if below < p {
			lo = y
		} else {
			hi = y
		}
	}
	return lo + (hi-lo)/2
}

// tail is where the standard normal's upper tail is taken from its continued
// fraction instead of the complementary error function, which underflows at 38.
const tail = 5.0

// hazard returns the standard normal density over its upper tail probability.
func hazard(z float64) float64 {
	if z < tail {
		return math.Exp(-z*z/2) * math.Sqrt(2/math.Pi) / math.Erfc(z/math.Sqrt2)
	}
	// z + 1/(z + 2/(z + 3/(z + ...))), Abramowitz & Stegun 26.2.14.
	h := z
	for k := 40.0; k >= 1; k-- {
		h = z + k/h
	}
	return h
}

// logUpper returns ln P(Z > z) for a standard normal Z.
func logUpper(z float64) float64 {
	if z < tail {
		return math.Log(math.Erfc(z/math.Sqrt2) / 2)
	}
	return -z*z/2 - math.Log(2*math.Pi)/2 - math.Log(hazard(z))
}

func sq(x float64) float64 { return x * x }
