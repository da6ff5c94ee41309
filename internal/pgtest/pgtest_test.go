//go:build unix

package pgtest

import (
	"database/sql"
	"errors"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"sapwell/internal/outside"
)

func open(t *testing.T, url string) *sql.DB {
	t.Helper()
	db, err := sql.Open("pgx", url)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = db.Close() })
	return db
}

func must(t *testing.T, db *sql.DB, text string) {
	t.Helper()
	if _, err := db.Exec(text); err != nil {
		t.Fatalf("%s: %v", text, err)
	}
}

func TestEachTestHasItsOwnDatabase(t *testing.T) {
	a, b := open(t, Start(t)), open(t, Start(t))
	must(t, a, "CREATE TABLE mine (n BIGINT)")
	must(t, b, "CREATE TABLE mine (n BIGINT)")
	must(t, a, "INSERT INTO mine VALUES (1)")
	var n int
	if err := b.QueryRow("SELECT count(*) FROM mine").Scan(&n); err != nil || n != 0 {
		t.Errorf("%d rows in the other's table, %v", n, err)
	}
}

// psql reaches it, and only by loopback.
func TestPsql(t *testing.T) {
	url := Start(t)
	out, err := exec.Command(outside.Tool(t, "psql"), url, "-Atc", "SHOW listen_addresses").CombinedOutput()
	if err != nil || strings.TrimSpace(string(out)) != "127.0.0.1" {
		t.Errorf("%s, %v", out, err)
	}
}

func TestKillAndRestart(t *testing.T) {
	s := New(t)
	db := open(t, s.URL())
	for setting, want := range map[string]string{"fsync": "on", "synchronous_commit": "on", "full_page_writes": "on"} {
		var got string
		if err := db.QueryRow("SELECT current_setting($1)", setting).Scan(&got); err != nil || got != want {
			t.Errorf("%s: %s, %v; want %s", setting, got, err, want)
		}
	}
	must(t, db, "CREATE TABLE mine (n BIGINT)")
	must(t, db, "INSERT INTO mine VALUES (1)")
	s.Kill()
	if err := db.Ping(); err == nil {
		t.Error("it answers after the kill")
	}
	s.Restart()
	var n int
	if err := open(t, s.URL()).QueryRow("SELECT count(*) FROM mine").Scan(&n); err != nil || n != 1 {
		t.Errorf("%d rows after the kill, %v; want 1", n, err)
	}
}

// A process of tests that is killed leaves neither server nor folder.
func TestNothingStaysBehind(t *testing.T) {
	if dir := os.Getenv("PGTEST_LEAVE"); dir != "" {
		s := New(t)
		if err := os.WriteFile(dir+"/where", []byte(s.c.dir), 0o600); err != nil {
			t.Fatal(err)
		}
		time.Sleep(time.Minute) // until it is killed
	}
	programs(t)
	dir := t.TempDir()
	child := exec.Command(os.Args[0], "-test.run", "^TestNothingStaysBehind$")
	child.Env = append(os.Environ(), "PGTEST_LEAVE="+dir)
	if err := child.Start(); err != nil {
		t.Fatal(err)
	}
	var where []byte
	waitFor(t, "the server", func() bool {
		where, _ = os.ReadFile(dir + "/where")
		return len(where) > 0
	})
	_ = child.Process.Kill()
	_ = child.Wait()
	waitFor(t, "the end of the folder", func() bool {
		_, err := os.Stat(string(where))
		return errors.Is(err, os.ErrNotExist)
	})
}

func waitFor(t *testing.T, what string, ok func() bool) {
	t.Helper()
	for end := time.Now().Add(patience); !ok(); time.Sleep(20 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatalf("waited too long for %s", what)
		}
	}
}
