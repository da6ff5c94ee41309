package sqlstore

import (
	"context"
	"database/sql"

	"sapwell/entries"
)

// foldVersion goes up whenever the same entries are folded to other views, or
// entries are understood that were not: then views that were kept are made again
// when the store is opened.
const foldVersion = 1

// Rebuild: see store.Ledger.
func (l *ledger) Rebuild(ctx context.Context) error {
	return l.write(ctx, (*desk).rebuild)
}

// refold makes the views again that another version of the program made.
func (s *Store) refold(ctx context.Context) error {
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
	type numbered struct {
		kept
		n int64
	}
	var all []numbered
	err := d.each(`SELECT line, held, n FROM entry WHERE org = $1 AND n >= $2 AND n < $3 ORDER BY n`,
		[]any{d.org[:], from, from + chunk}, func(rows *sql.Rows) (err error) {
			var k numbered
			k.Entry, err = scanEntry(rows, &k.held, &k.n)
			all = append(all, k)
			return err
		})
	if err != nil {
		return err
	}
	news := make(told)
	var links [][]any
	for i, said := range parallel(all, func(k numbered) saying { return understand(k.Entry) }) {
		links = append(links, d.links(said.about, all[i].n)...)
		news.add(all[i].kept, said)
	}
	if err := d.putLinks(links); err != nil {
		return err
	}
	return d.fold(news)
}

func (d *desk) links(about []entries.Subject, n int64) [][]any {
	rows := make([][]any, len(about))
	for i, s := range about {
		rows[i] = []any{d.org[:], string(s.Kind), []byte(s.ID), n}
	}
	return rows
}

func (d *desk) putLinks(rows [][]any) error { return d.insert(`link (org, kind, id, n)`, ``, rows) }
