package pile

import (
	"strings"
	"testing"
	"time"

	"sapwell/engine/quantity"
	"sapwell/records"
	"sapwell/words"
)

// A bag belongs to the days of its visits and to those in which it was sealed or
// handed over: whoever asks for any of them gets its papers, once.
func TestBagsOfTheseDays(t *testing.T) {
	h, l := storeOf(t, aDay+`
phone: h1 hole day oak 100 mark=1
phone: u1 seated day h1 lot
phone: l1 lifted day u1
phone: end closed day oak text 1
clock: office 48h
office: late bagged day
clock: office 120h
office: given handed late
`)
	at := time.UnixMilli(h.Now()).Add(240 * time.Hour)
	// The history begins on 2023-11-14; its visit says that it is of 2026-06-09.
	for days, want := range map[[2]string]int{
		{"2023-11-01", "2023-11-15"}: 0, {"2023-11-16", "2023-11-16"}: 2, {"2023-11-17", "2023-11-18"}: 0, {"2023-11-19", "2023-11-19"}: 2,
		{"2023-11-20", "2026-06-08"}: 0, {"2026-06-09", "2026-06-09"}: 2, {"", ""}: 2, {"2023-11-18", ""}: 2, {"", "2023-11-15"}: 0,
	} {
		in := wanted(t, at)
		in.From, in.To = dayOf(t, days[0]), dayOf(t, days[1])
		n := 0
		for name := range written(t, l, in) {
			if strings.HasPrefix(name, "waste/") {
				n++
			}
		}
		if n != want {
			t.Errorf("from %q to %q: %d papers of the bag, want %d", days[0], days[1], n, want)
		}
	}
}

// A medical sheet tells of the work at all trees of the visit. By hand: 63 mL and 56 mL
// are 119 mL.
func TestTheWorkAtAllTrees(t *testing.T) {
	p := blank(nil, nil, wanted(t, start), nil)
	record := func(tree, start, amount, lot string) records.Record {
		return records.Record{}.With("tree.id", tree).With("record.id", "id-"+tree).With("site.name", "Park").With("site.location", "Park, tree "+tree).
			With("time.start", start).With("amount.total", amount).With("product.lot", lot)
	}
	a, b, c := record("A", "09:30", "63 mL", "L-1"), record("B", "08:15", "56 mL", "L-2"), record("C", "10:00", "", "L-1")
	for _, w := range []struct {
		of   []records.Record
		want map[records.Field]string
	}{
		{[]records.Record{a}, map[records.Field]string{"site.location": "Park, tree A", "amount.total": "63 mL"}},
		{[]records.Record{a, b}, map[records.Field]string{"site.location": "Park, trees A, B", "amount.total": "119 mL", "time.start": "08:15", "product.lot": "L-1, L-2", "record.id": "id-A, id-B"}},
		{[]records.Record{a, c}, map[records.Field]string{"amount.total": "", "product.lot": "L-1"}},
		{nil, map[records.Field]string{"date": ""}},
	} {
		got := p.together(w.of)
		for field, want := range w.want {
			if got.Text(field) != want {
				t.Errorf("%d records: %s is %q, want %q", len(w.of), field, got.Text(field), want)
			}
		}
	}
}

func dayOf(t *testing.T, text string) quantity.Date {
	t.Helper()
	if text == "" {
		return quantity.Date{}
	}
	d, err := quantity.ParseDate(text)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// A last day of keeping says which records it is of: nobody knows in years what "this
// day" was.
func TestALastDayOfKeepingSaysOfWhat(t *testing.T) {
	for _, lang := range words.Languages() {
		say, err := words.New(lang, quantity.Style{})
		if err != nil {
			t.Fatal(err)
		}
		for e, err := range Events([]records.Duty{{Name: "keep_until", Subject: "2026-06-09", Records: 2, Due: quantity.NewDate(2033, 6, 9)}}, start, say) {
			if err != nil || !strings.Contains(e.Summary, "2026-06-09") || strings.Contains(e.Summary, "⟨") {
				t.Errorf("%s: %q, %v", lang, e.Summary, err)
			}
		}
	}
}
