package documents

import (
	"math"
	"strconv"

	"sapwell/engine/bole"
	"sapwell/engine/quantity"
)

// The trunk from above. A tape reading s on a ring of girth g lies at the angle
// 2π·s/g from the zero at the top of the picture, the way the tape runs.

// circle is the ring on the page.
type circle struct {
	Centre point
	R      float64 // of the bark line, mm
	Girth  quantity.Length
	Mirror bool // the tape runs counter-clockwise seen from above
}

// turn is the angle of a reading from the zero in the running direction, radians.
func (c circle) turn(at quantity.Length) float64 {
	return 2 * math.Pi * float64(at) / float64(c.Girth)
}

// spot is the place at an angle in the running direction and a radius.
func (c circle) spot(angle, r float64) point {
	if c.Mirror {
		angle = -angle
	}
	return point{c.Centre.X + r*math.Sin(angle), c.Centre.Y - r*math.Cos(angle)}
}

// arc is the line at radius r from one angle on to another.
func (c circle) arc(from, to, r float64) []point {
	n := max(2, int(math.Abs(to-from)/(math.Pi/90))+1)
	pts := make([]point, n+1)
	for i := range pts {
		pts[i] = c.spot(from+(to-from)*float64(i)/float64(n), r)
	}
	return pts
}

// ringMark is one mark of the ring with its number.
type ringMark struct {
	N      int
	Angle  float64 // of the hole
	At     point   // on the bark line
	Label  text    // empty where only every few marks are numbered
	Leader [2]point
	Raised bool
}

// ringDepth is how far inward the band of the forbidden stretches reaches, and
// zeroGap how much of the label circle stays free either side of the zero's
// sign, both in mm.
const (
	ringDepth = 4.6
	zeroGap   = 6.0
)

// numberSizes are the sizes tried for the numbers of the marks, in points; the
// last is the least anyone reads at arm's length in the rain.
var numberSizes = []float64{15, 14, 13, 12, 11, 10, 9}

// layRing places the marks and their numbers. Numbers stand on a circle outside
// the ring as near their marks as they can without touching each other or the
// zero's sign; a leader joins each to its mark. Where there is no room for all,
// every second, fifth or tenth is numbered.
func layRing(c circle, at, raise []quantity.Length) []ringMark {
	size, every := numbering(c, len(at))
	pad, r := numberRoom(c, len(at), size)
	var want []float64
	marks := make([]ringMark, len(at))
	for i, l := range at {
		a := c.turn(l)
		marks[i] = ringMark{N: i + 1, Angle: a, At: c.spot(a, c.R), Raised: i < len(raise) && raise[i] > 0}
		if numbered(i, every) {
			want = append(want, a)
		}
	}
	got := spread(want, pad/r, zeroGap/r, 2*math.Pi-zeroGap/r)
	for i := range marks {
		if numbered(i, every) {
			marks[i].number(c, got[0], r, size)
			got = got[1:]
		}
	}
	return marks
}

// numbered tells whether mark i (from 0) carries its number.
func numbered(i, every int) bool { return i == 0 || (i+1)%every == 0 }

// number sets the label of m at the angle and the leader to it.
func (m *ringMark) number(c circle, angle, r, size float64) {
	s := strconv.Itoa(m.N)
	em := size * mmPerPoint
	mid := c.spot(angle, r)
	w := width(s, bold, size)
	m.Label = text{point{mid.X - w/2, mid.Y + capHeight*em/2}, s, bold, size, black}
	m.Leader = [2]point{c.spot(m.Angle, c.R+2), c.spot(angle, r-numberDiagonal(s, size)/2-0.2)}
}

// numberDiagonal is the diagonal of the digits' box: two labels whose middles
// are so far apart do not touch whatever their direction.
func numberDiagonal(s string, size float64) float64 {
	return math.Hypot(width(s, bold, size), capHeight*size*mmPerPoint)
}

// numberRoom is the distance kept between the middles of two numbers, and the
// radius of the circle they stand on.
func numberRoom(c circle, n int, size float64) (pad, r float64) {
	d := numberDiagonal(widestNumber(n), size)
	return d + 0.5, c.R + 3.4 + d/2
}

// widestNumber has as many digits as n; the typeface sets all digits alike.
func widestNumber(n int) string { return strconv.Itoa(n) }

// numbering picks the largest size at which every mark has its number with a
// tenth of the circle to spare, else the smallest size and every few.
func numbering(c circle, n int) (size float64, every int) {
	for _, size := range numberSizes {
		if pad, r := numberRoom(c, n, size); float64(n)*pad < 0.9*(2*math.Pi*r-2*zeroGap) {
			return size, 1
		}
	}
	size = numberSizes[len(numberSizes)-1]
	pad, r := numberRoom(c, n, size)
	for _, every := range []int{1, 2, 5, 10, 20} {
		if float64(n/every+1)*pad <= 2*math.Pi*r-2*zeroGap {
			return size, every
		}
	}
	return size, 50
}

