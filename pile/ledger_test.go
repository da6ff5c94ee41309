package pile

import (
	"encoding/json"
	"slices"
	"testing"
	"time"

	"sapwell/documents"
	"sapwell/engine/quantity"
	"sapwell/entries"
	"sapwell/internal/history"
	"sapwell/journal"
	"sapwell/store"
	"sapwell/store/mem"
	"sapwell/views"
)

// storeOf is a store of a history told in words.
func storeOf(t testing.TB, text string) (*history.History, store.Ledger) {
	t.Helper()
	h := history.New("papers")
	if err := h.Tell(text); err != nil {
		t.Fatal(err)
	}
	var lines [][]byte
	for _, name := range h.Names() {
		lines = append(lines, h.Entry(name).Line)
	}
	s := mem.New()
	org, err := s.Found(t.Context(), lines, h.Now())
	if err != nil {
		t.Fatal(err)
	}
	l, err := s.Ledger(t.Context(), org)
	if err != nil {
		t.Fatal(err)
	}
	return h, l
}

// On 2023-11-14, a Tuesday (1,700,000,000,000 ms since 1970 by date(1)).
const aDay = `
office: firm org
office: ann person applicator
office: phone enrolled phone ann
office: paper certificate ann
office: park grounds
office: oak tree park
office: tape measured oak 1800
office: text label
office: lot lot expires=2023-11-01 warmest_mk=310000
office: other lot
office: in stock lot 12
office: gone stock lot 3 sort=discarded
office: moved stock lot 4
office: plan plan oak text tape 2
phone: day visit park ann oak plan
phone: count tally day lot 5
phone: fix amended in units=10
phone: fix2 amended fix units=11 note=recounted
`

