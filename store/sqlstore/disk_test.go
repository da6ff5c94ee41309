package sqlstore

import (
	"context"
	"crypto"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"sapwell/internal/daybook"
	"sapwell/journal"
	"sapwell/store"
)

// smallDisk mounts a disk in memory, of so many bytes as mount has it. Only root
// may do that.
func smallDisk(t *testing.T, size string) string {
	t.Helper()
	if os.Getuid() != 0 {
		t.Skip("SKIPPED, NOT CHECKED: only root may mount a disk")
	}
	dir := t.TempDir()
	if out, err := exec.Command("mount", "-t", "tmpfs", "-o", "size="+size, "tmpfs", dir).CombinedOutput(); err != nil {
		t.Skipf("SKIPPED, NOT CHECKED: mount: %v: %s", err, out)
	}
	t.Cleanup(func() {
		if out, err := exec.Command("umount", dir).CombinedOutput(); err != nil {
			t.Errorf("umount: %v: %s", err, out)
		}
	})
	return dir
}

// fillUp merges until the store refuses, and returns what it acknowledged and why
// it stopped.
func fillUp(t *testing.T, l *ledger, all []journal.Entry) (size int64, err error) {
	t.Helper()
	for i := 1; i < len(all); i += 10 {
		m, err := l.Merge(t.Context(), lines(all[i:min(i+10, len(all))]), start, nil)
		if err != nil {
			return size, err
		}
		size = m.Size
	}
	t.Fatal("there was room for all")
	return 0, nil
}

// goesOn checks that what was acknowledged is there, no more, and that the store
// takes the rest once there is room again.
func goesOn(t *testing.T, l *ledger, all []journal.Entry, size int64) {
	t.Helper()
	if now, err := l.Size(t.Context()); err != nil || now != size {
		t.Errorf("%d entries, %v; %d were acknowledged", now, err, size)
	}
	m, err := l.Merge(t.Context(), lines(all), start, nil)
	if err != nil || m.Size != int64(len(all)) || int64(m.Known) != size {
		t.Errorf("once there is room: %d known, %d now, %v", m.Known, m.Size, err)
	}
	for _, f := range l.s.Check(t.Context()) {
		if f.Err != nil {
			t.Errorf("%s: %v", f.What, f.Err)
		}
	}
}

func TestFullDisk(t *testing.T) {
	dir := smallDisk(t, "12m")
	ballast := filepath.Join(dir, "ballast")
	if err := os.WriteFile(ballast, make([]byte, 9<<20), 0o600); err != nil {
		t.Fatal(err)
	}
	all := written(t, daybook.Keys(1, 3), 2000)
	s := openFile(t, filepath.Join(dir, "sapwell.db"))
	defer s.Close() //nolint:errcheck // a test
	l := begun(t, s, all[:1])
	size, err := fillUp(t, l, all)
	if !errors.Is(err, store.ErrFull) {
		t.Fatalf("%v, want ErrFull", err)
	}
	if err := os.Remove(ballast); err != nil {
		t.Fatal(err)
	}
	goesOn(t, l, all, size)
}

// The same without a disk of its own: SQLite's own limit of pages.
func TestFullFile(t *testing.T) {
	all := written(t, daybook.Keys(1, 3), 2000)
	s := openTemp(t)
	defer s.Close() //nolint:errcheck // a test
	l := begun(t, s, all[:1])
	limit(t, s, "300")
	size, err := fillUp(t, l, all)
	if !errors.Is(err, store.ErrFull) {
		t.Fatalf("%v, want ErrFull", err)
	}
	if _, err := l.PutBlob(t.Context(), make([]byte, 1<<20), start); !errors.Is(err, store.ErrFull) {
		t.Errorf("a photo: %v, want ErrFull", err)
	}
	limit(t, s, "1000000")
	goesOn(t, l, all, size)
}

func limit(t *testing.T, s *Store, pages string) {
	t.Helper()
	var now string
	if err := s.writer.db.QueryRow("PRAGMA max_page_count = " + pages).Scan(&now); err != nil || now != pages {
		t.Fatal(now, err)
	}
}

// On a disk that can only be read a store can be read, if that is all that is asked
// of it.
func TestReadOnlyDisk(t *testing.T) {
	dir := smallDisk(t, "20m")
	path := filepath.Join(dir, "sapwell.db")
	s := openFile(t, path)
	keys := daybook.Keys(1, 3)
	all := written(t, keys, 500)
	begun(t, s, all)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command("mount", "-o", "remount,ro", dir).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	if _, err := OpenSQLite(t.Context(), path, Options{}); !errors.Is(err, store.ErrReadOnly) {
		t.Errorf("opened for writing: %v, want ErrReadOnly", err)
	}
	readsOnly(t, path, all, keys[0])
}

// Opened for reading beside one that writes.
func TestOpenForReading(t *testing.T) {
	path := filepath.Join(t.TempDir(), "sapwell.db")
	s := openFile(t, path)
	defer s.Close() //nolint:errcheck // a test
	keys := daybook.Keys(1, 3)
	all := written(t, keys, 500)
	begun(t, s, all)
	readsOnly(t, path, all, keys[0])
}

func readsOnly(t *testing.T, path string, all []journal.Entry, key crypto.Signer) {
	t.Helper()
	s, err := OpenSQLite(t.Context(), path, Options{ReadOnly: true})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close() //nolint:errcheck // a test
	l := &ledger{s, all[0].ID}
	if size, err := l.Size(t.Context()); err != nil || size != int64(len(all)) {
		t.Errorf("%d entries, %v", size, err)
	}
	for _, f := range s.Check(t.Context()) {
		if f.Err != nil {
			t.Errorf("%s: %v", f.What, f.Err)
		}
	}
	for name, do := range map[string]func(context.Context) error{
		"Rebuild": l.Rebuild,
		"Head":    func(ctx context.Context) error { _, err := l.Head(ctx, key, start); return err },
		"PutBlob": func(ctx context.Context) error { _, err := l.PutBlob(ctx, []byte("x"), start); return err },
	} {
		if err := do(t.Context()); !errors.Is(err, store.ErrReadOnly) {
			t.Errorf("%s: %v, want ErrReadOnly", name, err)
		}
	}
}
