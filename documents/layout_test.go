package documents

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sapwell/engine/bole"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// overlap is how deep two boxes lie in each other, in mm; 0: they do not.
func overlap(a, b box) float64 {
	w := math.Min(a.R, b.R) - math.Max(a.L, b.L)
	h := math.Min(a.B, b.B) - math.Max(a.T, b.T)
	return math.Max(0, math.Min(w, h))
}

// descent is the depth of the typeface below the line, in parts of an em: from
// the font's glyph table.
const descent = 0.236

// box is the room a run of text takes: the left, upper, right and lower edge.
type box struct{ L, T, R, B float64 }

func (t text) box() box {
	em := t.Size * mmPerPoint
	return box{t.At.X, t.At.Y - capHeight*em, t.At.X + width(t.S, t.Face, t.Size), t.At.Y + descent*em}
}

// tight is the box of a text with its real depth: capitals and digits have none.
func (t text) tight() box {
	b := t.box()
	if !strings.ContainsAny(t.S, "gjpqyçQ,;()/|_ñ") {
		b.B = t.At.Y
	}
	return b
}

// checkPage demands that nothing leaves the paper, no two texts touch, every
// letter has a glyph, no type is under 9 points and no message is missing.
func checkPage(t testing.TB, name string, p *page) {
	t.Helper()
	boxes := make([]box, len(p.Texts))
	for i, a := range p.Texts {
		ab := a.tight()
		boxes[i] = ab
		if ab.L < margin-0.05 || ab.R > p.W-margin+0.05 || ab.T < margin-0.05 || ab.B > p.H-margin+6 {
			t.Errorf("%s: %q leaves the margins: %+v", name, a.S, ab)
		}
		if a.Size < 9 {
			t.Errorf("%s: %q is set in %g points: want 9 or more", name, a.S, a.Size)
		}
		if strings.ContainsAny(a.S, "⟨⟩") {
			t.Errorf("%s: no message for %q", name, a.S)
		}
		for _, r := range a.S {
			if plain.metrics().of(r) == 0 || bold.metrics().of(r) == 0 {
				t.Errorf("%s: %q: no glyph for %q", name, a.S, r)
			}
		}
		for k, b := range boxes[:i] {
			if d := overlap(ab, b); d > 0.12 {
				t.Errorf("%s: %q and %q overlap by %.2f mm", name, a.S, p.Texts[k].S, d)
			}
		}
	}
	for _, q := range p.Paths {
		for _, pt := range q.Pts {
			if pt.X < margin-0.1 || pt.X > p.W-margin+0.1 || pt.Y < margin-0.1 || pt.Y > p.H-margin+0.1 {
				t.Errorf("%s: a line leaves the margins at %+v", name, pt)
				return
			}
		}
	}
}

func mustPages(t testing.TB, s Sheet, v voice, paper Paper) []*page {
	t.Helper()
	pages, err := sheetPages(s, v, paper)
	if err != nil {
		t.Fatal(err)
	}
	return pages
}

func TestPagesHoldTogether(t *testing.T) {
	kinds := map[string]func(int, quantity.Length) Sheet{"even": evenSheet, "burdened": burdened, "crowded": crowded}
	voices := map[string]voice{"en-in": madeVoice(t, "en", inch), "en-cm": madeVoice(t, "en", metric), "es-cm": madeVoice(t, "es", comma), "es-in": madeVoice(t, "es", inch)}
	for kind, make := range kinds {
		for vn, v := range voices {
			for _, paper := range []Paper{A4, Letter} {
				step := 1
				if vn == "en-cm" || vn == "es-in" { // between the other two in length
					step = 7
				}
				for n := 1; n <= 60; n += step {
					name := fmt.Sprintf("%s/%d/%s/%s", kind, n, vn, paper)
					pages := mustPages(t, make(n, quantity.Length(n)*6*quantity.Inch+3*quantity.Inch), v, paper)
					if kind == "even" && len(pages) != 1 {
						t.Errorf("%s: %d pages: want 1", name, len(pages))
					}
					for i, p := range pages {
						checkPage(t, fmt.Sprintf("%s/p%d", name, i+1), p)
					}
					if t.Failed() {
						return // one page's faults are enough to read
					}
				}
			}
		}
	}
}

