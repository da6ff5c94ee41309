package documents

import (
	"math"
	"strings"
	"unicode/utf8"

	"sapwell/engine/label"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// folio lays out a paper that runs over as many pages as it takes: a head, what
// flows below it, and a foot with the page's number. Nothing that flows is ever cut
// short: a long text takes more lines, and more pages. Only the head and the foot are
// held to their room; what they say stands in the paper too.
type folio struct {
	voice
	paper Paper
	head  heading
	foot  string   // what stands at the foot of every page
	first int      // number of its first page
	size  float64  // of its running text, points
	least float64  // of captions and all that is small, points
	side  []string // the name of the part that is being set, told again on the next page
	ends  float64  // where that name ends there
	pages []*page
	*page
	y float64
}

// heading is the head of a paper.
type heading struct {
	title string
	under []string // lines below it
	right string   // opposite the title, large: a day, a tag
	small []string // lines below that
	short string   // the head of the pages that follow
	least float64  // points: no type is smaller; 0: as captions are
}

// The type of running text and of captions, in points, and the room for the foot.
const (
	bodySize    = 10.0
	captionSize = 9.0
	footHeight  = 5.0 // mm
)

// newFolio begins a paper; the first page is there, with its head.
func newFolio(v voice, paper Paper, h heading, foot string) *folio {
	f := &folio{voice: v, paper: paper, head: h, foot: foot, first: 1, size: bodySize, least: captionSize}
	f.turn()
	if h.least > 0 {
		f.size, f.least = h.least, h.least
	}
	right, half := f.W-margin, f.inner()*0.64
	under := math.Max(11, f.least)
	y := f.putLines(margin, margin+0.5, 20, bold, headLines(h.title, half, 20, bold))
	y += 0.6
	for _, s := range h.under {
		y = f.putLines(margin, y, under, plain, headLines(s, half, under, plain))
	}
	ry := margin + 0.5
	for i, s := range append([]string{h.right}, h.small...) {
		size, face := under, plain
		if i == 0 {
			size, face = 16, bold
		}
		for _, l := range headLines(s, f.inner()-half-4, size, face) {
			f.putRight(right, ry+capHeight*size*mmPerPoint+0.1*size*mmPerPoint, size, face, l)
			ry += leading(size)
		}
	}
	f.y = math.Max(y, ry) + 1
	f.bar(f.y)
	f.y += 2.6
	return f
}

func (f *folio) bar(y float64) {
	f.add(path{Pts: []point{{margin, y}, {f.W - margin, y}}, Pen: 1, Ink: green})
}

// mostHead is how many lines of the head one text takes.
const mostHead = 3

// headLines are the lines of a text in the head; what is too long for it ends in "…".
func headLines(s string, w, size float64, face face) []string {
	lines := fullWrap(s, w, size, face)
	if len(lines) > mostHead {
		rest := strings.Join(lines[mostHead-1:], " ")
		lines = append(lines[:mostHead-1], shorten(rest, w, size, face))
	}
	return lines
}

// flowAt sets lines of text in full below each other.
func (f *folio) flowAt(x, y, w, size float64, face face, texts []string) float64 {
	for _, s := range texts {
		y = f.putLines(x, y, size, face, fullWrap(s, w, size, face))
	}
	return y
}

// turn begins a page.
func (f *folio) turn() {
	f.page = newPage(f.paper)
	f.pages = append(f.pages, f.page)
	f.y = margin
}

// bottom is where what flows must end.
func (f *folio) bottom() float64 { return f.H - margin - footHeight }

// need turns the page when less than h is left, and tells whether it did.
func (f *folio) need(h float64) bool {
	if f.y+h <= f.bottom() {
		return false
	}
	f.turn()
	f.putFit(margin, margin+5, f.inner(), 12, math.Max(9, f.least), bold, f.head.short)
	f.bar(margin + 7)
	f.y = margin + 9.6
	f.ends = f.putLines(margin, f.y, f.size, bold, f.side)
	return true
}

// whole keeps what set lays out on one page, where it goes on one: it is tried on a
// page of its own first.
func (f *folio) whole(set func(*folio)) {
	trial := *f
	trial.page, trial.pages, trial.y = newPage(f.paper), nil, margin
	if set(&trial); len(trial.pages) == 0 {
		f.need(trial.y - margin)
	}
	set(f)
}

// done numbers the pages, from first on, and returns them.
func (f *folio) done() []*page {
	const room = 13.0 // for the count of all pages
	for i, p := range f.pages {
		base := p.H - margin
		size := math.Max(footSize, f.least)
		p.putFit(margin, base, p.inner()-55, size, f.least, plain, f.foot)
		at := p.W - margin - room
		p.putRight(at, base, size, plain, f.Say("paper.page", why.T("n", f.first+i)))
		p.Total = &total{point{at + 1.2, base}, size}
	}
	return f.pages
}

// statement sets a hazard or precaution statement: the words, its code small behind.
func (f *folio) statement(s label.Statement) {
	const in = 6.0
	w := f.inner() - in
	lines := fullWrap(s.Text, w, f.size, plain)
	code := printable(s.Code)
	if len(lines) > 0 && code != "" && width(lines[len(lines)-1], plain, f.size)+3+width(code, plain, f.least) > w {
		lines = append(lines, "")
	}
	for i, l := range lines {
		f.need(leading(f.size))
		base := f.y + capHeight*f.size*mmPerPoint + 0.1*f.size*mmPerPoint
		if i == 0 {
			f.put(margin, base, f.size, bold, "•")
		}
		x := margin + in + f.put(margin+in, base, f.size, plain, l)
		if i == len(lines)-1 {
			f.put(x+2, base, f.least, plain, code)
		}
		f.y += leading(f.size)
	}
	f.y += 0.9
}

// section begins a part with a green rule and a title; least is how much must fit
// under it on the same page.
func (f *folio) section(key string, least float64) {
	size := math.Max(bodySize, math.Max(f.size, f.least))
	lines := fullWrap(f.Say(key), f.inner(), size, bold)
	f.need(float64(len(lines))*leading(size) + 4 + least)
	f.add(path{Pts: []point{{margin, f.y + 1}, {f.W - margin, f.y + 1}}, Pen: 0.7, Ink: green})
	f.y = f.putLines(margin, f.y+2.4, size, bold, lines) + 1
}

// say sets a text of the catalogue.
func (f *folio) say(key string, terms ...why.Term) { f.para(f.Say(key, terms...), plain) }

// para sets a text over the full width.
func (f *folio) para(s string, face face) { f.block(margin, f.inner(), f.size, face, s) }

// block sets a text, paragraph by paragraph, line by line over the page's end.
func (f *folio) block(x, w, size float64, face face, s string) {
	for _, part := range strings.Split(s, "\n") {
		for _, l := range fullWrap(part, w, size, face) {
			f.need(leading(size))
			f.y = f.putLines(x, f.y, size, face, []string{l})
		}
	}
	f.y += 0.9
}

// bullet sets a text behind a mark.
func (f *folio) bullet(mark, s string) {
	const in = 6.0
	f.need(leading(f.size))
	f.put(margin, f.y+capHeight*f.size*mmPerPoint+0.1*f.size*mmPerPoint, f.size, bold, mark)
	f.block(margin+in, f.inner()-in, f.size, plain, s)
}

// framed sets a text in a heavy frame, whole on one page.
func (f *folio) framed(size float64, face face, texts ...string) {
	const pad = 3.0
	size = math.Max(size, f.least)
	var lines []string
	for _, s := range texts {
		lines = append(lines, fullWrap(s, f.inner()-2*pad, size, face)...)
	}
	high := float64(len(lines))*leading(size) + 2*pad - 2
	if high > f.bottom()-margin-12 { // longer than a page: without the frame
		for _, s := range texts {
			f.block(margin, f.inner(), size, face, s)
		}
		return
	}
	f.need(high + 1.5)
	f.rect(margin, f.y, f.inner(), high, heavy, noFill)
	f.putLines(margin+pad, f.y+pad-0.6, size, face, lines)
	f.y += high + 2
}

// hands draws boxes to write in, side by side and of the same width.
func (f *folio) hands(keys ...string) {
	f.need(handsHeight + 2)
	for i, key := range keys {
		f.hand(float64(i)/float64(len(keys)), 1/float64(len(keys)), f.y, f.Say(key), "")
	}
	f.y += handsHeight + 2
}

// small sets sentences that only explain, under a line.
func (f *folio) small(texts ...string) {
	f.need(2*leading(f.least) + 3)
	f.line(rule, point{margin, f.y + 0.6}, point{f.W - margin, f.y + 0.6})
	f.y += 1.8
	f.block(margin, f.inner(), f.least, plain, strings.Join(texts, " "))
}

// fullWrap breaks s into lines at most w wide and loses nothing of it: a word that is
// too long for a line is broken where the line ends.
func fullWrap(s string, w, size float64, f face) []string {
	var lines []string
	line := ""
	words := strings.Fields(printable(s))
	for i := 0; i < len(words); i++ {
		word := words[i]
		if i+1 < len(words) && clings(word, words[i+1]) && width(word+" "+words[i+1], f, size) <= w {
			i++
			word += " " + words[i]
		}
		switch {
		case line == "" && width(word, f, size) <= w:
			line = word
		case line != "" && width(line+" "+word, f, size) <= w:
			line += " " + word
		default:
			if line != "" {
				lines = append(lines, line)
			}
			for line = word; width(line, f, size) > w; {
				n := fits(line, w, f, size)
				lines, line = append(lines, line[:n]), line[n:]
			}
		}
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

// clings tells that a word is the unit of the figure before it, or the offset of the
// time before it: no line ends between them.
func clings(figure, word string) bool {
	if last, _ := utf8.DecodeLastRuneInString(figure); !strings.ContainsRune("0123456789½¼¾⅛⅜⅝⅞", last) {
		return false
	}
	switch strings.TrimRight(word, ".,;:)”»") {
	case "mm", "cm", "m", "mL", "in", "ft", "g/L", "°C", "°F", "h", "min", "%", "psi", "kPa", "USD":
		return true
	}
	offset := strings.TrimLeft(word, "+−")
	return len(offset) < len(word) && strings.Contains(offset, ":")
}

// fits is how many bytes of s, at least one letter, go into w.
func fits(s string, w float64, f face, size float64) int {
	m, sum := f.metrics(), 0
	for i, r := range s {
		if sum += int(m.of(r)); i > 0 && float64(sum)/m.perEm*size*mmPerPoint > w {
			return i
		}
	}
	return len(s)
}

// dayOr is a day, or that nobody wrote it down.
func (v voice) dayOr(d quantity.Date) string {
	if d.IsZero() {
		return v.Say("paper.not_recorded")
	}
	return day(d)
}

// or is s, or that nobody wrote it down.
func (v voice) or(s string) string {
	if strings.TrimSpace(s) == "" {
		return v.Say("paper.not_recorded")
	}
	return s
}
