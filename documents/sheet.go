package documents

import (
	"strconv"

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
	c := composer{voice: v, s: s, paper: paper, qr: modules}
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
}

// Room that a page always needs for what hands write, in mm.
const (
	handsHeight = 16.0
	leastRing   = 78.0
	mostRing    = 104.0
	gutter      = 5.0
)

// markPages is the mark sheet: head, trunk from above beside the dose and the
// drill, readings, boxes to write in, cautions. The table of readings is what
// the crew works from, so the trunk gives way to it when there are many marks.
func (c *composer) markPages() []*page {
	c.page = newPage(c.paper)
	top := c.head()
	notes := c.notes()
	left, rest := c.fitNotes(notes, c.H*0.27)
	foot := c.H - margin - notesHeight(left, c.inner())
	forecast := wrap(c.forecast(), c.inner(), 10.5, plain)
	hands := foot - handsHeight - 3 - float64(len(forecast))*leading(10.5)
	t := c.table()
	ring, ok := c.ringSize(t, hands-top)
	y := c.block(top, ring)
	if ok {
		c.drawTable(t, y, hands-1.5)
	}
	c.putLines(margin, hands, 10.5, plain, forecast)
	c.hands(foot - handsHeight - 2)
	c.drawNotes(left, foot)
	if ok && len(rest) == 0 {
		return []*page{c.page}
	}
	c.putRight(c.W-margin, c.H-margin+4.4, 10, bold, c.Say("sheet.more"))
	first := c.page
	return append([]*page{first}, c.second(t, !ok, rest)...)
}

// second carries what did not fit: all readings if they had no room, and the
// notes left over, on as many pages as they need.
func (c *composer) second(t table, readings bool, rest []note) []*page {
	var pages []*page
	for readings || len(rest) > 0 {
		c.page = newPage(c.paper)
		y := c.smallHead()
		room := c.H - margin - y
		if readings {
			c.drawTable(t, y, c.H-margin)
			readings = false
			pages = append(pages, c.page)
			continue
		}
		var now []note
		now, rest = c.fitNotes(rest, room)
		c.drawNotes(now, y)
		pages = append(pages, c.page)
	}
	return pages
}

// ringSize picks the largest picture of the trunk that leaves the table rows
// tall enough for wet gloves, else the smallest; ok is false when even then the
// readings do not fit.
func (c *composer) ringSize(t table, room float64) (size float64, ok bool) {
	const comfortable = 13 // points
	for size = mostRing; size >= leastRing; size -= 2 {
		if l, fits := t.lay(c.inner(), room-c.blockHeight(size)-3); fits && l.size >= comfortable {
			return size, true
		}
	}
	for _, size = range []float64{96, leastRing} {
		if _, ok = t.lay(c.inner(), room-c.blockHeight(size)-3); ok {
			return size, true
		}
	}
	return mostRing, false
}

// head sets the tag, the place, the tree, the product and the code, and returns
// where the rest begins.
func (c *composer) head() float64 {
	const side, high = 24.0, 26.0
	y, right := margin, c.W-margin
	drawQR(c.page, c.qr, right-side, y, side)
	w := (right - side - 5 - margin) * 0.56
	tag := c.s.Tag
	if c.s.Stem != "" {
		stem := c.Say("sheet.stem", why.T("stem", c.s.Stem))
		sw := c.put(0, 0, 0, plain, "") + width(printable(stem), bold, 15) + 3
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
	c.add(path{Pts: []point{{margin, margin + 10}, {c.W - margin, margin + 10}}, Pen: 1, Ink: green})
	return margin + 12
}

// forecast is the spread of draining times in one line, or that there is none.
func (c *composer) forecast() string {
	if c.s.P50 == 0 || c.s.P90 == 0 {
		return c.Say("sheet.drain.none")
	}
	key := "sheet.drain.spread"
	if c.s.ForecastN == 0 {
		key = "sheet.drain.ranked"
	}
	return c.Say(key, why.T("half", span(c.s.P50)), why.T("most", span(c.s.P90)), why.T("n", c.s.ForecastN))
}

// hands draws the boxes to write in, with heavy lines: start, last lifted, the
// count back, the seal of the bag, who.
func (c *composer) hands(y float64) {
	x, w := margin, c.inner()
	out := strconv.Itoa(c.s.Units)
	for _, b := range []struct {
		key   string
		share float64
		lead  string
	}{
		{"sheet.start", 0.16, ""}, {"sheet.lifted_last", 0.17, ""}, {"sheet.back", 0.27, out + " ="},
		{"sheet.seal", 0.22, ""}, {"sheet.initials", 0.18, ""},
	} {
		bw := w*b.share - 1.5
		c.rect(x, y, bw, handsHeight, heavy, noFill)
		c.putFit(x+1.2, y+3.9, bw-2.4, 9.5, 8.5, plain, c.Say(b.key))
		c.put(x+2, y+handsHeight-2.6, 20, bold, b.lead)
		x += w * b.share
	}
}

// tapeText is a reading as one string.
func (c *composer) tapeText(l quantity.Length) string { return tape(l, c.style).String() }
