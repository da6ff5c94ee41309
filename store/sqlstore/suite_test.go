package sqlstore

import (
	"context"
	"path/filepath"
	"slices"
	"testing"

	"sapwell/internal/pgtest"
	"sapwell/store"
	"sapwell/store/storetest"
)

func openTemp(t testing.TB) *Store {
	t.Helper()
	return openFile(t, filepath.Join(t.TempDir(), "sapwell.db"))
}

func openFile(t testing.TB, path string) *Store {
	t.Helper()
	s, err := OpenSQLite(t.Context(), path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func openServer(t testing.TB) *Store {
	t.Helper()
	return openURL(t, pgtest.Start(t))
}

func openURL(t testing.TB, url string) *Store {
	t.Helper()
	s, err := OpenPostgres(t.Context(), url, Options{})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestSuiteSQLite(t *testing.T) {
	storetest.Run(t, func(t *testing.T) store.Store { return openTemp(t) })
	storetest.Reopen(t, func(t *testing.T) (store.Store, func(*testing.T) store.Store) {
		path := filepath.Join(t.TempDir(), "sapwell.db")
		open := func(t *testing.T) store.Store { return openFile(t, path) }
		return open(t), open
	})
}

func TestSuitePostgres(t *testing.T) {
	storetest.Run(t, func(t *testing.T) store.Store { return hasty{openServer(t)} })
	storetest.Reopen(t, func(t *testing.T) (store.Store, func(*testing.T) store.Store) {
		url := pgtest.Start(t)
		open := func(t *testing.T) store.Store { return openURL(t, url) }
		return open(t), open
	})
}

// hasty is a store on a server that does not sync, which is well for a test and for
// nothing else. Check says so; the suite need not hear it.
type hasty struct{ *Store }

func (s hasty) Check(ctx context.Context) []store.Finding {
	return slices.DeleteFunc(s.Store.Check(ctx), func(f store.Finding) bool {
		return f.What == "setting fsync" || f.What == "setting full_page_writes"
	})
}
