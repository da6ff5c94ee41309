package sqlstore

import (
	"context"
	"errors"
	"fmt"

	"sapwell/entries"
	"sapwell/journal"
	"sapwell/store"
)

// Found: see store.Store.
func (s *Store) Found(ctx context.Context, lines [][]byte, at int64) (journal.ID, error) {
	all, said, err := readJournal(lines)
	if err != nil {
		return journal.ID{}, err
	}
	org := all[0].ID
	err = s.write(ctx, org, func(t *tx) error {
		d := &desk{t, s, org}
		if err := d.begin(); err != nil {
			return err
		}
		return d.arrive(all, said, 0, at)
	})
	return org, err
}

// begin makes room for a new organisation.
func (d *desk) begin() error {
	err := d.exec(`INSERT INTO org (org, views) VALUES ($1, $2)`, d.org[:], foldVersion)
	if errors.Is(d.s.explain(err), store.ErrExists) {
		return fmt.Errorf("organisation %s: %w", d.org, store.ErrExists)
	}
	return err
}

// readJournal reads the lines of a sound journal that begins an organisation.
func readJournal(lines [][]byte) (all []journal.Entry, said []saying, err error) {
	var log journal.Journal
	for i, line := range lines {
		if _, twice := log.Entry(journal.HashLine(line)); twice {
			return nil, nil, &journal.Fault{Line: i + 1, Reason: errTwice}
		}
		e, err := log.Add(line)
		if err != nil {
			return nil, nil, &journal.Fault{Line: i + 1, Reason: err}
		}
		all, said = append(all, e), append(said, understand(e))
	}
	if len(all) == 0 || !founds(said[0]) {
		return nil, nil, errNoOrg
	}
	return all, said, nil
}

// founds tells whether an entry begins an organisation.
func founds(s saying) bool {
	org, ok := s.Body.(entries.Org)
	return ok && org.Org == journal.ID{}
}

var (
	errTwice = errors.New("this line stands above already")
	errNoOrg = errors.New("the first entry must be one of kind org that begins an organisation")
)
