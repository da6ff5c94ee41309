//go:build unix

package torture

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"sapwell/internal/outside"
	"sapwell/internal/pgtest"
	"sapwell/store"
	"sapwell/store/sqlstore"
)

// The test binary runs itself again as the writer that is killed.
const (
	envTarget = "SAPWELL_TORTURE_TARGET" // file or URL
	envOrg    = "SAPWELL_TORTURE_ORG"
)

func TestMain(m *testing.M) {
	if target := os.Getenv(envTarget); target != "" {
		err := writeTo(target, os.Getenv(envOrg))
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1) // only an error ends it
	}
	os.Exit(m.Run())
}

func writeTo(target, org string) error {
	s, err := open(target)
	if err != nil {
		return err
	}
	return Write(context.Background(), s, org, func(line string) {
		_, _ = os.Stdout.WriteString(line + "\n") // one write, so no line is mixed or cut
	})
}

func open(target string) (store.Store, error) {
	if strings.HasPrefix(target, "postgres:") {
		return sqlstore.OpenPostgres(context.Background(), target, sqlstore.Options{})
	}
	return sqlstore.OpenSQLite(context.Background(), target, sqlstore.Options{})
}

// times is how often a thing is done: in the short form, and with
// SAPWELL_TORTURE=1 in the long one.
func times(short, long int) int {
	if os.Getenv("SAPWELL_TORTURE") == "1" {
		return long
	}
	return short
}

// killOne lets a writer work on a store and kills it at any moment, while it
// starts too.
func killOne(t *testing.T, target, org string, a *Account) {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), envTarget+"="+target, envOrg+"="+org)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	var said bytes.Buffer
	cmd.Stderr = &said
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	wait := time.Duration(rand.IntN(250)) * time.Millisecond
	kill := func() { _ = cmd.Process.Kill() }
	early := rand.IntN(4) == 0 // while it starts
	killer := time.AfterFunc(time.Minute, kill)
	if early {
		killer.Reset(wait)
	}
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		a.Hear(lines.Text())
		if !early && strings.HasPrefix(lines.Text(), "org ") {
			killer.Reset(wait)
		}
	}
	_ = cmd.Wait() // it was killed
	if killer.Stop() || said.Len() > 0 {
		t.Fatalf("the writer ended by itself: %s", said.String())
	}
}

const killsEach = 10 // of one journal, before a new one is begun

// killMany kills writers of ever new journals. target names the place of one.
func killMany(t *testing.T, kills int, target func(org string) string) {
	var a *Account
	entries, mute := 0, 0
	for i := range kills {
		org := fmt.Sprint(i / killsEach)
		if i%killsEach == 0 {
			a = &Account{}
		}
		before := a.Kept()
		killOne(t, target(org), org, a)
		s, err := open(target(org))
		if err != nil {
			t.Fatalf("open after kill %d: %v", i, err)
		}
		a.Check(t, s, org, true)
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		entries += a.Kept() - before
		if a.Kept() == before {
			mute++
		}
	}
	t.Logf("%d kills: %d entries acknowledged, all there; %d kills before the writer acknowledged anything", kills, entries, mute)
	if entries == 0 {
		t.Error("nothing was ever acknowledged")
	}
}

func TestKilledWriterSQLite(t *testing.T) {
	kills := times(50, 1000)
	dir := t.TempDir()
	target := func(org string) string { return filepath.Join(dir, org+".db") }
	killMany(t, kills, target)
	sqlite3 := outside.Tool(t, "sqlite3")
	last := target(fmt.Sprint((kills - 1) / killsEach))
	said, err := exec.Command(sqlite3, "-readonly", last, "PRAGMA integrity_check; PRAGMA foreign_key_check; SELECT count(*) > 0 FROM entry").CombinedOutput()
	if err != nil || string(said) != "ok\n1\n" {
		t.Errorf("sqlite3: %s %v", said, err)
	}
	outside.Ran(t, "sqlite3: PRAGMA integrity_check, foreign_key_check", "a file whose writers were killed is whole")
}

func TestKilledWriterPostgreSQL(t *testing.T) {
	server := pgtest.New(t)
	killMany(t, times(50, 1000), func(string) string { return server.URL() })
}

// The server is killed while the office writes. The same Store goes on when the
// server is there again.
func TestKilledServerPostgreSQL(t *testing.T) {
	server := pgtest.New(t)
	s, err := open(server.URL())
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close() //nolint:errcheck // the last kill may have left it without a connection
	kills, entries := times(5, 200), 0
	for i := range kills {
		org, a := fmt.Sprint(i), &Account{}
		ctx, stop := context.WithCancel(t.Context())
		ended := make(chan bool)
		go func() {
			defer close(ended)
			for ctx.Err() == nil { // a connection that the last kill left behind costs an error
				_ = Write(ctx, s, org, a.Hear)
			}
		}()
		time.Sleep(time.Duration(rand.IntN(600)) * time.Millisecond)
		server.Kill()
		stop()
		<-ended
		server.Restart()
		answers(t, s)
		a.Check(t, s, org, true)
		entries += a.Kept()
	}
	t.Logf("the server was killed %d times: %d entries acknowledged, all there", kills, entries)
	if entries == 0 {
		t.Error("nothing was ever acknowledged")
	}
}

// answers waits until a store has let go of its dead connections: a server that
// was away may cost an error, but no more.
func answers(t *testing.T, s store.Store) {
	t.Helper()
	var err error
	for range 100 {
		if _, err = s.Orgs(t.Context()); err == nil {
			return
		}
		time.Sleep(10 * time.Millisecond)
	}
	t.Fatalf("the store does not find its server again: %v", err)
}
