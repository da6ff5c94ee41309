package documents

import (
	"bytes"
	"math"
)

// painter turns the things drawn on a page into the operators of ISO 32000-1. Its
// measures are points from the lower left corner; a page's are millimetres from the
// upper left.
type painter struct {
	b      *bytes.Buffer
	height float64 // of the page, mm
	fonts  *[2]fontUse
}

func (w painter) page(p *page) {
	w.op("1 j") // round joins
	paths, discs := 0, 0
	for _, isDisc := range p.order {
		if isDisc {
			w.disc(p.Discs[discs])
			discs++
		} else {
			w.path(p.Paths[paths])
			paths++
		}
	}
	w.texts(p.Texts)
	if t := p.Total; t != nil {
		w.op("q")
		w.nums(t.Size/footSize, 0, 0, t.Size/footSize)
		w.at(t.At)
		w.op("cm /N Do Q")
	}
}

func (w painter) op(s string) { w.b.WriteString(s + "\n") }

// nums writes numbers with a blank behind each.
func (w painter) nums(vs ...float64) {
	b := w.b.AvailableBuffer()
	for _, v := range vs {
		b = append(appendNumber(b, v, 3), ' ')
	}
	w.b.Write(b)
}

// at writes a place on the page.
func (w painter) at(p point) { w.nums(p.X/mmPerPoint, (w.height-p.Y)/mmPerPoint) }

func rgb(t tone) (r, g, b float64) {
	switch t {
	case green:
		return 0, 84.0 / 255, 62.0 / 255
	case white:
		return 1, 1, 1
	}
	return 0, 0, 0
}

// style sets pen and fill and returns the operator that ends the outline: stroke,
// fill, or both.
func (w painter) style(pen float64, ink, fill tone) string {
	r, g, b := rgb(ink)
	w.nums(r, g, b)
	w.op("RG")
	if fill != noFill {
		r, g, b = rgb(fill)
		w.nums(r, g, b)
		w.op("rg")
	}
	w.nums(pen / mmPerPoint)
	w.op("w")
	switch {
	case fill == noFill:
		return "S"
	case pen == 0:
		return "f"
	}
	return "B"
}

func (w painter) path(q path) {
	op := w.style(q.Pen, q.Ink, q.Fill)
	if q.Dash {
		w.b.WriteByte('[')
		w.nums(1.2/mmPerPoint, 1/mmPerPoint)
		w.op("] 0 d")
	}
	w.at(q.Pts[0])
	w.op("m")
	for _, pt := range q.Pts[1:] {
		w.at(pt)
		w.op("l")
	}
	if q.Closed {
		w.op("h")
	}
	w.op(op)
	if q.Dash {
		w.op("[] 0 d")
	}
}

// quarter is how far the handles of a Bézier curve lie from its ends, in parts of
// the radius, for a quarter of a circle.
var quarter = 4.0 / 3 * (math.Sqrt2 - 1)

func (w painter) disc(d disc) {
	op := w.style(d.Pen, black, d.Fill)
	x, y, r, k := d.At.X, d.At.Y, d.R, d.R*quarter
	w.at(point{x + r, y})
	w.op("m")
	for _, c := range [4][3]point{
		{{x + r, y + k}, {x + k, y + r}, {x, y + r}},
		{{x - k, y + r}, {x - r, y + k}, {x - r, y}},
		{{x - r, y - k}, {x - k, y - r}, {x, y - r}},
		{{x + k, y - r}, {x + r, y - k}, {x + r, y}},
	} {
		for _, pt := range c {
			w.at(pt)
		}
		w.op("c")
	}
	w.op("h " + op)
}

// slant is the lean of slanted letters in degrees, that of DejaVu Sans Oblique.
const slant = 11

// texts sets all runs of a page; font and ink are named where they change.
func (w painter) texts(ts []text) {
	if len(ts) == 0 {
		return
	}
	w.op("BT")
	tone, font, size := noFill, -1, 0.0
	for _, t := range ts {
		if t.Tone != tone {
			r, g, b := rgb(t.Tone)
			w.nums(r, g, b)
			w.op("rg")
			tone = t.Tone
		}
		if f := t.Face.font(); f != font || t.Size != size {
			font, size = f, t.Size
			w.b.WriteString([2]string{"/F0 ", "/F1 "}[f])
			w.nums(size)
			w.op("Tf")
		}
		lean := 0.0
		if t.Face == slanted {
			lean = math.Tan(slant * math.Pi / 180)
		}
		w.nums(1, 0, lean, 1)
		w.at(t.At)
		w.b.WriteString("Tm<")
		w.fonts[font].hex(w.b, t.S)
		w.op(">Tj")
	}
	w.op("ET")
}

// font is the file of a face: 0 or 1.
func (f face) font() int {
	if f == bold {
		return 1
	}
	return 0
}
