package sqlstore

import (
	"path/filepath"
	"testing"

	"sapwell/internal/pgtest"
	"sapwell/store"
	"sapwell/store/storetest"
)

func openTemp(t testing.TB) *Store {
	t.Helper()
	s, err := OpenSQLite(t.Context(), filepath.Join(t.TempDir(), "sapwell.db"), Options{})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func openServer(t testing.TB) *Store {
	t.Helper()
	s, err := OpenPostgres(t.Context(), pgtest.Start(t), Options{})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestSuiteSQLite(t *testing.T) {
	storetest.Run(t, func(t *testing.T) store.Store { return openTemp(t) })
}

func TestSuitePostgres(t *testing.T) {
	storetest.Run(t, func(t *testing.T) store.Store { return openServer(t) })
}
