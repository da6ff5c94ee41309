package sqlstore

import (
	"bytes"
	"database/sql"
	"errors"
	"fmt"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"

	"sapwell/internal/pgtest"
	"sapwell/store"
)

// bare is a database without a schema.
func bare(d dialect, p *pool) *Store { return &Store{dialect: d, writer: p, reader: p, lanes: lanes{}} }

// engines runs a test on an empty database of each engine.
func engines(t *testing.T, run func(t *testing.T, s *Store, open func() (*Store, error))) {
	t.Run("SQLite", func(t *testing.T) {
		path := filepath.Join(t.TempDir(), "sapwell.db")
		db, err := sql.Open("sqlite", sqliteName(path, "rwc", true))
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { _ = db.Close() })
		run(t, bare(sqliteDialect, newSQLitePool(db)), func() (*Store, error) { return OpenSQLite(t.Context(), path, Options{}) })
	})
	t.Run("PostgreSQL", func(t *testing.T) {
		url := pgtest.Start(t)
		db, err := sql.Open("pgx", url)
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { _ = db.Close() })
		run(t, bare(postgresDialect, &pool{db: db, rows: []int{1}}), func() (*Store, error) { return OpenPostgres(t.Context(), url, Options{}) })
	})
}

// mustMigrate brings a bare database to a version.
func mustMigrate(t *testing.T, s *Store, version int) []migration {
	t.Helper()
	all, err := migrations()
	if err != nil {
		t.Fatal(err)
	}
	if err := s.migrate(t.Context(), all[:version], false); err != nil {
		t.Fatal(err)
	}
	return all
}

// What was kept under any earlier version is there, byte for byte, once the schema
// is the latest.
func TestMigrateFromEveryVersion(t *testing.T) {
	latest, err := migrations()
	if err != nil {
		t.Fatal(err)
	}
	for version := range latest {
		t.Run(fmt.Sprint(version), func(t *testing.T) {
			engines(t, func(t *testing.T, s *Store, open func() (*Store, error)) {
				all := mustMigrate(t, s, version)
				tables := tablesOf(all[:version])
				for _, table := range tables {
					fill(t, s, table)
				}
				before := contents(t, s, tables)
				opened, err := open()
				if err != nil {
					t.Fatal(err)
				}
				defer opened.Close() //nolint:errcheck // only read
				if after := contents(t, opened, tables); after != before {
					t.Errorf("before:\n%s\nafter:\n%s", before, after)
				}
				if err := opened.read(t.Context(), opened.checkSchema); err != nil {
					t.Error(err)
				}
			})
		})
	}
}

// table is what a migration says of one.
type table struct {
	name    string
	columns []string // name and type
}

var (
	tableText  = regexp.MustCompile(`(?s)CREATE TABLE (\w+) \((.*?)\n\)`)
	columnText = regexp.MustCompile(`(?m)^\t([a-z]+) (BYTES|WHOLE|TEXT)`)
)

func tablesOf(all []migration) []table {
	var found []table
	for _, m := range all {
		for _, t := range tableText.FindAllStringSubmatch(m.text, -1) {
			one := table{name: t[1]}
			for _, c := range columnText.FindAllStringSubmatch(t[2], -1) {
				one.columns = append(one.columns, c[1]+" "+c[2])
			}
			found = append(found, one)
		}
	}
	return found
}

// fill puts three rows into a table. The second has what texts and bytes may hold.
func fill(t *testing.T, s *Store, of table) {
	t.Helper()
	texts := []string{"a", "ß|😂'\"\\", ""}
	var names []string
	rows := make([][]any, len(texts))
	for _, c := range of.columns {
		name, sort, _ := strings.Cut(c, " ")
		names = append(names, name)
		for i, text := range texts {
			var v any = text
			switch {
			case name == "org": // that of the table org, which others name
				v = bytes.Repeat([]byte{byte(i)}, 16)
			case name == "views":
				v = foldVersion // else the views are made again
			case sort == "BYTES":
				v = append([]byte{0, byte(i), 0xff}, text...)
			case sort == "WHOLE":
				v = int64(i) << 50
			}
			rows[i] = append(rows[i], v)
		}
	}
	err := s.commit(t.Context(), func(t *tx) error {
		return t.insert(fmt.Sprintf("%s (%s)", of.name, strings.Join(names, ", ")), "", rows)
	})
	if err != nil {
		t.Fatalf("fill %s: %v", of.name, err)
	}
}

