package server

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"io"
	"strconv"
	"testing"

	"sapwell/engine/quantity"
	"sapwell/entries"
	"sapwell/internal/daybook"
	"sapwell/journal"
	"sapwell/store"
	"sapwell/store/mem"
	"sapwell/views"
)

// lent reads a pack.
func lent(t testing.TB, pack []byte) (lines []mem.Lent, next int64) {
	t.Helper()
	next = -1
	for line := range bytes.Lines(pack) {
		if next >= 0 {
			t.Fatalf("after the end: %s", line)
		}
		var l struct {
			lentLine
			Pack *struct{ Next int64 }
		}
		if err := json.Unmarshal(line, &l); err != nil {
			t.Fatalf("%s: %v", line, err)
		}
		if l.Pack != nil {
			next = l.Pack.Next
			continue
		}
		lines = append(lines, mem.Lent{Line: []byte(l.Line), Time: l.Time})
	}
	if next < 0 {
		t.Fatal("the pack has no end")
	}
	return lines, next
}

// A phone that takes the packs sees what the office sees.
func TestPackOverHTTP(t *testing.T) {
	h := newHouse(t)
	f := h.firm
	phone := mem.NewLedger(f.org)
	since := "0"
	for _, work := range []func(){
		func() { h.day(f) },
		func() { h.do(f, "app", "tree.install", `{"visit":"$visit","tree":"$tree","lot":"$lot"}`) },
	} {
		work()
		res, body := h.ask(f, question{method: "GET", path: "/api/pack?since=" + since, who: "phone"})
		if res.StatusCode != 200 {
			t.Fatalf("%d %s", res.StatusCode, body)
		}
		lines, next := lent(t, body)
		if refused, err := phone.Lend(context.Background(), lines); err != nil || len(refused) > 0 {
			t.Fatal(refused, err)
		}
		since = strconv.FormatInt(next, 10)
	}
	for kind, path := range map[entries.SubjectKind][2]string{entries.OfTree: {"trees", "$tree"}, entries.OfVisit: {"visits", "$visit"}, entries.OfLot: {"lots", "$lot"}} {
		_, want := h.ask(f, question{method: "GET", path: "/api/" + path[0] + "/" + path[1], who: "phone"})
		got := rowOf(t, phone, entries.Subject{Kind: kind, ID: f.with(path[1])})
		if !bytes.Equal(bytes.TrimSpace(want), got) {
			t.Errorf("%s: %s, want %s", path, got, want)
		}
	}
}

