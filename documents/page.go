package documents

import (
	"math"
	"strings"
)

// A page is laid out first, as a list of things to draw in millimetres from the
// upper left corner, and painted afterwards. So layout can be tested without a
// PDF: nothing overlaps, nothing leaves the paper, every letter has a glyph.

// point is a place on the page.
type point struct{ X, Y float64 }

// text is one run of letters on a baseline.
type text struct {
	At   point
	S    string
	Face face
	Size float64 // points
	Tone tone
}

// path is a line or an outline. Pen 0 draws no line.
type path struct {
	Pts    []point
	Closed bool
	Pen    float64 // millimetres
	Fill   tone    // none unless Closed
	Ink    tone
	Dash   bool
}

// disc is a circle.
type disc struct {
	At   point
	R    float64
	Pen  float64
	Fill tone
}

// tone is an ink. The sheet is black on white, with one dark green for rules
// and titles that copies as black.
type tone int

const (
	noFill tone = iota
	black
	green
	white
)

// page collects what is drawn. Zero tone of text and line means black.
type page struct {
	W, H  float64
	Texts []text
	Paths []path
	Discs []disc
	// order is the sequence in which paths and discs were added, so that white
	// covers what it should. Texts lie on top.
	order []bool // true: next disc, false: next path
	// Total is where the count of all pages stands, which is known only when the
	// last is painted; nil: nowhere.
	Total *total
}

// total is a place for the count of pages, and the size of its type in points.
type total struct {
	At   point
	Size float64
}

// Ruling: heavy where hands write in gloves, light for what is only read.
const (
	fine  = 0.2
	rule  = 0.35
	heavy = 0.6
)

const margin = 10.0

// footSize is the type of what stands at the foot of a page, points.
const footSize = 9.5

func newPage(p Paper) *page {
	if p == Letter {
		return &page{W: 215.9, H: 279.4}
	}
	return &page{W: 210, H: 297}
}

// inner is the width between the margins.
func (p *page) inner() float64 { return p.W - 2*margin }

func (p *page) put(x, y, size float64, f face, s string) float64 {
	s = printable(s)
	if s == "" {
		return 0
	}
	p.Texts = append(p.Texts, text{point{x, y}, s, f, size, black})
	return width(s, f, size)
}

func (p *page) putRight(x, y, size float64, f face, s string) {
	p.put(x-width(printable(s), f, size), y, size, f, s)
}

func (p *page) putCentre(x, y, size float64, f face, s string) {
	p.put(x-width(printable(s), f, size)/2, y, size, f, s)
}

// putFit sets s within w: smaller if need be down to least, then shortened. It
// returns the size used.
func (p *page) putFit(x, y, w, size, least float64, f face, s string) float64 {
	s = printable(s)
	size = fitSize(s, w, size, least, f)
	p.put(x, y, size, f, shorten(s, w, size, f))
	return size
}

// fitSize is the largest size from size down to least at which s is at most w wide.
func fitSize(s string, w, size, least float64, f face) float64 {
	if have := width(s, f, size); have > w {
		size = math.Max(least, math.Floor(2*size*w/have)/2)
	}
	return size
}

// shorten cuts the middle out of s until it fits w. The last letters stay: the
// end of a tag or a lot number is what tells it from its neighbours.
func shorten(s string, w, size float64, f face) string {
	if width(s, f, size) <= w {
		return s
	}
	r := []rune(s)
	tail := min(4, len(r)/3)
	for head := len(r) - tail - 1; head >= 0; head-- {
		cut := strings.TrimRight(string(r[:head]), " ") + "…" + string(r[len(r)-tail:])
		if width(cut, f, size) <= w {
			return cut
		}
	}
	return ""
}

// wrap breaks s into lines at most w wide; a word that is too long is cut.
func wrap(s string, w, size float64, f face) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(printable(s)) {
		word = shorten(word, w, size, f)
		switch {
		case line == "":
			line = word
		case width(line+" "+word, f, size) <= w:
			line += " " + word
		default:
			lines = append(lines, line)
			line = word
		}
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

// leading is the distance of baselines in millimetres.
func leading(size float64) float64 { return 1.22 * size * mmPerPoint }

// putLines sets lines below each other, the first with its top at y, and
// returns where the next would have its top.
func (p *page) putLines(x, y, size float64, f face, lines []string) float64 {
	for _, l := range lines {
		p.put(x, y+capHeight*size*mmPerPoint+0.1*size*mmPerPoint, size, f, l)
		y += leading(size)
	}
	return y
}

func (p *page) putWrapped(x, y, w, size float64, f face, s string) float64 {
	return p.putLines(x, y, size, f, wrap(s, w, size, f))
}

func (p *page) add(q path) {
	p.Paths = append(p.Paths, q)
	p.order = append(p.order, false)
}

func (p *page) line(pen float64, pts ...point) { p.add(path{Pts: pts, Pen: pen}) }

func (p *page) area(pen float64, fill tone, pts ...point) {
	p.add(path{Pts: pts, Pen: pen, Fill: fill, Closed: true})
}

func (p *page) rect(x, y, w, h, pen float64, fill tone) {
	p.area(pen, fill, point{x, y}, point{x + w, y}, point{x + w, y + h}, point{x, y + h})
}

func (p *page) disc(at point, r, pen float64, fill tone) {
	p.Discs = append(p.Discs, disc{at, r, pen, fill})
	p.order = append(p.order, true)
}

// title sets a section title with a green rule above it and returns the top of
// what follows.
func (p *page) title(x, y, w float64, s string) float64 {
	p.add(path{Pts: []point{{x, y}, {x + w, y}}, Pen: 0.7, Ink: green})
	return p.heading(x, y, w, s)
}

// heading is a title without the rule.
func (p *page) heading(x, y, w float64, s string) float64 {
	p.putFit(x, y+4.6, w, 10, 9, bold, s)
	return y + 7
}

// ruling fills free space with lines to write on, under a caption.
func (p *page) ruling(x, w, top, bottom float64, caption string) {
	const step = 9.0
	if bottom-top < step+2 {
		return
	}
	p.put(x, top+4, 9.5, plain, caption)
	for y := top + step; y <= bottom; y += step {
		p.line(rule, point{x, y}, point{x + w, y})
	}
}

// handsHeight is the height of a box to write in with gloves, mm.
const handsHeight = 15.0

// hand draws a box to write in, at a share of the width and so wide, with its
// caption and what is printed in it already.
func (p *page) hand(at, share, y float64, caption, lead string) {
	const gap = 1.5
	x, w := margin+(p.inner()+gap)*at, (p.inner()+gap)*share-gap
	p.rect(x, y, w, handsHeight, heavy, noFill)
	p.putFit(x+1.2, y+3.9, w-2.4, 9.5, 9, plain, caption)
	p.put(x+2, y+handsHeight-2.6, 20, bold, lead)
}
