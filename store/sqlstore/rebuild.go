package sqlstore

import (
	"context"

	"sapwell/store"
)

// foldVersion goes up whenever the same entries are folded to other views, or
// entries are understood that were not: then views that were kept are made again
// when the store is opened.
const foldVersion = 1

// Rebuild: see store.Ledger.
func (l *ledger) Rebuild(ctx context.Context) error {
	return l.s.bulk(ctx, l.org, func(t *tx) error { return (&desk{t, l.s, l.org}).rebuild() })
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

// rebuild goes through the journal once, as the entries came in. A subject of which
// some came in late cannot be extended; it is folded at the end.
func (d *desk) rebuild() error {
	for _, text := range [...]string{`DELETE FROM link WHERE org = $1`, `DELETE FROM view WHERE org = $1`} {
		if err := d.exec(text, d.org[:]); err != nil {
			return err
		}
	}
	size, err := d.size()
	if err != nil {
		return err
	}
	for n := int64(0); n < size; n += chunk {
		if err := d.rebuildChunk(n); err != nil {
			return err
		}
	}
	return d.exec(`UPDATE org SET views = $1 WHERE org = $2`, foldVersion, d.org[:])
}

func (d *desk) rebuildChunk(from int64) error {
	all, err := d.since(from, chunk)
	if err != nil {
		return err
	}
	news := make(told)
	var links []link
	for i, said := range parallel(all, func(h store.Held) saying { return understand(h.Entry) }) {
		links = appendLinks(links, said, all[i].N)
		news.add(all[i], said)
	}
	if err := d.putLinks(links); err != nil {
		return err
	}
	return d.fold(news)
}
