package documents

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"sapwell/engine/bole"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/words"
)

// Everything here is invented: no such tree, product or lot exists.

var (
	inch   = quantity.Style{System: quantity.Imperial}
	metric = quantity.Style{System: quantity.Metric}
	comma  = quantity.Style{System: quantity.Metric, DecimalComma: true}
)

func in(eighths int) quantity.Length { return quantity.Length(eighths) * quantity.Inch / 8 }

func speak(t testing.TB, lang string, st quantity.Style) voice {
	t.Helper()
	p, err := words.New(lang, st)
	if err != nil {
		t.Fatal(err)
	}
	return voice{p, lang, st}
}

// evenSheet is n marks evenly round a girth, to the eighth of an inch.
func evenSheet(n int, girth quantity.Length) Sheet {
	s := Sheet{
		Tag: "A-0417", Site: "Invented Park, north lawn", Scientific: "Fraxinus pennsylvanica", Common: "green ash",
		Date:    quantity.NewDate(2025, 6, 12),
		Product: "Example Emamectin 4", Fictional: true, LabelVersion: "2025-01-15", Active: "emamectin benzoate 40 g/L",
		Ring: bole.Ring{
			Girth: bole.Girth{Around: girth, Height: 12 * quantity.Inch},
			Zero:  bole.Zero{Face: "N"},
		},
		Units: n, PerUnit: 4 * quantity.Millilitre, Total: quantity.Volume(n) * 4 * quantity.Millilitre,
		Lots: []LotUse{{"INV-2231", n}},
		Bit:  11 * quantity.Inch / 64, Stop: in(10), WoodDepth: in(3), StopLow: in(8), StopHigh: in(12),
		Angle: 45 * quantity.Degree, P50: 35 * quantity.Minute, P90: 110 * quantity.Minute, ForecastN: 24,
		PPE:  []string{"long sleeves and trousers", "chemical-resistant gloves", "protective eyewear"},
		REI:  "Keep others away until all units are lifted.",
		Near: "½ in more girth adds a unit: read the tape twice.",
	}
	for i := range n {
		s.Positions = append(s.Positions, girth*quantity.Length(i)/quantity.Length(n)/in(1)*in(1))
	}
	return s
}

// burdened has every kind of obstacle, old holes, fissures and raised marks.
func burdened(n int, girth quantity.Length) Sheet {
	s := evenSheet(n, girth)
	at := func(f float64) quantity.Length { return quantity.Length(f * float64(girth)) }
	for i, k := range []bole.ArcKind{bole.Defect, bole.DeadCambium, bole.Canker, bole.Cavity, bole.Crack, bole.Girdling} {
		f := 0.05 + 0.15*float64(i)
		s.Ring.Arcs = append(s.Ring.Arcs, bole.Arc{From: at(f + .01), To: at(f + .035), Kind: k})
		s.Blocked = append(s.Blocked, Arc{at(f), at(f + .045), string(k)})
	}
	s.Positions, s.Raise = nil, nil
	for i := range n {
		f := float64(i) / float64(n) * 6 // six free stretches of 0.10
		k := int(f)
		s.Positions = append(s.Positions, at(0.12+0.15*float64(k)+0.07*(f-float64(k)))%girth/in(1)*in(1))
		raise := quantity.Length(0)
		if i%3 == 0 {
			raise = 2 * quantity.Inch
		}
		s.Raise = append(s.Raise, raise)
	}
	for i := range 6 {
		f := 0.1075 + 0.15*float64(i)
		s.Ring.Wounds = append(s.Ring.Wounds, bole.Wound{At: at(f), Width: in(3)})
		s.Blocked = append(s.Blocked, Arc{at(f - 0.008), at(f + 0.008), "wound"})
		s.Ring.Fissures = append(s.Ring.Fissures, at(f+0.04))
	}
	return s
}

// crowded is burdened with many warnings and long names.
func crowded(n int, girth quantity.Length) Sheet {
	s := burdened(n, girth)
	s.Ring.Zero = bole.Zero{Face: "street side, at the blue paint dot below the old sign", CounterClockwise: true}
	s.Scientific, s.Common = "Fraxinus pennsylvanica 'very long cultivar name that nobody remembers'", "green ash, long cultivar"
	s.Lots = []LotUse{{"INV-2231", n / 2}, {"INV-2232-B", n - n/2}}
	s.Stem = "2"
	s.Findings = findings(9)
	return s
}

