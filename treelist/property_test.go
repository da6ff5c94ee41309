package treelist

import (
	"encoding/csv"
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"sapwell/engine/bole"
	"sapwell/engine/host"
	"sapwell/engine/quantity"
	"sapwell/engine/verdict"
)

// written is a list as a test writes it, with encoding/csv of the standard
// library for the quoting.
type written struct {
	sep   rune
	comma bool
	crlf  bool
}

// length writes to the nanometre: a millimetre has a million of them.
func (w written) length(l quantity.Length) string {
	s := fmt.Sprintf("%d.%06d mm", l/quantity.Millimetre, l%quantity.Millimetre)
	if w.comma {
		s = strings.Replace(s, ".", ",", 1)
	}
	return s
}

func (w written) list(trees []Row) string {
	var b strings.Builder
	out := csv.NewWriter(&b)
	out.Comma, out.UseCRLF = w.sep, w.crlf
	out.Write(strings.Fields("tag stem species girth girth_height girth2 girth2_height ground zero direction defects wounds fissures bark canopy_loss pest label eaten last_treated site note date"))
	for _, r := range trees {
		for i, s := range r.Tree.Stems {
			out.Write(append(w.stem(r.Tree, s), w.facts(r, i == 0)...))
		}
	}
	out.Flush()
	return b.String()
}

func (w written) stem(t bole.Tree, s bole.Stem) []string {
	g := s.Ring.Girth
	out := []string{t.Tag, s.Name, t.Species.Scientific, w.length(g.Around), w.length(g.Height), "", "", string(g.Ground), s.Ring.Zero.Face, "clockwise"}
	if s.Breast != nil {
		out[5], out[6] = w.length(s.Breast.Around), w.length(s.Breast.Height)
	}
	if s.Ring.Zero.CounterClockwise {
		out[9] = "counter-clockwise"
	}
	var arcs, wounds, fissures, bark []string
	for _, a := range s.Ring.Arcs {
		arcs = append(arcs, w.length(a.From)+" - "+w.length(a.To)+" "+string(a.Kind))
	}
	for _, o := range s.Ring.Wounds {
		wounds = append(wounds, w.length(o.At)+" w "+w.length(o.Width)+" "+o.Made.String()+" h "+w.length(o.Height))
	}
	for _, at := range s.Ring.Fissures {
		fissures = append(fissures, w.length(at))
	}
	for _, one := range s.Bark {
		bark = append(bark, w.length(one.At)+": "+w.length(one.Thickness))
	}
	return append(out, strings.Join(arcs, "; "), strings.Join(wounds, "|"), strings.Join(fissures, ";"), strings.Join(bark, "; "))
}

func (w written) facts(r Row, first bool) []string {
	if !first {
		return make([]string, 8)
	}
	loss := ""
	if r.Facts.CanopyLoss != nil {
		loss = fmt.Sprint(*r.Facts.CanopyLoss, " %")
	}
	var earlier []string
	for _, a := range r.Facts.Earlier {
		ml := strings.TrimSuffix(w.length(quantity.Length(a.Total)), " mm") + " mL" // nL to mL as nm to mm
		earlier = append(earlier, a.Date.String()+"; "+strings.Join(a.Active, " + ")+"; "+a.Label+"; "+ml)
	}
	return []string{loss, r.Facts.Pest, r.Label, string(r.Facts.Eaten), strings.Join(earlier, " | "), r.Site, r.Note, r.Facts.Date.String()}
}

