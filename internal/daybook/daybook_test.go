package daybook_test

import (
	"bytes"
	"crypto"
	"maps"
	"strings"
	"testing"

	"sapwell/entries"
	"sapwell/internal/daybook"
	"sapwell/journal"
)

const start = 1_780_000_000_000

func lines(t testing.TB, b daybook.Book, n int) []journal.Entry {
	t.Helper()
	var all []journal.Entry
	for e, err := range b.Entries() {
		if err != nil {
			t.Fatal(err)
		}
		if all = append(all, e); len(all) == n {
			break
		}
	}
	return all
}

func text(all []journal.Entry) []byte {
	var b bytes.Buffer
	for _, e := range all {
		b.Write(e.Line)
		b.WriteByte('\n')
	}
	return b.Bytes()
}

func TestSameSeedSameBook(t *testing.T) {
	book := func(seed uint64) []byte {
		return text(lines(t, daybook.Book{Seed: seed, Trees: 30, Devices: daybook.Keys(seed, 3), Start: start}, 500))
	}
	if !bytes.Equal(book(7), book(7)) {
		t.Error("one seed gave two books")
	}
	if bytes.Equal(book(7), book(8)) {
		t.Error("two seeds gave one book")
	}
}

// The book must be one that a crew could have written: sound, understood, in the
// order of time, beginning with the organisation, with every part of the work.
func TestBookIsAJournal(t *testing.T) {
	all := lines(t, daybook.Book{Seed: 1, Trees: 40, Devices: daybook.Keys(1, 3), Start: start}, 6000)
	rep, err := journal.Verify(bytes.NewReader(text(all)))
	if err != nil || len(rep.Forks) > 0 {
		t.Fatal(err, rep.Forks)
	}
	kinds := map[string]int{}
	last := int64(start)
	for _, e := range all {
		if _, err := entries.Read(e); err != nil {
			t.Fatal(err)
		}
		if e.Time < last {
			t.Fatalf("entry %s was written before the one above it", e.ID)
		}
		last = e.Time
		kinds[e.Kind]++
	}
	if all[0].Kind != "org" || len(kinds) < 26 {
		t.Errorf("%s first; %v", all[0].Kind, kinds)
	}
	if kinds["unit.seated"] < 1000 || kinds["amendment"] == 0 || kinds["unit.lost"] == 0 {
		t.Errorf("%v", maps.Collect(maps.All(kinds)))
	}
}

// A blank signature has the form of one and is seen to be wrong.
func TestUnsigned(t *testing.T) {
	all := lines(t, daybook.Book{Seed: 1, Trees: 3, Devices: daybook.Unsigned(1, 2), Start: start}, 50)
	if _, err := journal.ReadEntry(all[49].Line); err != nil {
		t.Error(err)
	}
	if _, err := journal.Verify(bytes.NewReader(text(all))); err == nil || !strings.Contains(err.Error(), "signature") {
		t.Error(err)
	}
}

func TestTooLittle(t *testing.T) {
	for _, b := range []daybook.Book{{Trees: 5}, {Devices: daybook.Keys(0, 2)}, {Trees: 1, Devices: []crypto.Signer{daybook.Keys(0, 1)[0]}}} {
		for _, err := range b.Entries() {
			if err == nil {
				t.Errorf("%+v was taken", b)
			}
		}
	}
}

func BenchmarkUnsigned(b *testing.B) { benchmark(b, daybook.Unsigned(1, 5)) }
func BenchmarkSigned(b *testing.B)   { benchmark(b, daybook.Keys(1, 5)) }

func benchmark(b *testing.B, devices []crypto.Signer) {
	const n = 20_000
	for b.Loop() {
		lines(b, daybook.Book{Seed: 1, Trees: 1000, Devices: devices, Start: start}, n)
	}
	b.ReportMetric(n*float64(b.N)/b.Elapsed().Seconds(), "entries/s")
}
