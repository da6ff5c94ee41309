package documents

import (
	"fmt"
	"math"
	"strings"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// The middle of the mark sheet: the trunk from above on the left, dose and drill
// on the right, the legend of the trunk below it.

// blockHeight is the height that the picture at a size and the columns beside
// and below it take.
func (c *composer) blockHeight(size float64) float64 {
	if h, known := c.blocks[size]; known {
		return h
	}
	measured := *c
	measured.page = newPage(c.paper)
	c.blocks[size] = measured.block(0, size)
	return c.blocks[size]
}

// block draws the middle with its top at y and returns where it ends. The legend
// goes below the drill where the picture leaves room there, else under both.
func (c *composer) block(y, size float64) float64 {
	x := margin + size + gutter
	w := c.W - margin - x
	beside := c.drill(x, c.dose(x, y, w)+2.4, w)
	letters := obstacleLetters(c.s.Blocked)
	end := c.trunk(y, size, letters)
	lines := c.legendLines(letters)
	if beside+3+float64(len(lines))*legendRow <= end && legendFits(lines, w-legendText) {
		c.legend(x, beside+3, w, 1, lines)
		return end
	}
	cols := 4
	for cols > 1 && !legendFits(lines, c.inner()/float64(cols)-legendText) {
		cols--
	}
	return c.legend(margin, max(end, beside)+1, c.inner(), cols, lines)
}

// trunk draws the ring with a side of size mm, the zero's name above it.
func (c *composer) trunk(y, size float64, letters []string) float64 {
	top := y + 6.6
	k := circle{
		Centre: point{margin + size/2, top + size/2},
		Girth:  c.s.Ring.Girth.Around,
		Mirror: c.s.Ring.Zero.CounterClockwise,
	}
	k.R = ringRadius(size, len(c.s.Positions))
	zero := c.Say("sheet.zero.plain")
	if face := c.s.Ring.Zero.Face; face != "" {
		zero = c.Say("sheet.zero", why.T("face", face))
	}
	c.centreFit(k.Centre.X, y+4.4, size, 13, 9, bold, zero)
	k.draw(c.page, c.s, letters)
	k.drawZero(c.page, top-0.8)
	c.insideRing(k)
	return top + size
}

func (p *page) centreFit(x, y, w, size, least float64, f face, s string) {
	s = printable(s)
	size = fitSize(s, w, size, least, f)
	p.putCentre(x, y, size, f, shorten(s, w, size, f))
}

// insideRing writes girth and height into the middle of the picture.
func (c *composer) insideRing(k circle) {
	x, y := k.Centre.X, k.Centre.Y
	line := func(dy, size, least float64, f face, s string) {
		half := math.Sqrt(math.Pow(k.R-ringDepth-6, 2) - dy*dy) // of the chord
		c.centreFit(x, y+dy, 2*half-1, size, least, f, s)
	}
	line(-7.6, 11, 9, plain, c.Say("sheet.girth"))
	line(3, 24, 10, bold, c.tapeText(c.s.Ring.Girth.Around))
	if h := c.s.Ring.Girth.Height; h > 0 {
		line(8.6, 11, 9, plain, c.Say("sheet.height", why.T("height", c.tapeText(h))))
		line(12.8, 11, 9, plain, c.Say("sheet.above"))
	}
}

// obstacleLetters gives each forbidden stretch that is not an old hole a letter.
func obstacleLetters(bs []Arc) []string {
	letters := make([]string, len(bs))
	next := 0
	for i, b := range bs {
		if b.Kind != "wound" && next < 26 {
			letters[i] = string(rune('a' + next))
			next++
		}
	}
	return letters
}

// legendLine is one sign and what it means.
type legendLine struct {
	kind string // of hatch, or "hole", "fissure", "raised"
	text string
}

// legendLines names what occurs on this ring, and nothing else.
func (c *composer) legendLines(letters []string) []legendLine {
	var lines []legendLine
	wounds := false
	for i, b := range c.s.Blocked {
		if b.Kind == "wound" {
			wounds = true
			continue
		}
		where := strings.TrimSpace(fmt.Sprintf("%s %s–%s", c.Say("kind."+b.Kind), tape(b.From, c.style).bare(), tape(b.To, c.style)))
		if letters[i] != "" {
			where = letters[i] + "  " + where
		}
		lines = append(lines, legendLine{b.Kind, where})
	}
	if n := len(c.s.Ring.Wounds); n > 0 {
		lines = append(lines, legendLine{"hole", c.Say("kind.hole", why.T("n", n))})
	}
	if wounds {
		lines = append(lines, legendLine{"wound", c.Say("kind.wound")})
	}
	if len(c.s.Ring.Fissures) > 0 {
		lines = append(lines, legendLine{"fissure", c.Say("kind.fissure")})
	}
	for _, r := range c.s.Raise {
		if r > 0 {
			return append(lines, legendLine{"raised", c.Say("kind.raised")})
		}
	}
	return lines
}

// bare is the measure without its unit.
func (m measure) bare() string { return strings.TrimSuffix(m.String(), " "+m.Unit) }

// A row of the legend, and what the sign takes of its width, in mm.
const (
	legendRow  = 4.7
	legendText = 11.0
)

// legendFits tells whether every line can be set in full: a reading that is cut
// short is worse than none.
func legendFits(lines []legendLine, w float64) bool {
	for _, l := range lines {
		if width(printable(l.text), plain, 9) > w {
			return false
		}
	}
	return true
}

// legend sets the signs in columns and returns where it ends.
func (c *composer) legend(x, y, w float64, cols int, lines []legendLine) float64 {
	col := w / float64(cols)
	rows := (len(lines) + cols - 1) / cols
	for i, l := range lines {
		lx, ly := x+float64(i/rows)*col, y+float64(i%rows)*legendRow
		c.swatch(l.kind, lx, ly)
		c.putFit(lx+9.5, ly+3.3, col-legendText, 10, 9, plain, l.text)
	}
	return y + float64(rows)*legendRow
}

func (c *composer) swatch(kind string, x, y float64) {
	const w, h = 8.0, 4.0
	mid := point{x + w/2, y + h/2}
	switch kind {
	case "hole":
		c.disc(mid, 1.2, rule, white)
		c.disc(mid, 0.3, 0, black)
	case "fissure":
		c.line(rule, point{mid.X - 1, y + 0.8}, point{mid.X, y + 3.2}, point{mid.X + 1, y + 0.8})
	case "raised":
		c.area(0.3, black, point{mid.X, y + 0.5}, point{mid.X - 1.9, y + 3.5}, point{mid.X + 1.9, y + 3.5})
	default:
		hatch(c.page, kind, w, h, func(s, t float64) point { return point{x + s, y + t} })
		c.rect(x, y, w, h, rule, noFill)
	}
}

// dose sets count, millilitres and lots.
func (c *composer) dose(x, y, w float64) float64 {
	y = c.heading(x, y, w, c.Say("sheet.dose"))
	count := fmt.Sprint(c.s.Units)
	used := c.put(x, y+13, 46, bold, count)
	bx, bw := x+used+4, w-used-4
	c.putFit(bx, y+3.9, bw, 14, 10, bold, c.Say("sheet.units", why.T("n", c.s.Units)))
	if mixed := c.fills(); mixed != "" {
		c.putFit(bx, y+9, bw, 13, 9, bold, mixed)
	} else if c.s.PerUnit > 0 {
		c.putFit(bx, y+9, bw, 13, 9, plain, c.Say("sheet.each", why.T("volume", millilitres(c.s.PerUnit, c.style))))
	}
	if c.s.Total > 0 {
		c.putFit(bx, y+14, bw, 13, 9, plain, c.Say("sheet.total", why.T("volume", millilitres(c.s.Total, c.style))))
	}
	y += 16
	if lots := c.lots(); lots != "" {
		y = c.putWrapped(x, y, w, 11, bold, lots)
	}
	if c.fills() != "" {
		y = c.putWrapped(x, y+0.6, w, 10, plain, c.Say("sheet.fills.alternate"))
	}
	return c.putWrapped(x, y+0.6, w, 10, plain, c.s.Near)
}

// fills counts the units of each size; empty where all are alike.
func (c *composer) fills() string {
	if len(c.s.Fills) < 2 {
		return ""
	}
	var parts []string
	for _, f := range c.s.Fills {
		parts = append(parts, fmt.Sprintf("%d × %s", f.Units, millilitres(f.Size, c.style)))
	}
	return strings.Join(parts, " + ")
}

func (c *composer) lots() string {
	var parts []string
	for _, l := range c.s.Lots {
		parts = append(parts, c.Say("sheet.lot", why.T("lot", l.Lot), why.T("n", l.Units)))
	}
	if c.s.NoLot > 0 {
		parts = append(parts, c.Say("sheet.no_lot", why.T("n", c.s.NoLot)))
	}
	return strings.Join(parts, "  ·  ")
}

// drill sets bit and stop beside the hole seen from the side.
func (c *composer) drill(x, y, w float64) float64 {
	y = c.title(x, y, w, c.Say("sheet.drill"))
	const high = 34.5
	left := w * 0.5
	if c.s.Stop > 0 && !c.s.BarkMeasured { // a table's bark may be out by more than the label's depth
		c.putFit(x, y+3.4, left, 10, 9, bold, c.Say("sheet.stop.preset"))
	} else {
		c.putFit(x, y+3.4, left, 10, 9, plain, c.Say("sheet.stop"))
	}
	c.putFit(x, y+14, left, 34, 18, bold, c.stop())
	c.putFit(x, y+21, left, 14, 9, bold, c.Say("sheet.bit", why.T("bit", bitSize(c.s.Bit, c.style))))
	c.putFit(x, y+27, left, 14, 9, bold, c.angle())
	if c.s.WoodDepth > 0 {
		c.putFit(x, y+32.4, left, 12, 9, plain, c.Say("sheet.wood", why.T("depth", drill(c.s.WoodDepth, c.style).String())))
	}
	drawSide(c.page, side{
		X: x + left + 1, Y: y + 0.5, W: w - left - 1, H: high - 1.5,
		Stop: c.drawnStop(), Wood: c.s.WoodDepth, Angle: c.s.Angle,
		StopText: c.stop(), WoodText: c.woodText(),
		BarkName: c.Say("sheet.side.bark"), WoodName: c.Say("sheet.side.wood"),
	})
	y = c.putWrapped(x, y+high+0.6, w, 10, plain, c.bark())
	return c.putWrapped(x, y+0.4, w, 10, bold, c.probe())
}

// stop is the figure to set, or the word that only the probe can tell.
func (c *composer) stop() string {
	if c.s.Stop == 0 {
		return c.Say("sheet.stop.probe")
	}
	return drill(c.s.Stop, c.style).String()
}

// drawnStop is the stop that the drawing shows: one of those a probe may give
// where none is known.
func (c *composer) drawnStop() quantity.Length {
	switch {
	case c.s.Stop > 0:
		return c.s.Stop
	case len(c.s.Probe) > 0:
		return c.s.Probe[len(c.s.Probe)/2].Stop
	}
	return 8 * c.s.Bit
}

// probe pairs what the bark probe shows with the stop to set.
func (c *composer) probe() string {
	var pairs []string
	for _, p := range c.s.Probe {
		pairs = append(pairs, drill(p.Bark, c.style).bare()+" → "+drill(p.Stop, c.style).bare())
	}
	if len(pairs) == 0 {
		return ""
	}
	return c.Say("sheet.probe", why.T("pairs", strings.Join(pairs, "  ·  ")), why.T("unit", drill(c.s.Bit, c.style).Unit))
}

func (c *composer) angle() string {
	return c.Say("sheet.angle", why.T("angle", decimal(c.s.Angle.Degrees(), 0, c.style)))
}

func (c *composer) woodText() string {
	if c.s.WoodDepth <= 0 {
		return ""
	}
	return drill(c.s.WoodDepth, c.style).String()
}

// bark says whether the bark was probed and what its doubt makes of the stop.
func (c *composer) bark() string {
	text := c.Say("sheet.bark.model")
	switch {
	case c.s.BarkMeasured:
		text = c.Say("sheet.bark.measured")
	case c.s.Stop == 0:
		return c.Say("sheet.bark.unknown")
	}
	low, high := drill(c.s.StopLow, c.style).String(), drill(c.s.StopHigh, c.style).String()
	if c.s.StopLow > 0 && low != high {
		text += " " + c.Say("sheet.bark.range", why.T("low", low), why.T("high", high))
	}
	return text
}
