package documents

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"testing"
	"time"

	"sapwell/engine/price"
	"sapwell/engine/quantity"
	"sapwell/words"
)

// Everything here is invented: no such firm, client, product or lot exists.

const mL = quantity.Millilitre

func date(y int, m int, d int) quantity.Date { return quantity.NewDate(y, 1, 1).AddDate(0, m-1, d-1) }

var (
	ourFirm = Party{"Example Tree Health (fictional)", "2 Sample Lane, Nowhere, NY 00000", "+1-555-0100", "B-0001"}
	aClient = Party{Name: "Fictional Owner LLC", Address: "1 Sample Lane, Nowhere, NY 00000", Phone: "+1-555-0111"}
)

func sampleWaste() WasteBatch {
	return WasteBatch{
		ID: "W-2026-19", Firm: ourFirm, Date: date(2026, 6, 5),
		Contents: []WasteContent{
			{"Example Emamectin 4", "99999-1", "emamectin benzoate 40 g/L", true, []string{"INV-2231", "INV-2232-B"}, 138},
			{"Example Propiconazole 14", "99999-2", "propiconazole 144 g/L", true, []string{"INV-77"}, 34},
		},
		Bags: []WasteBag{
			{"BAG-0412 / seal 88-1201", "A. Example", date(2026, 5, 12), "Invented Park, north lawn, 2026-05-12", 96, 4 * mL, 9 * mL, "meets_261_7", "120 units weighed, 2.1 % of their capacity"},
			{"BAG-0413 / seal 88-1202", "A. Example", date(2026, 5, 12), "Invented Park, north lawn, 2026-05-12", 42, 3 * mL, 12 * mL, "undetermined", "drained by eye; nobody weighed them"},
			{"BAG-0414 / seal 88-1207", "B. Sample", date(2026, 6, 3), "Mill Lane, 2026-06-03", 30, 20 * mL, 26 * mL, "does_not_meet", "three units stuck with liquid in them"},
			{"BAG-0415", "", quantity.Date{}, "", 4, 0, 0, "not_applicable", "not hazardous, by the maker's data sheet"},
		},
		Units: 172, LeftLow: 27 * mL, LeftHigh: 47 * mL, Began: date(2026, 5, 12), Until: date(2026, 11, 12),
		Store: "Locked cabinet 2, yard", To: Party{Name: "Invented Waste Co. (fictional)", Address: "9 Dump Road, Nowhere", Phone: "+1-555-0190", RegNo: "T-77"}, Proof: "",
	}
}

func sampleLedger(lots, moves int) StockLedger {
	cold, warm := quantity.Temperature(278.15), quantity.Temperature(299.65)
	l := StockLedger{Firm: ourFirm, From: date(2026, 1, 1), To: date(2026, 6, 30), Date: date(2026, 7, 1)}
	for i := range lots {
		lot := LedgerLot{
			Product: "Example Emamectin 4", RegNo: "99999-1", Fictional: true, Lot: fmt.Sprintf("INV-%d", 2231+i), Size: 4 * mL, Expires: date(2027, 3, 1+i),
			Supplier: "Invented Supply (fictional)", Store: "Cabinet 1", Opening: 0, In: 200, Out: 22 + 3*moves, Closing: 178 - 3*moves,
		}
		if i%2 == 0 {
			lot.Coldest, lot.Warmest = &cold, &warm
		}
		lot.Moves = []LedgerMove{
			{Day: date(2026, 2, 3), Sort: "received", Units: 200, Balance: 200, Note: "delivery note 5531"},
			{Day: date(2026, 3, 9), Sort: "discarded", Units: -20, Balance: 180, Note: "box fell; 20 units cracked"}, {Day: date(2026, 4, 1), Sort: "counted", Units: -2, Balance: 178},
		}
		for j := range moves {
			lot.Moves = append(lot.Moves, LedgerMove{Day: date(2026, 5, 1+j%28), Sort: "visit", Units: -3, Balance: 178 - 3*(j+1), Note: "Invented Park, north lawn; A. Example", Late: i == 1 && j == 0})
		}
		if i == 1 {
			lot.Expired, lot.Expires, lot.Beyond = true, date(2026, 4, 30), []LedgerReading{{quantity.Temperature(309.15), quantity.Temperature(303.15)}}
			at := time.Date(2026, 5, 2, 9, 30, 0, 0, time.FixedZone("", -4*3600))
			lot.Changes = []LedgerChange{
				{Move: 2, Field: "Units", Before: "-25", After: "-20", By: "A. Example", Why: "five of them were whole", At: at},
				{Field: "Expires", Before: "", After: "2026-04-30", By: "B. Sample", Why: "", At: at}, {At: at, By: "B. Sample", Why: "typed twice"},
			}
		}
		l.Lots = append(l.Lots, lot)
	}
	return l
}

func sampleRecall(places, trees int) LotRecall {
	l := LotRecall{
		Firm: ourFirm, Date: date(2026, 8, 20), Product: "Example Emamectin 4", RegNo: "99999-1", Lot: "INV-2231", Fictional: true, Size: 4 * mL, Expires: date(2027, 3, 1),
		Supplier: "Invented Supply (fictional)", Reason: "The maker found caps that may leak (invented case).",
		Units: places * trees * 12, Trees: places * trees, Places: places, Clients: places, InStore: 14,
		Elsewhere: []string{"6 units are on the truck of crew 2 since 2026-08-19."},
	}
	for i := range places {
		p := RecallPlace{Grounds: fmt.Sprintf("Invented Park %d, north lawn", i+1), Address: "Sample Road, Nowhere", Client: aClient}
		for j := range trees {
			t := RecallTree{fmt.Sprintf("A-%04d", 400+j), "Fraxinus pennsylvanica", "by the pond", date(2026, 5, 12), 12, 0, 48 * mL, "A. Example"}
			if j == 1 {
				t.Lost, t.Where = 1, ""
			}
			p.Trees = append(p.Trees, t)
		}
		l.At = append(l.At, p)
	}
	return l
}

