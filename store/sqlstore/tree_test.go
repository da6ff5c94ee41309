package sqlstore

import (
	"crypto/sha256"
	"encoding/binary"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"sapwell/journal"
)

// receipted is a ledger whose entries are nothing but what receipts are made of,
// and the tree of these receipts as package journal has it in memory. They come in
// by these numbers at a time.
func receipted(t *testing.T, s *Store, arrivals ...int64) (*ledger, *journal.Tree) {
	t.Helper()
	l, whole := &ledger{s, journal.ID{1}}, new(journal.Tree)
	err := l.write(t.Context(), func(d *desk) error { return d.begin() })
	if err != nil {
		t.Fatal(err)
	}
	for _, count := range arrivals {
		err := l.write(t.Context(), func(d *desk) error {
			from := whole.Size()
			var rows [][]any
			for n := from; n < from+count; n++ {
				h := sha256.Sum256(binary.AppendVarint(nil, n))
				none := make([]byte, 32)
				rows = append(rows, []any{d.org[:], n, none, n + 1, h[:], none, none[:16], 0, n, none})
				whole.Append(journal.HashLine(journal.Receipt{Entry: h, N: n, Time: n}.Line()))
			}
			if err := d.insert(`entry (org, n, device, seq, hash, prev, id, held, received, line)`, ``, rows); err != nil {
				return err
			}
			return d.putTiles(from, from+count)
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	return l, whole
}

// Roots and proofs of any size are those of a tree in memory, also where a tile
// has just become full, on two levels.
func TestTreeIsTheJournals(t *testing.T) {
	s := openTemp(t)
	defer s.Close() //nolint:errcheck // a test
	l, whole := receipted(t, s, 1, 254, 1, 1, 0, 511, 64_000, 768, 3000)
	err := l.read(t.Context(), func(d *desk) error {
		all := whole.Size()
		edges := []int64{0, 1, 2, 255, 256, 257, 511, 512, 65_535, 65_536, 65_537, all - 1, all}
		rapid.Check(t, func(t *rapid.T) {
			size := rapid.OneOf(rapid.SampledFrom(edges), rapid.Int64Range(0, all)).Draw(t, "size")
			same(t, size, all, d.tree(all), whole)
		})
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

func same(t *rapid.T, size, all int64, kept *tree, whole *journal.Tree) {
	want, err := whole.Root(size)
	if got, err2 := journal.RootOf(kept, size, all); err != nil || err2 != nil || got != want {
		t.Fatalf("root of %d: %s %v, want %s %v", size, got, err2, want, err)
	}
	if size == 0 {
		return
	}
	i := rapid.Int64Range(0, size-1).Draw(t, "leaf")
	proof, err := whole.Inclusion(i, size)
	if got, err2 := journal.InclusionOf(kept, i, size, all); err != nil || err2 != nil || !slices.Equal(got, proof) {
		t.Fatalf("inclusion of %d in %d: %v %v", i, size, err, err2)
	}
	proof, err = whole.Consistency(i+1, size)
	if got, err2 := journal.ConsistencyOf(kept, i+1, size, all); err != nil || err2 != nil || !slices.Equal(got, proof) {
		t.Fatalf("consistency of %d and %d: %v %v", i+1, size, err, err2)
	}
}

// However large the journal, a proof reads a few rows.
func TestProofsReadLittle(t *testing.T) {
	s := openTemp(t)
	defer s.Close() //nolint:errcheck // a test
	l, whole := receipted(t, s, 70_000)
	err := l.read(t.Context(), func(d *desk) error {
		kept := d.tree(whole.Size())
		if _, err := journal.InclusionOf(kept, 12_345, 70_000, 70_000); err != nil {
			return err
		}
		if len(kept.seen) > 6 {
			t.Errorf("%d tiles were read, want at most two a level", len(kept.seen))
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}
