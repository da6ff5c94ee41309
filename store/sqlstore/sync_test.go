package sqlstore

import (
	"bytes"
	"crypto"
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"sapwell/internal/daybook"
	"sapwell/journal"
)

// grown is a journal of some devices, some of which forked: every entry goes on
// from the last or, now and then, from an old copy.
func grown(t *testing.T, seed uint64, entries, forks int) []journal.Entry {
	t.Helper()
	r := rand.New(rand.NewPCG(seed, 0))
	keys := daybook.Keys(seed, 3)
	chains := make([][]journal.Entry, len(keys))
	var all []journal.Entry
	var last journal.ID
	for i := range entries {
		device := r.IntN(len(keys))
		from := len(chains[device])
		if forks > 0 && from > 0 && r.IntN(entries) < 2*forks {
			from = r.IntN(from + 1)
		}
		chains[device] = continued(t, keys[device], chains[device][:from:from], &last, i)
		all = append(all, chains[device][from])
	}
	return all
}

func continued(t *testing.T, key crypto.Signer, chain []journal.Entry, last *journal.ID, i int) []journal.Entry {
	t.Helper()
	id, err := journal.NewID(*last, start, [10]byte{9: byte(i)})
	if err != nil {
		t.Fatal(err)
	}
	*last = id
	var before journal.Known
	if n := len(chain); n > 0 {
		before = journal.Known{Device: chain[n-1].Device, Hash: chain[n-1].Hash(), Seq: chain[n-1].Seq}
	}
	e, err := journal.Next(key, before, journal.Draft{ID: id, Time: start + int64(i), Kind: "moon", Body: fmt.Appendf(nil, `{"i":%d,"v":1}`, i)})
	if err != nil {
		t.Fatal(err)
	}
	return append(chain, e)
}

// put gives a ledger and a journal in memory the same entries.
func put(t *testing.T, s *Store, org byte, all []journal.Entry) (*ledger, *journal.Journal) {
	t.Helper()
	l, j := &ledger{s, journal.ID{org}}, new(journal.Journal)
	if err := l.write(t.Context(), func(d *desk) error { return d.begin() }); err != nil {
		t.Fatal(err)
	}
	m, err := l.Merge(t.Context(), lines(all), start, nil)
	if err != nil {
		t.Fatal(err)
	}
	_, refused := j.Merge(lines(all))
	if len(m.Refused) != len(refused) {
		t.Fatalf("%d refused, the journal refused %d", len(m.Refused), len(refused))
	}
	return l, j
}

// Offers and gifts are, to the byte, those of a journal in memory, however chains
// forked.
func TestSyncIsTheJournals(t *testing.T) {
	sizes := []struct{ entries, forks int }{{1, 0}, {40, 0}, {60, 2}, {60, 9}, {200, 5}, {300, 40}}
	for name, open := range map[string]func(testing.TB) *Store{"SQLite": openTemp, "PostgreSQL": openServer} {
		t.Run(name, func(t *testing.T) {
			s := open(t)
			defer s.Close() //nolint:errcheck // a test
			for i, size := range sizes {
				all := grown(t, uint64(i), size.entries, size.forks)
				part := slices.DeleteFunc(slices.Clone(all), func(e journal.Entry) bool { return e.ID[15]%3 == 0 })
				mine, mineInMemory := put(t, s, byte(2*i+1), all)
				theirs, theirsInMemory := put(t, s, byte(2*i+2), part)
				sameSync(t, mine, mineInMemory, theirs, theirsInMemory)
				sameSync(t, theirs, theirsInMemory, mine, mineInMemory)
			}
		})
	}
}

// Forks longer than what is read at a time.
func TestSyncOfLongForks(t *testing.T) {
	key := daybook.Keys(7, 1)[0]
	var last journal.ID
	var trunk, left, right []journal.Entry
	for i := range 9 {
		trunk = continued(t, key, trunk, &last, i)
	}
	left, right = trunk[:9:9], trunk[:5:5]
	for i := range chunk + 100 {
		left = continued(t, key, left, &last, i)
		right = continued(t, key, right, &last, i)
	}
	s := openTemp(t)
	defer s.Close() //nolint:errcheck // a test
	mine, mineInMemory := put(t, s, 1, append(left, right[5:]...))
	theirs, theirsInMemory := put(t, s, 2, right[:chunk])
	sameSync(t, mine, mineInMemory, theirs, theirsInMemory)
	sameSync(t, theirs, theirsInMemory, mine, mineInMemory)
}

// sameSync compares what one side sends another.
func sameSync(t *testing.T, from *ledger, fromInMemory *journal.Journal, to *ledger, toInMemory *journal.Journal) {
	t.Helper()
	offer, err := to.Offer(t.Context())
	if err != nil || !slices.Equal(offer, toInMemory.Offer()) {
		t.Fatalf("offer %v, %v; want %v", offer, err, toInMemory.Offer())
	}
	want := lines(fromInMemory.Missing(offer))
	got, more, err := from.Missing(t.Context(), offer, 1<<40)
	if err != nil || more || !slices.EqualFunc(got, want, bytes.Equal) {
		t.Fatalf("%d lines, %v, %v; want %d", len(got), more, err, len(want))
	}
	some, more, err := from.Missing(t.Context(), offer, 2000)
	if err != nil || more != (len(some) < len(want)) || !slices.EqualFunc(some, want[:len(some)], bytes.Equal) {
		t.Errorf("%d lines of %d, more %v, %v", len(some), len(want), more, err)
	}
}
