package actions

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"sapwell/engine/label"
	"sapwell/engine/quantity"
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
	do     func(d *desk, input []byte) (result any, err error)
}

// Moment is who does it, when and on which device. All chance comes in by NewID.
type Moment struct {
	By     journal.ID // person
	Device journal.Hash
	Now    int64 // ms since 1970
	// Zone is the time zone of the place of work: which day it is hangs on it. nil: UTC.
	Zone *time.Location
	// KeepAt is the last day on which the record of work on a day is kept at a place,
	// if that is longer than the firm's own years. nil: the law of places is not known here.
	KeepAt func(day entries.Date, years int, country, region string) entries.Date
	NewID  func() (journal.ID, error)
	// Labels are those that were read, by the texts of their files: whoever does many
	// deeds, one at a time, hands the same to all. nil: they are read anew.
	Labels map[string]label.Label
	// Supposed is true where nothing of it will be kept: a plan then goes without the
	// whole of its reasons, which are most of its text.
	Supposed bool
}

// local is a moment by the clock on the wall.
func (m Moment) local(ms int64) time.Time {
	if m.Zone == nil {
		return time.UnixMilli(ms).UTC()
	}
	return time.UnixMilli(ms).In(m.Zone)
}

// dayOf is the day in which a moment falls.
func (m Moment) dayOf(ms int64) entries.Date { return quantity.DateOf(m.local(ms)) }

// minute is a moment for people, with how far its clock is from UTC.
func (m Moment) minute(ms int64) string { return m.local(ms).Format("2006-01-02 15:04 -07:00") }

// Reader is what a deed may look at: one moment of one organisation.
type Reader interface {
	View(s entries.Subject) (row views.Row, ok bool, err error)
	List(kind entries.SubjectKind, from, to, after string, limit int) ([]views.Row, error)
	Entry(id journal.ID) (journal.Entry, bool, error)
	Entries(s entries.Subject) ([]journal.Entry, error)
	Tip(device journal.Hash) (journal.Entry, bool, error)
}

// Outcome is what a deed writes and says.
type Outcome struct {
	Drafts   []journal.Draft
	Result   any
	Findings []why.Finding // what the person should know; nothing of it stopped the deed
}

// Made is the result of a deed that writes one entry: its id, which names the
// thing where the entry began one.
type Made struct {
	ID journal.ID `json:"id"`
}

// FieldDeeds lists those that a phone does with no signal: all but the reading of whole
// lists, whose readers would make the program that a phone loads larger by a tenth.
func FieldDeeds() []Deed {
	return slices.Concat(
		officeDeeds(), groundsDeeds(), treeDeeds(), stockDeeds(), planDeeds(), visitDeeds(),
	)
}

// deed makes a Deed of a function from input to result. What the function writes
// it writes on the desk; when it fails nothing of that is kept.
func deed[I, R any](name string, who []entries.Role, do func(*desk, I) (R, error)) Deed {
	var input I
	var result R
	return Deed{Name: name, Who: who, Input: input, Result: result, do: func(d *desk, raw []byte) (any, error) {
		var in I
		if err := decodeInput(raw, &in); err != nil {
			return nil, err
		}
		return do(d, in)
	}}
}

// Do does a deed: it looks up who m.By is, refuses who may not, reads the input
// strictly and decides. Errors of the input are *Refusal.
func (d Deed) Do(m Moment, v Reader, input json.RawMessage) (Outcome, error) {
	desk := &desk{Moment: m, Reader: v}
	if err := desk.admit(d); err != nil {
		return Outcome{}, err
	}
	result, err := d.do(desk, input)
	if err != nil {
		return Outcome{}, err
	}
	return Outcome{Drafts: desk.drafts, Result: result, Findings: desk.findings}, nil
}

// admit looks up who is at the desk and refuses who may not do the deed.
func (d *desk) admit(deed Deed) error {
	p, ok, err := find[*views.Person](d, entries.OfPerson, d.By.String())
	switch {
	case err != nil:
		return err
	case !ok:
		return refuse(Forbidden, "person.nobody", "", fmt.Sprintf("there is no person %s here", d.By))
	case p.Facts.Left:
		return refuse(Forbidden, "person.left", "", p.Facts.Name+" has left and may do nothing any more", why.T("name", p.Facts.Name))
	case !deed.May(p.Facts.Roles):
		may := texts(deed.Who)
		return refuse(Forbidden, "person.not_entitled", "",
			fmt.Sprintf("%s is for %s; %s is %s", deed.Name, strings.Join(may, ", "), p.Facts.Name, strings.Join(texts(p.Facts.Roles), ", ")),
			why.T("name", p.Facts.Name), why.T("roles", may))
	}
	d.actor = p
	return nil
}

func texts[T ~string](words []T) []string {
	list := make([]string, len(words))
	for i, w := range words {
		list[i] = string(w)
	}
	return list
}

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

// refuse makes a Refusal.
func refuse(kind RefusalKind, code, field, text string, terms ...why.Term) *Refusal {
	return &Refusal{Code: code, Field: field, Text: text, Terms: terms, Kind: kind}
}

func isRefusal(err error) bool {
	var r *Refusal
	return errors.As(err, &r)
}

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
const ErrNoDeed = noDeed("no such deed")

// noDeed is an error that nobody can change.
type noDeed string

func (e noDeed) Error() string { return string(e) }
