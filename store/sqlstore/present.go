package sqlstore

import (
	"cmp"
	"database/sql"
	"encoding/json"
	"maps"
	"slices"

	"sapwell/entries"
	"sapwell/journal"
	"sapwell/store"
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

// link says that an entry speaks of a subject.
type link struct {
	entries.Subject
	n int64
}

func appendLinks(all []link, s saying, n int64) []link {
	for _, subject := range s.about {
		all = append(all, link{subject, n})
	}
	return all
}

// putLinks keeps links in their order, which is the quickest.
func (d *desk) putLinks(all []link) error {
	slices.SortFunc(all, func(a, b link) int { return cmp.Or(compareSubjects(a.Subject, b.Subject), cmp.Compare(a.n, b.n)) })
	rows := make([][]any, len(all))
	for i, l := range all {
		rows[i] = []any{d.org[:], string(l.Kind), []byte(l.ID), l.n}
	}
	return d.insert(`link (org, kind, id, n)`, ``, rows)
}

func compareSubjects(a, b entries.Subject) int {
	return cmp.Or(cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.ID, b.ID))
}

// told is what is new of each subject.
type told map[entries.Subject][]views.Item

func (t told) add(h store.Held, s saying) {
	for _, subject := range s.about {
		t[subject] = append(t[subject], views.Item{Entry: s.Entry, Place: place(h)})
	}
}

// subjects lists them in a fixed order, so that writers never wait crosswise.
func (t told) subjects() []entries.Subject {
	return slices.SortedFunc(maps.Keys(t), compareSubjects)
}

// fold brings the views up to date with entries whose links are there already.
func (d *desk) fold(news told) error {
	subjects := news.subjects()
	rows := make([]folded, len(subjects))
	for i, s := range subjects {
		row, ok, err := d.view(s)
		if err != nil {
			return err
		}
		rows[i] = folded{Row: row, isNew: !ok}
		rows[i].Subject = s
	}
	rows = parallel(rows, func(f folded) folded { return f.extend(news[f.Subject]) })
	for i, f := range rows {
		if f.err == nil && !f.ok {
			rows[i].Row, rows[i].err = d.refold(f.Subject)
		}
		if err := rows[i].err; err != nil {
			return err
		}
	}
	return d.putViews(rows)
}

// folded is a row before and after more is folded.
type folded struct {
	views.Row
	isNew bool
	ok    bool
	err   error
}

func (f folded) extend(items []views.Item) folded {
	if f.isNew {
		f.Row, f.err = views.Fold(f.Subject, items)
		f.ok = true
		return f
	}
	next, ok, err := views.Extend(f.Row, items)
	if ok {
		f.Row = next
	}
	f.ok, f.err = ok, err
	return f
}

// refold folds a subject from all that speaks of it.
func (d *desk) refold(s entries.Subject) (views.Row, error) {
	speaking, err := d.speaking(s)
	if err != nil {
		return views.Row{}, err
	}
	items := parallel(speaking, func(h store.Held) views.Item {
		return views.Item{Entry: understand(h.Entry).Entry, Place: place(h)}
	})
	return views.Fold(s, items)
}

func (d *desk) putViews(all []folded) error {
	rows := make([][]any, len(all))
	for i, row := range all {
		last, err := json.Marshal(row.Last)
		if err != nil {
			return err
		}
		s := row.Subject
		rows[i] = []any{d.org[:], string(s.Kind), []byte(s.ID), []byte(row.Key), last, []byte(row.State)}
	}
	return d.insert(`view (org, kind, id, sort, last, state)`,
		`ON CONFLICT (org, kind, id) DO UPDATE SET sort = excluded.sort, last = excluded.last, state = excluded.state`, rows)
}
