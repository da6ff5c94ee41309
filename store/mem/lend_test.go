package mem

import (
	"bytes"
	"context"
	"testing"

	"sapwell/internal/daybook"
	"sapwell/journal"
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
