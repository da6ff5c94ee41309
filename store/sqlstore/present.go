package sqlstore

import (
	"bytes"
	"cmp"
	"database/sql"
	"encoding/json"
	"maps"
	"slices"

	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

const viewColumns = `SELECT kind, id, sort, last, state`

func scanView(rows *sql.Rows) (views.Row, error) {
	var row views.Row
	var kind string
	var id, sort, last, state []byte
	if err := rows.Scan(&kind, &id, &sort, &last, &state); err != nil {
		return row, err
	}
	row.Subject = entries.Subject{Kind: entries.SubjectKind(kind), ID: string(id)}
	row.Key, row.State = string(sort), state
	return row, json.Unmarshal(last, &row.Last)
}

func (d *desk) view(s entries.Subject) (row views.Row, ok bool, err error) {
	args := []any{d.org[:], string(s.Kind), []byte(s.ID)}
	err = d.each(viewColumns+` FROM view WHERE org = $1 AND kind = $2 AND id = $3`, args, func(rows *sql.Rows) error {
		ok = true
		row, err = scanView(rows)
		return err
	})
	return row, ok, err
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

// told is what is new of each subject.
type told map[entries.Subject][]views.Item

func (t told) add(k kept, s saying) {
	for _, subject := range s.about {
		t[subject] = append(t[subject], views.Item{Entry: s.Entry, Place: k.place()})
	}
}

// subjects lists them in a fixed order, so that writers never wait crosswise.
func (t told) subjects() []entries.Subject {
	return slices.SortedFunc(maps.Keys(t), func(a, b entries.Subject) int {
		return cmp.Or(cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.ID, b.ID))
	})
}

// fold brings the views up to date with entries whose links are there already.
func (d *desk) fold(news told) error {
	var rows []views.Row
	for _, s := range news.subjects() {
		row, err := d.foldOne(s, news[s])
		if err != nil {
			return err
		}
		rows = append(rows, row)
	}
	return d.putViews(rows)
}

func (d *desk) foldOne(s entries.Subject, items []views.Item) (views.Row, error) {
	row, ok, err := d.view(s)
	if err != nil {
		return row, err
	}
	if !ok {
		return views.Fold(s, items)
	}
	next, ok, err := views.Extend(row, items)
	if ok || err != nil {
		return next, err
	}
	return d.refoldOne(s)
}

// refoldOne folds a subject from all that speaks of it.
func (d *desk) refoldOne(s entries.Subject) (views.Row, error) {
	speaking, err := d.speaking(s)
	if err != nil {
		return views.Row{}, err
	}
	items := make([]views.Item, 0, len(speaking))
	for _, k := range speaking {
		items = append(items, views.Item{Entry: understand(k.Entry).Entry, Place: k.place()})
	}
	return views.Fold(s, items)
}

func (d *desk) putViews(all []views.Row) error {
	rows := make([][]any, len(all))
	for i, row := range all {
		last, err := json.Marshal(row.Last)
		if err != nil {
			return err
		}
		s := row.Subject
		rows[i] = []any{d.org[:], string(s.Kind), []byte(s.ID), []byte(row.Key), last, bytes.Clone(row.State)}
	}
	return d.insert(`view (org, kind, id, sort, last, state)`,
		`ON CONFLICT (org, kind, id) DO UPDATE SET sort = excluded.sort, last = excluded.last, state = excluded.state`, rows)
}
