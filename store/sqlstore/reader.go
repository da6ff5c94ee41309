package sqlstore

import (
	"database/sql"
	"fmt"
	"slices"

	"sapwell/entries"
	"sapwell/journal"
	"sapwell/store"
	"sapwell/views"
)

// reader is a store.Reader.
type reader struct{ d *desk }

// View: see store.Reader.
func (r reader) View(s entries.Subject) (views.Row, bool, error) {
	row, _, ok, err := r.d.view(s)
	return row, ok, err
}

// List: see store.Reader.
func (r reader) List(kind entries.SubjectKind, from, to, after string, limit int) ([]views.Row, error) {
	text := viewColumns + ` FROM view WHERE org = $1 AND kind = $2 AND (sort, id) > ($3, $4) ORDER BY sort, id LIMIT $5`
	args := []any{r.d.org[:], string(kind), []byte(from), []byte(after), limit}
	if to != "" {
		text = viewColumns + ` FROM view WHERE org = $1 AND kind = $2 AND (sort, id) > ($3, $4) AND sort < $5 ORDER BY sort, id LIMIT $6`
		args = []any{r.d.org[:], string(kind), []byte(from), []byte(after), []byte(to), limit}
	}
	var all []views.Row
	err := r.d.each(text, args, func(rows *sql.Rows) error {
		row, err := scanView(rows)
		all = append(all, row)
		return err
	})
	return all, err
}

// Entry: see store.Reader.
func (r reader) Entry(id journal.ID) (journal.Entry, bool, error) {
	return r.d.entry(`SELECT line, hash FROM entry WHERE org = $1 AND id = $2 ORDER BY n LIMIT 1`, r.d.org[:], id[:])
}

// Entries: see store.Reader.
func (r reader) Entries(s entries.Subject) ([]journal.Entry, error) {
	speaking, err := r.Held(s)
	all := make([]journal.Entry, len(speaking))
	for i, h := range speaking {
		all[i] = h.Entry
	}
	return all, err
}

// Held: see store.Reader.
func (r reader) Held(s entries.Subject) ([]store.Held, error) {
	_, speaking, _, err := r.d.view(s)
	if err != nil {
		return nil, err
	}
	all, err := r.d.speaking(speaking)
	slices.SortFunc(all, func(a, b store.Held) int { return place(a).Compare(place(b)) })
	return all, err
}

// Since: see store.Reader.
func (r reader) Since(n int64, limit int) ([]store.Held, error) { return r.d.since(n, limit) }

// Tip: see store.Reader.
func (r reader) Tip(device journal.Hash) (journal.Entry, bool, error) {
	return r.d.entry(`SELECT line, hash FROM entry WHERE org = $1 AND device = $2 ORDER BY seq DESC, hash LIMIT 1`, r.d.org[:], device[:])
}

// place is where an entry stands in the order of folding.
func place(h store.Held) views.Place {
	return views.Place{Time: h.Held, Device: h.Device, Seq: h.Seq, Hash: h.Hash()}
}

// page is how many entries are asked for by number at a time.
const page = 50

var byNumberText = `SELECT line, hash, held, n FROM entry WHERE org = $1 AND n IN ($2` + moreParameters(3, page+1) + `) ORDER BY n`

// speaking lists the entries of these numbers, as they came in.
func (d *desk) speaking(of numbers) (all []store.Held, err error) {
	ns, err := of.all()
	for ; len(ns) > 0 && err == nil; ns = ns[min(page, len(ns)):] {
		args := []any{d.org[:]}
		for i := range page {
			args = append(args, ns[min(i, len(ns)-1)]) // the last again where there are fewer
		}
		var some []store.Held
		some, err = d.held(byNumberText, args...)
		all = append(all, some...)
	}
	return all, err
}

// since lists entries from a number on.
func (d *desk) since(n int64, limit int) ([]store.Held, error) {
	return d.held(`SELECT line, hash, held, n FROM entry WHERE org = $1 AND n >= $2 ORDER BY n LIMIT $3`, d.org[:], n, limit)
}

// held reads rows of line, hash, held time and number.
func (d *desk) held(text string, args ...any) (all []store.Held, err error) {
	err = d.each(text, args, func(rows *sql.Rows) error {
		var h store.Held
		if h.Entry, err = scanEntry(rows, &h.Held, &h.N); err != nil {
			return fmt.Errorf("entry number %d: %w", h.N, err)
		}
		all = append(all, h)
		return nil
	})
	return all, err
}

func (d *desk) entry(text string, args ...any) (e journal.Entry, ok bool, err error) {
	err = d.each(text, args, func(rows *sql.Rows) error {
		ok = true
		e, err = scanEntry(rows)
		return err
	})
	return e, ok && err == nil, err
}

// scanEntry reads an entry from its line and hash, which are the first columns.
func scanEntry(rows *sql.Rows, others ...any) (journal.Entry, error) {
	var line sql.RawBytes // ReadKept makes a copy of its own
	var hash journal.Hash
	if err := rows.Scan(append([]any{&line, fixed(hash[:])}, others...)...); err != nil {
		return journal.Entry{}, err
	}
	return journal.ReadKept(line, hash)
}