// ringRadius is the largest ring whose numbers stay within a square of a side.
// Larger numbers need a smaller ring, which may have no room for them: the first
// size that suits its own ring is taken.
func ringRadius(side float64, n int) float64 {
	r := 0.0
	for _, size := range numberSizes {
		_, out := numberRoom(circle{}, n, size)
		r = side/2 - out - width(widestNumber(n), bold, size)/2 - 0.2
		if got, _ := numbering(circle{R: r}, n); got <= size {
			break
		}
	}
	return r
}

// spread moves ascending angles as little as possible (least squares) so that
// neighbours are at least gap apart and all lie within low..high: isotonic
// regression by pooling of aᵢ − i·gap, then clamped, which keeps it optimal.
// The caller sees to it that they fit.
func spread(want []float64, gap, low, high float64) []float64 {
	type pool struct{ sum, n float64 }
	var pools []pool
	for i, a := range want {
		pools = append(pools, pool{a - float64(i)*gap, 1})
		for k := len(pools) - 1; k > 0 && pools[k-1].sum*pools[k].n >= pools[k].sum*pools[k-1].n; k-- {
			pools[k-1].sum += pools[k].sum
			pools[k-1].n += pools[k].n
			pools = pools[:k]
		}
	}
	top := high - float64(len(want)-1)*gap
	got := make([]float64, 0, len(want))
	for _, p := range pools {
		for range int(p.n) {
			got = append(got, math.Max(low, math.Min(top, p.sum/p.n))+float64(len(got))*gap)
		}
	}
	return got
}

// stretch is an arc of the ring from one angle on to another, radians in the
// running direction; to exceeds from even where it wraps.
func (c circle) stretch(from, to quantity.Length) (a, b float64) {
	a, b = c.turn(from), c.turn(to)
	if to < from {
		b += 2 * math.Pi
	}
	return a, b
}

// draw paints the ring: forbidden stretches first, the bark line over them, and
// the marks on top.
func (c circle) draw(p *page, s Sheet, letters []string) {
	for i, b := range s.Blocked {
		c.drawBlocked(p, b, letters[i])
	}
	p.disc(c.Centre, c.R, 0.9, noFill)
	for _, a := range s.Ring.Arcs {
		from, to := c.stretch(a.From, a.To)
		p.line(1.8, c.arc(from, to, c.R)...)
	}
	for _, f := range s.Ring.Fissures {
		c.drawFissure(p, c.turn(f))
	}
	for _, w := range s.Ring.Wounds {
		c.drawWound(p, w)
	}
	for _, m := range layRing(c, s.Positions, s.Raise) {
		c.drawMark(p, m, len(s.Positions))
	}
}

func (c circle) drawBlocked(p *page, b Arc, letter string) {
	from, to := c.stretch(b.From, b.To)
	length := (to - from) * (c.R - ringDepth/2)
	at := func(s, t float64) point { return c.spot(from+s/(c.R-ringDepth/2), c.R-t) }
	hatch(p, b.Kind, length, ringDepth, at)
	p.line(rule, c.arc(from, to, c.R-ringDepth)...)
	for _, end := range []float64{from, to} {
		p.line(rule, c.spot(end, c.R), c.spot(end, c.R-ringDepth))
	}
	if letter != "" {
		mid := c.spot((from+to)/2, c.R-ringDepth-3.2)
		p.putCentre(mid.X, mid.Y+1.4, 11, bold, letter)
	}
}

func (c circle) drawFissure(p *page, a float64) {
	d := 0.9 / c.R
	p.line(rule, c.spot(a-d, c.R+0.2), c.spot(a, c.R-2.2), c.spot(a+d, c.R+0.2))
}

// drawWound draws an old hole as wide as it was measured, never less than 2 mm
// on paper so that it is seen.
func (c circle) drawWound(p *page, w bole.Wound) {
	a := c.turn(w.At)
	p.disc(c.spot(a, c.R), math.Max(1, c.turn(w.Width)*c.R/2), rule, white)
	p.disc(c.spot(a, c.R), 0.3, 0, black)
}

func (c circle) drawMark(p *page, m ringMark, n int) {
	r := 1.7
	if n > 30 {
		r = 1.2
	}
	if m.Raised {
		p.area(0.3, black, c.spot(m.Angle, c.R+1.5*r), c.spot(m.Angle-1.3*r/c.R, c.R-r), c.spot(m.Angle+1.3*r/c.R, c.R-r))
	} else {
		p.disc(m.At, r, 0, black)
	}
	if m.Label.S != "" {
		p.line(fine, m.Leader[0], m.Leader[1])
		p.Texts = append(p.Texts, m.Label)
	}
}

// drawZero draws the sign of the zero above the ring and the arrow of the
// running direction inside it.
func (c circle) drawZero(p *page, top float64) {
	tip := point{c.Centre.X, c.Centre.Y - c.R - 1}
	p.area(0, green, tip, point{tip.X - 2.1, top}, point{tip.X + 2.1, top})
	r := c.R - ringDepth - 8.5
	const end = 0.75
	p.line(1, c.arc(0.06, end, r)...)
	p.area(0, black, c.spot(end+4.2/r, r), c.spot(end-0.4/r, r+2), c.spot(end-0.4/r, r-2))
	p.line(1, c.spot(0.06, r-1.6), c.spot(0.06, r+1.6))
}
