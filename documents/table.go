package documents

import (
	"fmt"
	"math"

	"sapwell/engine/why"
)

// table is the readings in order with boxes to tick. It is laid out in as many
// columns as make the type largest.
type table struct {
	rows  []tableRow
	heads []string // what the boxes are for
	short []string // one letter each, where the words do not fit

	widest widest
	head   float64 // of the widest head as it is set, mm
}

// widest are the widths of a table's columns at one point of type, in mm: they
// grow in proportion.
type widest struct{ number, whole, part, unit, raise, brief float64 }

type tableRow struct {
	reading measure
	raise   string // "+2 in up", or in small tables "▲2"
	brief   string
}

// tableLayout is how a table fits a space.
type tableLayout struct {
	cols, rows  int
	size, small float64 // points: reading; number, unit and raise
	rowH, colW  float64
	tick        float64 // side of a box
	number      float64 // widths within a column, mm
	whole, part float64
	unit, raise float64
	wordsFit    bool // the boxes' words fit over them
	brief       bool // the raise is a sign
}

// Bounds of the table's type and rows.
const (
	leastReading = 9.0  // points
	mostReading  = 28.0 // points
	mostStretch  = 25.0 // mm, between reading and boxes
	leastRow     = 4.2  // mm: a box to tick in gloves
	mostRow      = 13.5 // mm
	headRow      = 5.4  // mm, over each column
	tableTitle   = 8    // mm
	numberPad    = 2.0  // mm, either side of the number's rule
	columnGap    = 4.0
	boxGap       = 1.2
	partGap      = 0.08 * mmPerPoint // between whole and fraction, per point of type
)

func (c *composer) table() table {
	t := table{rows: make([]tableRow, len(c.s.Positions))}
	for i, at := range c.s.Positions {
		t.rows[i].reading = tape(at, c.style)
		if i < len(c.s.Raise) && c.s.Raise[i] > 0 {
			up := tape(c.s.Raise[i], c.style)
			t.rows[i].raise = printable(c.Say("sheet.raise", why.T("raise", up.String())))
			t.rows[i].brief = "▲" + up.bare()
		}
	}
	for _, k := range []string{"hole", "seated", "drained", "lifted"} {
		t.heads = append(t.heads, printable(c.Say("sheet.tick."+k)))
		t.short = append(t.short, printable(c.Say("sheet.tick."+k+".short")))
	}
	for _, s := range t.heads {
		t.head = math.Max(t.head, width(s, plain, 9))
	}
	for _, r := range t.rows {
		t.widest.whole = math.Max(t.widest.whole, width(r.reading.Whole, bold, 1))
		t.widest.part = math.Max(t.widest.part, width(r.reading.Part, bold, 1))
		t.widest.raise = math.Max(t.widest.raise, width(r.raise, bold, 1))
		t.widest.brief = math.Max(t.widest.brief, width(r.brief, bold, 1))
		t.widest.unit = math.Max(t.widest.unit, width(r.reading.Unit, plain, 1))
	}
	t.widest.number = width(fmt.Sprint(len(t.rows)), plain, 1)
	return t
}

// lay fits the table into w × h; ok is false when the type would be too small
// to read in the rain.
func (t table) lay(w, h float64) (best tableLayout, ok bool) {
	for cols := 1; cols <= 6; cols++ {
		rows := (len(t.rows) + cols - 1) / cols
		rowH := math.Min(mostRow, (h-tableTitle-headRow)/float64(rows))
		if rowH < leastRow || cols > 1 && (cols-1)*rows >= len(t.rows) {
			continue
		}
		colW := (w - float64(cols-1)*columnGap) / float64(cols)
		for _, brief := range []bool{false, true} {
			if l, fits := t.largest(cols, rows, rowH, colW, brief); fits && l.worth() > best.worth() {
				best, ok = l, true
			}
		}
	}
	return best, ok
}

// largest is the layout with the largest type in a given set of columns.
func (t table) largest(cols, rows int, rowH, colW float64, brief bool) (tableLayout, bool) {
	for size := math.Min(mostReading, math.Floor(rowH*0.8/mmPerPoint)); size >= leastReading; size-- {
		if l := t.measure(cols, rows, size, rowH, colW, brief); l.content() <= colW {
			// Boxes far from their reading are ticked in the wrong row.
			l.colW = math.Min(colW, l.content()+4*(t.pitch(l)-l.tick-boxGap)+mostStretch)
			return l, true
		}
	}
	return tableLayout{}, false
}

// worth ranks layouts: larger type up to what reads well at arm's length, then
// words over the boxes and in the raise rather than signs.
func (l tableLayout) worth() float64 {
	v := math.Min(l.size, 20) + l.size/100
	if l.wordsFit {
		v += 4
	}
	if l.brief {
		v -= 1.5
	}
	return v
}

