package sqlstore

import (
	"bytes"
	"cmp"
	"context"
	"database/sql"
	"fmt"
	"math"
	"slices"
	"strings"

	"sapwell/journal"
)

// Offer: see store.Ledger.
func (l *ledger) Offer(ctx context.Context) (all []journal.Known, err error) {
	err = l.read(ctx, func(d *desk) error {
		chains, err := d.allChains()
		for _, c := range chains {
			if err == nil {
				err = d.offer(c, &all)
			}
		}
		return err
	})
	slices.SortFunc(all, compareKnown)
	return slices.Compact(all), err
}

func compareKnown(a, b journal.Known) int {
	return cmp.Or(bytes.Compare(a.Device[:], b.Device[:]), cmp.Compare(a.Seq, b.Seq), bytes.Compare(a.Hash[:], b.Hash[:]))
}

// allChains lists the chains of all devices, by device.
func (d *desk) allChains() ([]*chain, error) {
	var all []*chain
	const text = `SELECT d.device, d.pubkey, d.fork, t.seq, t.hash, t.held
		FROM device d JOIN tip t ON t.org = d.org AND t.device = d.device WHERE d.org = $1 ORDER BY d.device`
	err := d.each(text, []any{d.org[:]}, func(rows *sql.Rows) error {
		var t tip
		var c chain
		err := rows.Scan(fixed(c.device[:]), &c.key, &c.fork, &t.Seq, fixed(t.Hash[:]), &t.held)
		if n := len(all); n == 0 || all[n-1].device != c.device {
			c.tips = make(map[journal.Hash]tip)
			all = append(all, &c)
		}
		t.Device = c.device
		all[len(all)-1].tips[t.Hash] = t
		return err
	})
	return all, err
}

// trunk is the number up to which the chain has one entry each.
func (c *chain) trunk() int64 {
	if c.fork == 0 {
		return math.MaxInt64
	}
	return c.fork - 1
}

