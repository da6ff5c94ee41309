package sqlstore

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"

	"sapwell/journal"
	"sapwell/store"
)

// Check: see store.Store. It looks at how the database stands and whether what was
// worked out fits the journal. The journal itself is checked by exporting it.
func (s *Store) Check(ctx context.Context) []store.Finding {
	all := []store.Finding{s.checkWriting(ctx)}
	err := s.read(ctx, func(t *tx) error {
		all = append(all, s.dialect.check(t)...)
		all = append(all, store.Finding{What: "schema version", Err: s.checkSchema(t)})
		return nil
	})
	all = append(all, store.Finding{What: "database answers", Err: err})
	orgs, err := s.Orgs(ctx)
	if err != nil {
		return append(all, store.Finding{What: "organisations", Err: err})
	}
	for _, org := range orgs {
		l := &ledger{s, org}
		all = append(all, store.Finding{What: fmt.Sprintf("journal of %s", org), Err: l.read(ctx, (*desk).check)})
	}
	return all
}

// checkWriting finds out whether something could be written, and writes nothing.
func (s *Store) checkWriting(ctx context.Context) store.Finding {
	f := store.Finding{What: "can be written"}
	if s.readOnly {
		f.What = "opened for reading only"
		return f
	}
	err := s.commit(ctx, func(t *tx) error {
		if err := t.exec(`DELETE FROM migration WHERE number = $1`, -1); err != nil {
			return err
		}
		return errUnwritten
	})
	if !errors.Is(err, errUnwritten) {
		f.Err = err
	}
	return f
}

var errUnwritten = errors.New("nothing is to be written")

func (s *Store) checkSchema(t *tx) error {
	all, err := migrations()
	if err != nil {
		return err
	}
	at, err := s.schemaVersion(t, all)
	if err == nil && at != len(all) {
		err = fmt.Errorf("%d, want %d", at, len(all))
	}
	return err
}

// check asks whether what is kept beside the entries of a journal fits them.
func (d *desk) check() error {
	size, err := d.size()
	if err != nil {
		return err
	}
	var n, first int64
	err = d.row(`SELECT count(*), coalesce(min(n), 0) FROM entry WHERE org = $1`, d.org[:]).Scan(&n, &first)
	if err == nil && (n != size || first != 0) {
		err = fmt.Errorf("%d entries with numbers from %d to %d, want one for each number from 0", n, first, size-1)
	}
	if err != nil {
		return err
	}
	if err := d.checkTips(); err != nil {
		return err
	}
	if err := d.checkTiles(size); err != nil {
		return err
	}
	return d.checkHead(size)
}

// checkTips finds ends of chains that are none, and chains without an end.
func (d *desk) checkTips() error {
	for _, c := range [...]struct{ text, fault string }{
		{`SELECT t.device, t.seq FROM tip t WHERE t.org = $1 AND NOT EXISTS (SELECT 1 FROM entry e
			WHERE e.org = t.org AND e.device = t.device AND e.seq = t.seq AND e.hash = t.hash) LIMIT 1`, "its last entry is missing"},
		{`SELECT t.device, t.seq FROM tip t JOIN entry e ON e.org = t.org AND e.device = t.device AND e.seq = t.seq + 1
			WHERE t.org = $1 AND e.prev = t.hash LIMIT 1`, "an entry follows the one that is kept as the last"},
		{`SELECT d.device, d.fork FROM device d WHERE d.org = $1 AND NOT EXISTS (SELECT 1 FROM tip t
			WHERE t.org = d.org AND t.device = d.device) LIMIT 1`, "it has no last entry"},
	} {
		err := d.each(c.text, []any{d.org[:]}, func(rows *sql.Rows) error {
			var device journal.Hash
			var seq int64
			if err := rows.Scan(fixed(device[:]), &seq); err != nil {
				return err
			}
			return fmt.Errorf("device %s, number %d: %s", device, seq, c.fault)
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// checkTiles works every tile out again.
func (d *desk) checkTiles(size int64) error {
	t := d.tree(size)
	for level, full := 0, size/tileWidth; full > 0; level, full = level+1, full/tileWidth {
		for i := range full {
			if err := t.check(tileName{level, i}); err != nil {
				return fmt.Errorf("tile %d of level %d: %w", i, level, err)
			}
		}
	}
	return nil
}

func (t *tree) check(name tileName) error {
	root, hashes, err := t.full(name)
	if err != nil {
		return err
	}
	var keptRoot, kept []byte
	if err := t.d.row(`SELECT root, hashes FROM tile WHERE org = $1 AND level = $2 AND i = $3`,
		t.d.org[:], name.level, name.i).Scan(&keptRoot, &kept); err != nil {
		return err
	}
	if !bytes.Equal(root[:], keptRoot) || !bytes.Equal(hashes, kept) {
		return errors.New("it is not that of the receipts")
	}
	return nil
}

// checkHead holds the last signed head against the receipts as they are now.
func (d *desk) checkHead(size int64) error {
	var line []byte
	ok, err := d.scan(`SELECT line FROM head WHERE org = $1 ORDER BY size DESC, k DESC LIMIT 1`, []any{d.org[:]}, &line)
	if err != nil || !ok {
		return err
	}
	h, err := journal.ReadTreeHead(line)
	if err != nil {
		return fmt.Errorf("the last head: %w", err)
	}
	root, err := journal.RootOf(d.tree(size), h.Size, size)
	if err == nil && root != h.Root {
		err = fmt.Errorf("the last head, of size %d: root %s, and the receipts have %s", h.Size, h.Root, root)
	}
	return err
}