// amendTally corrects the tally of the day: six were taken and one came back.
func amendTally(t *testing.T, h *history.History, l store.Ledger) {
	t.Helper()
	before := h.Entry("count")
	read, err := entries.Read(before)
	if err != nil {
		t.Fatal(err)
	}
	tally := read.Body.(entries.Tally)
	lot := tally.Lots[0]
	lot.Taken, lot.Unused = 6, 2
	tally.Lots = []entries.TallyLot{lot}
	after, err := entries.WriteBody(tally)
	if err != nil {
		t.Fatal(err)
	}
	body, err := entries.WriteBody(entries.Amendment{Head: entries.Head{V: 1, By: h.ID("ann")}, Of: before.ID, OfKind: "tally", Why: "one was found in the truck",
		Before: json.RawMessage(before.Body), After: after})
	if err != nil {
		t.Fatal(err)
	}
	now := h.Now() + 60_000
	_, err = l.Write(t.Context(), h.Signer("phone"), now, func(store.Reader) ([]journal.Draft, error) {
		return []journal.Draft{{ID: journal.ID{1: 1, 6: 0x70, 8: 0x80}, Time: now, Kind: "amendment", Body: body}}, nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

// The ledger counts an amended movement as amended, as the view of the lot does, and
// tells what stood before, who corrected it, when and why. What was moved to another
// lot leaves this one.
func TestLedgerTellsCorrections(t *testing.T) {
	h, l := storeOf(t, aDay)
	if err := h.Tell("phone: fix3 amended moved lot=" + h.ID("other").String()); err != nil {
		t.Fatal(err)
	}
	if _, err := l.Merge(t.Context(), [][]byte{h.Entry("fix3").Line}, h.Now(), nil); err != nil {
		t.Fatal(err)
	}
	amendTally(t, h, l)
	at := time.UnixMilli(h.Now()).Add(time.Hour)
	err := beginning(t, l, at, func(p *pile) error {
		for name, want := range map[string][]int{"lot": {11, -3, -4}, "other": {4}} {
			lot, err := gatherView[*views.Lot](p, entries.OfLot, h.ID(name))
			if err != nil {
				return err
			}
			got, err := p.ledgerLot(lot, quantity.NewDate(2023, 11, 14), quantity.NewDate(2023, 11, 15))
			if err != nil {
				return err
			}
			var units []int
			for _, m := range got.Moves {
				units = append(units, m.Units)
			}
			slices.Sort(units)
			slices.Sort(want)
			if !slices.Equal(units, want) || got.Closing != lot.OnHand {
				t.Errorf("%s: moves of %v units, closing with %d; want %v and %d as the view has it", name, units, got.Closing, want, lot.OnHand)
			}
			checkChanges(t, name, got)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

func checkChanges(t *testing.T, name string, got documents.LedgerLot) {
	t.Helper()
	type said struct{ sort, field, before, after, why string }
	var all []said
	for _, c := range got.Changes {
		sort := ""
		if c.Move > 0 {
			sort = got.Moves[c.Move-1].Sort
		}
		if c.By != "ann" || c.At.IsZero() {
			t.Errorf("%s: %+v: by whom and when", name, c)
		}
		all = append(all, said{sort, c.Field, c.Before, c.After, c.Why})
	}
	want := []said{
		{"received", "Units", "12", "10", "misread"}, {"received", "Units", "10", "11", "misread"}, {"received", "Remark", "", "recounted", "misread"},
		{"", "Lot", "lot", "other", "misread"},
		{"visit", "Units taken along", "5", "6", "one was found in the truck"}, {"visit", "Units brought back unused", "0", "2", "one was found in the truck"},
	}
	if name == "other" {
		want = []said{{"received", "Lot", "lot", "other", "misread"}}
	}
	if !slices.Equal(all, want) {
		t.Errorf("%s: corrections\n%q, want\n%q", name, all, want)
	}
}

// A lot that was not in the store in these days is not on their ledger, and its recall
// list comes with the days of the visits that used it.
func TestLotsOfTheseDays(t *testing.T) {
	h, l := storeOf(t, aDay+`
phone: h1 hole day oak 100 mark=1
phone: u1 seated day h1 lot
phone: l1 lifted day u1
phone: end closed day oak text 1
office: rest stock lot 1 sort=discarded
`)
	at := time.UnixMilli(h.Now()).Add(time.Hour)
	for days, want := range map[[2]string][2]bool{ // ledger, recall; the visit says that it is of 2026-06-09
		{"2023-11-01", "2023-11-13"}: {false, false}, {"2023-11-14", "2023-11-15"}: {true, false}, {"2026-06-09", "2026-06-09"}: {true, true}, {"", ""}: {true, true},
	} {
		in := wanted(t, at)
		in.From, in.To = dayOf(t, days[0]), dayOf(t, days[1])
		all := written(t, l, in)
		got := [2]bool{all["stock-ledger.pdf"] != nil, all["recall/boltane-lot.pdf"] != nil}
		if got != want {
			t.Errorf("%v: ledger and recall %v, want %v", days, got, want)
		}
	}
}

// A lot past its last good day, and one that lay too warm by the store's log for its
// label, are marked, and a visit that used units after that day.
func TestLedgerMarksWhatMustNotBeUsed(t *testing.T) {
	h, l := storeOf(t, aDay)
	at := time.UnixMilli(h.Now()).Add(time.Hour)
	err := beginning(t, l, at, func(p *pile) error {
		most := quantity.Temperature(303.15)
		label := p.labels["boltane"]
		label.Storage.Max = &most
		p.labels["boltane"] = label
		for name, spoilt := range map[string]bool{"lot": true, "other": false} {
			lot, err := gatherView[*views.Lot](p, entries.OfLot, h.ID(name))
			if err != nil {
				return err
			}
			got, err := p.ledgerLot(lot, quantity.NewDate(2023, 11, 14), quantity.NewDate(2099, 1, 1))
			if err != nil {
				return err
			}
			late := slices.ContainsFunc(got.Moves, func(m documents.LedgerMove) bool { return m.Late })
			if got.Expired != spoilt || (len(got.Beyond) == 1) != spoilt || late != spoilt {
				t.Errorf("%s: expired %v, beyond %v, used late %v; want %v", name, got.Expired, got.Beyond, late, spoilt)
			}
			if spoilt && (got.Beyond[0].Logged != 310 || got.Beyond[0].Limit != most) {
				t.Errorf("%+v", got.Beyond)
			}
		}
		// On its last good day a lot is good: the ledger of days before says nothing.
		lot, err := gatherView[*views.Lot](p, entries.OfLot, h.ID("lot"))
		if err != nil {
			return err
		}
		if got, err := p.ledgerLot(lot, quantity.NewDate(2023, 10, 1), quantity.NewDate(2023, 11, 1)); err != nil || got.Expired {
			t.Errorf("expired on its last good day: %v", err)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}
