package sqlstore

import (
	"context"
	"database/sql"
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

// A program killed while it made the file leaves a rollback journal beside it. The
// next one puts the file in order and goes on.
func TestOpenAfterAKillInTheMaking(t *testing.T) {
	dir := t.TempDir()
	half := filepath.Join(dir, "half.db")
	db, err := sql.Open("sqlite", "file:"+half+"?_pragma=journal_mode(DELETE)&_pragma=cache_size(1)")
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
	for _, text := range []string{
		"CREATE TABLE was (x)", "INSERT INTO was VALUES (zeroblob(100000))",
		"BEGIN", "UPDATE was SET x = randomblob(100000)", "INSERT INTO was VALUES (randomblob(400000))",
	} {
		if _, err := db.Exec(text); err != nil {
			t.Fatal(err)
		}
	}
	killed := filepath.Join(dir, "killed.db") // as the disk has it at this moment
	for _, end := range []string{"", "-journal"} {
		data, err := os.ReadFile(half + end)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(killed+end, data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	s, err := OpenSQLite(context.Background(), killed, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
}