// allText is the text of pages in the order it was set.
func allText(pages []*page) string {
	var b strings.Builder
	for _, p := range pages {
		for _, q := range p.Texts {
			b.WriteString(q.S + "\n")
		}
	}
	return b.String()
}

// Nothing the crew must see may fall off the page, however much there is.
func TestNoWarningIsLost(t *testing.T) {
	v := madeVoice(t, "en", inch)
	for _, n := range []int{0, 1, 5, 9, 20, 60} {
		s := burdened(40, 250*quantity.Inch)
		s.Findings = findings(n)
		pages := mustPages(t, s, v, Letter)
		got := strings.ReplaceAll(allText(pages), "\n", " ")
		for i := range n {
			if !strings.Contains(got, fmt.Sprintf("(test.%d)", i)) {
				t.Errorf("%d findings: finding %d is on no page", n, i)
			}
		}
		for i, p := range pages {
			checkPage(t, fmt.Sprintf("%d findings, page %d", n, i+1), p)
		}
		if len(pages) > 1 && !strings.Contains(allText(pages[:1]), "next page") {
			t.Errorf("%d findings: the first page does not say that there is a second", n)
		}
	}
}

// The cautions of every job stay on the page with the drill.
func TestStandingCautionsOnFirstPage(t *testing.T) {
	v := madeVoice(t, "en", inch)
	for _, s := range []Sheet{evenSheet(60, 363*quantity.Inch), burdened(60, 363*quantity.Inch), crowded(38, 231*quantity.Inch)} {
		first := allText(mustPages(t, s, v, Letter)[:1])
		for _, want := range []string{"Label first.", "Under pressure.", "Look up.", "Holes stay open.", "Splash in the eye:", "Re-entry:", "Wear:"} {
			if !strings.Contains(first, want) {
				t.Errorf("%d marks: first page lacks %q", len(s.Positions), want)
			}
		}
	}
}

func TestLongAndStrangeText(t *testing.T) {
	v := madeVoice(t, "es", comma)
	s := crowded(17, 105*quantity.Inch)
	s.Tag = strings.Repeat("Avenue-17/", 20) // 200 characters
	s.Site = strings.Repeat("a site name that does not end ", 8)
	s.Scientific = "Fraxinus pennsylvanica 'very long cultivar name that goes on and on and on and on'"
	s.Common = "Ясень пенсильванский · Φράξος · tần bì lá nhỏ ặ · 美国红梣"
	s.Product = strings.Repeat("Example Product ", 10)
	s.Active = strings.Repeat("emamectin benzoate 40 g/L + ", 5)
	s.LabelVersion = strings.Repeat("2025-01-15 ", 10)
	s.REI = strings.Repeat("Keep people and animals away from the tree until all units are lifted and counted. ", 3)
	s.Near = strings.Repeat("Half an inch more girth adds a unit. ", 3)
	s.Ring.Zero.Face = strings.Repeat("street side ", 12)
	s.PPE = []string{strings.Repeat("gloves of barrier laminate or butyl rubber ", 4)}
	s.Lots = []LotUse{{strings.Repeat("LOT", 30), 9}, {"\u202eevil\u0000\n", 8}}
	pages := mustPages(t, s, v, Letter)
	for i, p := range pages {
		checkPage(t, fmt.Sprint("page ", i+1), p)
	}
	got := allText(pages)
	if !strings.Contains(got, "Avenue-17/Av") || !strings.Contains(got, "…-17/") {
		t.Errorf("the tag is not shortened in its middle:\n%s", got)
	}
	if !strings.Contains(got, "Ясень") || !strings.Contains(got, "ặ") || !strings.Contains(got, "□□□□") {
		t.Errorf("letters beyond Latin are not set, or not marked as missing:\n%s", got)
	}
	// The decomposed name is the same name.
	if printable("ă\u0323") != "ặ" {
		t.Errorf("printable does not compose letters: %q", printable("ă\u0323"))
	}
	if got := printable("نخلة Palme דקל"); got != "□□□□ Palme □□□" {
		t.Errorf("scripts that need joining or turning: got %q", got)
	}
}

