package treelist

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"github.com/google/go-cmp/cmp"

	"sapwell/engine/bole"
	"sapwell/engine/quantity"
	"sapwell/engine/verdict"
	"sapwell/internal/outside"
)

const in, cm, mm = quantity.Inch, quantity.Centimetre, quantity.Millimetre

func date(y, m, d int) quantity.Date { return quantity.NewDate(y, time.Month(m), d) }

// gather reads a whole list; an error that is no *Fault fails the test.
func gather(t testing.TB, text string) ([]Row, []*Fault) {
	t.Helper()
	o := Options{Defaults: verdict.Circumstances{Date: demoDay}}
	return split2(t, ReadCSV("list.csv", strings.NewReader(text), o))
}

func split2(t testing.TB, seq func(func(Row, error) bool)) (rows []Row, faults []*Fault) {
	t.Helper()
	for row, err := range seq {
		var f *Fault
		switch {
		case err == nil:
			rows = append(rows, row)
		case errors.As(err, &f):
			faults = append(faults, f)
		default:
			t.Errorf("not a fault: %v", err)
		}
	}
	return rows, faults
}

// one reads a list of one good tree.
func one(t *testing.T, text string) Row {
	t.Helper()
	rows, faults := gather(t, text)
	for _, f := range faults {
		t.Error(f)
	}
	if len(rows) != 1 {
		t.Fatalf("%d trees, want 1", len(rows))
	}
	return rows[0]
}

const base = "tag,species,girth,girth_height"

// with makes a list of one tree with one more column.
func with(column, value string) string {
	return base + "," + column + "\nT,green ash,96 in,12 in,\"" + strings.ReplaceAll(value, `"`, `""`) + "\"\n"
}

