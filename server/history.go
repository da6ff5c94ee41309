package server

import (
	"context"

	"sapwell/actions"
	"sapwell/entries"
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

type history struct {
	Body struct {
		Entries []actions.Said `json:"entries"`
		All     int            `json:"all" doc:"how many there are"`
	}
}

// tell lists what was said of a subject, in the order in which it is read.
func tell(ctx context.Context, c caller, subject entries.Subject, from, limit int) (*history, error) {
	out := new(history)
	err := c.ledger.Read(ctx, func(v store.Reader) error {
		told, err := actions.History(v, subject)
		if err == nil && len(told) == 0 {
			err = store.ErrNotFound
		}
		out.Body.All = len(told)
		from = min(from, len(told))
		out.Body.Entries = told[from:min(from+limit, len(told))]
		return err
	})
	return out, err
}
