package actions

import (
	"cmp"
	"encoding/json"
	"fmt"
	"slices"

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
	marks, err := marksOf(v, s.Body.About(s.ID)[0])
	if err != nil {
		return said{}, false, err
	}
	after, body, err := amendedTo(v, marks, id, s.Kind)
	if body != nil {
		s.Raw, s.Body = after, body
	}
	return s, true, err
}

// marksOf are the amendments that the view of a subject has, in the order in which
// they were folded.
func marksOf(v Reader, s entries.Subject) ([]views.Mark, error) {
	row, ok, err := v.View(s)
	if err != nil || !ok {
		return nil, err
	}
	var common struct {
		Amended []views.Mark `json:"amended"`
	}
	if err := json.Unmarshal(row.State, &common); err != nil {
		return nil, fmt.Errorf("view of %s %s: %w", s.Kind, s.ID, err)
	}
	return common.Amended, nil
}

// amendedTo is what an entry was amended to last; nil where it was not. As in the
// views, an amendment of another kind than the entry, or one that cannot be read,
// changes nothing.
func amendedTo(v Reader, marks []views.Mark, id journal.ID, kind string) ([]byte, entries.Body, error) {
	for _, m := range slices.Backward(marks) {
		if m.Of != id {
			continue
		}
		raw, ok, err := v.Entry(m.Entry)
		if err != nil || !ok {
			return nil, nil, cmp.Or(err, fmt.Errorf("amendment %s is not in the journal", m.Entry))
		}
		e, err := entries.Read(raw)
		if err != nil {
			continue
		}
		if a, ok := e.Body.(entries.Amendment); ok && a.OfKind == kind {
			body, err := entries.ReadBody(kind, a.After)
			return a.After, body, err
		}
	}
	return nil, nil, nil
}
