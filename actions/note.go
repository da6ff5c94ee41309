package actions

import (
	"encoding/json"
	"fmt"
	"strings"

	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

type noteAdd struct {
	On   entries.Subject `json:"on" doc:"what it is about"`
	Text string          `json:"text" doc:"the remark"`
	At   int64           `json:"at,omitempty" doc:"when it was seen, if not now; ms since 1970"`
}

func addNote(d *desk, in noteAdd) (Made, error) {
	h, err := d.headOn(in.On, in.At)
	if err != nil {
		return Made{}, err
	}
	if strings.TrimSpace(in.Text) == "" {
		return Made{}, refuse(BadInput, "note.empty", "text", "text: empty; want a remark")
	}
	return d.made(entries.Note{Head: h, On: in.On, Text: in.Text})
}

type recordTell struct {
	On    entries.Subject `json:"on" doc:"whose record: a visit, a tree, grounds, the organisation"`
	Field string          `json:"field" doc:"which fact, as doc/record-fields.md names it, such as contract.ref"`
	Text  string          `json:"text,omitempty" doc:"the fact; left out: it is taken back"`
	Why   string          `json:"why,omitempty" doc:"needed where it sets a rule aside: for profiles"`
	At    int64           `json:"at,omitempty" doc:"when it was so, if not now; ms since 1970"`
}

// tellRecord notes a fact that a record needs and nothing else tells.
func tellRecord(d *desk, in recordTell) (Made, error) {
	h, err := d.headOn(in.On, in.At)
	if err != nil {
		return Made{}, err
	}
	told, err := d.told(in.On)
	if err != nil {
		return Made{}, err
	}
	was := told[in.Field]
	switch {
	case in.Field == overrule && in.Text != "" && strings.TrimSpace(in.Why) == "":
		return Made{}, refuse(BadInput, "record.no_reason", "why", "why: empty; to choose profiles by hand takes a reason")
	case in.Text == was.Text && in.Why == was.Why:
		return Made{}, refuse(Conflict, "record.nothing", "text", "text: the record says so already")
	}
	return d.made(entries.RecordFact{Head: h, On: in.On, Over: was.FactsBy, Field: in.Field, Text: in.Text, Why: in.Why})
}

// overrule is the fact by which somebody chooses whose law a record is held against.
const overrule = "profiles"

// told are the facts told for the record of a thing.
func (d *desk) told(on entries.Subject) (map[string]views.Told, error) {
	row, ok, err := d.View(on)
	if err != nil || !ok {
		return nil, err
	}
	var c views.Common
	err = json.Unmarshal(row.State, &c)
	return c.Told, err
}

type photoAdd struct {
	On     entries.Subject `json:"on" doc:"what it shows"`
	SHA256 journal.Hash    `json:"sha256" doc:"of the stored bytes"`
	Type   string          `json:"type" enum:"image/jpeg,image/png" doc:"what the bytes are"`
	Bytes  int64           `json:"bytes" doc:"how many there are"`
	Width  int             `json:"width" doc:"in pixels"`
	Height int             `json:"height" doc:"in pixels"`
	Taken  int64           `json:"taken,omitempty" doc:"by the camera's clock, where that is to be kept; ms since 1970"`
	Place  *entries.Place  `json:"place,omitempty" doc:"by the camera, where that is to be kept"`
	Note   string          `json:"note,omitempty" doc:"what to look at"`
	At     int64           `json:"at,omitempty" doc:"when, if not now; ms since 1970"`
}

// addPhoto notes a picture; the bytes are kept by the store, under their hash.
func addPhoto(d *desk, in photoAdd) (Made, error) {
	h, err := d.headOn(in.On, in.At)
	if err != nil {
		return Made{}, err
	}
	return d.made(entries.Photo{
		Head: h, On: in.On, SHA256: in.SHA256, Type: in.Type, Bytes: in.Bytes,
		Width: in.Width, Height: in.Height, Taken: in.Taken, Place: in.Place, Note: in.Note,
	})
}

// headOn begins a body about a thing that must be there.
func (d *desk) headOn(on entries.Subject, at int64) (entries.Head, error) {
	_, ok, err := d.View(on)
	if err != nil {
		return entries.Head{}, err
	}
	if !ok {
		return entries.Head{}, refuse(NotFound, "note.on_nothing", "on", fmt.Sprintf("on: there is no %s %s", on.Kind, on.ID))
	}
	return d.head(at)
}
