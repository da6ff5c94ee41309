package documents

import (
	"bytes"
	"fmt"
	"os/exec"
	"testing"

	"sapwell/engine/quantity"
	"sapwell/internal/outside"
)

// picture is a page as poppler's pdftoppm draws it, in grey.
type picture struct {
	w, h int
	ink  []byte
}

func (p picture) black(x, y int) bool { return p.ink[y*p.w+x] < 128 }

// dpi is how many dots of the picture are an inch.
const dpi = 300

func draw(t *testing.T, pdf []byte) picture {
	t.Helper()
	out, err := exec.Command(outside.Tool(t, "pdftoppm"), "-r", fmt.Sprint(dpi), "-gray", "-singlefile", onDisk(t, pdf)).Output()
	if err != nil {
		t.Fatal(err)
	}
	var p picture
	var most int
	if n, err := fmt.Sscanf(string(out), "P5\n%d %d\n%d\n", &p.w, &p.h, &most); n != 3 {
		t.Fatalf("not a PGM: %v", err)
	}
	p.ink = out[len(out)-p.w*p.h:]
	return p
}

// frame is the outermost rectangle of ink: the dashed line to cut along.
func (p picture) frame() (left, top, right, bottom int) {
	left, top = p.w, p.h
	for y := range p.h / 2 { // its upper corners
		for x := range p.w {
			if p.black(x, y) {
				left, right, top = min(left, x), max(right, x), min(top, y)
			}
		}
	}
	// Down the heavy frame, which is never broken, 2 mm inside.
	x := left + 2*dpi*10/254
	for bottom = top + dpi/5; p.black(x, bottom); bottom++ {
	}
	return left, top, right, bottom
}

// rows are the heights of the lines of letters inside a frame.
func (p picture) rows(left, top, right, bottom int) []int {
	var heights []int
	start := 0
	inset := dpi / 5 // past the frame
	for y := top + inset; y < bottom-inset; y++ {
		inked := false
		for x := left + inset; x < right-inset && !inked; x++ {
			inked = p.black(x, y)
		}
		switch {
		case inked && start == 0:
			start = y
		case !inked && start > 0:
			heights, start = append(heights, y-start), 0
		}
	}
	return heights
}

// Measured on the page as it is drawn: the sign is at least 4 × 5 in, and no line of
// letters is lower than 3/8 in (N.Y. ECL 33-1003 asks for both).
func TestSignIsAsLargeAsAsked(t *testing.T) {
	for _, lang := range []string{"en", "es"} {
		for _, paper := range []Paper{A4, Letter} {
			for _, long := range []bool{false, true} {
				s := sampleSign()
				s.Posted, s.Until = "2026-05-12", "2026-05-13" // nothing on it but capitals, figures and strokes
				if long {
					s.Width, s.Height, s.Letters, s.Firm, s.Fictional = 6*quantity.Inch, 6*quantity.Inch, quantity.Inch/2, "Example Sons", false
				}
				var b bytes.Buffer
				if err := PostingSign(&b, s, printer(t, lang), paper); err != nil {
					t.Fatal(err)
				}
				p := draw(t, b.Bytes())
				left, top, right, bottom := p.frame()
				inches := func(px int) float64 { return float64(px) / dpi }
				asked := func(l quantity.Length) float64 { return float64(l) / float64(quantity.Inch) }
				if w, h := inches(right-left), inches(bottom-top); w < asked(s.Width) || h < asked(s.Height) {
					t.Errorf("%s/%s: the sign is %.2f × %.2f in, %.2f × %.2f asked", lang, paper, w, h, asked(s.Width), asked(s.Height))
				}
				rows := p.rows(left, top, right, bottom)
				if len(rows) < 7 {
					t.Errorf("%s/%s: only %d lines found", lang, paper, len(rows))
				}
				for i, r := range rows {
					if inches(r) < asked(s.Letters)/4 {
						continue // the mark over a capital stands free of it
					}
					if inches(r) < asked(s.Letters)-1.0/dpi {
						t.Errorf("%s/%s: line %d is %.3f in high, %.3f asked", lang, paper, i+1, inches(r), asked(s.Letters))
					}
				}
			}
		}
	}
	outside.Ran(t, "N.Y. ECL 33-1003 (4 × 5 in, letters 3/8 in), measured in the picture of poppler's pdftoppm at 300 dpi", "eight signs: size and every line of letters")
}

// The line to measure is as long as it says.
func TestSignHasAScale(t *testing.T) {
	for _, v := range []voice{speak(t, "en", inch), speak(t, "es", comma)} {
		pages, err := signPages(sampleSign(), v, A4)
		if err != nil {
			t.Fatal(err)
		}
		checkPage(t, "sign", pages[0])
		want := map[string]float64{"en": 101.6, "es": 100}[v.lang]
		found := false
		for _, q := range pages[0].Paths {
			found = found || len(q.Pts) == 2 && q.Pts[1].X-q.Pts[0].X == want
		}
		if !found {
			t.Errorf("%s: no line of %g mm", v.lang, want)
		}
	}
}
