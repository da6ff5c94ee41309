package documents

import (
	"fmt"
	"io"
	"math"
	"strings"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/words"
)

// Sign is a sign to post where trees were treated. Its measures are the least that the
// place asks; the sign that is printed is never smaller, nor is any letter on it.
type Sign struct {
	Width, Height, Letters quantity.Length
	AboveGround            quantity.Length // its lower edge, at least; 0: not asked
	Hours                  int             // so long nobody enters, and nobody takes it down
	Posted, Until          string          // moments as somebody noted them; empty: to be written in
	Firm, Phone            string
	Fictional              bool
}

// PostingSign writes one sign to scale, to be cut out along its frame. All letters are
// capitals, so that each is as high as the height of letters asks.
func PostingSign(w io.Writer, s Sign, p *words.Printer, paper Paper) error {
	v := voice{p, p.Lang, p.Style}
	pages, err := signPages(s, v, paper)
	if err != nil {
		return fmt.Errorf("posting sign: %w", err)
	}
	return printPages(w, pages, paper, v.Say("paper.sign.title"), v.lang, quantity.Date{})
}

func (s Sign) check() error {
	for _, m := range []struct {
		name string
		l    quantity.Length
	}{{"width", s.Width}, {"height", s.Height}, {"letters", s.Letters}} {
		if m.l <= 0 {
			return fmt.Errorf("%s: %d nm: want more than 0", m.name, m.l)
		}
	}
	if s.Hours < 1 {
		return fmt.Errorf("hours: %d: want at least 1", s.Hours)
	}
	return nil
}

// Room of a sign, mm: inside its frame, and below it for how to print and post it.
const (
	signPad  = 6.0
	signNote = 38.0
	signStep = 2.0 // by which it grows until its words fit
)

// signPages lays the sign out: as large as asked, or larger where its words need it.
func signPages(s Sign, v voice, paper Paper) ([]*page, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	p := newPage(paper)
	size := letterSize(mm(s.Letters))
	texts := signTexts(s, v)
	w, h := mm(s.Width), mm(s.Height)
	for shape := h / w; w <= p.inner() && h <= p.H-2*margin-signNote; {
		if rows, ok := signRows(texts, size, w-2*signPad, h-2*signPad); ok {
			drawSign(p, rows, w, h)
			f := &folio{voice: v, paper: paper, size: 11, least: captionSize, pages: []*page{p}, page: p, y: margin + h + 3}
			f.signHelp(s, w, h)
			return f.pages, nil
		}
		// It grows in its shape, and when the paper is no wider, downwards.
		h += signStep * shape
		if w+signStep <= p.inner() {
			w += signStep
		}
	}
	return nil, fmt.Errorf("a sign of %s × %s with letters of %s and these words does not go on the paper %q: want shorter names, smaller letters or a smaller sign",
		s.Width.Text(v.style), s.Height.Text(v.style), s.Letters.Text(v.style), paper)
}

// mm is a length in millimetres.
func mm(l quantity.Length) float64 { return float64(l) / float64(quantity.Millimetre) }

// letterSize is the type whose capitals are so high, in points, rounded up to a tenth.
func letterSize(high float64) float64 { return math.Ceil(high/capHeight/mmPerPoint*10) / 10 }

// signText is one statement of a sign, and how much larger it may be than the rest.
type signText struct {
	s      string
	larger float64
}

func signTexts(s Sign, v voice) []signText {
	texts := []signText{
		{v.Say("paper.sign.what"), 1}, {v.Say("paper.sign.off"), 2},
		{v.Say("paper.sign.hours", why.T("n", s.Hours)), 1},
	}
	for _, m := range []struct{ key, moment string }{{"paper.sign.posted", s.Posted}, {"paper.sign.until", s.Until}} {
		if strings.TrimSpace(m.moment) == "" {
			m.moment = "____________"
		}
		texts = append(texts, signText{v.Say(m.key, why.T("at", m.moment)), 1})
	}
	texts = append(texts, signText{v.or(s.Firm), 1}, signText{v.or(s.Phone), 1})
	if s.Fictional {
		texts = append(texts, signText{v.Say("paper.sign.fictional"), 1})
	}
	for i := range texts {
		texts[i].s = strings.ToUpper(texts[i].s)
	}
	return texts
}