// By hand: 96 in of girth in 16 marks is 6 in a mark, 360°/16 = 22.5° a mark.
func TestMarkAngles(t *testing.T) {
	for _, mirror := range []bool{false, true} {
		c := circle{Centre: point{100, 100}, R: 40, Girth: 96 * quantity.Inch, Mirror: mirror}
		var at []quantity.Length
		for i := range 16 {
			at = append(at, quantity.Length(i)*6*quantity.Inch)
		}
		marks := layRing(c, at, nil)
		for i, m := range marks {
			want := 22.5 * float64(i)
			// On the page: clockwise from straight up, the other way if mirrored.
			got := math.Atan2(m.At.X-100, 100-m.At.Y) * 180 / math.Pi
			if mirror {
				got = -got
			}
			if got < -1e-9 {
				got += 360
			}
			if math.Abs(got-want) > 1e-9 {
				t.Errorf("mirror %v: mark %d at %.6f°: want %.1f°", mirror, i+1, got, want)
			}
			if r := math.Hypot(m.At.X-100, m.At.Y-100); math.Abs(r-40) > 1e-9 {
				t.Errorf("mark %d lies %.6f mm from the middle: want it on the ring, 40 mm", i+1, r)
			}
		}
		// 24 in of 96 in is a quarter: three o'clock, or nine the other way.
		if x := marks[4].At.X; mirror != (x < 100) {
			t.Errorf("mirror %v: the mark at a quarter of the girth has x = %.1f", mirror, x)
		}
	}
}

// Numbers of marks never touch each other, wherever the marks are.
func TestNumbersDoNotTouch(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 120).Draw(t, "marks")
		girth := quantity.Length(rapid.IntRange(4*n+8, 4000).Draw(t, "girth")) * quantity.Inch / 8
		c := circle{Centre: point{60, 60}, R: rapid.Float64Range(27, 46).Draw(t, "radius"), Girth: girth}
		seen := map[int]bool{}
		var at []quantity.Length
		first := rapid.IntRange(0, int(girth/in(1))-1).Draw(t, "first")
		for range n { // clustered: many short steps
			first = (first + rapid.IntRange(1, 4).Draw(t, "step")) % int(girth/in(1))
			seen[first] = true
		}
		for k := range int(girth / in(1)) {
			if seen[k] {
				at = append(at, in(k))
			}
		}
		var boxes []box
		last := -1.0
		for _, m := range layRing(c, at, nil) {
			if m.Label.S == "" {
				continue
			}
			b := m.Label.box()
			b.B = m.Label.At.Y // digits have no depth
			for _, o := range boxes {
				if overlap(b, o) > 0 {
					t.Fatalf("number %s touches another", m.Label.S)
				}
			}
			boxes = append(boxes, b)
			a := math.Atan2((b.L+b.R)/2-60, 60-(b.T+b.B)/2)
			if a < 0 {
				a += 2 * math.Pi
			}
			if a < last {
				t.Fatalf("number %s stands out of order", m.Label.S)
			}
			last = a
			if math.Hypot((b.L+b.R)/2-60, (b.T+b.B)/2-60) < c.R+1 {
				t.Fatalf("number %s lies on the ring", m.Label.S)
			}
		}
	})
}

// spread against a worked example: three labels wanted at 1.0, 1.0, 1.0 with a
// gap of 0.4 go to 0.6, 1.0, 1.4: symmetric, hence least squares.
func TestSpread(t *testing.T) {
	for _, c := range []struct{ want, got []float64 }{
		{[]float64{1, 1, 1}, []float64{0.6, 1, 1.4}},
		{[]float64{1, 2, 3}, []float64{1, 2, 3}},
		{[]float64{0, 0.1, 3}, []float64{0.2, 0.6, 3}}, // pushed off the low end, 0.2
		{[]float64{1, 5.99, 6}, []float64{1, 5.6, 6}},  // and off the high end, 6
	} {
		for i, g := range spread(c.want, 0.4, 0.2, 6) {
			if math.Abs(g-c.got[i]) > 1e-9 {
				t.Errorf("spread(%v)[%d] = %.6f: want %.6f", c.want, i, g, c.got[i])
			}
		}
	}
}

