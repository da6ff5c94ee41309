package sqlstore

import (
	"bufio"
	"bytes"
	"context"
	"database/sql"
	"fmt"
	"io"
	"os"

	"sapwell/entries"
	"sapwell/journal"
	"sapwell/store"
)

// Import: see store.Store.
//
// The export is read into a file and checked before anything is written, so that
// nobody waits for a slow reader.
func (s *Store) Import(ctx context.Context, r io.Reader, at int64) (org journal.ID, err error) {
	spool, err := os.CreateTemp("", "sapwell-import-")
	if err != nil {
		return org, err
	}
	defer os.Remove(spool.Name()) //nolint:errcheck // nothing depends on it
	defer spool.Close()           //nolint:errcheck // it was read to its end
	out := bufio.NewWriter(spool)
	if _, err := journal.Verify(io.TeeReader(r, out)); err != nil {
		return org, err
	}
	if err := out.Flush(); err != nil {
		return org, err
	}
	if _, err := spool.Seek(0, io.SeekStart); err != nil {
		return org, err
	}
	err = s.bulk(ctx, journal.ID{}, func(t *tx) error {
		p := &importer{tx: t, s: s, chains: make(map[journal.Hash]*chain)}
		org, err = p.run(spool, at)
		return err
	})
	return org, err
}

// importer takes a sound export in by way of two tables that are gone afterwards:
// whose journal it is and which receipt an entry has may stand at its end.
type importer struct {
	*tx
	s      *Store
	lines  int64
	rows   [][]any
	chains map[journal.Hash]*chain
}

const stagedTables = `
CREATE TEMP TABLE staged (
	hash BYTES NOT NULL PRIMARY KEY,
	i WHOLE NOT NULL,        -- line of the export
	founds WHOLE NOT NULL,   -- 1 where it may begin an organisation
	n WHOLE,
	received WHOLE,
	device BYTES NOT NULL,
	seq WHOLE NOT NULL,
	prev BYTES NOT NULL,
	id BYTES NOT NULL,
	held WHOLE NOT NULL,
	line BYTES NOT NULL
) PLAIN;
CREATE UNIQUE INDEX staged_n ON staged (n);
CREATE TEMP TABLE stagedhead (
	i WHOLE NOT NULL PRIMARY KEY,
	size WHOLE NOT NULL,
	line BYTES NOT NULL
) PLAIN;
`

func (p *importer) run(export io.Reader, at int64) (journal.ID, error) {
	if err := p.s.run(p.tx, stagedTables); err != nil {
		return journal.ID{}, err
	}
	lines := bufio.NewReaderSize(export, 1<<20+1) // the longest line there is
	for {
		line, err := lines.ReadSlice('\n')
		if err == io.EOF {
			break
		}
		if err != nil {
			return journal.ID{}, err
		}
		if err := p.stage(bytes.TrimSuffix(line, []byte("\n"))); err != nil {
			return journal.ID{}, err
		}
	}
	org, err := p.settle(at)
	if err != nil {
		return org, err
	}
	return org, p.s.run(p.tx, `DROP TABLE staged; DROP TABLE stagedhead;`)
}

// stage takes one line.
func (p *importer) stage(line []byte) error {
	p.lines++
	if e, err := journal.ReadEntry(line); err == nil {
		return p.entry(e)
	}
	if err := p.flush(); err != nil {
		return err
	}
	if r, err := journal.ReadReceipt(line); err == nil {
		return p.exec(`UPDATE staged SET n = $1, received = $2 WHERE hash = $3`, r.N, r.Time, r.Entry[:])
	}
	h, err := journal.ReadTreeHead(line)
	if err != nil {
		return fmt.Errorf("line %d: %w", p.lines, err)
	}
	return p.exec(`INSERT INTO stagedhead (i, size, line) VALUES ($1, $2, $3)`, p.lines, h.Size, bytes.Clone(line))
}

