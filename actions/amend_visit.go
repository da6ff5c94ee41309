package actions

import (
	"errors"
	"slices"

	"sapwell/entries"
	"sapwell/views"
)

// foldVisit folds a visit from its entries and some that are not written yet; nil
// where nothing speaks of it. The entries come in the order of folding, so their
// number does for their place.
func (d *desk) foldVisit(s entries.Subject, more ...entries.Entry) (*views.Visit, error) {
	list, err := d.Entries(s)
	if err != nil {
		return nil, err
	}
	items := make([]views.Item, 0, len(list)+len(more))
	add := func(e entries.Entry) {
		items = append(items, views.Item{Entry: e, Place: views.Place{Time: int64(len(items) + 1)}})
	}
	for _, raw := range list {
		e, err := entries.Read(raw)
		switch {
		case errors.Is(err, entries.ErrUnknownKind), errors.Is(err, entries.ErrUnknownVersion):
			continue // of a newer program: it says nothing here
		case err != nil:
			return nil, err
		}
		add(e)
	}
	for _, e := range more {
		add(e)
	}
	if len(items) == 0 {
		return nil, nil
	}
	row, err := views.Fold(s, items)
	if err != nil {
		return nil, err
	}
	return stateOf[*views.Visit](row)
}

// newlyOut counts the units that are out now and were not out before: they were
// lifted or lost then, or not there at all.
func newlyOut(was, is *views.Visit) (n int) {
	for _, u := range is.Units {
		before := slices.ContainsFunc(was.Units, func(o views.Unit) bool { return o.ID == u.ID && o.Out() })
		if u.Out() && !before {
			n++
		}
	}
	return n
}
