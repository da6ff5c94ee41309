// Package mem answers: how is a journal kept where there is no disk?
//
// It is the whole promise of package store in memory: for tests, and for a phone,
// which keeps the lines itself and gives them to an empty Ledger when it starts.
package mem

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"maps"
	"slices"
	"sync"

	"sapwell/entries"
	"sapwell/journal"
	"sapwell/store"
)

// Store keeps the journals of several organisations in memory.
type Store struct {
	mu   sync.RWMutex
	orgs map[journal.ID]*Ledger
	keeper
}

// New makes an empty store.
func New() *Store {
	return &Store{orgs: make(map[journal.ID]*Ledger), keeper: newKeeper()}
}

var _ store.Store = (*Store)(nil)

// Found: see store.Store.
func (s *Store) Found(ctx context.Context, lines [][]byte, at int64) (journal.ID, error) {
	if err := ctx.Err(); err != nil {
		return journal.ID{}, err
	}
	var log journal.Journal
	var all []journal.Entry
	for i, line := range lines {
		if _, twice := log.Entry(journal.HashLine(line)); twice {
			return journal.ID{}, &journal.Fault{Line: i + 1, Reason: errTwice}
		}
		e, err := log.Add(line)
		if err != nil {
			return journal.ID{}, &journal.Fault{Line: i + 1, Reason: err}
		}
		all = append(all, e)
	}
	if len(all) == 0 || !founds(all[0]) {
		return journal.ID{}, errNoOrg
	}
	l := NewLedger(all[0].ID)
	l.log = log
	if err := l.arrive(all, nil, at); err != nil {
		return journal.ID{}, err
	}
	return l.org, s.add(l)
}

// founds reports whether an entry begins an organisation.
func founds(e journal.Entry) bool {
	read, err := entries.Read(e)
	if err != nil {
		return false
	}
	org, ok := read.Body.(entries.Org)
	return ok && org.Org == journal.ID{}
}

func (s *Store) add(l *Ledger) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if _, ok := s.orgs[l.org]; ok {
		return fmt.Errorf("organisation %s: %w", l.org, store.ErrExists)
	}
	s.orgs[l.org] = l
	return nil
}

// Import: see store.Store.
func (s *Store) Import(ctx context.Context, r io.Reader, at int64) (journal.ID, error) {
	var export bytes.Buffer
	if _, err := journal.Verify(io.TeeReader(r, &export)); err != nil {
		return journal.ID{}, err
	}
	if err := ctx.Err(); err != nil {
		return journal.ID{}, err
	}
	l, err := restore(export.Bytes(), at)
	if err != nil {
		return journal.ID{}, err
	}
	return l.org, s.add(l)
}

// Orgs: see store.Store.
func (s *Store) Orgs(ctx context.Context) ([]journal.ID, error) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	byID := func(a, b journal.ID) int { return bytes.Compare(a[:], b[:]) }
	return slices.SortedFunc(maps.Keys(s.orgs), byID), ctx.Err()
}

// Ledger: see store.Store.
func (s *Store) Ledger(ctx context.Context, org journal.ID) (store.Ledger, error) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	if l, ok := s.orgs[org]; ok {
		return l, ctx.Err()
	}
	return nil, fmt.Errorf("organisation %s: %w", org, store.ErrNotFound)
}

// Check: see store.Store.
func (s *Store) Check(context.Context) []store.Finding {
	return []store.Finding{{What: "memory"}}
}

// Describe: see store.Store.
func (s *Store) Describe(context.Context) (string, error) {
	return "memory (nothing is kept when the program ends)", nil
}

// Close does nothing: what was kept goes with the Store.
func (s *Store) Close() error { return nil }
