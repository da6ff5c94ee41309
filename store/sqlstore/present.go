package sqlstore

import (
	"cmp"
	"database/sql"
	"encoding/json"
	"slices"

	"sapwell/entries"
	"sapwell/journal"
	"sapwell/store"
	"sapwell/views"
)

const viewColumns = `SELECT kind, id, sort, last, state`

func scanView(rows *sql.Rows, others ...any) (views.Row, error) {
	var row views.Row
	var kind string
	var id, sort, last, state []byte
	if err := rows.Scan(append([]any{&kind, &id, &sort, &last, &state}, others...)...); err != nil {
		return row, err
	}
	row.Subject = entries.Subject{Kind: entries.SubjectKind(kind), ID: string(id)}
	row.Key, row.State = string(sort), state
	return row, json.Unmarshal(last, &row.Last)
}

// view is the row of a subject, and which entries speak of it.
func (d *desk) view(s entries.Subject) (row views.Row, speaking numbers, ok bool, err error) {
	args := []any{d.org[:], string(s.Kind), []byte(s.ID)}
	err = d.each(viewColumns+`, speaking FROM view WHERE org = $1 AND kind = $2 AND id = $3`, args, func(rows *sql.Rows) error {
		ok = true
		row, err = scanView(rows, (*[]byte)(&speaking))
		return err
	})
	return row, speaking, ok, err
}

// saying is an entry as it was understood, and the subjects it speaks of, each
// once. One of a kind or version that is not known here speaks of nothing that we
// could tell.
type saying struct {
	entries.Entry
	about []entries.Subject
}

func understand(e journal.Entry) saying {
	read, err := entries.Read(e)
	if err != nil {
		return saying{}
	}
	s := saying{Entry: read}
	for _, subject := range read.Body.About(e.ID) {
		if !slices.Contains(s.about, subject) {
			s.about = append(s.about, subject)
		}
	}
	return s
}

// news is what is new of a subject, as it came in.
type news struct {
	items   []views.Item
	numbers []int64
}

type newsOf map[entries.Subject]*news

func (all newsOf) add(h store.Held, s saying) {
	for _, subject := range s.about {
		n := all[subject]
		if n == nil {
			n = new(news)
			all[subject] = n
		}
		n.items = append(n.items, views.Item{Entry: s.Entry, Place: place(h)})
		n.numbers = append(n.numbers, h.N)
	}
}

// folded is a row on its way to the next.
type folded struct {
	views.Row
	speaking numbers
	isNew    bool
	late     bool // it cannot be extended: some of the news stand before what was folded
	err      error
}

// fold brings the views up to date with entries that are kept already. A subject
// that cannot be extended is folded from all that speaks of it: at once, or by
// whoever gave a list to put it on.
func (d *desk) fold(all newsOf, late map[entries.Subject]bool) error {
	var rows []folded
	for s := range all {
		f := folded{late: late[s]}
		var ok bool
		var err error
		if f.Row, f.speaking, ok, err = d.view(s); err != nil {
			return err
		}
		f.Subject, f.isNew = s, !ok
		rows = append(rows, f)
	}
	rows = parallel(rows, func(f folded) folded { return f.extend(all[f.Subject]) })
	for i, f := range rows {
		switch {
		case f.err != nil:
			return f.err
		case f.late && late != nil:
			late[f.Subject] = true
		case f.late:
			var err error
			if rows[i].Row, err = d.foldAll(f.Subject, f.speaking); err != nil {
				return err
			}
		}
	}
	return d.putViews(rows)
}

func (f folded) extend(n *news) folded {
	if f.speaking, f.err = f.speaking.with(n.numbers); f.err != nil || f.late {
		return f
	}
	if f.isNew {
		f.Row, f.err = views.Fold(f.Subject, n.items)
		return f
	}
	next, ok, err := views.Extend(f.Row, n.items)
	if ok {
		f.Row = next
	}
	f.late, f.err = !ok, err
	return f
}

// foldAll folds a subject from all that speaks of it.
func (d *desk) foldAll(s entries.Subject, speaking numbers) (views.Row, error) {
	all, err := d.speaking(speaking)
	if err != nil {
		return views.Row{}, err
	}
	items := parallel(all, func(h store.Held) views.Item {
		return views.Item{Entry: understand(h.Entry).Entry, Place: place(h)}
	})
	return views.Fold(s, items)
}

// putViews keeps rows in the order of their keys, which is the quickest and keeps
// writers from waiting crosswise.
func (d *desk) putViews(all []folded) error {
	slices.SortFunc(all, func(a, b folded) int { return compareSubjects(a.Subject, b.Subject) })
	rows := make([][]any, len(all))
	for i, f := range all {
		last, err := json.Marshal(f.Last)
		if err != nil {
			return err
		}
		rows[i] = []any{d.org[:], string(f.Subject.Kind), []byte(f.Subject.ID), []byte(f.Key), last, []byte(f.speaking), []byte(f.State)}
	}
	return d.insert(`view (org, kind, id, sort, last, speaking, state)`, `ON CONFLICT (org, kind, id) DO UPDATE SET
		sort = excluded.sort, last = excluded.last, speaking = excluded.speaking, state = excluded.state`, rows)
}

func compareSubjects(a, b entries.Subject) int {
	return cmp.Or(cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.ID, b.ID))
}
