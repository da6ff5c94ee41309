package sqlstore

import (
	"database/sql"
	"slices"

	"sapwell/entries"
	"sapwell/journal"
	"sapwell/store"
	"sapwell/views"
)

// reader is a store.Reader.
type reader struct{ d *desk }

// View: see store.Reader.
func (r reader) View(s entries.Subject) (views.Row, bool, error) { return r.d.view(s) }

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
	return r.d.entry(`SELECT line FROM entry WHERE org = $1 AND id = $2 ORDER BY n LIMIT 1`, r.d.org[:], id[:])
}

// Entries: see store.Reader.
func (r reader) Entries(s entries.Subject) ([]journal.Entry, error) {
	speaking, err := r.d.speaking(s)
	slices.SortFunc(speaking, func(a, b kept) int { return a.place().Compare(b.place()) })
	all := make([]journal.Entry, len(speaking))
	for i, k := range speaking {
		all[i] = k.Entry
	}
	return all, err
}

// Held: see store.Reader.
func (r reader) Held(s entries.Subject) ([]store.Held, error) {
	const text = `SELECT e.line, e.held, e.n FROM link l JOIN entry e ON e.org = l.org AND e.n = l.n
		WHERE l.org = $1 AND l.kind = $2 AND l.id = $3`
	all, err := r.held(text, r.d.org[:], string(s.Kind), []byte(s.ID))
	place := func(h store.Held) views.Place { return kept{h.Entry, h.Held}.place() }
	slices.SortFunc(all, func(a, b store.Held) int { return place(a).Compare(place(b)) })
	return all, err
}

// Since: see store.Reader.
func (r reader) Since(n int64, limit int) ([]store.Held, error) {
	return r.held(`SELECT line, held, n FROM entry WHERE org = $1 AND n >= $2 ORDER BY n LIMIT $3`, r.d.org[:], n, limit)
}

// held reads rows of line, held and n.
func (r reader) held(text string, args ...any) (all []store.Held, err error) {
	err = r.d.each(text, args, func(rows *sql.Rows) error {
		var h store.Held
		var err error
		h.Entry, err = scanEntry(rows, &h.Held, &h.N)
		all = append(all, h)
		return err
	})
	return all, err
}

// Tip: see store.Reader.
func (r reader) Tip(device journal.Hash) (journal.Entry, bool, error) {
	return r.d.entry(`SELECT line FROM entry WHERE org = $1 AND device = $2 ORDER BY seq DESC, hash LIMIT 1`, r.d.org[:], device[:])
}

// kept is an entry and the time of its place in the order of folding.
type kept struct {
	journal.Entry
	held int64
}

func (k kept) place() views.Place {
	return views.Place{Time: k.held, Device: k.Device, Seq: k.Seq, Hash: k.Hash()}
}

// speaking lists the entries that speak of a subject, as they came in.
func (d *desk) speaking(s entries.Subject) ([]kept, error) {
	const text = `SELECT e.line, e.held FROM link l JOIN entry e ON e.org = l.org AND e.n = l.n
		WHERE l.org = $1 AND l.kind = $2 AND l.id = $3 ORDER BY l.n`
	var all []kept
	err := d.each(text, []any{d.org[:], string(s.Kind), []byte(s.ID)}, func(rows *sql.Rows) error {
		var k kept
		var err error
		k.Entry, err = scanEntry(rows, &k.held)
		all = append(all, k)
		return err
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

// scanEntry reads an entry from its line, which is the first column.
func scanEntry(rows *sql.Rows, others ...any) (journal.Entry, error) {
	var line sql.RawBytes // ReadEntry makes a copy of its own
	if err := rows.Scan(append([]any{&line}, others...)...); err != nil {
		return journal.Entry{}, err
	}
	return journal.ReadEntry(line)
}
