package actions

import (
	"encoding/json"
	"errors"
	"slices"

	"sapwell/engine/why"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

// Deed is one thing a person does: its name, who may, what goes in, what comes
// out. Button, key, command line and API all use it.
type Deed struct {
	Name   string         // such as "visit.open"
	Who    []entries.Role // any of these
	Input  any            // zero value of the input struct
	Result any            // zero value of the result struct
	do     func(m Moment, v Reader, input []byte) (Outcome, error)
}

// Moment is who does it, when and on which device. All chance comes in by NewID.
type Moment struct {
	By     journal.ID // person
	Device journal.Hash
	Now    int64 // ms since 1970
	NewID  func() (journal.ID, error)
}

// Reader is what a deed may look at: one moment of one organisation.
type Reader interface {
	View(s entries.Subject) (row views.Row, ok bool, err error)
	List(kind entries.SubjectKind, from, to, after string, limit int) ([]views.Row, error)
	Entry(id journal.ID) (journal.Entry, bool, error)
	Entries(s entries.Subject) ([]journal.Entry, error)
}

// Outcome is what a deed writes and says.
type Outcome struct {
	Drafts   []journal.Draft
	Result   any
	Findings []why.Finding // what the person should know; nothing of it stopped the deed
}

// Deeds lists all deeds, in the order of the work.
func Deeds() []Deed { panic("contract") }

// Do does a deed: it looks up who m.By is, refuses who may not, reads the input
// strictly and decides. Errors of the input are *Refusal.
func (d Deed) Do(m Moment, v Reader, input json.RawMessage) (Outcome, error) { panic("contract") }

// May reports whether somebody with these roles may do it.
func (d Deed) May(roles []entries.Role) bool {
	return slices.ContainsFunc(d.Who, func(r entries.Role) bool { return slices.Contains(roles, r) })
}

// Refusal says why a deed was not done. Code is for machines and for words, Field
// the place in the input, Text one plain sentence.
type Refusal struct {
	Code  string      `json:"code"` // such as "visit.unit_out"
	Field string      `json:"field,omitempty"`
	Text  string      `json:"text"`
	Terms []why.Term  `json:"terms,omitempty"`
	Kind  RefusalKind `json:"-"`
}

func (r *Refusal) Error() string { return r.Text }

// RefusalKind sorts refusals for the doors.
type RefusalKind int

// The sorts.
const (
	BadInput  RefusalKind = iota // the input is at fault
	NotFound                     // it names something that is not there
	Forbidden                    // not by this person
	Conflict                     // not as things stand
)

// ErrNoDeed says that there is no deed of that name.
var ErrNoDeed = errors.New("no such deed")

// Admit says why an entry that arrives from a device may not stand in the
// journal, or "": "unknown" (the device is not enrolled), "revoked" (it was, and
// the entry is not one the office had by then), "not_theirs" (it speaks for
// another person), "not_entitled" (a kind that this person may not write). A deed
// of the field is never turned away for what it says.
func Admit(v Reader, e journal.Entry) (why string, err error) { panic("contract") }
