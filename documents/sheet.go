package documents

import (
	"strconv"
	"strings"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// sheetPages lays out one stem: the mark sheet, or the page that says why there
// is none.
func sheetPages(s Sheet, v voice, paper Paper) ([]*page, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	modules, err := qrModules(s.Tag)
	if err != nil {
		return nil, err
	}
	c := composer{voice: v, s: s, paper: paper, qr: modules, blocks: map[float64]float64{}}
	if why.Blocks(s.Findings) {
		return c.stopPages(), nil
	}
	return c.markPages(), nil
}

// composer lays out the pages of one stem.
type composer struct {
	voice
	s     Sheet
	paper Paper
	qr    [][]bool
	*page

	noteSize float64             // points of the cautions
	blocks   map[float64]float64 // height of the middle by the trunk's size
}

// Sizes of the trunk's picture and the gap between columns, in mm.
const (
	leastRing = 74.0
	mostRing  = 104.0
	gutter    = 5.0
)

// markPages is the mark sheet: head, trunk from above beside the dose and the
// drill, readings, boxes to write in, cautions.
func (c *composer) markPages() []*page {
	c.page = newPage(c.paper)
	top := c.ask(c.head())
	t := c.table()
	f := c.plan(top, t, c.notes())
	y := c.block(top, f.ring)
	if f.table {
		c.drawTable(t, y, f.hands-1.5)
	}
	c.putLines(margin, f.hands, forecastSize, plain, c.forecast())
	c.hands(f.foot - handsHeight - 2)
	c.drawNotes(f.now, f.foot)
	if f.table && len(f.rest) == 0 {
		return []*page{c.page}
	}
	more := "sheet.more"
	if !f.table {
		more = "sheet.more.readings"
	}
	c.putRight(c.W-margin, c.H-margin+4.6, 11, bold, c.Say(more))
	first := c.page
	return append([]*page{first}, c.second(t, !f.table, f.rest)...)
}

// fit is how one stem goes on its first page.
type fit struct {
	ring      float64 // side of the trunk's picture
	table     bool    // the readings are on it
	now, rest []note  // cautions on it, and those left over
	hands     float64 // top of the forecast and the boxes to write in
	foot      float64 // top of the cautions
}

// plan shares the page out. The readings are what the crew works from, so the
// trunk and then the type of the cautions give way to them. Then what only
// informs moves to a second page; then the readings, in large type. Cautions
// leave the first page last.
func (c *composer) plan(top float64, t table, notes []note) fit {
	for _, try := range []struct{ note, reading float64 }{{9.5, 15}, {9.5, 12}, {9, 11}, {9, leastReading}} {
		c.noteSize = try.note
		if f := c.share(notes, len(notes)); c.ringFor(&f, top, t, try.reading) {
			return f
		}
	}
	if n := len(notes) - len(c.found(why.Note)); n < len(notes) {
		if f := c.share(notes, n); c.ringFor(&f, top, t, leastReading) {
			return f
		}
	}
	n := len(notes)
	for ; ; n-- {
		f := c.share(notes, n)
		for f.ring = mostRing; f.ring >= leastRing; f.ring -= 2 {
			if n == 1 || c.blockHeight(f.ring) <= f.hands-top-2 {
				return f
			}
		}
	}
}

// share puts the first n notes at the foot and the boxes above them.
func (c *composer) share(notes []note, n int) fit {
	f := fit{now: notes[:n], rest: notes[n:]}
	f.foot = c.H - margin - notesHeight(c.noteSize, f.now, c.inner())
	f.hands = f.foot - handsHeight - 3 - float64(len(c.forecast()))*leading(forecastSize)
	return f
}

// ringFor sets the largest picture of the trunk that leaves the readings at
// least so large, in points; false when none does.
func (c *composer) ringFor(f *fit, top float64, t table, reading float64) bool {
	for f.ring = mostRing; f.ring >= leastRing; f.ring -= 2 {
		if l, ok := t.lay(c.inner(), f.hands-1.5-top-c.blockHeight(f.ring)-3); ok && l.size >= reading {
			f.table = true
			return true
		}
	}
	return false
}

// second carries what did not fit: all readings if they had no room, and the
// notes left over, on as many pages as they need.
func (c *composer) second(t table, readings bool, rest []note) []*page {
	var pages []*page
	for readings || len(rest) > 0 {
		c.page = newPage(c.paper)
		pages = append(pages, c.page)
		y, end := c.smallHead(), c.H-margin
		n := len(rest)
		for n > 1 && notesHeight(c.noteSize, rest[:n], c.inner()) > (end-y)*0.6 {
			n--
		}
		foot := end - notesHeight(c.noteSize, rest[:n], c.inner())
		if !readings {
			foot = y
		}
		c.drawNotes(rest[:n], foot)
		rest = rest[n:]
		if readings {
			c.drawTable(t, y-3, foot-2)
			readings = false
		}
	}
	return pages
}

// head sets the tag, the place, the tree, the product and the code, and returns
// where the rest begins.
func (c *composer) head() float64 {
	const side, high = 22.5, 26.0 // the code keeps four modules of white round it
	y, right := margin, c.W-margin
	drawQR(c.page, c.qr, right-side, y, side)
	w := (right - side - 5 - margin) * 0.56
	tag := c.s.Tag
	if c.s.Stem != "" {
		stem := c.Say("sheet.stem", why.T("stem", c.s.Stem))
		sw := width(printable(stem), bold, 15) + 3
		size := c.putFit(margin, y+9.4, w-sw, 32, 15, bold, tag)
		used := width(shorten(printable(tag), w-sw, size, bold), bold, size)
		c.put(margin+used+3, y+9.4, 15, bold, stem)
	} else {
		c.putFit(margin, y+9.4, w, 32, 15, bold, tag)
	}
	c.putFit(margin, y+16, w, 13, 9, slanted, c.s.Scientific)
	c.putFit(margin, y+21, w, 11, 9, plain, c.s.Common)
	c.putFit(margin, y+25.6, w, 11, 9, plain, c.s.Site)
	c.headRight(margin+w+4, right-side-4-(margin+w+4))
	c.add(path{Pts: []point{{margin, y + high + 1.6}, {right, y + high + 1.6}}, Pen: 1, Ink: green})
	return y + high + 3.4
}

// ask sets a framed line under the head where a question of this tree must be settled
// before anyone drills: its text stands with the cautions, far below the marks.
func (c *composer) ask(y float64) float64 {
	n := len(c.found(why.Ask))
	if n == 0 {
		return y
	}
	const high = 7.6
	c.rect(margin, y+0.6, c.inner(), high, 1.2, noFill)
	c.putFit(margin+4, y+6, c.inner()-8, 14, 9, bold, c.Say("sheet.ask", why.T("n", n)))
	return y + high + 2.6
}

func (c *composer) headRight(x, w float64) {
	y := margin
	if c.s.Date.IsZero() {
		lw := c.put(x, y+4.6, 10, plain, c.Say("sheet.date"))
		c.line(heavy, point{x + lw + 2, y + 5.2}, point{x + w, y + 5.2})
	} else {
		c.putFit(x, y+5, w, 15, 9, bold, day(c.s.Date))
	}
	c.putFit(x, y+11.2, w, 13, 9, bold, c.s.Product)
	c.putFit(x, y+16, w, 10, 9, plain, c.s.Active)
	if c.s.LabelVersion != "" {
		c.putFit(x, y+20.6, w, 10, 9, plain, c.Say("sheet.label", why.T("version", c.s.LabelVersion)))
	}
	if c.s.Fictional {
		s := shorten(printable(c.Say("sheet.fictional")), w-3, 10, bold)
		c.rect(x, y+21.8, width(s, bold, 10)+3, 4.8, rule, noFill)
		c.put(x+1.5, y+25.2, 10, bold, s)
	}
}

// smallHead is the head of a page that continues a sheet.
func (c *composer) smallHead() float64 {
	w := c.inner() - 60
	c.putFit(margin, margin+7, w, 22, 12, bold, c.s.Tag)
	c.putRight(c.W-margin, margin+7, 12, plain, c.Say("sheet.continued"))
	y := margin + 10.0
	if !why.Blocks(c.s.Findings) {
		c.putFit(margin, y+3, c.inner(), 12, 9, bold, strings.Join([]string{
			c.Say("sheet.stop") + ": " + c.stop(),
			c.Say("sheet.bit", why.T("bit", bitSize(c.s.Bit, c.style))), c.angle(),
		}, "  ·  "))
		y += 5.4
	}
	return y + 3 // what follows brings its own rule
}

const forecastSize = 10.5 // points

// forecast is the spread of draining times, or that there is none, and the
// pressure left on the way, in lines.
func (c *composer) forecast() []string {
	text := c.Say("sheet.drain.none")
	if c.s.P50 > 0 && c.s.P90 > 0 {
		key := "sheet.drain.spread"
		if c.s.ForecastN == 0 {
			key = "sheet.drain.ranked"
		}
		text = c.Say(key, why.T("half", span(c.s.P50)), why.T("most", span(c.s.P90)), why.T("n", c.s.ForecastN))
	}
	lines := wrap(text, c.inner(), forecastSize, plain)
	if g := c.s.Gauge; g != nil {
		text := c.Say("sheet.gauge", why.T("full", g.Full), why.T("half", g.Half), why.T("empty", g.Empty))
		lines = append(lines, wrap(text, c.inner(), forecastSize, plain)...)
	}
	return lines
}

// hands draws the boxes to write in: start, last lifted, the count back, the
// seal of the bag, who.
func (c *composer) hands(y float64) {
	at := 0.0
	for _, b := range []struct {
		key   string
		share float64
		lead  string
	}{
		{"sheet.start", 0.16, ""}, {"sheet.lifted_last", 0.18, ""},
		{"sheet.back", 0.27, strconv.Itoa(c.s.Units) + " ="}, {"sheet.seal", 0.21, ""}, {"sheet.initials", 0.18, ""},
	} {
		c.hand(at, b.share, y, c.Say(b.key), b.lead)
		at += b.share
	}
}

// tapeText is a reading as one string.
func (c *composer) tapeText(l quantity.Length) string { return tape(l, c.style).String() }