// signRow is a line of a sign.
type signRow struct {
	s    string
	size float64
	drop float64 // of its line from the top of the room, mm
}

// rowGap is the room between the letters of two lines, in parts of their height: marks
// on capitals need some.
const rowGap = 0.4

// signRows breaks the texts to the width; false where they are higher than the room.
// What is left over goes between them.
func signRows(texts []signText, size, w, h float64) ([]signRow, bool) {
	var rows []signRow
	y := 0.0
	for _, t := range texts {
		at := size
		for k := t.larger; k > 1; k -= 0.1 {
			if width(printable(t.s), bold, size*k) <= w {
				at = math.Floor(size*k*10) / 10
				break
			}
		}
		for _, l := range evenWrap(t.s, w, at, bold) {
			high := capHeight * at * mmPerPoint
			y += high
			rows = append(rows, signRow{l, at, y})
			y += high * rowGap
			if strings.HasSuffix(l, "_") {
				y += high * rowGap // a line to write on lies low
			}
		}
	}
	spare := h - y
	if spare < 0 {
		return nil, false
	}
	for i := range rows {
		rows[i].drop += spare * (float64(i) + 0.5) / float64(len(rows))
	}
	return rows, true
}

// evenWrap breaks a text into as few lines as go, none much longer than the others: a
// last line of one word is read as something else.
func evenWrap(s string, w, size float64, f face) []string {
	best := fullWrap(s, w, size, f)
	for narrow := w - 2; narrow > w/2; narrow -= 2 {
		lines := fullWrap(s, narrow, size, f)
		if len(lines) > len(best) {
			break
		}
		best = lines
	}
	return best
}

// drawSign draws the sign in the upper middle of the page, its frame inside the edge.
func drawSign(p *page, rows []signRow, w, h float64) {
	const frame = 1.6
	x := (p.W - w) / 2
	p.add(path{Pts: []point{{x, margin}, {x + w, margin}, {x + w, margin + h}, {x, margin + h}}, Closed: true, Pen: fine, Dash: true})
	p.rect(x+frame, margin+frame, w-2*frame, h-2*frame, frame, noFill)
	for _, r := range rows {
		p.putCentre(p.W/2, margin+signPad+r.drop, r.size, bold, r.s)
	}
}

// signHelp says below the sign how it is printed, measured and posted.
func (f *folio) signHelp(s Sign, w, h float64) {
	of := func(l float64) quantity.Length { return quantity.Length(math.Round(l * float64(quantity.Millimetre))) }
	f.say("paper.sign.print", why.T("width", drill(of(w), f.style).String()), why.T("height", drill(of(h), f.style).String()))
	f.scale()
	f.say("paper.sign.asked", why.T("width", f.atLeast(s.Width)), why.T("height", f.atLeast(s.Height)), why.T("letters", f.atLeast(s.Letters)))
	if s.AboveGround > 0 {
		f.say("paper.sign.above", why.T("height", f.atLeast(s.AboveGround)))
	}
	f.small(f.Say("paper.sign.advice"))
}

// exact is a measure that a rule names: not rounded to what a tape shows.
func (v voice) exact(l quantity.Length) string {
	if v.style.System == quantity.Imperial {
		return inches(l, 64).String()
	}
	return decimal(mm(l), 2, v.style) + " mm"
}

// atLeast is a measure that a rule asks: in whole millimetres, never less, and
// in inches, as the rules known here have it.
func (v voice) atLeast(l quantity.Length) string {
	if v.style.System == quantity.Imperial {
		return inches(l, 64).String()
	}
	whole := (l + quantity.Millimetre - 1) / quantity.Millimetre
	return fmt.Sprintf("%d mm (%s)", whole, inches(l, 64))
}

// scale draws a line of known length, to see whether the printer kept the size.
func (f *folio) scale() {
	long := 100.0
	if f.style.System == quantity.Imperial {
		long = 4 * 25.4
	}
	const tick = 1.6
	y := f.y + 2
	f.line(rule, point{margin, y}, point{margin + long, y})
	for _, x := range []float64{margin, margin + long} {
		f.line(rule, point{x, y - tick}, point{x, y + tick})
	}
	text := f.Say("paper.sign.scale", why.T("long", f.exact(quantity.Length(math.Round(long*10))*quantity.Millimetre/10)))
	f.put(margin+long+3, y+1.2, f.least, plain, text)
	f.y = y + 4
}