func TestStretchWraps(t *testing.T) {
	c := circle{Girth: 100 * quantity.Inch}
	from, to := c.stretch(95*quantity.Inch, 5*quantity.Inch)
	if math.Abs((to-from)-2*math.Pi/10) > 1e-12 {
		t.Errorf("a stretch over the zero is %.6f rad: want a tenth of the ring, %.6f", to-from, 2*math.Pi/10)
	}
}

func TestStopSheetShowsNoMark(t *testing.T) {
	for _, positions := range []bool{true, false} {
		s := evenSheet(16, 96*quantity.Inch)
		if !positions {
			s = Sheet{Tag: "A-9"}
		}
		s.Findings = findings(4)
		s.Findings[1].Severity = why.Block
		for _, paper := range []Paper{A4, Letter} {
			pages := mustPages(t, s, madeVoice(t, "en", inch), paper)
			got := allText(pages)
			if !strings.Contains(got, "DO NOT TREAT TODAY") {
				t.Errorf("the page does not say so:\n%s", got)
			}
			for _, never := range []string{"Stop on the bit", "11/64", "92 ¾", "units", "Tape readings", "4 mL"} {
				if strings.Contains(got, never) {
					t.Errorf("a stop page prints %q", never)
				}
			}
			if i, j := strings.Index(got, "(test.1)"), strings.Index(got, "(test.0)"); i < 0 || j < i {
				t.Errorf("the finding that blocks does not come first")
			}
			checkPage(t, string(paper), pages[0])
		}
	}
	s := Sheet{Tag: "A-9", Findings: findings(60)}
	s.Findings[0].Severity = why.Block
	for i, p := range mustPages(t, s, madeVoice(t, "es", comma), A4) {
		checkPage(t, fmt.Sprint("60 reasons, page ", i+1), p)
	}
}

func TestBadSheets(t *testing.T) {
	for want, spoil := range map[string]func(*Sheet){
		"positions: none":                             func(s *Sheet) { s.Positions = nil },
		"ring.girth.around: 0 nm":                     func(s *Sheet) { s.Ring.Girth.Around = 0 },
		"positions[15]: ":                             func(s *Sheet) { s.Ring.Girth.Around = 90 * quantity.Inch },
		"positions[1]: 0 nm does not come after 0 nm": func(s *Sheet) { s.Positions[1] = 0 },
		"raise: 3 values for 16 positions":            func(s *Sheet) { s.Raise = make([]quantity.Length, 3) },
		"stop: -1 nm":                                 func(s *Sheet) { s.Stop = -1 },
		"bit: -1 nm":                                  func(s *Sheet) { s.Bit = -1 },
		"angle: 90.0 degrees":                         func(s *Sheet) { s.Angle = 90 * quantity.Degree },
		"angle: NaN degrees":                          func(s *Sheet) { s.Angle = quantity.Angle(math.NaN()) },
		"units: 0":                                    func(s *Sheet) { s.Units = 0 },
		"tag of 5000 bytes":                           func(s *Sheet) { s.Tag = strings.Repeat("x", 5000) },
	} {
		s := evenSheet(16, 96*quantity.Inch)
		spoil(&s)
		_, err := sheetPages(s, speak(t, "en", inch), A4)
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("got error %v: want one with %q", err, want)
		}
	}
}

