package sqlstore

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"embed"
	"encoding/hex"
	"fmt"
	"io/fs"
	"strconv"
	"strings"

	"sapwell/journal"
)

//go:embed migrations/*.sql
var migrationFiles embed.FS

// migration brings a schema from one version to the next; there is no way back.
type migration struct {
	number int // 1, 2, 3 …: the version after it
	name   string
	text   string
}

func (m migration) sum() string {
	sum := sha256.Sum256([]byte(m.text))
	return hex.EncodeToString(sum[:])
}

// migrations reads the files 0001_….sql, 0002_….sql …
func migrations() ([]migration, error) {
	files, err := fs.Glob(migrationFiles, "migrations/*.sql") // sorted
	if err != nil {
		return nil, err
	}
	var all []migration
	for i, file := range files {
		text, err := migrationFiles.ReadFile(file)
		if err != nil {
			return nil, err
		}
		name := strings.TrimPrefix(file, "migrations/")
		number, err := strconv.Atoi(name[:4])
		if err != nil || number != i+1 {
			return nil, fmt.Errorf("migration %s: want number %d", name, i+1)
		}
		all = append(all, migration{number, name, string(text)})
	}
	return all, nil
}

// migrate brings the schema up to date, each step in a transaction of its own.
// Several may start at once: each step is taken by one of them.
func (s *Store) migrate(ctx context.Context, all []migration, readOnly bool) error {
	var at int
	err := s.read(ctx, func(t *tx) (err error) {
		at, err = s.schemaVersion(t, all)
		return err
	})
	if err == nil && readOnly && at < len(all) {
		err = fmt.Errorf("schema version %d, want %d: open it for writing once to bring it up to date", at, len(all))
	}
	for err == nil && at < len(all) {
		at, err = s.step(ctx, all)
	}
	return err
}

// schemaVersion is the version of the schema now. It refuses one that is newer
// than the program, and one that was made by other migrations than these.
func (s *Store) schemaVersion(t *tx, all []migration) (int, error) {
	ok, err := t.has(s.dialect.schema, "migration")
	if err != nil || !ok {
		return 0, err
	}
	at := 0
	err = t.each(`SELECT number, sum FROM migration ORDER BY number`, nil, func(rows *sql.Rows) error {
		var number int
		var sum string
		if err := rows.Scan(&number, &sum); err != nil {
			return err
		}
		if number > len(all) {
			return fmt.Errorf("schema version %d, and this program knows versions up to %d: use a newer sapwell", number, len(all))
		}
		at++
		if m := all[at-1]; number != at || m.sum() != sum {
			return fmt.Errorf("migration %d was made by another text than %s: SHA-256 %s, want %s", number, m.name, sum, m.sum())
		}
		return nil
	})
	return at, err
}

// step takes the next step, if it is still to be taken, and tells the version then.
func (s *Store) step(ctx context.Context, all []migration) (at int, err error) {
	err = s.write(ctx, journal.ID{}, func(t *tx) error {
		if at, err = s.schemaVersion(t, all); err != nil || at == len(all) {
			return err
		}
		m := all[at]
		if at == 0 {
			if err := s.run(t, `CREATE TABLE migration (number WHOLE NOT NULL PRIMARY KEY, name TEXT NOT NULL, sum TEXT NOT NULL) PLAIN;`); err != nil {
				return err
			}
		}
		if err := s.run(t, m.text); err != nil {
			return fmt.Errorf("migration %s: %w", m.name, err)
		}
		at++
		return t.exec(`INSERT INTO migration (number, name, sum) VALUES ($1, $2, $3)`, m.number, m.name, m.sum())
	})
	return at, err
}

// run executes statements in the words of the engine.
func (s *Store) run(t *tx, text string) error {
	_, err := t.ExecContext(t.ctx, s.dialect.words.Replace(text))
	return err
}
