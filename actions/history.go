package actions

import (
	"encoding/json"

	"sapwell/entries"
	"sapwell/journal"
)

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

// History lists what was said of a subject, in the order in which it is read.
func History(v Reader, s entries.Subject) ([]Said, error) {
	lines, err := v.Entries(s)
	if err != nil {
		return nil, err
	}
	amended := map[journal.ID][]journal.ID{}
	told := make([]Said, len(lines))
	for i, e := range lines {
		var of journal.ID
		if told[i], of = asSaid(e); of != (journal.ID{}) {
			amended[of] = append(amended[of], e.ID)
		}
	}
	for i := range told {
		told[i].AmendedBy = amended[told[i].ID]
	}
	return told, nil
}

// SaidBy is one entry as it was written, by itself: no amendment is looked for.
func SaidBy(e journal.Entry) Said {
	s, _ := asSaid(e)
	return s
}

// asSaid shows an entry, and names the entry that it amends, if it does. One that
// only a newer program understands is shown as it is.
func asSaid(e journal.Entry) (s Said, amends journal.ID) {
	s = Said{ID: e.ID, Kind: e.Kind, At: e.Time, Written: e.Time, Device: e.Device, Seq: e.Seq, Hash: e.Hash(), Body: e.Body}
	read, err := entries.Read(e)
	if err != nil {
		return s, amends
	}
	s.By, s.At = read.Body.Said().By, read.When()
	if a, ok := read.Body.(entries.Amendment); ok {
		amends = a.Of
	}
	return s, amends
}
