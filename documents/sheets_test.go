package documents

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"os/exec"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sapwell/engine/price"
	"sapwell/engine/quantity"
	"sapwell/internal/outside"
	"sapwell/words"
)

// sheetPages are the pages of each paper of stock and money, by name, with few and
// with many lines.
func sheetPagesOf(t testing.TB, v voice, paper Paper) map[string][]*page {
	return map[string][]*page{
		"waste": sampleWaste().sheetPages(v, paper), "handover": sampleWaste().slipPages(v, paper), "bare waste": WasteBatch{}.sheetPages(v, paper), "bare slip": WasteBatch{}.slipPages(v, paper),
		"ledger": sampleLedger(3, 9).pages(v, paper), "long ledger": sampleLedger(12, 70).pages(v, paper), "no ledger": StockLedger{}.pages(v, paper),
		"recall": sampleRecall(2, 3).pages(v, paper), "long recall": sampleRecall(7, 60).pages(v, paper), "no recall": LotRecall{Lot: "X"}.pages(v, paper),
		"season": sampleLetter(3).pages(v, paper), "long season": sampleLetter(90).pages(v, paper), "bare season": SeasonLetter{Trees: make([]SeasonTree, 1)}.pages(v, paper),
		"quote": sampleOffer(t, 2).pages(v, paper), "long quote": sampleOffer(t, 60).pages(v, paper),
		"order": sampleOrder(4).pages(v, paper), "long order": sampleOrder(80).pages(v, paper), "bare order": WorkOrder{Products: make([]WorkProduct, 1), Trees: make([]WorkTree, 1)}.pages(v, paper),
	}
}

// Nothing overlaps, nothing leaves the paper, every letter has a glyph, no message
// is missing; in both languages, on both papers, with few lines and many.
func TestSheetsHoldTogether(t *testing.T) {
	for _, lang := range words.Languages() {
		for _, st := range []quantity.Style{inch, comma} {
			for _, paper := range []Paper{A4, Letter} {
				for name, pages := range sheetPagesOf(t, speak(t, lang, st), paper) {
					for i, p := range pages {
						checkPage(t, fmt.Sprintf("%s/%s/%s/p%d", name, lang, paper, i+1), p)
					}
				}
			}
		}
	}
}

// Long and strange texts take more room and are never lost.
func TestSheetsKeepLongTexts(t *testing.T) {
	v := speak(t, "en", inch)
	long := "Donaudampfschifffahrtsgesellschaftskapitänsbaumwiese-ohne-jede-Trennstelle-irgendwo " + strings.Repeat("by the old mill, ", 12) + "Ясень 桜 עץ"
	w, r, q, o := sampleWaste(), sampleRecall(1, 2), sampleOffer(t, 1), sampleOrder(2)
	w.Bags[0].Mark, w.Bags[0].Basis, w.Contents[0].Active, w.Store = long, long, long, long
	r.At[0].Grounds, r.At[0].Trees[0].Where, r.Reason = "Grounds "+long, long, long
	q.Trees[0].Where, q.Remarks, q.Quote.Lines[0].For = long, []string{long}, long
	o.Access, o.Trees[0].Where, o.Trees[1].Open, o.Products[0].REI = long, long, []string{long}, long
	for name, pages := range map[string][]*page{
		"waste": w.sheetPages(v, A4), "slip": w.slipPages(v, Letter), "recall": r.pages(v, A4), "quote": q.pages(v, Letter), "order": o.pages(v, A4),
	} {
		for i, p := range pages {
			checkPage(t, fmt.Sprintf("%s/p%d", name, i+1), p)
		}
		got := strings.ReplaceAll(allText(pages), "\n", "")
		if n := strings.Count(got, "by the old mill,"); n < 3 && name != "recall" {
			t.Errorf("%s: the long text is on the paper %d times", name, n)
		}
	}
}

// readPDF is a paper as poppler's pdftotext reads it.
func readPDF(t *testing.T, b []byte, how string) string {
	return tool(t, "pdftotext", how, onDisk(t, b), "-")
}

