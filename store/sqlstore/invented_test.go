package sqlstore

import (
	"crypto"
	"iter"
	"testing"

	"sapwell/internal/daybook"
	"sapwell/journal"
)

// start is when invented journals begin, and the office's clock.
const start = 1_780_000_000_000

// invented yields the entries of a journal that daybook invents, some at a time.
func invented(tb testing.TB, keys []crypto.Signer, trees, each int) iter.Seq[[]journal.Entry] {
	return func(yield func([]journal.Entry) bool) {
		var some []journal.Entry
		for e, err := range (daybook.Book{Seed: 1, Trees: trees, Devices: keys, Start: start}).Entries() {
			if err != nil {
				tb.Fatal(err)
			}
			if some = append(some, e); len(some) < each {
				continue
			}
			if !yield(some) {
				return
			}
			some = nil
		}
	}
}

// written is the first n entries of such a journal.
func written(tb testing.TB, keys []crypto.Signer, n int) []journal.Entry {
	tb.Helper()
	for all := range invented(tb, keys, 1000, n) {
		return all
	}
	return nil
}

func lines(all []journal.Entry) [][]byte {
	lines := make([][]byte, len(all))
	for i, e := range all {
		lines[i] = e.Line
	}
	return lines
}

// begun is a ledger with these entries, whose signatures nobody has asked for.
func begun(tb testing.TB, s *Store, all []journal.Entry) *ledger {
	tb.Helper()
	l := &ledger{s, all[0].ID}
	err := l.write(tb.Context(), func(d *desk) error {
		if err := d.begin(); err != nil {
			return err
		}
		return d.arrive(all, parallel(all, understand), 0, start)
	})
	if err != nil {
		tb.Fatal(err)
	}
	return l
}

// arrive takes entries in as Merge does, but for their signatures.
func (l *ledger) arrive(tb testing.TB, all []journal.Entry) {
	tb.Helper()
	said := parallel(all, understand)
	err := l.write(tb.Context(), func(d *desk) error {
		size, err := d.size()
		if err != nil {
			return err
		}
		return d.arrive(all, said, size, start)
	})
	if err != nil {
		tb.Fatal(err)
	}
}
