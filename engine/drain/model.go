package drain

import (
	"math"

	"sapwell/engine/quantity"
)

// Model is one unit in one hole, ready to be asked. Make it with Unit.Model.
//
// The gas expands isothermally (Boyle-Mariotte), the hole passes liquid in
// proportion to the drive with a constant conductance G:
//
//	dv/dt = G · drive(v),  drive(v) = P0·Vg0/(Vg0+v) - B,  B = air - head - pull
//
// Everything below is the exact solution of that line. Methods take and give
// mL, min and kPa as float64; the zero Model holds nothing and delivers nothing.
type Model struct {
	// Inside, volumes are in nL and pressures in Pa: whole nanolitres are exact
	// in float64, so the question "does it empty" has no rounding in it.
	gas, liquid float64
	outside     float64 // air pressure at use
	gauge       float64 // in the full unit at use, over the air outside
	drive       float64 // what pushes at the start; 0 when it never starts
	b           float64 // what the gas must stay above: outside - head - pull
	g           float64 // nL/(min Pa); 0: not known
}

const (
	nanolitres = 1e6 // in a mL
	perKPa     = 1e3 // Pa in a kPa
)

// Finer returns the model with volumes in mL as given rather than to the
// nanolitre, for input that is finer than that. Both must be positive.
func (m Model) Finer(gas, liquid float64) Model {
	m.gas, m.liquid = gas*nanolitres, liquid*nanolitres
	return m
}

// force returns (Vg0+v)·drive(v) in nL·Pa, with the sign right to the last bit.
func (m Model) force(v float64) float64 { return diffProducts(m.gas, m.drive, m.b, v) }

// StallVolume returns the volume in mL at which the gas no longer pushes, were
// there liquid enough; ok is false when it never stalls because the tree pulls
// more than the air presses.
func (m Model) StallVolume() (ml float64, ok bool) {
	if m.drive <= 0 {
		return 0, true
	}
	if m.b <= 0 {
		return 0, false
	}
	return m.gas * m.drive / m.b / nanolitres, true
}

// Empties reports whether the gas pushes all liquid out in finite time. At the
// limit itself it takes for ever, so the limit does not empty.
func (m Model) Empties() bool { return m.drive > 0 && m.force(m.liquid) > 0 }

// Left returns what stays for ever in mL; 0 when the unit empties.
func (m Model) Left() float64 {
	switch {
	case m.Empties():
		return 0
	case m.drive <= 0:
		return m.liquid / nanolitres
	}
	return -m.force(m.liquid) / m.b / nanolitres
}

// reach returns the most that can leave, nL.
func (m Model) reach() float64 {
	switch {
	case m.Empties():
		return m.liquid
	case m.drive <= 0:
		return 0
	}
	return math.Min(m.liquid, m.gas*m.drive/m.b)
}

// TimeTo returns the minutes until v mL have left. ok is false when that never
// happens (beyond the stall, more than the unit holds), when v is negative or
// not a number, and when the conductance is not known.
func (m Model) TimeTo(v float64) (min float64, ok bool) {
	nl := v * nanolitres
	if math.Abs(nl-m.liquid) <= 1e-12*m.liquid {
		nl = m.liquid // the same volume, through a decimal
	}
	switch {
	case nl == 0:
		return 0, true
	case !(nl > 0 && nl <= m.liquid) || m.g <= 0 || m.drive <= 0:
		return 0, false
	}
	return m.timeTo(nl)
}

// timeTo is TimeTo in nL, for 0 < v <= liquid. With w = v/D, D = Vg0·drive(0):
//
//	G·t = Vg0·w + P0·Vg0·w²·psi(B·w)
//
// which has no difference of large numbers and holds for B of either sign and
// for B = 0, where the textbook form divides by zero.
func (m Model) timeTo(v float64) (float64, bool) {
	left := m.force(v)
	if left <= 0 {
		return 0, false
	}
	d := m.gas * m.drive
	w := v / d
	x := m.b * w
	ln := math.Log1p(-x)
	if x > 0.5 {
		ln = math.Log(left / d) // 1-x without its rounding
	}
	return (m.gas*w + m.gas*(m.gauge+m.outside)*w*w*psi(x, ln)) / m.g, true
}

