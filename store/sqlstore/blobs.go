package sqlstore

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"fmt"

	"sapwell/journal"
	"sapwell/store"
)

// PutBlob: see store.Ledger.
func (l *ledger) PutBlob(ctx context.Context, data []byte, at int64) (journal.Hash, error) {
	sum := journal.Hash(sha256.Sum256(data))
	err := l.write(ctx, func(d *desk) error {
		return d.exec(`INSERT INTO blob (org, sum, made, data) VALUES ($1, $2, $3, $4) ON CONFLICT (org, sum) DO NOTHING`,
			d.org[:], sum[:], at, data)
	})
	return sum, err
}

// Blob: see store.Ledger.
func (l *ledger) Blob(ctx context.Context, sum journal.Hash) (data []byte, err error) {
	err = l.read(ctx, func(d *desk) error {
		ok, err := d.scan(`SELECT data FROM blob WHERE org = $1 AND sum = $2`, []any{d.org[:], sum[:]}, &data)
		if err == nil && !ok {
			err = fmt.Errorf("blob %s: %w", sum, store.ErrNotFound)
		}
		return err
	})
	return data, err
}

// Blobs: see store.Ledger.
func (l *ledger) Blobs(ctx context.Context) (all []journal.Hash, err error) {
	err = l.read(ctx, func(d *desk) error {
		return d.each(`SELECT sum FROM blob WHERE org = $1 ORDER BY sum`, []any{d.org[:]}, func(rows *sql.Rows) error {
			var sum journal.Hash
			err := rows.Scan(fixed(sum[:]))
			all = append(all, sum)
			return err
		})
	})
	return all, err
}