func TestWholeRow(t *testing.T) {
	text := `Tag,Species,Girth (in),girth height,girth2,girth2_height,stem,slope,zero,direction,defects,wounds,fissures,bark,canopy loss,pest,label,bloom_over,growth stage,eaten,tapped,crop,drought,live wires,last_treated,site,note,region,jurisdiction,date
T-1,green ash,96,1 ft,7 ft 6 in,54 in,,uphill,N side,ccw,12-16 in canker; 90-2 in crack,22 in 2024-05-10 w 3/16 in h 12 in; 48 in 2023,3; 9 1/2; 14 in,12 in: 0.5 in; 40 in: 5/8 in,15 %,AGRLPL,demo-a,yes,69,no,n,yes,unknown,y,"2024-06-10; emamectin benzoate; demo-a; 64 mL | 2022-05-30",North Walk,"a ""big"" one",OR,us,2026-06-10
`
	got := one(t, text)
	fifteen, endOfBloom := 15, 69
	want := Row{
		Line: 2, Site: "North Walk", Label: "demo-a", Note: `a "big" one`,
		Facts: verdict.Circumstances{
			Jurisdiction: verdict.US, Region: "OR", Date: date(2026, 6, 10), Pest: "AGRLPL", CanopyLoss: &fifteen, BBCH: &endOfBloom,
			BloomOver: verdict.Yes, Eaten: verdict.No, Tapped: verdict.No, Crop: true, LiveWires: verdict.Yes,
			Earlier: []verdict.Application{
				{Date: date(2024, 6, 10), Active: []string{"emamectin benzoate"}, Label: "demo-a", Total: 64 * quantity.Millilitre},
				{Date: date(2022, 5, 30)},
			},
		},
		Tree: bole.Tree{Tag: "T-1", Stems: []bole.Stem{{
			Ring: bole.Ring{
				Girth: bole.Girth{Around: 96 * in, Height: 12 * in, Ground: bole.Uphill},
				Zero:  bole.Zero{Face: "N side", CounterClockwise: true},
				Arcs:  []bole.Arc{{From: 12 * in, To: 16 * in, Kind: bole.Canker}, {From: 90 * in, To: 2 * in, Kind: bole.Crack}},
				Wounds: []bole.Wound{
					{At: 22 * in, Width: 3 * in / 16, Height: 12 * in, Made: date(2024, 5, 10)},
					{At: 48 * in, Made: date(2023, 12, 31)},
				},
				Fissures: []quantity.Length{3 * in, 9*in + in/2, 14 * in},
			},
			Breast: &bole.Girth{Around: 90 * in, Height: 54 * in, Ground: bole.Uphill},
			Bark:   []bole.BarkReading{{At: 12 * in, Thickness: in / 2}, {At: 40 * in, Thickness: 5 * in / 8}},
		}}},
	}
	if got.Tree.Species.Scientific != "Fraxinus pennsylvanica" {
		t.Errorf("species %q", got.Tree.Species.Scientific)
	}
	got.Tree.Species = want.Tree.Species
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// What is not said in a row comes from the options, and only then.
func TestDefaults(t *testing.T) {
	thirty := 30
	o := Options{Defaults: verdict.Circumstances{
		Jurisdiction: verdict.EU, Date: demoDay, Pest: "a pest", CanopyLoss: &thirty, Crop: true, Eaten: verdict.Yes,
		Earlier: []verdict.Application{{Date: date(2020, 1, 1)}},
	}}
	text := base + ",pest,crop,eaten,last_treated\nA,green ash,96 in,12 in,,,,\nB,green ash,96 in,12 in,b,no,?,2021-01-01\nC,green ash,96 in,12 in,,,,2022-02-02\n"
	rows, faults := split2(t, ReadCSV("list.csv", strings.NewReader(text), o))
	if len(faults) > 0 || len(rows) != 3 {
		t.Fatal(rows, faults)
	}
	if diff := cmp.Diff(o.Defaults, rows[0].Facts); diff != "" {
		t.Error(diff)
	}
	b := rows[1].Facts
	if b.Pest != "b" || b.Crop || b.Eaten != verdict.Unknown || len(b.Earlier) != 2 || *b.CanopyLoss != 30 {
		t.Errorf("%+v", b)
	}
	if got := rows[2].Facts.Earlier; len(got) != 2 || got[1].Date != date(2022, 2, 2) || rows[1].Facts.Earlier[1].Date != date(2021, 1, 1) {
		t.Errorf("earlier treatments of one tree ran into another's: %v", got)
	}
}

// The ways people write the same list: heading, separator, line end, encoding.
func TestDialects(t *testing.T) {
	utf16 := func(s string, order func(rune) []byte) string {
		var b strings.Builder
		for _, r := range "\ufeff" + s {
			b.Write(order(r))
		}
		return b.String()
	}
	plainText := base + "\nT,green ash,96 in,12 in\n"
	for name, text := range map[string]string{
		"plain":            plainText,
		"no last line end": strings.TrimSuffix(plainText, "\n"),
		"CRLF":             strings.ReplaceAll(plainText, "\n", "\r\n"),
		"CR":               strings.ReplaceAll(plainText, "\n", "\r"),
		"mixed ends":       base + "\r\nT,green ash,96 in,12 in\r",
		"UTF-8 mark":       "\ufeff" + plainText,
		"UTF-16 LE":        utf16(plainText, func(r rune) []byte { return []byte{byte(r), byte(r >> 8)} }),
		"UTF-16 BE":        utf16(plainText, func(r rune) []byte { return []byte{byte(r >> 8), byte(r)} }),
		"semicolons":       strings.ReplaceAll(plainText, ",", ";"),
		"tabs":             strings.ReplaceAll(plainText, ",", "\t"),
		"sep line":         "sep=;\r\n" + strings.ReplaceAll(plainText, ",", ";"),
		"decimal comma":    "tag;species;girth_cm;girth_height\nT;green ash;243,84;30,48 cm\n",
		"quoted":           "\"tag\",\"species\",\"girth\",\"girth_height\"\n\"T\", \"green ash\" ,\"96 in\",\"12 in\"\n",
		"inch mark":        base + "\nT,green ash,96\",12\"\n",
		"inch mark quoted": base + "\nT,green ash,\"96\"\"\",\"1'\"\n",
		"feet":             base + "\nT,green ash,8',1 ft\n",
		"other names":      "Tree ID,Host,Circumference [inches],Girth at\nT,FRXPE,96,12 in\n",
		"unit in heading":  "tag,species,girth_ft,girth_height_in\nT,green ash,8,12\n",
		"unit in both":     "tag,species,girth_in,girth_height_in\nT,green ash,96 in,12\"\n",
		"blank rows":       "\n  \n" + base + "\n\n,,,\nT,green ash,96 in,12 in\n\n",
		"blank heading":    base + ",\nT,green ash,96 in,12 in,\n",
		"x_ column":        base + ",x_paint\nT,green ash,96 in,12 in,blue\n",
		"fractions":        base + "\nT,green ash,95 2/2 in,12 in\n",
		"no-break space":   base + "\nT,green ash,96\u00a0in,\u00a012 in\n",
	} {
		t.Run(name, func(t *testing.T) {
			if name == "fractions" {
				text = strings.Replace(text, "95 2/2", "192/2", 1)
			}
			got := one(t, text)
			want := bole.Girth{Around: 96 * in, Height: 12 * in}
			if got.Tree.Tag != "T" || got.Tree.Stems[0].Ring.Girth != want || got.Tree.Species.Code.EPPO != "FRXPE" {
				t.Errorf("%+v", got.Tree)
			}
		})
	}
}

func TestLinesAreCounted(t *testing.T) {
	text := "\r" + base + ",note\r\nA,green ash,96 in,12 in,\"two\nlines, \"\"here\"\"\"\rB,green ash,96 in,12 in,\n\nC,green ash,96 in,12 in,\n"
	rows, faults := gather(t, text)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	got := ""
	for _, r := range rows {
		got += fmt.Sprint(r.Tree.Tag, r.Line, " ")
	}
	if got != "A3 B5 C7 " || rows[0].Note != "two\nlines, \"here\"" {
		t.Errorf("%s %q", got, rows[0].Note)
	}
}

func TestStems(t *testing.T) {
	text := base + ",stem,canopy_loss,site\n" +
		"A,green ash,30 in,12 in,1,,Pond\nA,,26 in,12 in,2,15,\nA,Fraxinus pennsylvanica,22 in,12 in,3,15,pond\n" +
		"B,green ash,40 in,12 in,,,\n"
	rows, faults := gather(t, text)
	if len(rows) != 1 || len(faults) != 1 || faults[0].Code != "conflict" || faults[0].Line != 4 || faults[0].Column != "species" {
		t.Fatal(rows, faults)
	}
	rows, faults = gather(t, strings.Replace(text, "Fraxinus pennsylvanica", "Green Ash", 1))
	if len(rows) != 2 || len(faults) != 0 {
		t.Fatal(rows, faults)
	}
	a := rows[0]
	if len(a.Tree.Stems) != 3 || a.Tree.Stems[2].Name != "3" || a.Site != "Pond" || *a.Facts.CanopyLoss != 15 || a.Line != 2 {
		t.Errorf("%+v", a)
	}
	// Equal basal area, Stewart and Salazar 1992; by hand: sqrt(30²+26²+22²) = sqrt(2060) = 45.3872.
	var ds []quantity.Length
	for _, s := range a.Tree.Stems {
		ds = append(ds, s.Ring.Girth.Around)
	}
	if d := bole.EquivalentDiameter(ds).Inches(); d < 45.387 || d > 45.388 {
		t.Errorf("girth of equal basal area %.4f in", d)
	}
	outside.Ran(t, "Stewart and Salazar 1992", "girth of equal basal area of three stems")
}

// A diameter tape is a girth tape with another scale: 30.5577 in is 96 in round
// (96/π, worked by hand to four decimals).
func TestDiameterTape(t *testing.T) {
	got := one(t, base+",dbh,dbh_height\nT,green ash,100 in,12 in,30.5577 in,4.5 ft\n")
	b := got.Tree.Stems[0].Breast
	if b == nil || b.Height != 54*in || b.Around < 96*in-in/1000 || b.Around > 96*in+in/1000 {
		t.Errorf("%+v", b)
	}
}

func TestReadingFails(t *testing.T) {
	broken := errors.New("the card was pulled out")
	for name, r := range map[string]io.Reader{
		"at once":    iotest.ErrReader(broken),
		"in a row":   io.MultiReader(strings.NewReader(base+"\nA,green ash,96 in,12 in\nB,green"), iotest.ErrReader(broken)),
		"no advance": io.MultiReader(strings.NewReader(base+"\nA,green ash,96 in,12 in\n"), stuck{}),
	} {
		for kind, read := range map[string]func(string, io.Reader, Options) func(func(Row, error) bool){
			"csv": func(n string, r io.Reader, o Options) func(func(Row, error) bool) { return ReadCSV(n, r, o) },
		} {
			var last error
			rows := 0
			for _, err := range read("list", r, Options{}) {
				if last = err; err == nil {
					rows++
				}
			}
			var f *Fault
			if last == nil || errors.As(last, &f) || name != "at once" && rows != 1 {
				t.Errorf("%s, %s: %d rows, then %v", name, kind, rows, last)
			}
		}
	}
	if _, errs := ReadLots("lots", iotest.ErrReader(broken)); len(errs) != 1 || !errors.Is(errs[0], broken) {
		t.Error(errs)
	}
	for _, err := range ReadJSON("list", io.MultiReader(strings.NewReader(`[{"tag":`), iotest.ErrReader(broken)), Options{}) {
		if !errors.Is(err, broken) {
			t.Error(err)
		}
	}
}

type stuck struct{}

func (stuck) Read([]byte) (int, error) { return 0, nil }

// Whatever pieces the bytes come in, the list is the same.
func TestSmallReads(t *testing.T) {
	text := "\ufeff" + base + "\r\nA,green ash,96 in,12 in\r\nB,green ash,97 in,12 in\rC,green ash,9 in,12 in\r\n"
	want, _ := gather(t, text)
	got, faults := split2(t, ReadCSV("list.csv", iotest.OneByteReader(strings.NewReader(text)), Options{Defaults: verdict.Circumstances{Date: demoDay}}))
	if diff := cmp.Diff(want, got); diff != "" || len(faults) > 0 || len(got) != 3 || got[2].Line != 4 {
		t.Error(diff, faults)
	}
}

// The caller may stop at any row or fault.
func TestStops(t *testing.T) {
	text := base + "\nA,green ash,96 in,12 in\nB,green ash,0 in,12 in\nC,green ash,-1 in,0 in\nshort\nD,green ash,96 in,12 in\nD,green ash,96 in,12 in\n"
	js := `[{"tag":"A","species":"green ash","girth":"96 in","girth_height":"12 in","odd":1},3,{"tag":"B"},{"tag":"C"}]`
	for after := 1; after < 8; after++ {
		for _, seq := range []func(func(Row, error) bool){
			ReadCSV("l", strings.NewReader(text), Options{}), ReadJSON("l", strings.NewReader(js), Options{}),
		} {
			n := 0
			for range seq {
				if n++; n == after {
					break
				}
			}
		}
	}
}

func TestDecimalCommaByOption(t *testing.T) {
	text := base + "\nT,green ash,\"243,84 cm\",\"30,48 cm\"\n"
	rows, faults := split2(t, ReadCSV("l", strings.NewReader(text), Options{DecimalComma: true}))
	if len(faults) > 0 || len(rows) != 1 || rows[0].Tree.Stems[0].Ring.Girth.Around != 96*in {
		t.Error(rows, faults)
	}
	js := `[{"tag":"T","species":"green ash","girth_cm":243.84,"girth_height":"30,48 cm"}]`
	rows, faults = split2(t, ReadJSON("l", strings.NewReader(js), Options{DecimalComma: true}))
	if len(faults) > 0 || len(rows) != 1 || rows[0].Tree.Stems[0].Ring.Girth.Around != 96*in {
		t.Error(rows, faults)
	}
}
