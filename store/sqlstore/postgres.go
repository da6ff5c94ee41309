package sqlstore

import (
	"context"
	"database/sql"
	"encoding/binary"
	"errors"
	"fmt"
	"net/url"
	"strings"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/stdlib"

	"sapwell/journal"
	"sapwell/store"
)

// connections is how many a store takes of a PostgreSQL server.
const connections = 16

// OpenPostgres opens the store in a database of a PostgreSQL server, named by a URL
// as libpq has it; the database has to be there. Errors are *store.OpenError and
// show no password.
func OpenPostgres(ctx context.Context, name string, opts Options) (*Store, error) {
	s, err := openPostgres(ctx, name, opts)
	if err != nil {
		return nil, &store.OpenError{What: withoutPassword(name), Err: err}
	}
	return s, nil
}

func openPostgres(ctx context.Context, name string, opts Options) (*Store, error) {
	config, err := pgx.ParseConfig(name) // its errors show no password
	if err != nil {
		return nil, err
	}
	// A server may be set to acknowledge what is not on the disk yet.
	config.RuntimeParams["synchronous_commit"] = "on"
	if opts.ReadOnly {
		config.RuntimeParams["default_transaction_read_only"] = "on"
	}
	db := stdlib.OpenDB(*config)
	db.SetMaxOpenConns(connections)
	db.SetMaxIdleConns(connections)
	p := &pool{db: db, rows: []int{100, 10, 1}}
	return open(ctx, postgresDialect, p, p, opts)
}

// withoutPassword is a URL as it may be shown. What follows the question mark may
// hold a password too.
func withoutPassword(name string) string {
	u, err := url.Parse(name)
	if err != nil || u.Host == "" {
		return "PostgreSQL"
	}
	shown := url.URL{Scheme: u.Scheme, Host: u.Host, Path: u.Path}
	if u.User != nil {
		shown.User = url.User(u.User.Username())
	}
	return shown.String()
}

var postgresDialect = dialect{
	name:    "PostgreSQL",
	version: `SELECT current_setting('server_version')`,
	// Texts are compared byte by byte, whatever the database's language.
	words: strings.NewReplacer("BYTES", "BYTEA", "WHOLE", "BIGINT", "TEXT", `TEXT COLLATE "C"`,
		") KEYED;", ");", ") PLAIN;", ");"),
	readTx: &sql.TxOptions{Isolation: sql.LevelRepeatableRead, ReadOnly: true},
	lock: func(t *tx, org journal.ID) error {
		return t.exec(`SELECT pg_advisory_xact_lock($1)`, lockNumber(org))
	},
	schema:   `SELECT 1 FROM pg_tables WHERE schemaname = current_schema() AND tablename = $1`,
	spill:    func(context.Context, *pool, bool) error { return nil },
	classify: classifyPostgres,
	check:    checkPostgres,
}

// lockNumber stands for an organisation among advisory locks. Two that share one
// wait for each other and come to no harm.
func lockNumber(org journal.ID) int64 { return int64(binary.BigEndian.Uint64(org[8:])) }

func classifyPostgres(err error) error {
	var e *pgconn.PgError
	if !errors.As(err, &e) {
		return nil
	}
	switch e.Code { // PostgreSQL, appendix A
	case "23505":
		return store.ErrExists
	case "53100":
		return store.ErrFull
	case "25006":
		return store.ErrReadOnly
	}
	return nil
}

// checkPostgres asks whether the server keeps what it has acknowledged.
func checkPostgres(t *tx) []store.Finding {
	var all []store.Finding
	for _, name := range [...]string{"fsync", "full_page_writes", "synchronous_commit"} {
		var got string
		err := t.row(`SELECT current_setting($1)`, name).Scan(&got)
		if err == nil && (got == "off" || got == "local") {
			err = fmt.Errorf("%s: a power cut may take what was acknowledged; want on", got)
		}
		all = append(all, store.Finding{What: "setting " + name, Err: err})
	}
	return all
}
