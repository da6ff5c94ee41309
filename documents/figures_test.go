package documents

import (
	"testing"

	"pgregory.net/rapid"

	"sapwell/engine/quantity"
	"sapwell/internal/outside"
)

// Expected texts are written by hand from 1 in = 25.4 mm exactly (NIST SP 811).
func TestFigures(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{tape(97*in(1), inch).String(), "12 ⅛ in"},
		{tape(0, inch).String(), "0 in"},
		{tape(in(4), inch).String(), "½ in"},
		{tape(12*quantity.Inch+3*quantity.Inch/16, inch).String(), "12 3/16 in"},
		{tape(31*quantity.Centimetre+5*quantity.Millimetre, inch).String(), "12 3/8 in"[:3] + "⅜ in"}, // 12.4016 in, nearest 1/16 is 12 6/16
		{tape(315*quantity.Millimetre, metric).String(), "31.5 cm"},
		{tape(315*quantity.Millimetre, comma).String(), "31,5 cm"},
		{tape(0, comma).String(), "0,0 cm"},
		{tape(12*quantity.Inch, metric).String(), "30.5 cm"}, // 304.8 mm
		{drill(in(10), inch).String(), "1 ¼ in"},
		{drill(in(10), metric).String(), "32 mm"}, // 31.75 mm
		{bitSize(11*quantity.Inch/64, inch), "11/64 in"},
		{bitSize(11*quantity.Inch/64, comma), "4,4 mm (11/64 in)"}, // 4.366 mm
		{bitSize(4_366_000, inch), "11/64 in"},                     // typed in mm
		{bitSize(5*quantity.Millimetre, inch), "5 mm"},
		{bitSize(5*quantity.Millimetre+quantity.Millimetre/2, comma), "5,5 mm"},
		{bitSize(9*quantity.Inch/32, metric), "7.1 mm (9/32 in)"}, // 7.144 mm
		{bitSize(quantity.Inch/4, inch), "¼ in"},
		{millilitres(4*quantity.Millilitre, metric), "4 mL"},
		{millilitres(2500*quantity.Microlitre, comma), "2,5 mL"},
		{span(35 * quantity.Minute), "35 min"},
		{span(33 * quantity.Minute), "35 min"},
		{span(7 * quantity.Minute), "7 min"},
		{span(quantity.Second), "1 min"},
		{span(59 * quantity.Minute), "1 h"},
		{span(107 * quantity.Minute), "1 h 50 min"},
		{span(9*quantity.Hour + 57*quantity.Minute), "10 h"},
		{span(30*quantity.Hour + 20*quantity.Minute), "30 h"},
	} {
		if c.got != c.want {
			t.Errorf("got %q: want %q", c.got, c.want)
		}
	}
	outside.Ran(t, "NIST SP 811 (2008) B.8", "inches and centimetres as printed")
}

// A reading on a sixteenth is printed without loss, and every printed fraction
// is reduced.
func TestInchesExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 16*400).Draw(t, "sixteenths")
		m := tape(quantity.Length(n)*quantity.Inch/16, inch)
		eighths := map[string]int{"": 0, "⅛": 2, "¼": 4, "⅜": 6, "½": 8, "⅝": 10, "¾": 12, "⅞": 14,
			"1/16": 1, "3/16": 3, "5/16": 5, "7/16": 7, "9/16": 9, "11/16": 11, "13/16": 13, "15/16": 15}
		part, known := eighths[m.Part]
		if !known {
			t.Fatalf("%d/16 in: fraction %q is not reduced or not known", n, m.Part)
		}
		whole := 0
		for _, d := range m.Whole {
			whole = 10*whole + int(d-'0')
		}
		if 16*whole+part != n {
			t.Fatalf("%d/16 in is printed as %s", n, m)
		}
	})
}

// What is shortened fits and keeps its end; what fits is not touched.
func TestShorten(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := printable(rapid.String().Draw(t, "text"))
		w := rapid.Float64Range(3, 80).Draw(t, "width")
		got := shorten(s, w, 12, bold)
		if width(got, bold, 12) > w {
			t.Fatalf("%q is wider than %.1f mm", got, w)
		}
		if width(s, bold, 12) <= w && got != s {
			t.Fatalf("%q fits and became %q", s, got)
		}
	})
}

func FuzzPrintable(f *testing.F) {
	for _, s := range []string{"A-0417", "Ясень", "ă\u0323", "\u202e\x00\n a  b", "美国", "🌳", "نخلة"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		got := printable(s)
		for _, r := range got {
			if plain.metrics().of(r) == 0 || bold.metrics().of(r) == 0 {
				t.Errorf("%q: %q has no glyph", got, r)
			}
		}
		if printable(got) != got {
			t.Errorf("%q changes when it is made printable again: %q", got, printable(got))
		}
	})
}
