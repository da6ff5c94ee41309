package drain

import (
	"math"

	"sapwell/engine/host"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// Timed is one drain the user has timed.
type Timed struct {
	Class   host.Uptake   `json:"class"`
	Time    quantity.Span `json:"time"`
	Emptied bool          `json:"emptied"` // false: lifted at Time with liquid left
}

// The prior, all of it own and none of it published: what one may say of a hole
// nobody has timed. Common practice knows drains from minutes to days. Published
// rates per hole (Sinclair & Larsen 1981) rank the kinds of wood but stem from
// holes many times larger, so the ranks set the order of the medians and a wide
// spread says that the medians themselves are not known.
const (
	// middle is the geometric middle of the four ranks, and the median when the
	// rank is not known.
	middle = 160.0 // min
	// rankStep is the ratio of the medians of neighbouring ranks.
	rankStep = 3.0
	// medianGSD and medianGSDUnknown say how far the true median of a class may
	// be from that: a factor of three either way is no surprise.
	medianGSD        = 3.0
	medianGSDUnknown = 5.0
	// drainGSD is the spread between drains of one class, about a factor of two,
	// itself known within spreadGSD.
	drainGSD  = 2.0
	spreadGSD = 1.4
)

// A timed drain outside these is not believed: a slip, or the end was not written
// down. Own.
const (
	leastTime = 10 * quantity.Second
	mostTime  = 60 * quantity.Day
)

// z90 is the 0.90 quantile of the standard normal distribution.
const z90 = 1.2815515655446004

// rank places the classes on the scale of the prior: -1.5 to 1.5 rank steps.
func rank(c host.Uptake) (steps float64, known bool) {
	switch c {
	case host.Fast:
		return -1.5, true
	case host.Medium:
		return -0.5, true
	case host.Slow:
		return 0.5, true
	case host.VerySlow:
		return 1.5, true
	}
	return 0, false
}

// priorFor is the prior of ln(minutes) for a class.
func priorFor(c host.Uptake) prior {
	steps, known := rank(c)
	p := prior{
		mean: math.Log(middle) + steps*math.Log(rankStep), sd: math.Log(medianGSD),
		spread: math.Log(drainGSD), spreadSD: math.Log(spreadGSD),
	}
	if !known {
		p.sd = math.Log(medianGSDUnknown)
	}
	return p
}

// Predict forecasts the drain of a unit in a hole of an uptake class, from the
// user's timed drains of that same class; those of other classes are passed
// over. A drain that was not over when the unit was lifted counts as "longer
// than that" and is never dropped.
//
// ln(minutes) is normal. Its mean and spread are not known; both are integrated
// out, so with few drains the forecast is wide because the knowledge is thin.
// P50 and P90 are of the next single drain, not of an average, and have two
// significant digits.
//
// unit may be nil (gas space not known). When it is not and its gas cannot empty
// it, the forecast carries drain.stalls: its minutes are then those of a unit
// that could.
func Predict(class host.Uptake, past []Timed, unit *Model) Forecast {
	d, bad := sample(class, past)
	y50, y90 := d.quantiles(priorFor(class))
	f := Forecast{
		P50: twoDigits(math.Exp(y50)), P90: twoDigits(math.Exp(y90)),
		// Three places: beyond them processors differ, and nobody knows it so well.
		N: d.count(), GSD: math.Round(1000*math.Exp((y90-y50)/z90)) / 1000, Class: class,
	}
	if bad > 0 {
		f.Findings = append(f.Findings, why.Finding{
			Code: "drain.timed_range", Severity: why.Ask, Place: "past", Source: why.Own,
			Terms: []why.Term{why.T("n", bad), why.T("low", leastTime), why.T("high", mostTime)},
		})
	}
	if f.N == 0 {
		f.Findings = append(f.Findings, why.Finding{
			Code: "drain.no_timed_drains", Severity: why.Note, Source: why.Own,
			Terms: []why.Term{why.T("uptake", string(class))},
		})
	}
	if unit != nil {
		f.Findings = append(f.Findings, unit.Stalls()...)
	}
	f.Why = f.reason(len(d.longer))
	return f
}

// Quantile returns the time by which a fraction p of such drains is over, from
// the log-normal with median P50 and spread GSD; p is held between 0.001 and
// 0.999. It is for planning: to the second, unlike P50 and P90, which are rounded
// to the two digits a person may be shown.
func (f Forecast) Quantile(p float64) quantity.Span {
	p = math.Max(0.001, math.Min(p, 0.999))
	return seconds(f.P50.Minutes() * math.Pow(f.GSD, math.Sqrt2*math.Erfinv(2*p-1)))
}

// reason says what the forecast rests on.
func (f Forecast) reason(notEmptied int) why.Reason {
	r := why.Reason{
		Rule:   "drain.forecast",
		Result: why.T("p50", f.P50),
		Inputs: []why.Term{
			why.T("uptake", string(f.Class)), why.T("timed_drains", f.N), why.T("not_emptied", notEmptied),
			why.T("gsd", math.Round(f.GSD*10)/10),
		},
		Source: why.Own,
		Low:    twoDigits(f.Quantile(0.1).Minutes()),
		High:   f.P90,
		Because: []why.Reason{{
			Rule: "drain.weather", Result: why.T("weather", nil), Source: why.Stack1988,
		}},
	}
	if _, known := rank(f.Class); known {
		r.Because = append(r.Because, why.Reason{
			Rule: "drain.rank", Result: why.T("uptake", string(f.Class)), Source: why.Sinclair1981,
		})
	}
	return r
}

// seconds makes a span of a positive number of minutes, to the second: at least
// one, and short of where int64 nanoseconds end.
func seconds(min float64) quantity.Span {
	const most = float64(200 * 365 * quantity.Day / quantity.Second)
	return quantity.Span(math.Round(math.Max(1, math.Min(min*60, most)))) * quantity.Second
}

// twoDigits is seconds for showing: the minutes are rounded to two significant
// digits, since the third would be a promise.
func twoDigits(min float64) quantity.Span {
	scale := math.Pow(10, math.Floor(math.Log10(min))-1)
	return seconds(math.Round(min/scale) * scale)
}

// sample takes the usable drains of a class as ln(minutes) and counts those
// whose time cannot be.
func sample(class host.Uptake, past []Timed) (d drains, bad int) {
	for _, p := range past {
		switch {
		case p.Class != class:
		case !within(p.Time, leastTime, mostTime):
			bad++
		case p.Emptied:
			d.add(math.Log(p.Time.Minutes()))
		default:
			d.longer = append(d.longer, math.Log(p.Time.Minutes()))
		}
	}
	return d, bad
}
