package synctest

import (
	"path/filepath"
	"testing"

	"sapwell/internal/pgtest"
	"sapwell/store"
	"sapwell/store/mem"
	"sapwell/store/sqlstore"
)

func TestMemory(t *testing.T) {
	Run(t, func(*testing.T) store.Store { return mem.New() }, 60)
}

func TestSQLite(t *testing.T) {
	Run(t, func(t *testing.T) store.Store {
		s, err := sqlstore.OpenSQLite(t.Context(), filepath.Join(t.TempDir(), "sapwell.db"), sqlstore.Options{})
		if err != nil {
			t.Fatal(err)
		}
		return s
	}, 20)
}

func TestPostgreSQL(t *testing.T) {
	Run(t, func(t *testing.T) store.Store {
		s, err := sqlstore.OpenPostgres(t.Context(), pgtest.Start(t), sqlstore.Options{})
		if err != nil {
			t.Fatal(err)
		}
		return s
	}, 20)
}
