package bole

import (
	"slices"

	"sapwell/engine/quantity"
)

// Dead tells whether no living cambium is left along an arc of this kind. A
// crack, a girdling root or a defect of another sort keeps holes away but does
// not make the girth dead.
func (k ArcKind) Dead() bool {
	switch k {
	case DeadCambium, Canker, Cavity:
		return true
	}
	return false
}

// LiveGirth is the girth less the union of the dead arcs: arcs that overlap
// count once, arcs that wrap through the zero count on both sides of it. An arc
// with From = To counts as empty (Check asks what was meant); one from 0 to the
// girth is the whole ring. A ring without girth has no live girth.
func (r Ring) LiveGirth() quantity.Length {
	girth := r.Girth.Around
	if girth <= 0 {
		return 0
	}
	var dead []span
	for _, a := range r.Arcs {
		if a.Kind.Dead() {
			dead = append(dead, a.spans(girth)...)
		}
	}
	return girth - covered(dead)
}

// span is a stretch of the cut-open ring, from < to.
type span struct{ from, to quantity.Length }

// spans cuts an arc at the zero. Positions off the ring are taken round it, so
// that turning the zero changes nothing; Check reports them.
func (a Arc) spans(girth quantity.Length) []span {
	if a.From == a.To {
		return nil
	}
	from, to := onRing(a.From, girth), onRing(a.To, girth)
	switch {
	case from < to:
		return []span{{from, to}}
	case to == 0:
		return []span{{from, girth}}
	default: // wraps; from = to is the whole ring, since From and To differ
		return []span{{from, girth}, {0, to}}
	}
}

// onRing brings a position into 0 ≤ p < girth.
func onRing(p, girth quantity.Length) quantity.Length {
	return ((p % girth) + girth) % girth
}

// covered is the length of the union of spans.
func covered(spans []span) (total quantity.Length) {
	slices.SortFunc(spans, func(a, b span) int { return int(min(max(a.from-b.from, -1), 1)) })
	var end quantity.Length
	for _, s := range spans {
		total += max(0, s.to-max(end, s.from))
		end = max(end, s.to)
	}
	return total
}

// Spread is what several bark readings say together.
type Spread struct {
	Low, Mean, High quantity.Length
	Readings        int
}

// BarkSpread sums up bark readings; ok is false when there is none. The mean is
// to the nearest nanometre.
func BarkSpread(readings []BarkReading) (s Spread, ok bool) {
	n := quantity.Length(len(readings))
	if n == 0 {
		return Spread{}, false
	}
	s = Spread{Low: readings[0].Thickness, High: readings[0].Thickness, Readings: len(readings)}
	var sum quantity.Length
	for _, r := range readings {
		s.Low, s.High = min(s.Low, r.Thickness), max(s.High, r.Thickness)
		sum += r.Thickness
	}
	s.Mean = (2*sum + n) / (2 * n)
	return s, true
}
