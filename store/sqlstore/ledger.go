package sqlstore

import (
	"context"
	"crypto"
	"database/sql"
	"fmt"

	"sapwell/entries"
	"sapwell/journal"
	"sapwell/store"
)

// ledger is the journal of one organisation. Every statement names it.
type ledger struct {
	s   *Store
	org journal.ID
}

var _ store.Ledger = (*ledger)(nil)

// desk is a ledger within one transaction.
type desk struct {
	*tx
	s   *Store
	org journal.ID
}

func (l *ledger) read(ctx context.Context, look func(*desk) error) error {
	return l.s.read(ctx, func(t *tx) error { return look(&desk{t, l.s, l.org}) })
}

func (l *ledger) write(ctx context.Context, do func(*desk) error) error {
	return l.s.write(ctx, l.org, func(t *tx) error { return do(&desk{t, l.s, l.org}) })
}

// Org: see store.Ledger.
func (l *ledger) Org() journal.ID { return l.org }

// Read: see store.Ledger.
func (l *ledger) Read(ctx context.Context, look func(store.Reader) error) error {
	return l.read(ctx, func(d *desk) error { return look(reader{d}) })
}

// Write: see store.Ledger.
func (l *ledger) Write(ctx context.Context, signer crypto.Signer, at int64, decide func(store.Reader) ([]journal.Draft, error)) ([]journal.Entry, error) {
	device, err := journal.DeviceOf(signer)
	if err != nil {
		return nil, err
	}
	var written []journal.Entry
	err = l.write(ctx, func(d *desk) error {
		drafts, err := decide(reader{d})
		if err != nil || len(drafts) == 0 {
			return err
		}
		c, err := d.chain(device)
		if err != nil {
			return err
		}
		if written, err = seal(signer, c, drafts); err != nil {
			return err
		}
		size, err := d.size()
		if err != nil {
			return err
		}
		return d.arrive(written, parallel(written, understand), size, at)
	})
	if err != nil {
		return nil, err
	}
	return written, nil
}

// seal writes drafts one after the other at the end of a chain, and checks what
// the signer made of them.
func seal(signer crypto.Signer, c *chain, drafts []journal.Draft) ([]journal.Entry, error) {
	last, key := c.last().Known, c.key
	all := make([]journal.Entry, len(drafts))
	for i, draft := range drafts {
		e, err := journal.Next(signer, last, draft)
		if err != nil {
			return nil, err
		}
		if e.Seq == 1 {
			key = e.Key
		}
		all[i], last = e, journal.Known{Device: e.Device, Hash: e.Hash(), Seq: e.Seq}
	}
	return all, firstError(parallel(all, func(e journal.Entry) error { return e.SignedBy(key) }))
}

// Size: see store.Ledger.
func (l *ledger) Size(ctx context.Context) (size int64, err error) {
	err = l.read(ctx, func(d *desk) error {
		size, err = d.size()
		return err
	})
	return size, err
}

func (d *desk) size() (size int64, err error) {
	err = d.row(`SELECT coalesce(max(n) + 1, 0) FROM entry WHERE org = $1`, d.org[:]).Scan(&size)
	return size, err
}

// Changed: see store.Ledger.
func (l *ledger) Changed(ctx context.Context, n int64, limit int) (changed []entries.Subject, size int64, err error) {
	err = l.read(ctx, func(d *desk) error {
		if size, err = d.size(); err != nil {
			return err
		}
		if n < 0 || n > size {
			return fmt.Errorf("number %d: want 0 to %d", n, size)
		}
		seen := make(map[entries.Subject]bool)
		return d.each(`SELECT line, hash FROM entry WHERE org = $1 AND n >= $2 ORDER BY n LIMIT $3`, []any{d.org[:], n, limit}, func(rows *sql.Rows) error {
			e, err := scanEntry(rows)
			for _, s := range understand(e).about {
				if !seen[s] {
					seen[s] = true
					changed = append(changed, s)
				}
			}
			return err
		})
	})
	return changed, size, err
}
