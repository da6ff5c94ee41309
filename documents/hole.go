package documents

import (
	"math"

	"sapwell/engine/quantity"
)

// side is the hole drawn from the side, to scale in the wood: the bark outside,
// the bore going down into the wood, the stop collar on the bit.
type side struct {
	X, Y, W, H float64         // room on the page, mm
	Stop       quantity.Length // along the bit
	Wood       quantity.Length // depth into wood along the radius
	Angle      quantity.Angle  // below the radius
	StopText   string
	WoodText   string
	BarkName   string
	WoodName   string
}

// drawSide draws the hole. Bark thickness is what the stop leaves beyond the
// wood: stop·cos(angle) − wood, both lying on the same radius.
func drawSide(p *page, d side) {
	sin, cos := math.Sin(float64(d.Angle)), math.Cos(float64(d.Angle))
	deep := float64(d.Stop) * cos
	scale := math.Min(0.32*d.W/deep, 0.5*d.H/math.Max(float64(d.Stop)*sin, 1))
	bark := math.Max(0.8, scale*math.Max(0, deep-float64(d.Wood)))
	mouth := point{d.X + 0.34*d.W, d.Y + 0.36*d.H}
	reach := scale * float64(d.Stop)
	end := point{mouth.X + reach*cos, mouth.Y + reach*sin}
	drawBark(p, mouth.X, d.Y, bark, d.H)
	drawBit(p, mouth, sin, cos, reach)
	d.name(p, mouth, end, bark)
}

func drawBark(p *page, x, y, bark, h float64) {
	slants(p, h, bark, 2.2, 0, fine, func(s, t float64) point { return point{x + t, y + s} })
	p.line(heavy, point{x, y}, point{x, y + h})
	p.line(rule, point{x + bark, y}, point{x + bark, y + h})
}

// drawBit draws bore, shank and collar along the direction (cos, sin).
func drawBit(p *page, mouth point, sin, cos, reach float64) {
	on := func(along, across float64) point {
		return point{mouth.X + along*cos - across*sin, mouth.Y + along*sin + across*cos}
	}
	const half = 1.0 // half the bit, drawn thicker than it is
	p.area(rule, white, on(-1.2, -half), on(reach-1, -half), on(reach, 0), on(reach-1, half), on(-1.2, half))
	p.area(0, black, on(-3.6, -2.6), on(-0.9, -2.6), on(-0.9, 2.6), on(-3.6, 2.6))
	p.area(rule, white, on(-10, -half), on(-3.6, -half), on(-3.6, half), on(-10, half))
	for _, a := range []float64{0, reach} {
		p.line(fine, on(a, -half-0.6), on(a, -4.2))
	}
	p.line(rule, on(0, -3.6), on(reach, -3.6))
}

func (d side) name(p *page, mouth, end point, bark float64) {
	p.add(path{Pts: []point{mouth, {d.X + d.W, mouth.Y}}, Pen: fine, Dash: true})
	sin, cos := math.Sin(float64(d.Angle)), math.Cos(float64(d.Angle))
	mid := point{(mouth.X+end.X)/2 + 4.4*sin, (mouth.Y+end.Y)/2 - 4.4*cos}
	d.put(p, mid.X+0.6, math.Max(mid.Y, mouth.Y+4.8), 11, d.StopText)
	y := math.Min(end.Y+5, d.Y+d.H-5)
	p.line(fine, point{mouth.X + bark, y}, point{end.X, y})
	for _, x := range []float64{mouth.X + bark, end.X} {
		p.line(rule, point{x, y - 1}, point{x, y + 1})
	}
	p.line(fine, end, point{end.X, y})
	d.put(p, end.X+1, y+1.3, 10, d.WoodText)
	p.putRight(mouth.X-1, d.Y+d.H-0.6, 9, plain, d.BarkName)
	p.put(mouth.X+bark+1.5, d.Y+3, 9, plain, d.WoodName)
}

// put sets a measure at x, moved left as far as the room asks.
func (d side) put(p *page, x, y, size float64, s string) {
	p.put(math.Min(x, d.X+d.W-width(s, bold, size)), y, size, bold, s)
}