// What came in stands on the paper, and nothing else is made of it: sums that are
// wrong are printed as they came.
func TestSheetsPrintWhatComesIn(t *testing.T) {
	w := sampleWaste()
	w.Units, w.LeftLow, w.LeftHigh = 9999, 7*mL, 7*mL
	l := sampleLedger(1, 0)
	l.Lots[0].Closing = 8888
	r := sampleRecall(1, 2)
	r.Units, r.Trees, r.InStore = 7777, 6666, 5555
	print := func(f func(io.Writer, *words.Printer, Paper) error) string {
		var b bytes.Buffer
		if err := f(&b, printer(t, "en"), A4); err != nil {
			t.Fatal(err)
		}
		return readPDF(t, b.Bytes(), "-layout")
	}
	for text, want := range map[string][]string{
		print(w.Sheet):               {"Waste batch W-2026-19", "9999", "7 mL", "BAG-0412 /", "meets the test", "undetermined", "does not meet it", "not applicable", "not determined", "not recorded", "26 mL", "emamectin benzoate 40 g/L", "FICTIONAL", "Not legal advice", "Page 1 of"},
		print(w.Slip):                {"Waste hand-over", "9999", "Invented Waste Co.", "T-77", "4 bags", "Receipt or transfer note", "does not meet it"},
		print(l.Print):               {"Stock ledger", "From 2026-01-01 to 2026-06-30", "8888", "-20", "+200", "delivery note 5531", "41 °F to 79.7 °F"},
		print(r.Print):               {"Recall of lot INV-2231", "7777 units", "Trees: 6666", "5555 units", "Fictional Owner LLC, 1 Sample Lane", "Lost", "48 mL"},
		print(sampleLetter(3).Print): {"Front lawn and drive: your trees in spring 2027", "2027-05-12", "to be found out", "tell us by 2027-03-15", "We work in your street"},
		print(sampleOrder(4).Print):  {"Work order WO-2026-044", "64", "Is the bloom over?", "protective eyewear", "Q-2026-031", "2025-01-15"},
	} {
		for _, s := range want {
			if !strings.Contains(text, s) {
				t.Errorf("want %q in\n%s", s, text)
			}
		}
	}
	outside.Ran(t, "poppler pdftotext", "six papers of stock and work: facts and sums as they came in")
}

// Corrections stand on the ledger with what stood before, who, when and why; a lot that
// must not be used says so beside its number and above its movements.
func TestLedgerIsOpen(t *testing.T) {
	for lang, want := range map[string][]string{
		"en": {"thrown away [1]", "[1] Units: now “-20”; before it stood “-25”. By A. Example, 2026-05-02 09:30 −04:00. Why: five of them were whole",
			"[2] Expires: now “2026-04-30”; before it stood “not recorded”. By B. Sample, 2026-05-02 09:30 −04:00. Why: not recorded", "[3] Something of this lot was corrected",
			"INV-2232 – stored out 2026-04-30 – 0", "of range expired", "Expired: the last good day was 2026-04-30.", "shows 96.8 °F; the label’s limit on that side is 86 °F", "A. Example; used after the last good day"},
		"es": {"desechado [1]", "ahora «-20»; antes decía «-25»", "INV-2232 – guardado 2026-04-30 – 0", "fuera de límites caducado", "muestra 36 °C; el límite de la etiqueta por ese lado es 30 °C", "usado después del último día válido"},
	} {
		var b bytes.Buffer
		if err := sampleLedger(3, 9).Print(&b, printer(t, lang), A4); err != nil {
			t.Fatal(err)
		}
		text := strings.Join(strings.Fields(readPDF(t, b.Bytes(), "-raw")), " ")
		for _, s := range want {
			if !strings.Contains(text, s) {
				t.Errorf("%s: want %q in\n%.3000s", lang, s, text)
			}
		}
	}
	outside.Ran(t, "poppler pdftotext", "corrections and cautions of a stock ledger; 309.15 K is 36 °C, 96.8 °F, by hand")
}

// A letter to nobody known greets nobody by name, and its foot does not end in a mark.
func TestLetterToNobodyKnown(t *testing.T) {
	for lang, want := range map[string]string{"en": "Good day,", "es": "Buenos días:"} {
		v := speak(t, lang, inch)
		text := allText(SeasonLetter{Firm: Party{Name: "Example Firm"}, Trees: make([]SeasonTree, 1)}.pages(v, A4))
		if !strings.Contains(text, want) || strings.Contains(text, "·\n") || strings.HasSuffix(text, "·") {
			t.Errorf("%s: %q", lang, text)
		}
	}
}

// The figures of the worked example of engine/price, by hand there, as a client
// reads them.
func TestQuoteAsTheClientReadsIt(t *testing.T) {
	for lang, want := range map[string][]string{
		"en": {"25.00", "152.00", "115.20", "104.50", "74.40", "60.00", "556.10 USD", "Tax, 8.25 %", "45.88 USD", "601.98 USD", "120.00", "Quote Q-2026-031 of 2026-04-20, 601.98 USD"},
		"es": {"25,00", "152,00", "115,20", "104,50", "74,40", "60,00", "556,10 USD", "Impuesto, 8,25 %", "45,88 USD", "601,98 USD", "120,00"},
	} {
		var b bytes.Buffer
		if err := sampleOffer(t, 2).Print(&b, printer(t, lang), Letter); err != nil {
			t.Fatal(err)
		}
		text := readPDF(t, b.Bytes(), "-layout")
		for _, s := range want {
			if !strings.Contains(text, s) {
				t.Errorf("%s: want %q in\n%s", lang, s, text)
			}
		}
	}
	outside.Ran(t, "arithmetic by hand; poppler pdftotext", "a quote's figures on paper, with point and comma")
}