// drawTrees draws trees as a list can hold them.
func drawTrees(t *rapid.T) []Row {
	day := rapid.Custom(func(t *rapid.T) quantity.Date {
		return date(2000, 1, 1).AddDate(0, 0, rapid.IntRange(0, 9000).Draw(t, "days"))
	})
	word := rapid.StringMatching(`([A-Za-zäñ½"',;|. -]{0,12}[a-z"])?`)
	tagged := map[string]bool{}
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Row {
		r := Row{Site: tidied(word.Draw(t, "site")), Note: tidied(word.Draw(t, "note") + "\n" + word.Draw(t, "more")), Label: rapid.StringMatching(`(demo-[a-c])?`).Draw(t, "label")}
		r.Tree.Tag = rapid.StringMatching(`[A-Z]{1,3}-[0-9]{1,4}[";,]?`).Filter(func(s string) bool { return !tagged[s] }).Draw(t, "tag")
		tagged[r.Tree.Tag] = true
		r.Tree.Species = rapid.SampledFrom(host.All()).Draw(t, "species")
		r.Facts = verdict.Circumstances{Date: date(2026, 6, 9), Pest: tidied(word.Draw(t, "pest")),
			Eaten:      rapid.SampledFrom([]verdict.Answer{verdict.Yes, verdict.No, verdict.Unknown}).Draw(t, "eaten"),
			CanopyLoss: rapid.Ptr(rapid.IntRange(0, 100), true).Draw(t, "loss")}
		r.Facts.Earlier = rapid.SliceOfN(rapid.Custom(func(t *rapid.T) verdict.Application {
			return verdict.Application{Date: day.Draw(t, "day"), Label: "demo-a", Active: rapid.SampledFrom([][]string{{"imidacloprid"}, {"azadirachtin", "emamectin benzoate"}}).Draw(t, "active"),
				Total: quantity.Volume(rapid.Int64Range(1, 1e9).Draw(t, "volume"))}
		}), 0, 2).Draw(t, "earlier")
		n := rapid.IntRange(1, 4).Draw(t, "stems")
		for i := range n {
			s := drawStem(t, day)
			if n > 1 {
				s.Name = fmt.Sprint(i + 1)
			}
			r.Tree.Stems = append(r.Tree.Stems, s)
		}
		return r
	}), 0, 6).Draw(t, "trees")
}

// tidied is what a cell keeps of a text.
func tidied(s string) string { return strings.TrimSpace(s) }

func drawStem(t *rapid.T, day *rapid.Generator[quantity.Date]) bole.Stem {
	length := func(low, high quantity.Length) *rapid.Generator[quantity.Length] {
		return rapid.Custom(func(t *rapid.T) quantity.Length {
			return quantity.Length(rapid.Int64Range(int64(low), int64(high)).Draw(t, "nm"))
		})
	}
	var s bole.Stem
	girth := length(minGirth, maxGirth).Draw(t, "girth")
	ground := rapid.SampledFrom([]bole.Ground{"", bole.Level, bole.Uphill, bole.MidSlope}).Draw(t, "ground")
	s.Ring.Girth = bole.Girth{Around: girth, Height: length(1, maxHeight).Draw(t, "height"), Ground: ground}
	s.Ring.Zero = bole.Zero{Face: rapid.StringMatching(`([NESW] side)?`).Draw(t, "face"), CounterClockwise: rapid.Bool().Draw(t, "ccw")}
	if rapid.Bool().Draw(t, "breast") {
		s.Breast = &bole.Girth{Around: length(minGirth, maxGirth).Draw(t, "girth2"), Height: length(1, maxHeight).Draw(t, "height2"), Ground: ground}
	}
	at := length(0, girth)
	s.Ring.Arcs = rapid.SliceOfN(rapid.Custom(func(t *rapid.T) bole.Arc {
		return bole.Arc{From: at.Draw(t, "from"), To: at.Draw(t, "to"), Kind: rapid.SampledFrom([]bole.ArcKind{bole.Defect, bole.DeadCambium, bole.Canker, bole.Cavity, bole.Crack, bole.Girdling}).Draw(t, "kind")}
	}).Filter(func(a bole.Arc) bool { return a.From != a.To }), 0, 3).Draw(t, "arcs")
	s.Ring.Wounds = rapid.SliceOfN(rapid.Custom(func(t *rapid.T) bole.Wound {
		return bole.Wound{At: at.Draw(t, "at"), Width: length(1, girth).Draw(t, "width"), Height: length(1, maxHeight).Draw(t, "height"), Made: day.Draw(t, "made")}
	}), 0, 3).Draw(t, "wounds")
	s.Ring.Fissures = rapid.SliceOfN(at, 0, 3).Draw(t, "fissures")
	s.Bark = rapid.SliceOfN(rapid.Custom(func(t *rapid.T) bole.BarkReading {
		return bole.BarkReading{At: at.Draw(t, "at"), Thickness: length(1, girth/7).Draw(t, "thickness")}
	}), 0, 2).Draw(t, "bark")
	return s
}

// What is written is read back, to the nanometre, in every dialect.
func TestWrittenIsReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := drawTrees(t)
		sep := rapid.SampledFrom([]rune{',', ';', '\t'}).Draw(t, "separator")
		text := written{sep, sep == ';', rapid.Bool().Draw(t, "crlf")}.list(want)
		var got []Row
		for row, err := range ReadCSV("list.csv", strings.NewReader(text), Options{}) {
			if err != nil {
				t.Fatalf("%v in\n%s", err, text)
			}
			row.Line = 0
			got = append(got, row)
		}
		if diff := cmp.Diff(want, got, cmp.FilterValues(emptySlices, cmp.Ignore())); diff != "" {
			t.Fatalf("%s\n%s", diff, text)
		}
	})
}

