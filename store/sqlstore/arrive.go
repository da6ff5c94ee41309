package sqlstore

import (
	"bytes"
	"cmp"
	"database/sql"
	"maps"

	"sapwell/journal"
	"sapwell/store"
)

// tip is an entry that no other names as the one before, and its held time.
type tip struct {
	journal.Known
	held int64
}

// chain is what has to be known of a device's chain to go on with it.
type chain struct {
	device journal.Hash
	key    []byte // nil where it has written nothing
	fork   int64  // the least number that several entries claim, 0 where none is
	tips   map[journal.Hash]tip
}

func (d *desk) chain(device journal.Hash) (*chain, error) {
	c := &chain{device: device, tips: make(map[journal.Hash]tip)}
	const text = `SELECT d.pubkey, d.fork, t.seq, t.hash, t.held
		FROM device d JOIN tip t ON t.org = d.org AND t.device = d.device WHERE d.org = $1 AND d.device = $2`
	err := d.each(text, []any{d.org[:], device[:]}, func(rows *sql.Rows) error {
		t := tip{Known: journal.Known{Device: device}}
		err := rows.Scan(&c.key, &c.fork, &t.Seq, fixed(t.Hash[:]), &t.held)
		c.tips[t.Hash] = t
		return err
	})
	return c, err
}

// last is the tip after which the device writes on: the greatest number, and of
// equals the least hash.
func (c *chain) last() tip {
	var last tip
	for _, t := range c.tips {
		if cmp.Or(cmp.Compare(t.Seq, last.Seq), bytes.Compare(last.Hash[:], t.Hash[:])) > 0 {
			last = t
		}
	}
	return last
}

// take puts a new entry in.
func (c *chain) take(k store.Held) {
	_, grows := c.tips[k.Prev]
	switch {
	case k.Seq == 1 && c.key == nil:
		c.key = k.Key
	case !grows && (c.fork == 0 || k.Seq < c.fork):
		c.fork = k.Seq
	}
	delete(c.tips, k.Prev)
	c.tips[k.Hash()] = tip{journal.Known{Device: k.Device, Hash: k.Hash(), Seq: k.Seq}, k.Held}
}

// batch is a number of entries on their way in, all new and sound, each after
// the one before it in its chain.
type batch struct {
	d      *desk
	at     int64 // received
	n      int64 // the next number
	chains map[journal.Hash]*chain
	before map[journal.Hash]chain // as the database has it
	held   map[journal.Hash]int64
	rows   [][]any
	news   newsOf
}

// arrive takes entries into the journal, which has n by now, with all that follows
// from them.
func (d *desk) arrive(added []journal.Entry, said []saying, n, at int64) error {
	b := &batch{
		d: d, at: at, n: n, news: make(newsOf), held: make(map[journal.Hash]int64),
		chains: make(map[journal.Hash]*chain), before: make(map[journal.Hash]chain),
	}
	for i, e := range added {
		if err := b.take(e, said[i]); err != nil {
			return err
		}
	}
	return b.put(n)
}

func (b *batch) take(e journal.Entry, said saying) error {
	c, err := b.chain(e.Device)
	if err != nil {
		return err
	}
	held, err := b.heldBefore(c, e)
	if err != nil {
		return err
	}
	k := store.Held{Entry: e, N: b.n, Held: max(e.Time, held)}
	c.take(k)
	h := e.Hash()
	b.held[h] = k.Held
	b.rows = append(b.rows, []any{b.d.org[:], b.n, e.Device[:], e.Seq, h[:], e.Prev[:], e.ID[:], k.Held, b.at, e.Line})
	b.news.add(k, said)
	b.n++
	return nil
}

func (b *batch) chain(device journal.Hash) (*chain, error) {
	if c, ok := b.chains[device]; ok {
		return c, nil
	}
	c, err := b.d.chain(device)
	if err == nil {
		b.chains[device], b.before[device] = c, chain{device, c.key, c.fork, maps.Clone(c.tips)}
	}
	return c, err
}

// heldBefore is the held time of the entry before e, 0 before the first.
func (b *batch) heldBefore(c *chain, e journal.Entry) (held int64, err error) {
	if e.Seq == 1 {
		return 0, nil
	}
	if held, ok := b.held[e.Prev]; ok {
		return held, nil
	}
	if t, ok := c.tips[e.Prev]; ok {
		return t.held, nil
	}
	err = b.d.row(`SELECT held FROM entry WHERE org = $1 AND device = $2 AND seq = $3 AND hash = $4`,
		b.d.org[:], e.Device[:], e.Seq-1, e.Prev[:]).Scan(&held)
	return held, err
}

// put writes it all.
func (b *batch) put(first int64) error {
	err := b.d.insert(`entry (org, n, device, seq, hash, prev, id, held, received, line)`, ``, b.rows)
	if err != nil {
		return err
	}
	for device, c := range b.chains {
		if err := b.d.putChain(b.before[device], *c); err != nil {
			return err
		}
	}
	if err := b.d.putTiles(first, b.n); err != nil {
		return err
	}
	return b.d.fold(b.news, nil)
}

// putChain writes what has changed.
func (d *desk) putChain(was, is chain) error {
	if was.key == nil || was.fork != is.fork {
		if err := d.exec(`INSERT INTO device (org, device, pubkey, fork) VALUES ($1, $2, $3, $4)
			ON CONFLICT (org, device) DO UPDATE SET fork = excluded.fork`, d.org[:], is.device[:], is.key, is.fork); err != nil {
			return err
		}
	}
	for h, t := range was.tips {
		if _, still := is.tips[h]; still {
			continue
		}
		if err := d.exec(`DELETE FROM tip WHERE org = $1 AND device = $2 AND seq = $3 AND hash = $4`,
			d.org[:], is.device[:], t.Seq, h[:]); err != nil {
			return err
		}
	}
	var rows [][]any
	for h, t := range is.tips {
		if _, before := was.tips[h]; !before {
			rows = append(rows, []any{d.org[:], is.device[:], t.Seq, bytes.Clone(h[:]), t.held})
		}
	}
	return d.insert(`tip (org, device, seq, hash, held)`, ``, rows)
}