// No paper says that anything is allowed, and where law is touched it says that it
// is no advice. The words of the emptiness test are the four and no status.
func TestSheetsStateNoStatus(t *testing.T) {
	never := []string{"compliant", "approved", "conforme", "aprobad", "legally", "rcra-empty", "rcra empty"}
	for _, lang := range words.Languages() {
		p := printer(t, lang)
		for name, pages := range sheetPagesOf(t, voice{p, lang, p.Style}, A4) {
			text := strings.ToLower(strings.ReplaceAll(allText(pages), "\n", " "))
			advice := p.Say("paper.foot")
			bare := strings.NewReplacer("not legal advice", "", "no es asesoría jurídica", "").Replace(text)
			for _, s := range append(never, "legal") {
				if strings.Contains(bare, s) {
					t.Errorf("%s, %s: the paper says %q", name, lang, s)
				}
			}
			touched := strings.Contains(name, "waste") || strings.Contains(name, "slip") || strings.Contains(name, "handover") || strings.Contains(name, "recall")
			if touched && !strings.Contains(text, strings.ToLower(strings.Split(advice, ".")[0])) {
				t.Errorf("%s, %s: it does not say that it is no legal advice", name, lang)
			}
		}
	}
}

// qpdf, pdfinfo and pdffonts find the files sound, of the right size, with fonts
// embedded; a second run gives the same bytes.
func TestSheetFiles(t *testing.T) {
	size := map[Paper]string{A4: "595.27", Letter: "612 x 792"}
	for _, s := range sampleSheets(t) {
		for _, paper := range []Paper{A4, Letter} {
			b := s.printed(t, "es", paper)
			if !bytes.Equal(b, s.printed(t, "es", paper)) {
				t.Errorf("%s: two runs differ", s.name)
			}
			file := onDisk(t, b)
			if out := tool(t, "qpdf", "--check", file); !strings.Contains(out, "No syntax or stream encoding errors found") {
				t.Errorf("%s: qpdf --check: %s", s.name, out)
			}
			if info := tool(t, "pdfinfo", file); !strings.Contains(info, size[paper]) && !strings.Contains(info, "595.28") || !strings.Contains(info, "Tagged:          no") {
				t.Errorf("%s on %s:\n%s", s.name, paper, info)
			}
			for _, l := range strings.Split(strings.TrimSpace(tool(t, "pdffonts", file)), "\n")[2:] {
				if f := strings.Fields(l); f[len(f)-5] != "yes" {
					t.Errorf("%s: font is not embedded: %s", s.name, l)
				}
			}
		}
	}
	outside.Ran(t, "qpdf --check, poppler pdfinfo and pdffonts", "seven papers of stock and money on two sizes")
}

func TestSheetsRefuse(t *testing.T) {
	p := printer(t, "en")
	waste := func(f func(*WasteBatch)) error { w := sampleWaste(); f(&w); return w.Sheet(io.Discard, p, A4) }
	offer := func(f func(*Offer)) error { o := sampleOffer(t, 1); f(&o); return o.Print(io.Discard, p, A4) }
	for want, err := range map[string]error{
		`bags[1].test: "empty": want "meets_261_7"`: waste(func(w *WasteBatch) { w.Bags[1].Test = "empty" }),
		`hazardous: "maybe"`:                        waste(func(w *WasteBatch) { w.Hazardous = "maybe" }),
		"units: -1":                                 waste(func(w *WasteBatch) { w.Units = -1 }),
		"contents[0].units: -1":                     waste(func(w *WasteBatch) { w.Contents[0].Units = -1 }),
		"bags[0].units: -1":                         waste(func(w *WasteBatch) { w.Bags[0].Units = -1 }),
		"bags[0].left":                              waste(func(w *WasteBatch) { w.Bags[0].LeftLow = 10 * mL }),
		"left: 1 to 0 nL":                           waste(func(w *WasteBatch) { w.LeftLow, w.LeftHigh = 1, 0 }),
		"paper \"a3\" is not known":                 sampleWaste().Slip(io.Discard, p, "a3"),
		"waste hand-over":                           WasteBatch{Units: -1}.Slip(io.Discard, p, A4),
		`currency: "usd"`:                           offer(func(o *Offer) { o.Currency = "usd" }),
		"lines: none":                               offer(func(o *Offer) { o.Quote = price.Quote{} }),
		"invoice":                                   Offer{}.InvoiceCSV(io.Discard, "", p),
		`lots[0].moves[0].sort: "stolen"`:           StockLedger{Lots: []LedgerLot{{Moves: []LedgerMove{{Sort: "stolen"}}}}}.Print(io.Discard, p, A4),
		"in: -3":                                    StockLedger{Lots: []LedgerLot{{In: -3}}}.Print(io.Discard, p, A4),
		"lot: none":                                 LotRecall{}.Print(io.Discard, p, A4),
		"clients: -1":                               LotRecall{Lot: "x", Clients: -1}.Print(io.Discard, p, A4),
		"season letter to \"\": trees: none":        SeasonLetter{}.Print(io.Discard, p, A4),
		`work order "": trees: none`:                WorkOrder{}.Print(io.Discard, p, A4),
		"trees[0].units: -1":                        WorkOrder{Trees: []WorkTree{{Units: -1}}}.Print(io.Discard, p, A4),
		"disk full":                                 sampleWaste().Sheet(full{}, p, A4),
	} {
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("got %v, want an error with %q", err, want)
		}
	}
}