// measure is the widths of a column at a size.
func (t table) measure(cols, rows int, size, rowH, colW float64, brief bool) tableLayout {
	l := tableLayout{cols: cols, rows: rows, size: size, small: math.Min(13, math.Max(9, math.Round(size*0.58))), rowH: rowH, colW: colW, brief: brief}
	l.tick = math.Min(7.5, rowH-1.2)
	w := t.widest
	l.number = w.number*l.small + 2*numberPad
	l.whole, l.part = w.whole*size, w.part*size+partGap*size
	l.unit = w.unit*l.small + 1
	if l.raise = w.raise * l.small; brief {
		l.raise = w.brief * l.small
	}
	if l.raise > 0 {
		l.raise += 2
	}
	l.wordsFit = true
	l.wordsFit = l.content()+4*(t.pitch(l)-l.tick-boxGap) <= colW
	return l
}

func (r tableRow) up(brief bool) string {
	if brief {
		return r.brief
	}
	return r.raise
}

// content is the width a column takes with boxes side by side.
func (l tableLayout) content() float64 {
	return l.number + l.whole + l.part + l.unit + l.raise + 2 + 4*(l.tick+boxGap)
}

// pitch is the distance of two boxes.
func (t table) pitch(l tableLayout) float64 {
	if !l.wordsFit {
		return l.tick + boxGap
	}
	return math.Max(l.tick+boxGap, t.head+1.6)
}

// drawTable draws the readings between top and bottom; what is left below is
// ruled for notes.
func (c *composer) drawTable(t table, top, bottom float64) {
	l, ok := t.lay(c.inner(), bottom-top-3)
	if !ok {
		// Only with several hundred marks; the ring's picture refuses them first.
		l = t.measure(6, (len(t.rows)+5)/6, leastReading, leastRow, (c.inner()-5*columnGap)/6, true)
	}
	key := "sheet.readings.cw"
	if c.s.Ring.Zero.CounterClockwise {
		key = "sheet.readings.ccw"
	}
	y := c.title(margin, top+3, c.inner(), c.tableTitle(t, l, c.Say(key)))
	for col := range l.cols {
		x := margin + float64(col)*(l.colW+columnGap)
		c.tableHead(t, l, x, y)
		for r := range l.rows {
			if i := col*l.rows + r; i < len(t.rows) {
				c.tableRow(t, l, i, x, y+headRow+float64(r)*l.rowH)
			}
		}
	}
	end := y + headRow + float64(l.rows)*l.rowH
	if x := margin + l.colW + 2*gutter; l.cols == 1 && c.W-margin-x > 40 {
		c.ruling(x, c.W-margin-x, y, end, c.Say("sheet.notes"))
	}
	c.ruling(margin, c.inner(), end+2, bottom, c.Say("sheet.notes"))
}

// tableTitle explains the letters over the boxes when words have no room there.
func (c *composer) tableTitle(t table, l tableLayout, title string) string {
	if l.wordsFit {
		return title
	}
	for i, s := range t.heads {
		sep := " · "
		if i == 0 {
			sep = "   –   "
		}
		title += sep + t.short[i] + " " + s
	}
	return title
}

// boxesAt is the left edge of the first box of a column.
func (t table) boxesAt(l tableLayout, x float64) float64 {
	return x + l.colW - 4*t.pitch(l) + (t.pitch(l)-l.tick)/2
}

func (c *composer) tableHead(t table, l tableLayout, x, y float64) {
	names := t.short
	if l.wordsFit {
		names = t.heads
	}
	for i, s := range names {
		c.putCentre(t.boxesAt(l, x)+float64(i)*t.pitch(l)+l.tick/2, y+3.8, 9, plain, s)
	}
	c.line(heavy, point{x, y + headRow - 0.4}, point{x + l.colW, y + headRow - 0.4})
}

func (c *composer) tableRow(t table, l tableLayout, i int, x, y float64) {
	r := t.rows[i]
	base := y + l.rowH/2 + capHeight*l.size*mmPerPoint/2
	c.putRight(x+l.number-numberPad-0.6, base, l.small, plain, fmt.Sprint(i+1))
	// A rule keeps number and reading apart: 1 | 0 must not read as 10.
	c.line(rule, point{x + l.number - numberPad + 0.6, y}, point{x + l.number - numberPad + 0.6, y + l.rowH})
	at := x + l.number + l.whole
	c.putRight(at, base, l.size, bold, r.reading.Whole)
	at += partGap * l.size
	at += c.put(at, base, l.size, bold, r.reading.Part)
	c.put(at+1, base, l.small, plain, r.reading.Unit)
	c.put(x+l.number+l.whole+l.part+l.unit+2, base, l.small, bold, r.up(l.brief))
	for k := range 4 {
		c.rect(t.boxesAt(l, x)+float64(k)*t.pitch(l), y+(l.rowH-l.tick)/2, l.tick, l.tick, heavy, noFill)
	}
	c.line(rule, point{x, y + l.rowH}, point{x + l.colW, y + l.rowH})
}
