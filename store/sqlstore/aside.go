package sqlstore

import (
	"context"
	"database/sql"
	"slices"

	"sapwell/journal"
	"sapwell/store"
)

// putAside keeps lines that may not stand in the journal, each once, as they were
// last judged.
func (d *desk) putAside(all []store.Aside) error {
	rows := make([][]any, len(all))
	for i, a := range all {
		rows[i] = []any{d.org[:], bytesOf(a.Device), a.Seq, bytesOf(journal.HashLine(a.Line)), a.Line, a.Why, a.Time}
	}
	return d.insert(`aside (org, device, seq, hash, line, why, time)`,
		`ON CONFLICT (org, device, seq, hash) DO UPDATE SET why = excluded.why, time = excluded.time`, rows)
}

// dropAside forgets of what has come into the journal that it was set aside.
func (d *desk) dropAside(added []journal.Entry) error {
	some, err := d.has(`SELECT 1 FROM aside WHERE org = $1 LIMIT 1`, d.org[:])
	if err != nil || !some {
		return err
	}
	for _, e := range added {
		if err := d.exec(`DELETE FROM aside WHERE org = $1 AND device = $2 AND seq = $3 AND hash = $4`,
			d.org[:], e.Device[:], e.Seq, bytesOf(e.Hash())); err != nil {
			return err
		}
	}
	return nil
}

// Aside: see store.Ledger.
func (l *ledger) Aside(ctx context.Context) (all []store.Aside, err error) {
	const text = `SELECT device, seq, line, why, time FROM aside WHERE org = $1 ORDER BY device, seq, line`
	err = l.read(ctx, func(d *desk) error {
		return d.each(text, []any{d.org[:]}, func(rows *sql.Rows) error {
			var a store.Aside
			err := rows.Scan(fixed(a.Device[:]), &a.Seq, &a.Line, &a.Why, &a.Time)
			all = append(all, a)
			return err
		})
	})
	return all, err
}

// bytesOf is a hash as a parameter.
func bytesOf(h journal.Hash) []byte { return slices.Clone(h[:]) }
