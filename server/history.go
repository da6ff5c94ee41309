package server

import (
	"context"
	"encoding/json"

	"sapwell/entries"
	"sapwell/journal"
	"sapwell/store"
)

// Telling pages through a history: by place, since it only grows.
type Telling struct {
	From  int `query:"from" minimum:"0" doc:"entries to pass over"`
	Limit int `query:"limit" minimum:"1" maximum:"1000" default:"100" doc:"entries at most"`
}

type (
	toldByID struct {
		ByID
		Telling
	}
	toldByHash struct {
		ByHash
		Telling
	}
)

func (t toldByID) asks() (string, int, int)   { return t.ID, t.From, t.Limit }
func (t toldByHash) asks() (string, int, int) { return t.ID, t.From, t.Limit }

type tellable interface{ asks() (string, int, int) }

// Said is an entry as it was written. One that was corrected stays as it is, and
// names the amendments, each of which says who, when, why, before and after.
type Said struct {
	ID        journal.ID      `json:"id"`
	Kind      string          `json:"kind"`
	By        journal.ID      `json:"by,omitzero" doc:"the person who says so"`
	At        int64           `json:"at" doc:"when it happened; ms since 1970"`
	Written   int64           `json:"written" doc:"when it was written, by the clock of the device; ms since 1970"`
	Device    journal.Hash    `json:"device"`
	Seq       int64           `json:"seq"`
	Hash      journal.Hash    `json:"hash"`
	AmendedBy []journal.ID    `json:"amended_by,omitempty" doc:"entries that correct it, the latest last"`
	Body      json.RawMessage `json:"body" doc:"what was written"`
}

type history struct {
	Body struct {
		Entries []Said `json:"entries"`
		All     int    `json:"all" doc:"how many there are"`
	}
}

// tell lists what was said of a subject, in the order in which it is read.
func tell(ctx context.Context, c caller, subject entries.Subject, from, limit int) (*history, error) {
	var lines []journal.Entry
	err := c.ledger.Read(ctx, func(v store.Reader) (err error) {
		lines, err = v.Entries(subject)
		return err
	})
	if err != nil {
		return nil, err
	}
	if len(lines) == 0 {
		return nil, store.ErrNotFound
	}
	amended := map[journal.ID][]journal.ID{}
	said := make([]Said, len(lines))
	for i, e := range lines {
		var of journal.ID
		if said[i], of = say(e); of != (journal.ID{}) {
			amended[of] = append(amended[of], e.ID)
		}
	}
	for i := range said {
		said[i].AmendedBy = amended[said[i].ID]
	}
	out := new(history)
	out.Body.All = len(said)
	from = min(from, len(said))
	out.Body.Entries = said[from:min(from+limit, len(said))]
	return out, nil
}

// say prints an entry, and names the entry that it amends, if it does. One that
// only a newer program understands is printed as it is.
func say(e journal.Entry) (said Said, amends journal.ID) {
	said = Said{ID: e.ID, Kind: e.Kind, At: e.Time, Written: e.Time, Device: e.Device, Seq: e.Seq, Hash: e.Hash(), Body: e.Body}
	read, err := entries.Read(e)
	if err != nil {
		return said, amends
	}
	said.By, said.At = read.Body.Said().By, read.When()
	if a, ok := read.Body.(entries.Amendment); ok {
		amends = a.Of
	}
	return said, amends
}
