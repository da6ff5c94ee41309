package storetest

import (
	"bytes"
	"context"
	"fmt"
	"strings"
	"testing"

	"sapwell/entries"
	"sapwell/journal"
	"sapwell/store"
	"sapwell/views"
)

// kinds are all kinds of subjects.
var kinds = []entries.SubjectKind{entries.OfOrg, entries.OfPerson, entries.OfDevice, entries.OfGrounds, entries.OfTree, entries.OfLabel, entries.OfLot, entries.OfVisit, entries.OfBag}

// Sound demands of a ledger what Whole does, before and after a rebuild of its
// views. It returns the export.
func Sound(t testing.TB, l store.Ledger) []byte {
	t.Helper()
	export := Whole(t, l)
	before := Rows(t, l)
	if err := l.Rebuild(context.Background()); err != nil {
		t.Fatal(err)
	}
	sameRows(t, "the rebuilt views", Rows(t, l), before)
	return export
}

// Whole demands that the export of a ledger passes journal.Verify, with a receipt
// for every entry, and that its views are those that its entries fold to. It
// returns the export, and writes nothing.
func Whole(t testing.TB, l store.Ledger) []byte {
	t.Helper()
	var export bytes.Buffer
	if err := l.Export(context.Background(), &export); err != nil {
		t.Fatal(err)
	}
	rep, err := journal.Verify(bytes.NewReader(export.Bytes()))
	if err != nil {
		t.Fatalf("the export is not sound: %v", err)
	}
	size, err := l.Size(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	if rep.Entries != size || rep.Receipts != size {
		t.Fatalf("%d entries and %d receipts in the export of %d", rep.Entries, rep.Receipts, size)
	}
	want, err := Refold(export.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	sameRows(t, "the views", Rows(t, l), want)
	return export.Bytes()
}

func sameRows(t testing.TB, what string, got, want string) {
	t.Helper()
	if got == want {
		return
	}
	g, w := strings.Split(got, "\n"), strings.Split(want, "\n")
	for i := range min(len(g), len(w)) {
		if g[i] != w[i] {
			t.Fatalf("%s differ from what the entries fold to:\n got %s\nwant %s", what, g[i], w[i])
		}
	}
	t.Fatalf("%s are %d rows, the entries fold to %d", what, len(g), len(w))
}

// Rows writes all rows of a ledger as text, in the order of List.
func Rows(t testing.TB, l store.Ledger) string {
	t.Helper()
	var out strings.Builder
	err := l.Read(context.Background(), func(r store.Reader) error {
		for _, kind := range kinds {
			rows, err := r.List(kind, "", "", "", 1<<30)
			if err != nil {
				return err
			}
			for _, row := range rows {
				fmt.Fprintln(&out, rowText(row))
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return out.String()
}

func rowText(r views.Row) string {
	return fmt.Sprintf("%s %s key=%q last=%d/%s/%d/%s %s", r.Subject.Kind, r.Subject.ID, r.Key, r.Last.Time, r.Last.Device, r.Last.Seq, r.Last.Hash, r.State)
}
