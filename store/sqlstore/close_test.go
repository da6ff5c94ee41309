package sqlstore

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"testing"
)

// After a clean stop the one file holds everything: a person may copy it.
func TestOneFileAfterClose(t *testing.T) {
	path := filepath.Join(t.TempDir(), "sapwell.db")
	s, err := OpenSQLite(context.Background(), path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Orgs(context.Background()); err != nil { // so that a reader is open too
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	for _, beside := range []string{"-wal", "-shm"} {
		if info, err := os.Stat(path + beside); !errors.Is(err, fs.ErrNotExist) {
			t.Errorf("%s is left, %v", info.Name(), err)
		}
	}
}
