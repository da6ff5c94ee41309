// Package sqlstore answers: how is a journal kept in a database?
//
// In SQLite (one file, for one office) or PostgreSQL (for several), by one SQL
// text. Dialect holds the little that differs. Parameters are $1, $2 … in the
// order of their first appearance, which every driver understands alike.
//
// The entry table is the journal. Receipts follow from it; views and tiles of the
// receipt tree are kept so that nothing has to be worked out twice, and can be made
// again.
package sqlstore

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"sync"

	"sapwell/journal"
	"sapwell/store"
)

// Store is a database with the journals of several organisations.
type Store struct {
	dialect        dialect
	writer, reader *pool // one and the same where the engine lets several write
	readOnly       bool

	mu    sync.Mutex
	lanes lanes // who holds the one token of an organisation may write
}

// lanes have room for one writer each.
type lanes map[journal.ID]chan struct{}

var _ store.Store = (*Store)(nil)

// Options say how a store is opened. The zero Options are for daily use.
type Options struct {
	// ReadOnly changes nothing: neither data nor the schema.
	ReadOnly bool
}

// open takes hold of the database and brings its schema up to date.
func open(ctx context.Context, d dialect, writer, reader *pool, opts Options) (*Store, error) {
	s := &Store{dialect: d, writer: writer, reader: reader, readOnly: opts.ReadOnly, lanes: make(lanes)}
	all, err := migrations()
	if err == nil {
		err = s.migrate(ctx, all, opts.ReadOnly)
	}
	if err == nil && !opts.ReadOnly {
		err = s.renew(ctx)
	}
	if err != nil {
		_ = s.Close() // the first error counts
		return nil, s.explain(err)
	}
	return s, nil
}

// Close lets go of the database.
func (s *Store) Close() error {
	// The readers first: SQLite moves what is in its log into the file when the last
	// connection closes, and only one that may write can do that.
	var err error
	if s.reader != s.writer {
		err = s.reader.close()
	}
	return cmp.Or(s.writer.close(), err)
}

// Describe: see store.Store.
func (s *Store) Describe(ctx context.Context) (string, error) {
	var version string
	err := s.read(ctx, func(t *tx) error { return t.row(s.dialect.version).Scan(&version) })
	return s.dialect.name + " " + version, err
}

// Orgs: see store.Store.
func (s *Store) Orgs(ctx context.Context) ([]journal.ID, error) {
	var all []journal.ID
	err := s.read(ctx, func(t *tx) error {
		return t.each(`SELECT org FROM org ORDER BY org`, nil, func(rows *sql.Rows) error {
			var id journal.ID
			err := rows.Scan(fixed(id[:]))
			all = append(all, id)
			return err
		})
	})
	return all, err
}

// Ledger: see store.Store.
func (s *Store) Ledger(ctx context.Context, org journal.ID) (store.Ledger, error) {
	err := s.read(ctx, func(t *tx) error {
		ok, err := t.has(`SELECT 1 FROM org WHERE org = $1`, org[:])
		if err == nil && !ok {
			err = fmt.Errorf("organisation %s: %w", org, store.ErrNotFound)
		}
		return err
	})
	if err != nil {
		return nil, err
	}
	return &ledger{s: s, org: org}, nil
}

// read runs look on one moment of the database.
func (s *Store) read(ctx context.Context, look func(*tx) error) error {
	t, err := s.reader.begin(ctx, s.dialect.readTx)
	if err != nil {
		return s.explain(err)
	}
	defer t.Rollback() //nolint:errcheck // nothing was written
	return s.explain(look(t))
}

// write runs do alone among the writers of an organisation; else it is as commit.
func (s *Store) write(ctx context.Context, org journal.ID, do func(*tx) error) error {
	leave, err := s.enter(ctx, org)
	if err != nil {
		return err
	}
	defer leave()
	return s.commit(ctx, func(t *tx) error {
		if err := s.dialect.lock(t, org); err != nil {
			return err
		}
		return do(t)
	})
}

// bulk is write for what may take more than memory holds.
func (s *Store) bulk(ctx context.Context, org journal.ID, do func(*tx) error) error {
	if err := s.dialect.spill(ctx, s.writer, true); err != nil {
		return s.explain(err)
	}
	defer s.dialect.spill(context.WithoutCancel(ctx), s.writer, false) //nolint:errcheck // else it is only slower
	return s.write(ctx, org, do)
}

// commit runs do in a transaction. When it returns nil what do wrote is on the
// disk, otherwise nothing of it is.
func (s *Store) commit(ctx context.Context, do func(*tx) error) error {
	t, err := s.writer.begin(ctx, nil)
	if err != nil {
		return s.explain(err)
	}
	defer t.Rollback() //nolint:errcheck // after Commit it does nothing
	if err := do(t); err != nil {
		return s.explain(err)
	}
	return s.explain(t.Commit())
}

// enter waits for the lane of an organisation, so that writers of this process
// queue here and not each on a connection of its own.
func (s *Store) enter(ctx context.Context, org journal.ID) (leave func(), err error) {
	s.mu.Lock()
	lane, ok := s.lanes[org]
	if !ok {
		lane = make(chan struct{}, 1)
		s.lanes[org] = lane
	}
	s.mu.Unlock()
	select {
	case lane <- struct{}{}:
		return func() { <-lane }, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// explain adds to an error of the driver what callers can tell apart.
func (s *Store) explain(err error) error {
	if err == nil {
		return nil
	}
	if known := s.dialect.classify(err); known != nil && !errors.Is(err, known) {
		return fmt.Errorf("%w: %w", known, err)
	}
	return err
}