// findings are so many findings whose sentences the test speaker makes up.
func findings(n int) []why.Finding {
	var fs []why.Finding
	for i := range n {
		sev := []why.Severity{why.Warn, why.Ask, why.Note}[i%3]
		fs = append(fs, why.Finding{Code: fmt.Sprintf("test.%d", i), Severity: sev, Source: why.Own})
	}
	return fs
}

// made says findings that are in no catalogue.
type made struct{ speaker }

func (m made) Finding(f why.Finding) (string, string) {
	return "The girth by the tape and the girth in the list differ by more than a reading does (" + f.Code + ").",
		"Measure again at the height the label names."
}

func madeVoice(t testing.TB, lang string, st quantity.Style) voice {
	v := speak(t, lang, st)
	v.speaker = made{v.speaker}
	return v
}

func pdfOf(t testing.TB, sheets []Sheet, v voice, paper Paper) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := markSheets(&b, sheets, v, paper); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func sampleLoad() LoadOut {
	day := quantity.NewDate(2025, 6, 12)
	l := LoadOut{
		Date: day, Title: "Invented Park and Mill Lane", Trees: 9,
		Lots: []LoadLot{
			{Product: "Example Emamectin 4", Fictional: true, Lot: "INV-2231", Size: 4 * quantity.Millilitre, Units: 118, Spare: 12, Expires: day.AddDate(0, 4, 0)},
			{Product: "Example Emamectin 4", Fictional: true, Lot: "INV-2232-B", Size: 4 * quantity.Millilitre, Units: 20, Spare: 0, Expires: day.AddDate(1, 0, 0)},
			{Product: "Example Propiconazole 14", Fictional: true, Lot: "INV-77", Size: 6 * quantity.Millilitre, Units: 34, Spare: 4, Expires: day.AddDate(0, 1, 0)},
		},
		Short: []string{"14 units of Example Emamectin 4 (4 mL) are missing for trees A-0421 and A-0422."},
		Stops: []StopCount{{11 * quantity.Inch / 64, in(9), 4}, {11 * quantity.Inch / 64, in(10), 3}, {15 * quantity.Inch / 64, in(12), 2}},
		PPE:   []string{"long sleeves and trousers", "chemical-resistant gloves", "protective eyewear"},
	}
	l.Items = append([]Item{{Key: "tip", Count: 172}, {Key: "sparetip", Count: 20}, {Key: "bit", Bit: 11 * quantity.Inch / 64, Count: 4}, {Key: "bit", Bit: 15 * quantity.Inch / 64, Count: 3}}, Kit()...)
	return l
}

// TestSamples writes pages to look at into the folder SAPWELL_SAMPLES names.
func TestSamples(t *testing.T) {
	dir := os.Getenv("SAPWELL_SAMPLES")
	if dir == "" {
		t.Skip("SAPWELL_SAMPLES is not set: no sample pages written")
	}
	save := func(name string, b []byte) {
		if err := os.WriteFile(filepath.Join(dir, name+".pdf"), b, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	en, es, si := madeVoice(t, "en", inch), madeVoice(t, "es", comma), madeVoice(t, "en", metric)
	for _, n := range []int{1, 4, 16, 17, 38, 60} {
		g := quantity.Length(n)*6*quantity.Inch + 3*quantity.Inch
		save(fmt.Sprintf("even-%02d-a4-en-inch", n), pdfOf(t, []Sheet{evenSheet(n, g)}, en, A4))
		save(fmt.Sprintf("crowded-%02d-letter-es-cm", n), pdfOf(t, []Sheet{crowded(n, g)}, es, Letter))
		save(fmt.Sprintf("burdened-%02d-letter-en-inch", n), pdfOf(t, []Sheet{burdened(n, g)}, en, Letter))
		save(fmt.Sprintf("burdened-%02d-a4-en-cm", n), pdfOf(t, []Sheet{burdened(n, g)}, si, A4))
	}
	stop := evenSheet(16, 96*quantity.Inch)
	stop.Findings = findings(3)
	stop.Findings[0].Severity = why.Block
	save("stop-a4-en", pdfOf(t, []Sheet{stop}, en, A4))
	save("stop-letter-es", pdfOf(t, []Sheet{stop}, es, Letter))
	for name, v := range map[string]voice{"en": en, "es": es} {
		var b bytes.Buffer
		if err := loadOutList(&b, sampleLoad(), v, A4); err != nil {
			t.Fatal(err)
		}
		save("load-a4-"+name, b.Bytes())
	}
}
