package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"sapwell/journal"
	"sapwell/store"
	"sapwell/store/sqlstore"
)

// where says which store is meant: a folder of this machine or a PostgreSQL server.
type where struct {
	Data     string `placeholder:"DIR" env:"SAPWELL_DATA" help:"Folder that holds the journal (default: ${data_folder})."`
	Postgres string `placeholder:"URL" env:"SAPWELL_POSTGRES" help:"Keep the journal in this PostgreSQL database instead."`
}

// dataFolder is where journals are kept when nobody says: among the person's own
// settings, so that it does not depend on the folder one happens to be in.
func dataFolder() string {
	home, err := os.UserConfigDir()
	if err != nil {
		return "sapwell-data"
	}
	return filepath.Join(home, "sapwell")
}

func (w where) folder() string {
	if w.Data != "" {
		return w.Data
	}
	return dataFolder()
}

// file is the SQLite file.
func (w where) file() string { return filepath.Join(w.folder(), "sapwell.db") }

// open opens a store that is there already.
func (w where) open(ctx context.Context, opts sqlstore.Options) (store.Store, error) {
	if w.Postgres != "" {
		return opened(sqlstore.OpenPostgres(ctx, w.Postgres, opts))
	}
	if _, err := os.Stat(w.file()); errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("%s: no journal here; sapwell serve begins one, --data or --postgres names another", w.file())
	}
	return opened(sqlstore.OpenSQLite(ctx, w.file(), opts))
}

// create opens the store, and makes the folder and the file where they are missing.
func (w where) create(ctx context.Context) (store.Store, error) {
	if w.Postgres == "" {
		if err := os.MkdirAll(w.folder(), 0o700); err != nil {
			return nil, err
		}
	}
	if w.Postgres != "" {
		return opened(sqlstore.OpenPostgres(ctx, w.Postgres, sqlstore.Options{}))
	}
	return opened(sqlstore.OpenSQLite(ctx, w.file(), sqlstore.Options{}))
}

// opened keeps a nil *sqlstore.Store from becoming a store.Store that is not nil.
func opened(s *sqlstore.Store, err error) (store.Store, error) {
	if err != nil {
		return nil, err
	}
	return s, nil
}

// whose says which organisation is meant, where a store keeps several.
type whose struct {
	Org string `placeholder:"ID" help:"Which organisation, where the store keeps several."`
}

// ledger is the journal of the organisation that is meant.
func (o whose) ledger(ctx context.Context, s store.Store) (store.Ledger, error) {
	if o.Org != "" {
		var id journal.ID
		if err := id.UnmarshalText([]byte(o.Org)); err != nil {
			return nil, usage{fmt.Errorf("--org: %w", err)}
		}
		return s.Ledger(ctx, id)
	}
	orgs, err := s.Orgs(ctx)
	switch {
	case err != nil:
		return nil, err
	case len(orgs) == 0:
		return nil, errors.New("the store keeps no organisation yet; sapwell serve begins one, sapwell restore brings one back")
	case len(orgs) > 1:
		return nil, usage{fmt.Errorf("the store keeps %d organisations; say which with --org: %s", len(orgs), joined(orgs))}
	}
	return s.Ledger(ctx, orgs[0])
}

func joined(ids []journal.ID) string {
	text := ""
	for i, id := range ids {
		if i > 0 {
			text += ", "
		}
		text += id.String()
	}
	return text
}
