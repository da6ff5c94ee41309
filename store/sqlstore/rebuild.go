package sqlstore

import (
	"context"

	"sapwell/entries"
	"sapwell/store"
)

// foldVersion goes up whenever the same entries are folded to other views, or
// entries are understood that were not: then views that were kept are made again
// when the store is opened.
const foldVersion = 2

// Rebuild: see store.Ledger.
func (l *ledger) Rebuild(ctx context.Context) error {
	return l.write(ctx, (*desk).rebuild)
}

// renew makes the views again that another version of the program made.
func (s *Store) renew(ctx context.Context) error {
	orgs, err := s.Orgs(ctx)
	if err != nil {
		return err
	}
	for _, org := range orgs {
		d := &ledger{s, org}
		var version int
		err := d.read(ctx, func(d *desk) error {
			return d.row(`SELECT views FROM org WHERE org = $1`, org[:]).Scan(&version)
		})
		if err == nil && version != foldVersion {
			err = d.Rebuild(ctx)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// chunk is how many entries are taken at a time where there may be many.
const chunk = 4096

// rebuild goes through the journal once, as the entries came in. Subjects of which
// some came in late are folded at the end.
func (d *desk) rebuild() error {
	if err := d.exec(`DELETE FROM view WHERE org = $1`, d.org[:]); err != nil {
		return err
	}
	size, err := d.size()
	if err != nil {
		return err
	}
	late := make(map[entries.Subject]bool)
	for n := int64(0); n < size; n += chunk {
		if err := d.rebuildChunk(n, late); err != nil {
			return err
		}
	}
	for s := range late {
		if err := d.rebuildOne(s); err != nil {
			return err
		}
	}
	return d.exec(`UPDATE org SET views = $1 WHERE org = $2`, foldVersion, d.org[:])
}

func (d *desk) rebuildChunk(from int64, late map[entries.Subject]bool) error {
	all, err := d.since(from, chunk)
	if err != nil {
		return err
	}
	news := make(newsOf)
	for i, said := range parallel(all, func(h store.Held) saying { return understand(h.Entry) }) {
		news.add(all[i], said)
	}
	return d.fold(news, late)
}

func (d *desk) rebuildOne(s entries.Subject) error {
	_, speaking, _, err := d.view(s)
	if err != nil {
		return err
	}
	row, err := d.foldAll(s, speaking)
	if err != nil {
		return err
	}
	return d.putViews([]folded{{Row: row, speaking: speaking}})
}
