package words

import (
	"math"
	"strings"
	"testing"
	"testing/fstest"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// The sentences are this project's own; the expected texts follow from the
// messages below by hand. No outside source speaks of them.

var (
	american = quantity.Style{System: quantity.Imperial}
	spanish  = quantity.Style{System: quantity.Metric, DecimalComma: true}
)

// printer has the shared words of a language and the messages given.
func printer(t *testing.T, lang string, style quantity.Style, area string) *Printer {
	t.Helper()
	p, err := New(lang, style)
	if err != nil {
		t.Fatal(err)
	}
	extra, err := load(fstest.MapFS{"xx/area.json": {Data: []byte(area)}}, "xx")
	if err != nil {
		t.Fatal(err)
	}
	messages := map[string]message{}
	for key, m := range p.messages {
		messages[key] = m
	}
	for key, m := range extra {
		messages[key] = m
	}
	p.messages = messages
	return p
}

func TestNewListsLanguages(t *testing.T) {
	_, err := New("fr", american)
	if err == nil || !strings.Contains(err.Error(), `"fr"`) || !strings.Contains(err.Error(), "en, es") {
		t.Errorf("got %v, want an error that names fr, en and es", err)
	}
}

func TestSay(t *testing.T) {
	p := printer(t, "en", american, `{
		"a": "Girth {girth}, {girth} again, {missing}.",
		"b": {"by": "n", "one": "{n} unit on {tree}", "other": "{n} units on {tree}"},
		"c": "open { brace", "d": ""}`)
	for _, c := range []struct{ got, want string }{
		{p.Say("a", why.T("girth", 96*quantity.Inch)), "Girth 96 in, 96 in again, not known."},
		{p.Say("b", why.T("n", 1), why.T("tree", "A-7")), "1 unit on A-7"},
		{p.Say("b", why.T("n", 0), why.T("tree", "A-7")), "0 units on A-7"},
		{p.Say("b", why.T("n", int64(1)), why.T("tree", "{n}")), "1 unit on {n}"}, // values are not filled again
		{p.Say("b", why.T("n", 1.0), why.T("tree", "x")), "1 unit on x"},
		{p.Say("b"), "not known units on not known"},
		{p.Say("no.such"), "⟨no.such⟩"},
		{p.Say("d"), ""},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}

func TestLoadRefuses(t *testing.T) {
	for _, text := range []string{
		`{"a": 1}`, `{"a": {"by": "n", "one": "x"}}`, `{"a": {"by": "n", "one": "x", "other": "y", "few": "z"}}`,
		`{"a": {"one": "x", "other": "y"}}`, `["a"]`, `{"a": "b"`, `{"a": null`,
	} {
		if _, err := load(fstest.MapFS{"xx/area.json": {Data: []byte(text)}}, "xx"); err == nil || !strings.Contains(err.Error(), "words/xx/area.json") {
			t.Errorf("%s: %v, want an error that names the file", text, err)
		}
	}
	all, err := load(fstest.MapFS{}, "xx")
	if err != nil || len(all) != 0 {
		t.Errorf("no files: %v, %v, want nothing", all, err)
	}
}

type (
	uptake string
	count  int32
	spread struct{ Low, Likely, High quantity.Length }
	limits struct{ Low, High float64 }
)

func TestValue(t *testing.T) {
	en := printer(t, "en", american, `{"value.slow": "slow wood"}`)
	es := printer(t, "es", spanish, `{"value.slow": "madera lenta"}`)
	var none *quantity.Temperature
	some := quantity.Celsius(20)
	day := quantity.NewDate(2026, 5, 3)
	mm := quantity.Millimetre
	for _, c := range []struct {
		v                  any
		english, inSpanish string
	}{
		{nil, "not known", "no se sabe"},
		{none, "not known", "no se sabe"},
		{"", "not known", "no se sabe"},
		{quantity.Date{}, "not known", "no se sabe"},
		{math.NaN(), "not known", "no se sabe"},
		{&some, "68 °F", "20 °C"},
		{96 * quantity.Inch, "96 in", "243,8 cm"},
		{quantity.VolumePerLength{Volume: 2500 * quantity.Microlitre, Per: quantity.Centimetre}, "2.5 mL/cm", "2,5 mL/cm"},
		{quantity.Imperial, "imperial", "anglosajón"},
		{true, "yes", "sí"},
		{false, "no", "no"},
		{16, "16", "16"},
		{count(16), "16", "16"},
		{day, "2026-05-03", "2026-05-03"},
		{"slow", "slow wood", "madera lenta"},
		{uptake("slow"), "slow wood", "madera lenta"},
		{"Fraxinus", "Fraxinus", "Fraxinus"},
		{why.Block, "STOP", "ALTO"},
		{why.TheLabel, "the product label", "la etiqueta del producto"},
		{why.Raile1982, "Raile 1982", "Raile 1982"},
		{why.Source("nobody"), "nobody", "nobody"},
		{0.0, "0", "0"},
		{-0.0001, "-0.0001", "-0,0001"},
		{0.083456, "0.0835", "0,0835"},
		{12.345, "12.3", "12,3"},
		{1234.5, "1234", "1234"}, // half to even, as strconv documents
		{2.0, "2", "2"},
		{float32(0.5), "0.5", "0,5"},
		{[2]float64{1.5, 2}, "1.5 to 2", "1,5 a 2"},
		{[2]float64{2, 2}, "2", "2"},
		{[]string{"slow", "x"}, "slow wood, x", "madera lenta; x"},
		{[]quantity.Volume{}, "none", "ninguno"},
		{spread{10 * mm, 12 * mm, 16 * mm}, "15/32 in (13/32 in to 5/8 in)", "12 mm (10 mm a 16 mm)"},
		{spread{12 * mm, 12 * mm, 12 * mm}, "15/32 in", "12 mm"},
		{limits{0.25, 0.5}, "0.25 to 0.5", "0,25 a 0,5"},
		{struct{ A int }{3}, "{3}", "{3}"},
	} {
		if got := en.Value(c.v); got != c.english {
			t.Errorf("%#v in English: %q, want %q", c.v, got, c.english)
		}
		if got := es.Value(c.v); got != c.inSpanish {
			t.Errorf("%#v in Spanish: %q, want %q", c.v, got, c.inSpanish)
		}
	}
}

func TestFinding(t *testing.T) {
	p := printer(t, "en", american, `{
		"finding.dose.over": "{place}: {total} is over the label's {ceiling}.",
		"remedy.dose.over": "Do not treat at this dose."}`)
	sentence, remedy := p.Finding(why.Finding{
		Code: "dose.over", Severity: why.Block, Place: "ceilings.per_application", Source: why.TheLabel,
		Terms: []why.Term{why.T("total", 68*quantity.Millilitre), why.T("ceiling", 64*quantity.Millilitre)},
	})
	if sentence != "ceilings.per_application: 68 mL is over the label's 64 mL." || remedy != "Do not treat at this dose." {
		t.Errorf("got %q, %q", sentence, remedy)
	}
}

func TestReason(t *testing.T) {
	reason := why.Reason{
		Rule: "x.count", Result: why.T("units", 17), Rounding: "up", Source: why.TheLabel,
		Inputs: []why.Term{why.T("girth", 97*quantity.Inch), why.T("spacing", 6*quantity.Inch)},
		Because: []why.Reason{
			{Rule: "x.read", Result: why.T("girth", 97*quantity.Inch), Source: why.Own, Low: 96.5 * 1.0, High: 97.5, Because: []why.Reason{{Rule: "x.read", Result: why.T("bark", nil)}}},
		},
	}
	p := printer(t, "en", american, `{"rule.x.count": "one for each {spacing} of girth", "rule.x.read": "as read off the tape"}`)
	want := []string{
		"units: 17 - one for each 6 in of girth; girth 97 in, spacing 6 in; rounded up; source: the product label",
		"  girth: 97 in - as read off the tape; between 96.5 and 97.5; source: a convention of this program, not published",
		"    bark: not known - as read off the tape",
	}
	if got := p.Reason(reason); strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	p = printer(t, "es", spanish, `{"rule.x.count": "una por cada {spacing} de perímetro"}`)
	first := "unidades: 17 - una por cada 15,2 cm de perímetro; perímetro 246,4 cm; espaciamiento 15,2 cm; redondeado hacia arriba; fuente: la etiqueta del producto"
	if got := p.Reason(reason)[0]; got != first {
		t.Errorf("got\n%s\nwant\n%s", got, first)
	}
}

// A chain of reasons that is far too long is cut, not followed for ever.
func TestReasonEnds(t *testing.T) {
	r := why.Reason{Rule: "x", Result: why.T("units", 1)}
	for range 100 {
		r = why.Reason{Rule: "x", Result: why.T("units", 1), Because: []why.Reason{r}}
	}
	p := printer(t, "en", american, `{}`)
	if n := len(p.Reason(r)); n != maxDepth+1 {
		t.Errorf("%d lines, want %d", n, maxDepth+1)
	}
}

// FuzzSay: no message and no value makes Say panic, and text without a blank
// comes out as it is.
func FuzzSay(f *testing.F) {
	f.Add("Girth {girth}.", "girth", "96 in")
	f.Add("{", "", "")
	f.Add("{}{a}}", "a", "{a}")
	f.Fuzz(func(t *testing.T, text, name, value string) {
		p := &Printer{messages: map[string]message{"k": {Other: text}}}
		got := p.Say("k", why.T(name, value))
		if !strings.Contains(text, "{") && got != text {
			t.Fatalf("%q came out as %q", text, got)
		}
	})
}

func BenchmarkFinding(b *testing.B) {
	p, err := New("en", american)
	if err != nil {
		b.Fatal(err)
	}
	f := why.Finding{Code: "bole.girth_unlikely", Terms: []why.Term{why.T("girth", 900*quantity.Inch), why.T("least", 2*quantity.Inch), why.T("most", 900*quantity.Inch)}}
	for b.Loop() {
		p.Finding(f)
	}
}