func rowOf(t testing.TB, l store.Ledger, s entries.Subject) []byte {
	t.Helper()
	var state []byte
	err := l.Read(context.Background(), func(v store.Reader) error {
		row, _, err := v.View(s)
		state = row.State
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return state
}

// longJournal is an office with at least so many entries.
func longJournal(t testing.TB, n int) *mem.Ledger {
	t.Helper()
	var lines [][]byte
	var org journal.ID
	for e, err := range (daybook.Book{Seed: 4, Trees: 1500, Devices: daybook.Keys(4, 3), Start: 1_780_000_000_000}).Entries() {
		if err != nil {
			t.Fatal(err)
		}
		if org == (journal.ID{}) {
			org = e.ID
		}
		if lines = append(lines, e.Line); len(lines) == n {
			break
		}
	}
	office := mem.NewLedger(org)
	if _, err := office.Merge(context.Background(), lines, 1, nil); err != nil {
		t.Fatal(err)
	}
	return office
}

func packOf(t testing.TB, office store.Ledger, since int64) []byte {
	t.Helper()
	var out bytes.Buffer
	p := &packer{ctx: context.Background(), ledger: office, from: quantity.NewDate(2026, 5, 1), out: json.NewEncoder(&out), sent: map[int64]bool{}}
	if err := p.pack(since); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// Of a long journal a phone gets a part; what it gets it sees as the office does, and
// all that is open is among it. What is spoken of later it gets whole.
func TestPackOfALongJournal(t *testing.T) {
	office := longJournal(t, mostWhole+500)
	phone := mem.NewLedger(office.Org())
	take := func(since int64) int64 {
		lines, next := lent(t, packOf(t, office, since))
		if refused, err := phone.Lend(context.Background(), lines); err != nil || len(refused) > 0 {
			t.Fatal(refused, err)
		}
		return next
	}
	next := take(0)
	if next != mostWhole+500 {
		t.Errorf("next is %d", next)
	}
	if held := sizeOf(t, phone); held >= mostWhole || held < 1000 {
		t.Errorf("%d entries carried, want a part of %d", held, mostWhole+500)
	}
	sameAs(t, office, phone, "open|", "open}")

	old := oldTree(t, office, phone)
	note, err := entries.Draft(journalID(t), 1_900_000_000_000, entries.Note{On: old, Text: "looked at again"})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := office.Write(context.Background(), daybook.Keys(4, 3)[0], 1, func(store.Reader) ([]journal.Draft, error) {
		return []journal.Draft{note}, nil
	}); err != nil {
		t.Fatal(err)
	}
	take(next)
	if got, want := rowOf(t, phone, old), rowOf(t, office, old); !bytes.Equal(got, want) {
		t.Errorf("a tree that was spoken of again: %s, want %s", got, want)
	}
}

func journalID(t testing.TB) journal.ID {
	t.Helper()
	id, err := journal.NewID(journal.ID{}, 1_900_000_000_000, [10]byte{1})
	if err != nil {
		t.Fatal(err)
	}
	return id
}

// sizeOf counts the entries that the rows of a phone were folded from.
func sizeOf(t testing.TB, phone *mem.Ledger) (n int) {
	t.Helper()
	seen := map[journal.Hash]bool{}
	err := phone.Read(context.Background(), func(v store.Reader) error {
		for _, kind := range []entries.SubjectKind{entries.OfTree, entries.OfVisit, entries.OfPerson, entries.OfLot, entries.OfGrounds, entries.OfLabel} {
			rows, err := v.List(kind, "", "", "", 100_000)
			if err != nil {
				return err
			}
			for _, row := range rows {
				told, err := v.Entries(row.Subject)
				if err != nil {
					return err
				}
				for _, e := range told {
					seen[e.Hash()] = true
				}
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return len(seen)
}

// sameAs holds the visits in a range, and their trees, against those of the office.
func sameAs(t testing.TB, office, phone *mem.Ledger, from, to string) {
	t.Helper()
	err := office.Read(context.Background(), func(v store.Reader) error {
		rows, err := v.List(entries.OfVisit, from, to, "", 1000)
		for _, row := range rows {
			things, err := treesOf(v, row.Subject)
			if err != nil {
				return err
			}
			for _, s := range append(things, row.Subject) {
				want, _, err := v.View(s)
				if got := rowOf(t, phone, s); err != nil || !bytes.Equal(got, want.State) {
					t.Errorf("%v: %s, want %s", s, got, want.State)
				}
			}
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}

// oldTree is a measured tree that the phone does not carry.
func oldTree(t testing.TB, office, phone *mem.Ledger) (old entries.Subject) {
	t.Helper()
	err := office.Read(context.Background(), func(v store.Reader) error {
		rows, err := v.List(entries.OfTree, "", "", "", 10_000)
		for _, row := range rows {
			state, err := views.Read(row)
			if err != nil {
				return err
			}
			if tree, ok := state.(*views.Tree); ok && tree.Measurement != nil && rowOf(t, phone, row.Subject) == nil {
				old = row.Subject
			}
		}
		return err
	})
	if err != nil || old.ID == "" {
		t.Fatal("there is no tree that the phone does not carry", err)
	}
	return old
}

// A pack of a journal that is carried whole, 20,000 entries of it.
func BenchmarkPack(b *testing.B) {
	office := longJournal(b, mostWhole)
	b.ReportAllocs()
	for b.Loop() {
		out := bufio.NewWriter(io.Discard)
		p := &packer{ctx: context.Background(), ledger: office, out: json.NewEncoder(out), sent: map[int64]bool{}}
		if err := p.pack(0); err != nil {
			b.Fatal(err)
		}
	}
}