// Python reads the invoice's lines, adds the last column up and comes to what is
// due; a client's formula stays text.
func TestInvoiceLinesAddUp(t *testing.T) {
	o := sampleOffer(t, 2)
	o.To.Name = `=cmd|"x"!A1`
	var b bytes.Buffer
	if err := o.InvoiceCSV(&b, "V-1", printer(t, "en")); err != nil {
		t.Fatal(err)
	}
	const code = `
import csv, json, sys
from decimal import Decimal
rows = list(csv.DictReader(sys.stdin, strict=True))
print(json.dumps({"sum": str(sum(Decimal(r["amount"]) for r in rows)), "n": len(rows), "client": rows[0]["client"],
    "off": [r["line"] for r in rows if r["quantity"] and Decimal(r["quantity"]) * Decimal(r["unit_price"]) != Decimal(r["amount"])]}))
`
	cmd := exec.Command(outside.Tool(t, "python3"), "-c", code)
	cmd.Stdin = bytes.NewReader(b.Bytes())
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	var got struct {
		Sum, Client string
		N           int
		Off         []string
	}
	if err := json.Unmarshal(out, &got); err != nil || got.Sum != "601.98" || got.N != 8 || got.Client != `'=cmd|"x"!A1` || len(got.Off) > 0 {
		t.Errorf("Python reads %+v (%v): want 8 lines, 601.98 by hand", got, err)
	}
	outside.Ran(t, "Python csv and decimal", "an invoice's lines add up to what is due")
}

// Whatever is priced, the lines of its invoice add up to what is due.
func TestAnyInvoiceAddsUp(t *testing.T) {
	p := printer(t, "es")
	rapid.Check(t, func(t *rapid.T) {
		cents := func(name string) price.Cents { return price.Cents(rapid.Int64Range(1, 1e6).Draw(t, name)) }
		list := price.List{PerTree: cents("tree"), PerUnit: cents("unit"), Minimum: cents("minimum"), Tax: price.BasisPoints(rapid.Int64Range(0, 3000).Draw(t, "tax"))}
		var trees []price.Tree
		for i := range rapid.IntRange(1, 5).Draw(t, "trees") {
			trees = append(trees, price.Tree{Name: fmt.Sprint(i), Units: rapid.IntRange(1, 60).Draw(t, "units")})
		}
		q, err := price.Compute(list, trees, nil)
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if err := (Offer{Currency: "EUR", List: list, Quote: q}).InvoiceCSV(&b, "", p); err != nil {
			t.Fatal(err)
		}
		rows, err := csv.NewReader(&b).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		var sum int64
		for _, r := range rows[1:] {
			var whole, part int64
			if _, err := fmt.Sscanf(r[len(r)-1], "%d.%02d", &whole, &part); err != nil {
				t.Fatal(err)
			}
			sum += 100*whole + part
		}
		if price.Cents(sum) != q.Due {
			t.Fatalf("the lines add up to %d cents: want %d", sum, q.Due)
		}
	})
}

func BenchmarkLedgerOfTenThousandMoves(b *testing.B) {
	l, p := sampleLedger(50, 200), printer(b, "en")
	for b.Loop() {
		if err := l.Print(io.Discard, p, A4); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkOneWasteBatch(b *testing.B) {
	w, p := sampleWaste(), printer(b, "en")
	for b.Loop() {
		if err := w.Sheet(io.Discard, p, A4); err != nil {
			b.Fatal(err)
		}
	}
}
