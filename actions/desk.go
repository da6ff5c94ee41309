package actions

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"sapwell/engine/why"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

// desk is where a deed is done: who and when, what stands in the journal, and the
// sheet that is written on.
type desk struct {
	Moment
	Reader
	actor    *views.Person // who m.By is
	drafts   []journal.Draft
	findings []why.Finding
}

// now begins a body of something that is done by saying it.
func (d *desk) now() entries.Head { return entries.Head{By: d.By} }

// aheadOfClock is how far the clock of whoever says when something happened may
// run before ours (own convention).
const aheadOfClock = 5 * 60 * 1000

// head begins a body of something that happened now, or at the moment the input
// gave in its field "at": ms since 1970, 0 for now.
func (d *desk) head(at int64) (entries.Head, error) {
	if at < 0 || at > d.Now+aheadOfClock {
		return entries.Head{}, badValue("input.moment", "at", strconv.FormatInt(at, 10), "want a moment that is past, in milliseconds since 1970")
	}
	return entries.Head{By: d.By, At: at}, nil
}

// write puts an entry on the sheet, under a new id.
func (d *desk) write(b entries.Body) (journal.ID, error) {
	id, err := d.NewID()
	if err != nil {
		return journal.ID{}, fmt.Errorf("new id: %w", err)
	}
	draft, err := entries.Draft(id, d.Now, b)
	if err != nil {
		return journal.ID{}, misfit(err)
	}
	d.drafts = append(d.drafts, draft)
	return id, nil
}

// misfit turns what is wrong with a body into a refusal. The names in it are those
// of the wire, which are those of the input but for the unit behind them.
func misfit(err error) error {
	var f *entries.Fault
	if !errors.As(err, &f) {
		return refuse(BadInput, "input.value", "", err.Error())
	}
	named := f.Field
	for _, unit := range []string{"_nm", "_nl", "_mk", "_pa", "_percent"} {
		named = strings.TrimSuffix(named, unit)
	}
	value, want, both := strings.Cut(f.Text, ", want ")
	if !both {
		return badValue("input.value", named, "", f.Text)
	}
	return badValue("input.value", named, value, "want "+want)
}

// made writes an entry that is all a deed writes.
func (d *desk) made(b entries.Body) (Made, error) {
	id, err := d.write(b)
	return Made{id}, err
}

// note keeps what the person should know.
func (d *desk) note(found ...why.Finding) { d.findings = append(d.findings, found...) }

// find reads the present of a subject, if the entry that began it is here.
func find[S views.State](d *desk, kind entries.SubjectKind, id string) (state S, ok bool, err error) {
	row, ok, err := d.View(entries.Subject{Kind: kind, ID: id})
	if err != nil || !ok {
		return state, false, err
	}
	state, err = stateOf[S](row)
	return state, err == nil && begun(state), err
}

// look is find for what the input speaks of in a field: it refuses what is not here.
func look[S views.State](d *desk, kind entries.SubjectKind, id, field string) (S, error) {
	state, ok, err := find[S](d, kind, id)
	if err == nil && !ok {
		err = refuse(NotFound, string(kind)+".unknown", field, fmt.Sprintf("%s: there is no %s %s", field, kind, id))
	}
	return state, err
}

// begun reports whether the entry that began a thing is here: later ones of another
// device may have come in before it.
func begun(state views.State) bool {
	switch s := state.(type) {
	case *views.Person:
		return s.Facts.Name != ""
	case *views.Device:
		return s.Facts.Name != ""
	case *views.Grounds:
		return s.Facts.Name != ""
	case *views.Tree:
		return s.Facts.Tag != ""
	case *views.Label:
		return s.Facts.Name != ""
	case *views.Lot:
		return s.Facts.Number != ""
	case *views.Visit:
		return s.Opened != 0
	case *views.Bag:
		return s.Facts.Mark != ""
	}
	return true
}

// stateOf reads the state of a row of a known kind.
func stateOf[S views.State](row views.Row) (S, error) {
	var none S
	state, err := views.Read(row)
	if err != nil {
		return none, err
	}
	s, ok := state.(S)
	if !ok {
		return none, fmt.Errorf("the view of %s %s is a %T", row.Subject.Kind, row.Subject.ID, state)
	}
	return s, nil
}

// each shows all states of a kind whose keys lie from one key up to another
// ("": to the end), in the order of their keys.
func each[S views.State](d *desk, kind entries.SubjectKind, from, to string, show func(S) error) error {
	const page = 200
	for after := ""; ; {
		rows, err := d.List(kind, from, to, after, page)
		if err != nil {
			return err
		}
		for _, row := range rows {
			s, err := stateOf[S](row)
			if err == nil {
				err = show(s)
			}
			if err != nil {
				return err
			}
		}
		if len(rows) < page {
			return nil
		}
		from, after = rows[page-1].Key, rows[page-1].Subject.ID
	}
}

// idOf reads the id of a state that is named by one.
func idOf(text string) (id journal.ID, err error) {
	err = id.UnmarshalText([]byte(text))
	return id, err
}

func (d *desk) person(id journal.ID, field string) (*views.Person, error) {
	return look[*views.Person](d, entries.OfPerson, id.String(), field)
}

func (d *desk) device(id journal.Hash, field string) (*views.Device, error) {
	return look[*views.Device](d, entries.OfDevice, id.String(), field)
}

func (d *desk) grounds(id journal.ID, field string) (*views.Grounds, error) {
	return look[*views.Grounds](d, entries.OfGrounds, id.String(), field)
}

func (d *desk) tree(id journal.ID, field string) (*views.Tree, error) {
	return look[*views.Tree](d, entries.OfTree, id.String(), field)
}

func (d *desk) label(id journal.ID, field string) (*views.Label, error) {
	return look[*views.Label](d, entries.OfLabel, id.String(), field)
}

func (d *desk) lot(id journal.ID, field string) (*views.Lot, error) {
	return look[*views.Lot](d, entries.OfLot, id.String(), field)
}

func (d *desk) visit(id journal.ID, field string) (*views.Visit, error) {
	return look[*views.Visit](d, entries.OfVisit, id.String(), field)
}

func (d *desk) bag(id journal.ID, field string) (*views.Bag, error) {
	return look[*views.Bag](d, entries.OfBag, id.String(), field)
}
