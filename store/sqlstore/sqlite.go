package sqlstore

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"syscall"

	"modernc.org/sqlite"
	codes "modernc.org/sqlite/lib"

	"sapwell/journal"
	"sapwell/store"
)

// readers is how many may look at a SQLite file at once.
const readers = 8

// OpenSQLite opens the store in a file and makes it where there is none; only its
// owner may read it. Errors are *store.OpenError.
func OpenSQLite(ctx context.Context, path string, opts Options) (*Store, error) {
	s, err := openSQLite(ctx, path, opts)
	if err != nil {
		return nil, &store.OpenError{What: path, Err: err}
	}
	return s, nil
}

func openSQLite(ctx context.Context, path string, opts Options) (*Store, error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return nil, err
	}
	if opts.ReadOnly {
		return openToRead(ctx, path)
	}
	if err := makeFile(path); err != nil {
		return nil, err
	}
	reader, err := sqliteReaders(path, "ro")
	if err != nil {
		return nil, err
	}
	writer, err := sql.Open("sqlite", sqliteName(path, "rw", true))
	if err != nil {
		return nil, errors.Join(err, reader.close())
	}
	writer.SetMaxOpenConns(1)
	// Before anybody reads: who was killed while the file was being made has left a
	// journal that has to be rolled back, and only one that may write can do that.
	if err := writer.QueryRowContext(ctx, "SELECT count(*) FROM sqlite_schema").Scan(new(int)); err != nil {
		return nil, errors.Join((&Store{dialect: sqliteDialect}).explain(err), writer.Close(), reader.close())
	}
	return open(ctx, sqliteDialect, newSQLitePool(writer), reader, opts)
}

// openToRead opens a file that others may write to meanwhile. Where the files that
// this takes cannot be made beside it, on a disk that can only be read, nobody can,
// and if nothing waits in a log the file is taken as it is.
func openToRead(ctx context.Context, path string) (*Store, error) {
	s, err := openReaders(ctx, sqliteDialect, path, "ro")
	var e *sqlite.Error
	if !errors.As(err, &e) || e.Code()&0xff != codes.SQLITE_CANTOPEN {
		return s, err
	}
	if log, err2 := os.Stat(path + "-wal"); err2 == nil && log.Size() > 0 {
		return nil, err
	}
	if _, err2 := os.Stat(path); err2 != nil {
		return nil, err2
	}
	d := sqliteDialect
	d.check = checkSQLite("delete") // which is how SQLite speaks of such a file
	return openReaders(ctx, d, path, "ro&immutable=1")
}

func openReaders(ctx context.Context, d dialect, path, mode string) (*Store, error) {
	p, err := sqliteReaders(path, mode)
	if err != nil {
		return nil, err
	}
	return open(ctx, d, p, p, Options{ReadOnly: true})
}

func sqliteReaders(path, mode string) (*pool, error) {
	db, err := sql.Open("sqlite", sqliteName(path, mode, false))
	if err != nil {
		return nil, err
	}
	db.SetMaxOpenConns(readers)
	db.SetMaxIdleConns(readers)
	return newSQLitePool(db), nil
}

// newSQLitePool keeps statements, as the driver does not. SQLite looks parameters
// up by name one after the other, so few rows a statement are the quickest.
func newSQLitePool(db *sql.DB) *pool {
	return &pool{db: db, rows: []int{10, 1}, ready: make(map[string]*sql.Stmt)}
}

// makeFile makes an empty file that only its owner may read; SQLite gives the
// files beside it the same mode.
func makeFile(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o600)
	if errors.Is(err, os.ErrPermission) || errors.Is(err, syscall.EROFS) {
		return fmt.Errorf("%w: %w", store.ErrReadOnly, err)
	}
	if err != nil {
		return err
	}
	return f.Close()
}

// sqliteName is the driver's name of a file with all settings. The write-ahead
// log is synced at every commit (FULL): what was acknowledged outlives a power cut.
func sqliteName(path, mode string, write bool) string {
	q := url.Values{"_busy_timeout": {"10000"}, "_foreign_keys": {"1"}, "_synchronous": {"FULL"}}
	q["_pragma"] = []string{"cache_size(-8192)", "trusted_schema(0)", "temp_store(MEMORY)"}
	if write {
		q.Set("_txlock", "immediate")
		q.Set("_journal_mode", "WAL")
		q["_pragma"] = append(q["_pragma"], "cache_size(-32768)", "wal_autocheckpoint(4000)", "journal_size_limit(67108864)")
	}
	u := url.URL{Scheme: "file", OmitHost: true, Path: filepath.ToSlash(path), RawQuery: "mode=" + mode + "&" + q.Encode()}
	return u.String()
}

var sqliteDialect = dialect{
	name:    "SQLite",
	version: `SELECT sqlite_version()`,
	words: strings.NewReplacer("BYTES", "BLOB", "WHOLE", "INTEGER",
		") KEYED;", ") STRICT, WITHOUT ROWID;", ") PLAIN;", ") STRICT;"),
	readTx:   &sql.TxOptions{ReadOnly: true},
	lock:     func(*tx, journal.ID) error { return nil }, // BEGIN IMMEDIATE has it
	schema:   `SELECT 1 FROM sqlite_schema WHERE type = 'table' AND name = $1`,
	spill:    spillSQLite,
	classify: classifySQLite,
	check:    checkSQLite("wal"),
}

// spillSQLite says where temporary tables are. What a statement may have to undo is
// kept there as well, for which memory is much quicker.
func spillSQLite(ctx context.Context, p *pool, toDisk bool) error {
	where := "MEMORY"
	if toDisk {
		where = "FILE"
	}
	_, err := p.db.ExecContext(ctx, "PRAGMA temp_store = "+where)
	return err
}

func classifySQLite(err error) error {
	var e *sqlite.Error
	if !errors.As(err, &e) {
		return nil
	}
	switch e.Code() {
	case codes.SQLITE_CONSTRAINT_UNIQUE, codes.SQLITE_CONSTRAINT_PRIMARYKEY:
		return store.ErrExists
	}
	switch e.Code() & 0xff {
	case codes.SQLITE_FULL:
		return store.ErrFull
	case codes.SQLITE_READONLY:
		return store.ErrReadOnly
	}
	return nil
}

// checkSQLite asks whether the file is whole and its settings are as demanded.
func checkSQLite(journalMode string) func(*tx) []store.Finding {
	demanded := [...]struct{ pragma, want string }{
		{"quick_check(1)", "ok"},
		{"journal_mode", journalMode},
		{"foreign_keys", "1"},
		{"synchronous", "2"}, // FULL
	}
	return func(t *tx) []store.Finding {
		var all []store.Finding
		for _, c := range demanded {
			var got string
			err := t.QueryRowContext(t.ctx, "PRAGMA "+c.pragma).Scan(&got)
			if err == nil && got != c.want {
				err = fmt.Errorf("%s, want %s", got, c.want)
			}
			all = append(all, store.Finding{What: "PRAGMA " + c.pragma, Err: err})
		}
		return all
	}
}