// Any sheet that passes the check can be laid out and stays within its margins.
func TestAnySheet(t *testing.T) {
	v := madeVoice(t, "en", inch)
	rapid.Check(t, func(t *rapid.T) {
		girth := quantity.Length(rapid.IntRange(80, 4000).Draw(t, "girth")) * quantity.Inch / 8
		ticks := rapid.SliceOfNDistinct(rapid.IntRange(0, int(girth/in(1))-1), 1, 60, rapid.ID[int]).Draw(t, "at")
		s := evenSheet(1, girth)
		s.Positions = nil
		for k := range int(girth / in(1)) {
			for _, tick := range ticks {
				if tick == k {
					s.Positions = append(s.Positions, in(k))
				}
			}
		}
		s.Units = len(s.Positions)
		s.Stop = quantity.Length(rapid.IntRange(1, 80).Draw(t, "stop")) * quantity.Inch / 16
		s.WoodDepth = quantity.Length(rapid.IntRange(0, 40).Draw(t, "wood")) * quantity.Inch / 16
		s.Angle = quantity.Angle(rapid.Float64Range(0, 75).Draw(t, "angle")) * quantity.Degree
		s.Tag = rapid.String().Draw(t, "tag")
		s.Ring.Zero = bole.Zero{Face: rapid.String().Draw(t, "face"), CounterClockwise: rapid.Bool().Draw(t, "ccw")}
		s.Findings = findings(rapid.IntRange(0, 12).Draw(t, "findings"))
		pages, err := sheetPages(s, v, A4)
		if err != nil {
			t.Skip(err)
		}
		for _, p := range pages {
			for _, q := range p.Texts {
				if b := q.tight(); b.L < margin-0.05 || b.R > p.W-margin+0.05 || b.B > p.H-margin+6 {
					t.Fatalf("%q leaves the margins: %+v", q.S, b)
				}
			}
		}
	})
}

func TestLoadOutPages(t *testing.T) {
	for _, lang := range []string{"en", "es"} {
		for _, paper := range []Paper{A4, Letter} {
			for _, lots := range []int{0, 3, 80} {
				v := speak(t, lang, comma)
				l := sampleLoad()
				for len(l.Lots) < lots {
					l.Lots = append(l.Lots, l.Lots[0])
					l.Stops = append(l.Stops, l.Stops[0])
					l.PPE = append(l.PPE, strings.Repeat("gloves of barrier laminate ", 6))
				}
				l.Lots = l.Lots[:lots]
				for i, p := range loadPages(l, v, paper) {
					checkPage(t, fmt.Sprintf("%s/%s/%d lots/p%d", lang, paper, lots, i+1), p)
				}
			}
			l := LoadOut{Date: quantity.Date{}, Short: []string{strings.Repeat("units missing ", 900)}}
			for i, p := range loadPages(l, speak(t, lang, inch), paper) {
				checkPage(t, fmt.Sprint("only short, page ", i+1), p)
			}
		}
	}
}

// Out is trees and spare together: 118+12, 20+0, 34+4, and 188 in all.
func TestLoadOutCounts(t *testing.T) {
	got := allText(loadPages(sampleLoad(), speak(t, "en", inch), A4))
	for _, want := range []string{"\n130\n", "\n20\n", "\n38\n", "\n172\n", "\n16\n", "\n188\n", "settle this", "15/64 in", "1 ⅛ in", "Eye-wash bottle"} {
		if !strings.Contains(got, want) {
			t.Errorf("the list lacks %q", want)
		}
	}
	for want, l := range map[string]LoadOut{
		"lots[0]: -1 units":  {Lots: []LoadLot{{Units: -1}}},
		"items[0].count: -2": {Items: []Item{{Key: "tip", Count: -2}}},
	} {
		if err := l.check(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("got error %v: want one with %q", err, want)
		}
	}
}

// A stem of which no bark is known gets its marks, the word "probe" in place of
// a stop, and the table that turns what the probe shows into one.
func TestStopThatOnlyTheProbeCanTell(t *testing.T) {
	s := evenSheet(16, 96*quantity.Inch)
	s.Stop, s.StopLow, s.StopHigh, s.BarkMeasured = 0, 0, 0, false
	s.Probe = []ProbeStop{{quantity.Inch / 2, 5 * quantity.Inch / 4}, {quantity.Inch, 15 * quantity.Inch / 8}}
	pages, err := sheetPages(s, speak(t, "en", inch), Letter)
	if err != nil {
		t.Fatal(err)
	}
	text := allText(pages)
	for _, want := range []string{"probe", "½ → 1 ¼", "1 → 1 ⅞"} {
		if !strings.Contains(text, want) {
			t.Errorf("the page does not say %q: %s", want, text)
		}
	}
}