func contents(t *testing.T, s *Store, tables []table) string {
	t.Helper()
	var b strings.Builder
	err := s.read(t.Context(), func(x *tx) error {
		for _, of := range tables {
			var names []string
			for _, c := range of.columns {
				name, _, _ := strings.Cut(c, " ")
				names = append(names, name)
			}
			list := strings.Join(names, ", ")
			err := x.each(fmt.Sprintf("SELECT %s FROM %s ORDER BY %s", list, of.name, list), nil, func(rows *sql.Rows) error {
				values := make([]any, len(names))
				to := make([]any, len(names))
				for i := range values {
					to[i] = &values[i]
				}
				err := rows.Scan(to...)
				fmt.Fprintf(&b, "%s %q\n", of.name, values)
				return err
			})
			if err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestMigrateRefuses(t *testing.T) {
	for name, c := range map[string]struct{ change, want string }{
		"a newer schema":     {`INSERT INTO migration (number, name, sum) VALUES (99, 'x', 'y')`, "use a newer sapwell"},
		"a changed text":     {`UPDATE migration SET sum = 'other' WHERE number = 2`, "migration 2 was made by another text than 0002_views.sql"},
		"a version left out": {`DELETE FROM migration WHERE number = 1`, "migration 2 was made by another text than 0001_journal.sql"},
	} {
		t.Run(name, func(t *testing.T) {
			engines(t, func(t *testing.T, s *Store, open func() (*Store, error)) {
				mustMigrate(t, s, 3)
				if err := s.change(t.Context(), c.change); err != nil {
					t.Fatal(err)
				}
				_, err := open()
				var o *store.OpenError
				if !errors.As(err, &o) || !strings.Contains(err.Error(), c.want) {
					t.Errorf("%v, want %q", err, c.want)
				}
			})
		})
	}
}

// A step that fails leaves the schema as it was, and the next try begins there.
func TestMigrateAllOrNothing(t *testing.T) {
	engines(t, func(t *testing.T, s *Store, open func() (*Store, error)) {
		all := mustMigrate(t, s, 2)
		broken := append(all[:2:2], migration{3, "0003_broken.sql", "CREATE TABLE half (n WHOLE NOT NULL) PLAIN; CREATE TABLE half (n WHOLE NOT NULL) PLAIN;"})
		if err := s.migrate(t.Context(), broken, false); err == nil || !strings.Contains(err.Error(), "0003_broken.sql") {
			t.Errorf("%v, want it to name the migration", err)
		}
		err := s.read(t.Context(), func(x *tx) error {
			if half, err := x.has(s.dialect.schema, "half"); half || err != nil {
				t.Errorf("half a migration is there, %v", err)
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
		opened, err := open()
		if err != nil {
			t.Fatal(err)
		}
		_ = opened.Close()
	})
}

// Several programs may start at once on an empty database.
func TestMigrateBySeveral(t *testing.T) {
	engines(t, func(t *testing.T, _ *Store, open func() (*Store, error)) {
		var all sync.WaitGroup
		for range 6 {
			all.Go(func() {
				s, err := open()
				if err != nil {
					t.Error(err)
					return
				}
				if err := s.Close(); err != nil {
					t.Error(err)
				}
			})
		}
		all.Wait()
	})
}

func TestOpenForReadingChangesNoSchema(t *testing.T) {
	path := filepath.Join(t.TempDir(), "sapwell.db")
	if _, err := OpenSQLite(t.Context(), path, Options{ReadOnly: true}); err == nil {
		t.Error("a store that is not there was opened for reading")
	}
	db, err := sql.Open("sqlite", sqliteName(path, "rwc", true))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close() //nolint:errcheck // a test
	mustMigrate(t, bare(sqliteDialect, newSQLitePool(db)), 2)
	if _, err := OpenSQLite(t.Context(), path, Options{ReadOnly: true}); err == nil || !strings.Contains(err.Error(), "schema version 2, want") {
		t.Errorf("%v", err)
	}
}
