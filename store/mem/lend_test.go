package mem

import (
	"bytes"
	"context"
	"errors"
	"testing"

	"sapwell/entries"
	"sapwell/internal/daybook"
	"sapwell/internal/history"
	"sapwell/journal"
	"sapwell/store"
	"sapwell/store/storetest"
)

// What was lent is seen like what is one's own, and is in no offer, gift or export.
func TestLentIsSeenAndNotGiven(t *testing.T) {
	ctx := context.Background()
	var lines [][]byte
	var all []journal.Entry
	for e, err := range (daybook.Book{Seed: 1, Trees: 20, Devices: daybook.Keys(1, 3), Start: 1_780_000_000_000}).Entries() {
		if err != nil {
			t.Fatal(err)
		}
		if all, lines = append(all, e), append(lines, e.Line); len(all) == 600 {
			break
		}
	}
	office, pocket := NewLedger(all[0].ID), NewLedger(all[0].ID)
	if _, err := office.Merge(ctx, lines, 1, nil); err != nil {
		t.Fatal(err)
	}
	var lent []Lent
	for _, e := range all {
		lent = append(lent, Lent{e.Line, office.known[e.Hash()].time})
	}
	for range 2 { // lending twice changes nothing
		if refused, err := pocket.Lend(ctx, lent); err != nil || len(refused) > 0 {
			t.Fatal(refused, err)
		}
	}
	same(t, office, pocket)
	if offer, err := pocket.Offer(ctx); err != nil || len(offer) > 0 {
		t.Errorf("offer %v, %v: want none", offer, err)
	}
	if lines, _, err := pocket.Missing(ctx, nil, 1<<20); err != nil || len(lines) > 0 {
		t.Errorf("%d lines in a gift, %v: want none", len(lines), err)
	}
	var export bytes.Buffer
	if err := pocket.Export(ctx, &export); err != nil || export.Len() > 0 {
		t.Errorf("export %q, %v: want nothing", export.String(), err)
	}
	if err := pocket.Rebuild(ctx); err != nil {
		t.Fatal(err)
	}
	same(t, office, pocket)
}

// What was lent and then comes with its chain is one entry, of the journal.
func TestLentAndThenMergedIsOne(t *testing.T) {
	h := history.New("lent")
	if err := h.Tell("office: firm org\noffice: park grounds\noffice: oak tree park\noffice: word note tree oak"); err != nil {
		t.Fatal(err)
	}
	l := NewLedger(h.ID("firm"))
	var lent []Lent
	for _, name := range h.Names() {
		lent = append(lent, Lent{h.Entry(name).Line, h.Entry(name).Time})
	}
	if refused, err := l.Lend(t.Context(), lent); err != nil || len(refused) > 0 {
		t.Fatal(refused, err)
	}
	if _, err := l.Proof(t.Context(), h.ID("oak"), 0); !errors.Is(err, store.ErrNotFound) {
		t.Errorf("proof of what was lent: %v, want ErrNotFound", err)
	}
	m, err := l.Merge(t.Context(), h.Lines("firm park oak word"), 1, nil)
	if err != nil || len(m.Added) != 4 {
		t.Fatalf("%+v %v", m, err)
	}
	storetest.Sound(t, l)
	err = l.Read(t.Context(), func(r store.Reader) error {
		told, err := r.Entries(entries.Subject{Kind: entries.OfTree, ID: h.ID("oak").String()})
		if len(told) != 2 {
			t.Errorf("%d entries on the tree, want 2", len(told))
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}

func same(t *testing.T, a, b *Ledger) {
	t.Helper()
	if len(a.present.rows) == 0 || len(a.present.rows) != len(b.present.rows) {
		t.Fatalf("%d rows and %d", len(a.present.rows), len(b.present.rows))
	}
	for s, row := range a.present.rows {
		if other := b.present.rows[s]; !bytes.Equal(row.State, other.State) || row.Key != other.Key {
			t.Errorf("%v: %s and %s", s, row.State, other.State)
		}
	}
}
