// Package views answers: how do things stand now?
//
// The present of a subject is the fold of all entries that speak of it. It does
// not depend on the order in which they came in: what began the subject is folded
// first, then the rest in the order of Place. So a view can be thrown away and
// folded again, and two journals with the same entries show the same present.
//
// An amended entry is folded as the last of its amendments, by place, has it, and
// where it stood itself. One that no longer speaks of the subject leaves only a
// Mark. One that speaks of it only since it was amended is not among what speaks
// of the subject: it is taken from the amendment, with the time that its id bears.
//
// Of facts the last by place count. What a deed done in the field contradicts (a
// unit seated after the visit was closed, a hole bored twice) is kept and flagged,
// never dropped: see Flag. So is an update whose writer had other facts before them
// than the ones it replaced, as its Over tells.
//
// An entry of a kind or version that this program does not know is in no view, not
// even as a number: of whom it speaks nobody can tell. The store keeps it, and a
// program that knows it folds anew.
package views

import (
	"encoding/json"

	"sapwell/entries"
	"sapwell/journal"
)

// Row is the kept view of one subject.
type Row struct {
	Subject entries.Subject
	Key     string // to list by, in byte order; see the State's Key
	Last    Place  // the last entry folded
	State   json.RawMessage
}

// State is the present of a subject: *Org, *Person, *Device, *Grounds, *Tree,
// *Label, *Lot, *Visit or *Bag.
type State interface {
	// Key is what rows of this kind are listed by, as the type's comment says.
	Key() string
}

// Mark says that a fact was amended: by which entry, who, when and why.
type Mark struct {
	Of    journal.ID `json:"of"` // the entry that was amended
	Entry journal.ID `json:"entry"`
	By    journal.ID `json:"by,omitzero"`
	Time  int64      `json:"time"`
	Why   string     `json:"why"`
}

// Common is what every state has.
type Common struct {
	ID      string `json:"id"`
	Entries int    `json:"entries"` // folded
	Notes   int    `json:"notes,omitempty"`
	// Told are facts for the record by their field; one that was taken back has no
	// text.
	Told    map[string]Told `json:"told,omitempty"`
	Photos  []string        `json:"photos,omitempty"` // hashes
	Amended []Mark          `json:"amended,omitempty"`
	Flags   []Flag          `json:"flags,omitempty"`
}

// Told is a fact for the record that somebody told.
type Told struct {
	Text    string     `json:"text,omitempty"`
	By      journal.ID `json:"by,omitzero"`
	At      int64      `json:"at"` // when it was so; ms since 1970
	Why     string     `json:"why,omitempty"`
	FactsBy journal.ID `json:"facts_by"` // see replace
}

func (c *Common) common() *Common { return c }

// self is the subject's id. A device has none.
func (c *Common) self() (id journal.ID) {
	if err := id.UnmarshalText([]byte(c.ID)); err != nil {
		return journal.ID{}
	}
	return id
}
