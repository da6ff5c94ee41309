package pile

import (
	"bytes"
	"crypto/sha256"
	"io"
	"strings"
	"testing"
	"time"

	"sapwell/documents"
	"sapwell/engine/price"
	"sapwell/engine/quantity"
	"sapwell/entries"
	"sapwell/gather"
	"sapwell/internal/daybook"
	"sapwell/journal"
	"sapwell/store"
	"sapwell/store/mem"
	"sapwell/views"
	"sapwell/words"
)

var start = time.Date(2026, 5, 4, 6, 0, 0, 0, time.UTC)

// season is a store with the first n entries of an invented season, and the moment
// after the last.
func season(t testing.TB, n int) (store.Ledger, time.Time) {
	t.Helper()
	var lines [][]byte
	last := start.UnixMilli()
	for e, err := range (daybook.Book{Seed: 1, Trees: 40, Devices: daybook.Keys(1, 3), Start: start.UnixMilli()}).Entries() {
		if err != nil {
			t.Fatal(err)
		}
		lines, last = append(lines, e.Line), max(last, e.Time)
		if len(lines) == n {
			break
		}
	}
	s := mem.New()
	org, err := s.Found(t.Context(), lines, last)
	if err != nil {
		t.Fatal(err)
	}
	l, err := s.Ledger(t.Context(), org)
	if err != nil {
		t.Fatal(err)
	}
	return l, time.UnixMilli(last).Add(time.Hour)
}

// beginning has a pile of which nothing is made yet.
func beginning(t testing.TB, l store.Ledger, now time.Time, do func(p *pile) error) error {
	t.Helper()
	return l.Read(t.Context(), func(r store.Reader) error {
		g, err := gather.New(r, l.Org(), now)
		if err != nil {
			return err
		}
		return do(blank(r, g, wanted(t, now), nil))
	})
}

func wanted(t testing.TB, now time.Time) Wanted {
	t.Helper()
	say, err := words.New("en", quantity.Style{})
	if err != nil {
		t.Fatal(err)
	}
	return Wanted{Now: now, Paper: documents.A4, Say: say, All: true, Prices: &Prices{Currency: "USD", List: price.List{PerTree: 3500, PerUnit: 1150, Minimum: 12_000, Tax: 725}}}
}

// written is every paper by its name.
func written(t testing.TB, l store.Ledger, want Wanted) map[string][]byte {
	t.Helper()
	all := map[string][]byte{}
	err := l.Read(t.Context(), func(r store.Reader) error {
		return Write(r, l.Org(), want, func(name string, write func(io.Writer) error) error {
			if all[name] != nil {
				t.Errorf("%s is written twice", name)
			}
			var b bytes.Buffer
			err := write(&b)
			all[name] = b.Bytes()
			return err
		})
	})
	if err != nil {
		t.Fatal(err)
	}
	return all
}

func TestThePileOfASeason(t *testing.T) {
	l, now := season(t, 3000)
	all := written(t, l, wanted(t, now))
	again := written(t, l, wanted(t, now))
	kinds := map[string]int{}
	for name, paper := range all {
		if sha256.Sum256(paper) != sha256.Sum256(again[name]) {
			t.Errorf("%s: other bytes the second time", name)
		}
		folder, _, _ := strings.Cut(name, "/")
		kinds[folder]++
	}
	for _, folder := range []string{"records", "notices", "contracts", "signs", "waste", "invoices", "recall", "data", "record-book.pdf", "stock-ledger.pdf"} {
		if kinds[folder] == 0 {
			t.Errorf("no %s among %v", folder, kinds)
		}
	}
	if kinds["waste"]%2 != 0 || kinds["notices"] != kinds["contracts"] || kinds["notices"] != kinds["invoices"] {
		t.Errorf("every visit has its papers: %v", kinds)
	}
}

// Days without work have no papers of work.
func TestOnlyTheseDays(t *testing.T) {
	l, now := season(t, 1500)
	want := wanted(t, now)
	want.From, want.To = quantity.NewDate(2020, 1, 1), quantity.NewDate(2020, 12, 31)
	for name := range written(t, l, want) {
		if folder, _, _ := strings.Cut(name, "/"); folder == "records" || folder == "notices" || folder == "record-book.pdf" || folder == "data" {
			t.Errorf("%s, of days without work", name)
		}
	}
}

// The ledger folds the movements of a lot on its own; it must end where the view
// stands, and each balance must follow from the one before it.
func TestLedgerEndsWhereTheViewStands(t *testing.T) {
	l, now := season(t, 6000)
	lots := 0
	err := beginning(t, l, now, func(p *pile) error {
		for _, days := range [][2]quantity.Date{{quantity.NewDate(2026, 5, 1), p.g.Today}, {p.g.Today, p.g.Today}} {
			err := rows(p, entries.OfLot, func(lot *views.Lot) error {
				lots++
				got, err := p.ledgerLot(lot, days[0], days[1])
				if err != nil {
					return err
				}
				if got.Closing != lot.OnHand || got.Opening+got.In-got.Out != got.Closing {
					t.Errorf("lot %s: closes with %d (%+v), the view has %d", got.Lot, got.Closing, got, lot.OnHand)
				}
				balance := got.Opening
				for i, m := range got.Moves {
					if balance += m.Units; balance != m.Balance {
						t.Errorf("lot %s, move %d: balance %d, want %d", got.Lot, i, m.Balance, balance)
					}
				}
				return nil
			})
			if err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil || lots == 0 {
		t.Fatal(lots, err)
	}
}

// A paper that cannot be made is told and does not keep the others back: no number to
// call is known of this country, nor of the label.
func TestWhatCannotBeMade(t *testing.T) {
	l, now := season(t, 1500)
	want := wanted(t, now)
	var said []string
	want.Skipped = func(s string) { said = append(said, s) }
	all := written(t, l, want)
	medical := 0
	for name := range all {
		if strings.HasPrefix(name, "medical/") {
			medical++
		}
	}
	if all["record-book.pdf"] == nil || medical+len(said) == 0 {
		t.Errorf("%d papers, %d medical sheets, %q", len(all), medical, said)
	}
	for i, s := range said {
		if strings.Contains(s, "⟨") || i > 0 && s == said[i-1] {
			t.Errorf("said %q", said)
		}
	}
}

func TestWhoIsNotThere(t *testing.T) {
	l, now := season(t, 100)
	err := l.Read(t.Context(), func(r store.Reader) error {
		return Write(r, journal.ID{7: 1}, wanted(t, now), func(string, func(io.Writer) error) error { return nil })
	})
	if err == nil || !strings.Contains(err.Error(), "no entry speaks of it") {
		t.Errorf("%v", err)
	}
}

// The store's log is in thousandths of a kelvin; 0 °C is 273.15 K (the SI Brochure).
func TestTemperatures(t *testing.T) {
	mk := int64(278_150)
	if got := temperature(&mk); got == nil || got.Celsius() < 4.999 || got.Celsius() > 5.001 {
		t.Errorf("%v, want 5 °C", got)
	}
	if temperature(nil) != nil {
		t.Error("a log that nobody kept")
	}
}