// emptySlices takes nil and empty for the same.
func emptySlices(a, b any) bool {
	return fmt.Sprint(a) == "[]" && fmt.Sprint(b) == "[]"
}

// every counts what comes of a list, and fails on what may not come.
func every(t testing.TB, seq func(func(Row, error) bool)) (trees, stems, faults int, sum string) {
	for row, err := range seq {
		var f *Fault
		switch {
		case err == nil:
			trees++
			stems += len(row.Tree.Stems)
			if row.Tree.Tag == "" || len(row.Tree.Stems) == 0 || row.Tree.Species.Scientific == "" {
				t.Fatalf("a tree without tag, stem or species: %+v", row)
			}
			for _, s := range row.Tree.Stems {
				g := s.Ring.Girth
				if g.Around < minGirth || g.Around > maxGirth || g.Height <= 0 || g.Height > maxHeight {
					t.Fatalf("a girth that cannot be: %+v", g)
				}
			}
			sum += fmt.Sprint(row.Line, row.Tree.Tag, ";")
		case errors.As(err, &f):
			faults++
			if f.Line < 1 || texts[f.Code].is == "" || f.Want == "" || strings.ContainsAny(f.Error(), "\n\r\x00\x1b{") && !strings.Contains(f.Value+f.Column, "{") {
				t.Fatalf("a poor fault: %+v", f)
			}
			sum += f.Error()
		default:
			t.Fatalf("not a fault: %v", err)
		}
	}
	return trees, stems, faults, sum
}

func FuzzReadCSV(f *testing.F) {
	for _, s := range []string{
		base + "\nT,green ash,96 in,12 in\n", with("wounds", "22 in 2024-05-10 w 3/16 in h 12 in; 48 in 2023"), with("defects", "90-2 in crack; 9-1/2 in"),
		with("bark", "12 in: 0.5 in"), with("fissures", "3; 9½; 14 in"), with("last_treated", "2024-06-10; a + b; c; 4 mL | 2020-01-01"),
		"sep=;\ntag;species;girth_cm;girth_height\r\nT;FRXPE;243,84;30,48 cm\r", "\xff\xfet\x00a\x00g\x00", "\xef\xbb\xbf" + base, base + "\n\"a\nb\",,\"\"\"\n",
		base + ",stem\nA,green ash,30 in,12 in,1\nA,,30 in,12 in,2\n,,,,3\nA,x\n", "",
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		trees, stems, faults, sum := every(t, ReadCSV("f", strings.NewReader(string(text)), Options{}))
		if _, _, _, again := every(t, ReadCSV("f", strings.NewReader(string(text)), Options{})); again != sum {
			t.Fatal("two readings differ")
		}
		tab, err := openTable("f", strings.NewReader(string(text)), treeHeadings)
		if err != nil || !tab.usable {
			if trees > 0 || faults == 0 && err == nil && len(tab.opening) > 0 {
				t.Fatalf("%d trees, %d faults of an unusable list", trees, faults)
			}
			return
		}
		records := 0
		for _, err := tab.next(); err == nil; _, err = tab.next() {
			records++
		}
		// Every record is a stem of a good tree, or belongs to at least one fault's tree.
		if records > 0 && stems+faults == 0 || stems > records {
			t.Fatalf("%d records, %d stems, %d faults", records, stems, faults)
		}
	})
}

func FuzzReadJSON(f *testing.F) {
	for _, s := range []string{
		"[{" + tree + "}]", "[{" + tree + `,"wounds":["22 in","48 in 2023"],"odd":1,"eaten":true,"note":null}]`, "[", "[]]", "[1,{}]", "{}", `[{"tag":"\ud800"}]`, "[[[[",
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		_, _, _, sum := every(t, ReadJSON("f", strings.NewReader(string(text)), Options{}))
		if _, _, _, again := every(t, ReadJSON("f", strings.NewReader(string(text)), Options{})); again != sum {
			t.Fatal("two readings differ")
		}
	})
}

func FuzzReadLots(f *testing.F) {
	f.Add([]byte("lot,label,size,units,expires,coldest,warmest\nL,demo-a,4 mL,36,2026-06-08,9 °C,27 °C\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		lots, errs := ReadLots("f", strings.NewReader(string(text)))
		for _, err := range errs {
			if err.Error() == "" {
				t.Fatal("an error without words")
			}
		}
		for _, l := range lots {
			if l.ID == "" || l.Size <= 0 || l.Units < 0 || l.Expires.IsZero() {
				t.Fatalf("a lot that cannot be: %+v", l)
			}
		}
	})
}
