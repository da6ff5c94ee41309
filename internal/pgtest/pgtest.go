//go:build unix

// Package pgtest answers, for tests: where is a PostgreSQL server that is ours
// alone?
//
// It starts one on loopback, in a new folder, with the programs of the installed
// package. A process of tests has at most one, and each test a database of its own
// in it. A small guard beside the server stops it and removes its folder as soon as
// the process of tests is gone, however it ended.
package pgtest

import (
	"context"
	"database/sql"
	"fmt"
	"net/url"
	"sync"
	"sync/atomic"
	"testing"

	_ "github.com/jackc/pgx/v5/stdlib" // the driver "pgx"
)

// Start returns the URL of a new, empty database, which goes when the test ends.
// The server forgets to sync, for speed: it is for tests that cut no power. Where
// PostgreSQL is not installed the test is skipped or, with CI=true, fails.
func Start(t testing.TB) string {
	t.Helper()
	bin := programs(t)
	c, err := shared(bin)
	if err != nil {
		t.Fatalf("start PostgreSQL: %v", err)
	}
	name := fmt.Sprintf("test%d", count.Add(1))
	if err := c.run("CREATE DATABASE " + name + " STRATEGY file_copy"); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := c.run("DROP DATABASE " + name + " WITH (FORCE)"); err != nil {
			t.Error(err)
		}
	})
	return c.url(name)
}

var (
	count  atomic.Int64
	once   sync.Once
	common *cluster
	failed error
)

// shared is the one server of this process.
func shared(bin string) (*cluster, error) {
	once.Do(func() {
		if common, failed = newCluster(bin, hasty); failed == nil {
			failed = common.start()
		}
	})
	return common, failed
}

// Server is a server of one test, which syncs as it should and can be killed.
type Server struct {
	t testing.TB
	c *cluster
}

// New starts a server of its own for the test.
func New(t testing.TB) *Server {
	t.Helper()
	c, err := newCluster(programs(t), "")
	if err == nil {
		err = c.start()
	}
	if err != nil {
		t.Fatalf("start PostgreSQL: %v", err)
	}
	t.Cleanup(func() {
		if err := c.remove(); err != nil {
			t.Errorf("stop PostgreSQL: %v", err)
		}
	})
	return &Server{t, c}
}

// URL names its only database.
func (s *Server) URL() string { return s.c.url("postgres") }

// Kill ends all its processes with SIGKILL, as the end of the power would.
func (s *Server) Kill() {
	s.t.Helper()
	if err := s.c.kill(); err != nil {
		s.t.Fatalf("kill PostgreSQL: %v", err)
	}
}

// Restart starts it again after Kill, at the same address, and waits until it
// answers.
func (s *Server) Restart() {
	s.t.Helper()
	if err := s.c.start(); err != nil {
		s.t.Fatalf("start PostgreSQL again: %v", err)
	}
}

func (c *cluster) url(database string) string {
	u := url.URL{
		Scheme: "postgres", User: url.User(user), Host: fmt.Sprintf("127.0.0.1:%d", c.port),
		Path: "/" + database, RawQuery: "sslmode=disable",
	}
	return u.String()
}

// run executes one statement. The connection stays: making one takes as long as a
// new database.
func (c *cluster) run(text string) error {
	if c.db == nil {
		db, err := sql.Open("pgx", c.url("postgres"))
		if err != nil {
			return err
		}
		c.db = db
	}
	if _, err := c.db.ExecContext(context.Background(), text); err != nil {
		return fmt.Errorf("%s: %w", text, err)
	}
	return nil
}
