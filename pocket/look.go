package pocket

import (
	"encoding/json"

	"sapwell/actions"
	"sapwell/engine/why"
	"sapwell/entries"
	"sapwell/store"
)

// row is what is known of one thing now.
type row struct {
	Subject subject         `json:"subject"`
	Key     string          `json:"key"`
	State   json.RawMessage `json:"state"`
}

// row looks one thing up.
func (p *Pocket) row(in subject) (r row, err error) {
	err = p.read(func(v store.Reader) error {
		found, ok, err := v.View(in.wire())
		if err == nil && !ok {
			err = refuse("pocket.unknown", "id", "there is no such thing here", why.T("kind", string(in.Kind)))
		}
		r = row{in, found.Key, found.State}
		return err
	})
	return r, err
}

type rowsInput struct {
	Kind  entries.SubjectKind `json:"kind"`
	From  string              `json:"from,omitempty"`  // keys from this one on
	To    string              `json:"to,omitempty"`    // and below this one; left out: to the end
	After string              `json:"after,omitempty"` // to go on: from is the key of the last row, after its id
	Limit int                 `json:"limit"`
}

type rowList struct {
	Rows []row `json:"rows"`
}

// rows lists things of a kind by their keys.
func (p *Pocket) rows(in rowsInput) (list rowList, err error) {
	list.Rows = []row{}
	err = p.read(func(v store.Reader) error {
		found, err := v.List(in.Kind, in.From, in.To, in.After, in.Limit)
		for _, r := range found {
			list.Rows = append(list.Rows, row{subject{r.Subject.Kind, r.Subject.ID}, r.Key, r.State})
		}
		return err
	})
	return list, err
}

type history struct {
	Entries []actions.Said `json:"entries"`
}

// history lists what was said of a thing, amendments with it.
func (p *Pocket) history(in subject) (h history, err error) {
	err = p.read(func(v store.Reader) (err error) {
		h.Entries, err = actions.History(v, in.wire())
		return err
	})
	return h, err
}

type roundInput struct {
	Day entries.Date `json:"day,omitzero"` // visits up to this day; left out: all that are open
	Now int64        `json:"now"`
}

type round struct {
	Visits []actions.OpenVisit `json:"visits"`
	Due    []actions.Due       `json:"due"`
}

// round is what is to be walked to, and when. A visit of which only something by the
// way was lent, such as the tally of its lots, is not among them.
func (p *Pocket) round(in roundInput) (r round, err error) {
	r = round{Visits: []actions.OpenVisit{}}
	err = p.read(func(v store.Reader) error {
		visits, err := actions.Round(v, in.Day)
		for _, o := range visits {
			if o.Opened != 0 {
				r.Visits = append(r.Visits, o)
			}
		}
		return err
	})
	r.Due = actions.WhatIsDue(r.Visits, in.Now)
	return r, err
}

// ringShown is a ring with its tape readings said, as one reads them off.
type ringShown struct {
	actions.Ring
	Readings []string `json:"readings"` // of each mark
}

// ring is a trunk from above, worked out so that it only has to be drawn.
func (p *Pocket) ring(in actions.RingAsked) (r ringShown, err error) {
	r.Readings = []string{}
	err = p.read(func(v store.Reader) (err error) {
		r.Ring, err = actions.RingOf(v, in)
		return err
	})
	for _, m := range r.Marks {
		r.Readings = append(r.Readings, m.At.Tape(p.style))
	}
	return r, err
}
