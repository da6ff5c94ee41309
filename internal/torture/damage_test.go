//go:build unix

package torture

import (
	"bytes"
	"database/sql"
	"errors"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"sapwell/internal/outside"
	"sapwell/internal/pgtest"
	"sapwell/journal"
	"sapwell/store"
	"sapwell/store/storetest"
)

// worked fills a store with a few hundred entries and returns its export.
func worked(t *testing.T, s store.Store) []byte {
	t.Helper()
	h := Org("damage")
	text := ""
	for i := range 300 {
		device := []string{"office", "phone"}[i%2]
		text += device + ": n" + string(rune('a'+i%26)) + string(rune('a'+i/26)) + " note tree oak\n"
	}
	if err := h.Tell(text); err != nil {
		t.Fatal(err)
	}
	var lines [][]byte
	for _, name := range h.Names() {
		lines = append(lines, h.Entry(name).Line)
	}
	org, err := s.Found(t.Context(), lines[:7], h.Now())
	if err != nil {
		t.Fatal(err)
	}
	l, err := s.Ledger(t.Context(), org)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := l.Merge(t.Context(), lines, h.Now(), nil); err != nil {
		t.Fatal(err)
	}
	if _, err := l.Head(t.Context(), h.Signer("office"), h.Now()); err != nil {
		t.Fatal(err)
	}
	return storetest.Whole(t, l)
}

// blamed demands that the checker stops at a line of the export of a store.
func blamed(t *testing.T, s store.Store, line int) {
	t.Helper()
	l, err := s.Ledger(t.Context(), Org("damage").ID("firm"))
	if err != nil {
		t.Fatal(err)
	}
	var export bytes.Buffer
	if err := l.Export(t.Context(), &export); err != nil {
		t.Fatal(err)
	}
	_, err = journal.Verify(&export)
	var fault *journal.Fault
	if !errors.As(err, &fault) || fault.Line != line {
		t.Fatalf("line %d has a flipped byte: %v", line, err)
	}
}

// pick chooses an entry of an export: its line, and its number from 1.
func pick(export []byte) (line []byte, n int) {
	lines := bytes.Split(export, []byte("\n"))
	entries := bytes.Count(export, []byte(`{"entry":{"body"`))
	n = rand.IntN(entries) + 1
	return lines[n-1], n
}

// closed closes a store in a file and returns the file, with all in it and nothing
// left over from pages that were split.
func closed(t *testing.T, s store.Store, file string) []byte {
	t.Helper()
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	sqlite3 := outside.Tool(t, "sqlite3")
	if said, err := exec.Command(sqlite3, file, "VACUUM; PRAGMA wal_checkpoint(TRUNCATE)").CombinedOutput(); err != nil {
		t.Fatalf("sqlite3: %v %s", err, said)
	}
	whole, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	return whole
}

// putFile writes a file in the place of another, and nothing beside it.
func putFile(t *testing.T, file string, data []byte) {
	t.Helper()
	for _, beside := range []string{file + "-wal", file + "-shm"} {
		if err := os.Remove(beside); err != nil && !errors.Is(err, os.ErrNotExist) {
			t.Fatal(err)
		}
	}
	if err := os.WriteFile(file, data, 0o600); err != nil {
		t.Fatal(err)
	}
}

// One byte of a stored entry is set to another value in the file of a database.
func TestFlippedByteInFile(t *testing.T) {
	file := filepath.Join(t.TempDir(), "sapwell.db")
	s, err := open(file)
	if err != nil {
		t.Fatal(err)
	}
	export := worked(t, s)
	whole := closed(t, s, file)
	flips := times(200, 2000)
	for range flips {
		line, n := pick(export)
		at := bytes.Index(whole, line)
		if at < 0 {
			t.Fatalf("line %d of %d bytes does not stand in the file in one piece: %s", n, len(line), line)
		}
		damaged := bytes.Clone(whole)
		damaged[at+rand.IntN(len(line))] ^= byte(rand.IntN(255) + 1)
		putFile(t, file, damaged)
		s, err := open(file)
		if err != nil {
			t.Fatal(err)
		}
		blamed(t, s, n)
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
	}
	t.Logf("%d flipped bytes in stored entries: all found, each named by its line", flips)
}

func TestFlippedBytePostgreSQL(t *testing.T) {
	url := pgtest.Start(t)
	s, err := open(url)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close() //nolint:errcheck // nothing is written any more
	export := worked(t, s)
	db, err := sql.Open("pgx", url)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close() //nolint:errcheck // as above
	flips := times(50, 500)
	for range flips {
		line, n := pick(export)
		damaged := bytes.Clone(line)
		damaged[rand.IntN(len(line))] ^= byte(rand.IntN(255) + 1)
		put := func(from, to []byte) {
			t.Helper()
			if _, err := db.ExecContext(t.Context(), `UPDATE entry SET line = $2 WHERE line = $1`, from, to); err != nil {
				t.Fatal(err)
			}
		}
		put(line, damaged)
		blamed(t, s, n)
		put(damaged, line)
	}
	t.Logf("%d flipped bytes in stored entries: all found, each named by its line", flips)
}

// A file that was cut off anywhere is not taken for a whole one.
func TestTruncatedFile(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "sapwell.db")
	s, err := open(file)
	if err != nil {
		t.Fatal(err)
	}
	worked(t, s)
	whole := closed(t, s, file)
	for range times(30, 300) {
		size := rand.IntN(len(whole)-1) + 1
		putFile(t, file, whole[:size])
		if err := fault(t, file); err == nil {
			t.Errorf("a file of %d bytes, cut off at %d, is taken for whole", len(whole), size)
		}
	}
}

// fault is what is found wrong with a file: at opening, by Check, or at the latest
// by an export.
func fault(t *testing.T, file string) error {
	s, err := open(file)
	if err != nil {
		return err
	}
	defer s.Close() //nolint:errcheck // it is thrown away
	for _, f := range s.Check(t.Context()) {
		if f.Err != nil {
			return f.Err
		}
	}
	l, err := s.Ledger(t.Context(), Org("damage").ID("firm"))
	if err != nil {
		return err
	}
	var export bytes.Buffer
	if err := l.Export(t.Context(), &export); err != nil {
		return err
	}
	_, err = journal.Verify(&export)
	return err
}
