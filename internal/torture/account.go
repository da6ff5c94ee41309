package torture

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"strings"
	"sync"
	"testing"

	"sapwell/journal"
	"sapwell/store"
	"sapwell/store/storetest"
)

// Account is what a writer said.
type Account struct {
	mu     sync.Mutex
	founds bool
	tries  [][]string
	kept   []string
	blobs  []journal.Hash
	heads  []string
}

// Hear takes one line of the account, from any goroutine.
func (a *Account) Hear(line string) {
	a.mu.Lock()
	defer a.mu.Unlock()
	word, rest, _ := strings.Cut(line, " ")
	switch word {
	case "org":
		a.founds = true
	case "try":
		a.tries = append(a.tries, strings.Fields(rest))
	case "kept":
		a.kept = append(a.kept, strings.Fields(rest)...)
	case "head":
		a.heads = append(a.heads, rest)
	case "blob":
		var sum journal.Hash
		if sum.UnmarshalText([]byte(rest)) == nil {
			a.blobs = append(a.blobs, sum)
		}
	}
}

// Kept is the number of entries that were acknowledged.
func (a *Account) Kept() int {
	a.mu.Lock()
	defer a.mu.Unlock()
	return len(a.kept)
}

// Check demands of a store that all that was acknowledged is there, that of every
// deed there is all or nothing, that nothing is there which nobody tried, that the
// export passes journal.Verify and the views are what the entries fold to. With
// rebuild it makes the views anew, which must change nothing.
func (a *Account) Check(t testing.TB, s store.Store, org string, rebuild bool) {
	t.Helper()
	l, err := s.Ledger(context.Background(), Org(org).ID("firm"))
	if errors.Is(err, store.ErrNotFound) && !a.founds {
		return // killed before anything was acknowledged
	}
	if err != nil {
		t.Fatal(err)
	}
	export := storetest.Whole(t, l)
	if rebuild {
		storetest.Sound(t, l)
	}
	a.entries(t, export)
	for _, head := range a.heads {
		if !bytes.Contains(export, []byte("\n"+head+"\n")) {
			t.Fatalf("an acknowledged head is not there: %s", head)
		}
	}
	for _, sum := range a.blobs {
		if data, err := l.Blob(context.Background(), sum); err != nil || sha256.Sum256(data) != sum {
			t.Fatalf("an acknowledged blob is not there whole: %v", err)
		}
	}
	for _, f := range s.Check(context.Background()) {
		if f.Err != nil && rebuild {
			t.Fatalf("%s: %v", f.What, f.Err)
		}
	}
}

func (a *Account) entries(t testing.TB, export []byte) {
	t.Helper()
	hashes, there := make(map[string]bool), make(map[string]bool)
	for line := range bytes.Lines(export) {
		if e, err := journal.ReadEntry(bytes.TrimSuffix(line, []byte("\n"))); err == nil {
			hashes[e.Hash().String()], there[e.ID.String()] = true, true
		}
	}
	for _, h := range a.kept {
		if !hashes[h] {
			t.Fatalf("an acknowledged entry is lost: %s", h)
		}
	}
	for _, deed := range a.tries {
		n := 0
		for _, id := range deed {
			if there[id] {
				n++
				delete(there, id)
			}
		}
		if n != 0 && n != len(deed) {
			t.Fatalf("half a deed: %d of its %d entries", n, len(deed))
		}
	}
	if len(there) > 0 {
		t.Fatalf("%d entries that nobody tried to write", len(there))
	}
}

// String says how much there is.
func (a *Account) String() string {
	return fmt.Sprintf("%d entries, %d heads and %d blobs acknowledged", len(a.kept), len(a.heads), len(a.blobs))
}
