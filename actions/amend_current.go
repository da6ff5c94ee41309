package actions

import (
	"encoding/json"
	"fmt"

	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

// said is an entry as it is understood now: with the body of its last amendment,
// where it has one.
type said struct {
	entries.Entry
	Kind string
	Raw  []byte // the body's bytes
}

// current reads an entry as it is understood now. The view of what the entry
// speaks of knows its amendments, so nothing is folded. An entry that a newer
// program wrote has no Body.
func current(v Reader, id journal.ID) (said, bool, error) {
	raw, ok, err := v.Entry(id)
	if err != nil || !ok {
		return said{}, false, err
	}
	s := said{Kind: raw.Kind, Raw: raw.Body}
	if s.Entry, err = entries.Read(raw); err != nil {
		s.Entry = entries.Entry{ID: raw.ID, Device: raw.Device, Seq: raw.Seq, Hash: raw.Hash(), Time: raw.Time}
		return s, true, nil
	}
	last, err := lastAmendment(v, s.Entry)
	if err != nil || last == (journal.ID{}) {
		return s, true, err
	}
	a, err := amendment(v, last)
	if err != nil {
		return said{}, false, err
	}
	s.Raw = a.After
	s.Body, err = entries.ReadBody(s.Kind, a.After)
	return s, true, err
}

// lastAmendment is the id of the amendment that counts, zero if there is none.
func lastAmendment(v Reader, e entries.Entry) (last journal.ID, err error) {
	row, ok, err := v.View(e.Body.About(e.ID)[0])
	if err != nil || !ok {
		return last, err
	}
	var common struct {
		Amended []views.Mark `json:"amended"`
	}
	if err := json.Unmarshal(row.State, &common); err != nil {
		return last, fmt.Errorf("view of %s %s: %w", row.Subject.Kind, row.Subject.ID, err)
	}
	return lastOf(common.Amended, e.ID), nil
}

// lastOf is the amendment of an entry that counts, zero if there is none.
func lastOf(marks []views.Mark, id journal.ID) (last journal.ID) {
	for _, m := range marks {
		if m.Of == id {
			last = m.Entry
		}
	}
	return last
}

func amendment(v Reader, id journal.ID) (entries.Amendment, error) {
	raw, ok, err := v.Entry(id)
	if err != nil {
		return entries.Amendment{}, err
	}
	if !ok {
		return entries.Amendment{}, fmt.Errorf("amendment %s is not in the journal", id)
	}
	e, err := entries.Read(raw)
	if err != nil {
		return entries.Amendment{}, fmt.Errorf("amendment %s: %w", id, err)
	}
	a, ok := e.Body.(entries.Amendment)
	if !ok {
		return entries.Amendment{}, fmt.Errorf("entry %s is of kind %s, not an amendment", id, raw.Kind)
	}
	return a, nil
}