func sampleLetter(trees int) SeasonLetter {
	l := SeasonLetter{
		Firm: ourFirm, To: aClient, Date: date(2027, 2, 10), Grounds: "Front lawn and drive", Season: "spring 2027", Answer: date(2027, 3, 15), Signed: "A. Example",
		Text: []string{"We work in your street in the second half of May and could save you the second journey."},
	}
	for i := range trees {
		t := SeasonTree{Tag: fmt.Sprintf("T-%02d", 7+i), Species: "Fraxinus pennsylvanica", Product: "Example Emamectin 4", Fictional: true, Last: date(2025, 5, 12), Next: date(2027, 5, 12), Seen: "crown full"}
		if i == 1 {
			t.Next, t.Seen, t.Species = quantity.Date{}, "", "Ulmus americana 'very long invented cultivar'"
		}
		l.Trees = append(l.Trees, t)
	}
	return l
}

func sampleOffer(t testing.TB, n int) Offer {
	t.Helper()
	list := price.List{PerTree: 2500, PerUnit: 950, PerStep: 120, Step: quantity.Inch, Steps: price.Up, Minimum: 40_000, Tax: 825}
	o := Offer{
		Number: "Q-2026-031", Firm: ourFirm, To: aClient, Date: date(2026, 4, 20), Until: date(2026, 5, 20), Grounds: "Front lawn and drive", Address: "1 Sample Lane, Nowhere",
		Currency: "USD", List: list, Fictional: true, Remarks: []string{"The gate is opened by the client at 8:00."},
	}
	var trees []price.Tree
	for i := range n {
		name := fmt.Sprintf("T-%02d", 7+i)
		trees = append(trees, price.Tree{Name: name, Units: 16 - 5*(i%2), Girth: quantity.Length(96-35*(i%2))*quantity.Inch + quantity.Length(i%2)*quantity.Inch/4})
		o.Trees = append(o.Trees, OfferTree{name, "Fraxinus pennsylvanica", "left of the drive", "Example Emamectin 4"})
	}
	q, err := price.Compute(list, trees, []price.Option{{Name: "Look again in autumn and send pictures", Price: 6000, Accepted: true}, {Name: "Prune dead wood", Price: 12_000}})
	if err != nil {
		t.Fatal(err)
	}
	o.Quote = q
	return o
}

func sampleOrder(n int) WorkOrder {
	o := WorkOrder{
		Number: "WO-2026-044", Quote: "Q-2026-031", Firm: ourFirm, Date: date(2026, 5, 12), Grounds: "Front lawn and drive", Address: "1 Sample Lane, Nowhere", Client: aClient,
		Access: "Gate code is with the office; dog in the back yard; park on the street.", Certified: "A. Example", Crew: []string{"B. Sample", "C. Invented"},
		Products: []WorkProduct{{"Example Emamectin 4", "99999-1", "emamectin benzoate 40 g/L", "2025-01-15", true, []string{"long sleeves and trousers", "chemical-resistant gloves", "protective eyewear"}, "Keep others away until all units are lifted."}},
		Agreed:   []string{"Look again in autumn and send pictures."}, Notes: []string{"The client wants to watch."},
	}
	for i := range n {
		t := WorkTree{Tag: fmt.Sprintf("T-%02d", 7+i), Species: "Fraxinus pennsylvanica", Where: "left of the drive", Product: "Example Emamectin 4", Units: 16, Total: 64 * mL}
		if i == 1 {
			t.Open = []string{"Is the bloom over? Nobody has looked yet."}
		}
		o.Trees = append(o.Trees, t)
		o.Units += t.Units
	}
	return o
}

// sampleSheets is every paper of stock and money, ready to print.
func sampleSheets(t testing.TB) []sampleOf {
	return []sampleOf{
		{"waste", sampleWaste().Sheet}, {"handover", sampleWaste().Slip}, {"ledger", sampleLedger(3, 9).Print}, {"recall", sampleRecall(2, 3).Print},
		{"season", sampleLetter(3).Print}, {"quote", sampleOffer(t, 2).Print}, {"order", sampleOrder(4).Print},
	}
}

// TestSheetSamples writes pages to look at into the folder SAPWELL_SAMPLES names.
func TestSheetSamples(t *testing.T) {
	dir := os.Getenv("SAPWELL_SAMPLES")
	if dir == "" {
		t.Skip("SAPWELL_SAMPLES is not set: no sample pages written")
	}
	for _, s := range sampleSheets(t) {
		for _, paper := range []Paper{A4, Letter} {
			for _, lang := range words.Languages() {
				if err := os.WriteFile(filepath.Join(dir, fmt.Sprintf("%s-%s-%s.pdf", s.name, paper, lang)), s.printed(t, lang, paper), 0o644); err != nil {
					t.Fatal(err)
				}
			}
		}
	}
	var b bytes.Buffer
	if err := sampleOffer(t, 2).InvoiceCSV(io.Writer(&b), "V-1", printer(t, "en")); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "invoice.csv"), b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
}