func (p *importer) entry(e journal.Entry) error {
	c, ok := p.chains[e.Device]
	if !ok {
		c = &chain{device: e.Device, tips: make(map[journal.Hash]tip)}
		p.chains[e.Device] = c
	}
	var held int64
	if t, ok := c.tips[e.Prev]; ok {
		held = t.held
	} else if e.Seq > 1 {
		if err := p.flush(); err != nil {
			return err
		}
		if err := p.row(`SELECT held FROM staged WHERE hash = $1`, e.Prev[:]).Scan(&held); err != nil {
			return err
		}
	}
	k := store.Held{Entry: e, Held: max(held, e.Time)}
	c.take(k)
	begins := e.Kind == entries.Org{}.Kind() && founds(understand(e))
	p.rows = append(p.rows, []any{bytesOf(e.Hash()), p.lines, flag(begins), e.Device[:], e.Seq, e.Prev[:], e.ID[:], k.Held, e.Line})
	if len(p.rows) < 100 {
		return nil
	}
	return p.flush()
}

func (p *importer) flush() error {
	rows := p.rows
	p.rows = nil
	return p.insert(`staged (hash, i, founds, device, seq, prev, id, held, line)`, ``, rows)
}

// settle makes a ledger of what was staged.
func (p *importer) settle(at int64) (org journal.ID, err error) {
	if err := p.flush(); err != nil {
		return org, err
	}
	size, err := p.receiveRest(at)
	if err != nil {
		return org, err
	}
	ok, err := p.scan(`SELECT id FROM staged WHERE founds = 1 ORDER BY n LIMIT 1`, nil, fixed(org[:]))
	if err == nil && !ok {
		err = errNoOrg
	}
	if err != nil {
		return org, err
	}
	d := &desk{p.tx, p.s, org}
	if err := p.s.dialect.lock(p.tx, org); err != nil {
		return org, err
	}
	if err := d.begin(); err != nil {
		return org, err
	}
	return org, p.move(d, size)
}

// receiveRest numbers the entries that have no receipt: after those that have, the
// one that begins an organisation before the others. It returns how many there are.
func (p *importer) receiveRest(at int64) (size int64, err error) {
	var first int64
	if err := p.row(`SELECT count(n), coalesce(min(CASE WHEN n IS NULL AND founds = 1 THEN i END), 0) FROM staged`).Scan(&size, &first); err != nil {
		return 0, err
	}
	for {
		var hashes []journal.Hash
		err := p.each(`SELECT hash FROM staged WHERE n IS NULL ORDER BY CASE WHEN i = $1 THEN 0 ELSE 1 END, i LIMIT $2`, []any{first, chunk}, func(rows *sql.Rows) error {
			var h journal.Hash
			err := rows.Scan(fixed(h[:]))
			hashes = append(hashes, h)
			return err
		})
		for _, h := range hashes {
			if err == nil {
				err = p.exec(`UPDATE staged SET n = $1, received = $2 WHERE hash = $3`, size, at, h[:])
			}
			size++
		}
		if err != nil || len(hashes) == 0 {
			return size, err
		}
	}
}

// move fills the tables of the ledger.
func (p *importer) move(d *desk, size int64) error {
	for n := int64(0); n < size; n += chunk {
		if err := p.exec(`INSERT INTO entry (org, n, device, seq, hash, prev, id, held, received, line)
			SELECT o.org, s.n, s.device, s.seq, s.hash, s.prev, s.id, s.held, s.received, s.line
			FROM staged s, org o WHERE o.org = $1 AND s.n >= $2 AND s.n < $3 ORDER BY s.n`, d.org[:], n, n+chunk); err != nil {
			return err
		}
	}
	if err := p.exec(`INSERT INTO head (org, size, k, line)
		SELECT o.org, h.size, row_number() OVER (PARTITION BY h.size ORDER BY h.i) - 1, h.line
		FROM stagedhead h, org o WHERE o.org = $1`, d.org[:]); err != nil {
		return err
	}
	for _, c := range p.chains {
		if err := d.putChain(chain{}, *c); err != nil {
			return err
		}
	}
	if err := d.putTiles(0, size); err != nil {
		return err
	}
	return d.rebuild()
}