// offer names the tips of a chain and, below each, entries at distance 1, 2, 4 …
// and the first.
func (d *desk) offer(c *chain, all *[]journal.Known) error {
	for _, t := range c.tips {
		*all = append(*all, t.Known)
		wanted := steps(t.Seq)
		err := d.descend(t.Known, c.trunk(), func(k journal.Known) bool {
			if len(wanted) > 0 && k.Seq == wanted[0] {
				*all, wanted = append(*all, k), wanted[1:]
			}
			return len(wanted) > 0
		})
		if err == nil {
			err = d.alone(c.device, wanted, all)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// steps are the numbers at distance 1, 2, 4 … below one, and 1.
func steps(from int64) []int64 {
	var all []int64
	for step := int64(1); from-step > 1; step *= 2 {
		all = append(all, from-step)
	}
	if from > 1 {
		all = append(all, 1)
	}
	return all
}

// maxSteps is the most that steps gives: numbers have 53 bits.
const maxSteps = 54

// aloneText asks for entries by number; what is not needed repeats the first.
var aloneText = `SELECT seq, hash FROM entry WHERE org = $1 AND device = $2 AND seq IN ($3` + moreParameters(4, maxSteps+2) + `)`

func moreParameters(from, to int) string {
	var b strings.Builder
	for i := from; i <= to; i++ {
		fmt.Fprintf(&b, ", $%d", i)
	}
	return b.String()
}

// alone finds entries by number where there is one of each.
func (d *desk) alone(device journal.Hash, seqs []int64, all *[]journal.Known) error {
	if len(seqs) == 0 {
		return nil
	}
	args := []any{d.org[:], device[:]}
	for i := range maxSteps {
		args = append(args, seqs[min(i, len(seqs)-1)])
	}
	return d.each(aloneText, args, func(rows *sql.Rows) error {
		k := journal.Known{Device: device}
		err := rows.Scan(&k.Seq, fixed(k.Hash[:]))
		*all = append(*all, k)
		return err
	})
}

// descend visits an entry and those below it in its chain, down to the one above
// the number floor, until visit says no.
func (d *desk) descend(from journal.Known, floor int64, visit func(journal.Known) bool) error {
	for at := from; at.Seq > floor; {
		lowest := max(floor+1, at.Seq-chunk+1)
		before, err := d.before(at.Device, lowest, at.Seq)
		if err != nil {
			return err
		}
		for at.Seq >= lowest {
			prev, ok := before[at.Hash]
			if !ok {
				return fmt.Errorf("number %d of device %s: entry %s is missing", at.Seq, at.Device, at.Hash)
			}
			if !visit(at) {
				return nil
			}
			at.Hash, at.Seq = prev, at.Seq-1
		}
	}
	return nil
}

// before maps the entries of a chain with numbers from one to another to the ones
// before them.
func (d *desk) before(device journal.Hash, from, to int64) (map[journal.Hash]journal.Hash, error) {
	all := make(map[journal.Hash]journal.Hash)
	err := d.each(`SELECT hash, prev FROM entry WHERE org = $1 AND device = $2 AND seq >= $3 AND seq <= $4`,
		[]any{d.org[:], device[:], from, to}, func(rows *sql.Rows) error {
			var h, prev journal.Hash
			err := rows.Scan(fixed(h[:]), fixed(prev[:]))
			all[h] = prev
			return err
		})
	return all, err
}

// Missing: see store.Ledger.
func (l *ledger) Missing(ctx context.Context, offer []journal.Known, limit int) (lines [][]byte, more bool, err error) {
	byDevice := make(map[journal.Hash][]journal.Known)
	for _, k := range offer {
		byDevice[k.Device] = append(byDevice[k.Device], k)
	}
	m := missing{room: limit}
	err = l.read(ctx, func(d *desk) error {
		chains, err := d.allChains()
		for _, c := range chains {
			if err == nil && !m.more {
				err = d.missing(c, byDevice[c.device], &m)
			}
		}
		return err
	})
	return m.lines, m.more, err
}

// missing is what a side lacks, as far as there is room for it.
type missing struct {
	lines [][]byte
	room  int
	more  bool
}

func (m *missing) add(line []byte) {
	if m.room -= len(line); m.room < 0 && len(m.lines) > 0 {
		m.more = true
		return
	}
	m.lines = append(m.lines, line)
}

// missing adds what a side with this offer lacks of a chain, page by page: a page
// that was asked for is sent to its end.
func (d *desk) missing(c *chain, offer []journal.Known, m *missing) error {
	h, err := d.had(c, offer)
	if err != nil {
		return err
	}
	at := journal.Known{Seq: h.floor + 1}
	if c.last().Seq < at.Seq {
		return nil
	}
	const page = 256
	for n := page; n == page && !m.more && err == nil; {
		n = 0
		err = d.each(`SELECT seq, hash, line FROM entry WHERE org = $1 AND device = $2 AND (seq, hash) > ($3, $4) ORDER BY seq, hash LIMIT $5`,
			[]any{d.org[:], c.device[:], at.Seq, at.Hash[:], page}, func(rows *sql.Rows) error {
				var line []byte
				err := rows.Scan(&at.Seq, fixed(at.Hash[:]), &line)
				if n++; err == nil && !m.more && !h.above[at.Hash] {
					m.add(line)
				}
				return err
			})
	}
	return err
}

// held is what a side has of one chain: all up to the number floor, and these above
// it.
type heldPart struct {
	floor int64
	above map[journal.Hash]bool
}

// had works out what follows from an offer. From each entry that is known here it
// goes down to where the chain has no fork yet: all below is shared.
func (d *desk) had(c *chain, offer []journal.Known) (heldPart, error) {
	h := heldPart{above: make(map[journal.Hash]bool)}
	slices.SortFunc(offer, func(a, b journal.Known) int { return compareKnown(b, a) })
	for _, k := range offer {
		if c.fork == 0 && h.floor > 0 {
			break // it has that and all below
		}
		_, known := c.tips[k.Hash]
		if !known {
			var err error
			if known, err = d.has(entryAt, d.org[:], k.Device[:], k.Seq, k.Hash[:]); err != nil {
				return h, err
			}
		}
		if !known {
			continue
		}
		h.floor = max(h.floor, min(k.Seq, c.trunk()))
		err := d.descend(k, c.trunk(), func(k journal.Known) bool {
			if h.above[k.Hash] {
				return false
			}
			h.above[k.Hash] = true
			return true
		})
		if err != nil {
			return h, err
		}
	}
	return h, nil
}