// TimeToEmpty returns the minutes until all has left; ok is false when the gas
// cannot do it or the conductance is not known.
func (m Model) TimeToEmpty() (min float64, ok bool) {
	if m.g <= 0 || !m.Empties() {
		return 0, false
	}
	return m.timeTo(m.liquid)
}

// DeliveredAt returns the mL that have left after so many minutes (negative: 0;
// infinite: all that ever will); ok is false when the conductance is not known
// or min is not a number.
func (m Model) DeliveredAt(min float64) (ml float64, ok bool) {
	if m.g <= 0 || math.IsNaN(min) {
		return 0, false
	}
	if min <= 0 || m.drive <= 0 {
		return 0, true
	}
	most := m.reach()
	if t, empties := m.TimeToEmpty(); math.IsInf(min, 1) || empties && min >= t {
		return most / nanolitres, true
	}
	tau := m.tau(m.g * min)
	v := m.gas * m.drive * tau * relExp(-m.b*tau)
	return math.Min(v, most) / nanolitres, true
}

// tau solves the model for a given G·t > 0. Measured in tau, where
// dv/dtau = D - B·v, both sides are plain exponentials and the stall is not a
// singularity:
//
//	v = D·tau·relExp(-B·tau),  G·t = Vg0·tau + D·tau²·chi(B·tau)
//
// G·t is increasing and convex in tau, so Newton's rule from the right end of
// the bracket comes down on the root; where it crawls, the bracket is halved.
func (m Model) tau(gt float64) float64 {
	d := m.gas * m.drive
	lo, hi := 0.0, gt/m.gas
	if m.b <= 0 {
		hi = math.Min(hi, math.Sqrt(2*gt/d))
	}
	x, step := hi, hi
	for range 200 {
		f := m.gas*x + d*x*x*chi(m.b*x) - gt
		slope := m.gas + d*x*relExp(-m.b*x)
		if f > 0 {
			hi = x
		} else {
			lo = x
		}
		next := x - f/slope
		if !(next >= lo && next <= hi) || math.Abs(next-x) > step/2 {
			next = lo + (hi-lo)/2
		}
		step = math.Abs(next - x)
		if step <= 1e-16*x {
			break
		}
		x = next
	}
	return x
}

// At returns the unit after so many mL have left; what is outside 0 and the
// unit's filling is taken as the nearer end.
func (m Model) At(delivered float64) State {
	v := math.Min(delivered*nanolitres, m.liquid)
	if !(v > 0) {
		v = 0
	}
	out := quantity.Volume(math.Round(v))
	s := State{Delivered: out, Left: quantity.Volume(m.liquid) - out}
	if m.gas > 0 {
		s.Gauge = quantity.Pressure(diffProducts(m.gas, m.gauge, m.outside, v) / (m.gas + v))
		s.Drive = quantity.Pressure(m.force(v) / (m.gas + v))
	}
	return s
}

// diffProducts returns a·b - c·d within 1.5 ulp, so its sign is right (Kahan's
// scheme with the fused multiply-add; Jeannerod, Louvet & Muller 2013).
func diffProducts(a, b, c, d float64) float64 {
	cd := c * d
	err := math.FMA(-c, d, cd)
	return math.FMA(a, b, -cd) + err
}

// small is where the power series below take over. At the border the direct
// forms have lost 2·2^-53/small = 2e-15 to cancellation, and the series' first
// dropped term is below 1e-16.
const small = 0.125

// psi returns (-ln(1-x) - x)/x² for x < 1, given ln = ln(1-x); 1/2 at 0.
func psi(x, ln float64) float64 {
	if math.Abs(x) >= small {
		return (-ln - x) / x / x
	}
	sum := 0.0
	for k := 18; k >= 0; k-- {
		sum = sum*x + 1/float64(k+2)
	}
	return sum
}

// chi returns (exp(-y) - 1 + y)/y²; 1/2 at 0.
func chi(y float64) float64 {
	if math.Abs(y) >= small {
		return (math.Expm1(-y) + y) / y / y
	}
	sum := 0.0
	for k := 10; k >= 0; k-- {
		sum = (1 - y*sum) / float64(k+2)
	}
	return sum
}

// relExp returns (exp(z) - 1)/z; 1 at 0.
func relExp(z float64) float64 {
	if z == 0 {
		return 1
	}
	return math.Expm1(z) / z
}
