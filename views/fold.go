package views

import (
	"fmt"
	"slices"

	"sapwell/entries"
	"sapwell/journal"
)

// state is what the states have inside this package.
type state interface {
	State
	common() *Common
	// take folds one entry that speaks of the subject. Notes, photos and facts
	// for the record have been taken already.
	take(e entries.Entry)
	// standing are the ids of the entries whose facts stand now.
	standing() []*journal.ID
}

// blank is the state of which nothing is known.
func blank(s entries.Subject) (state, error) {
	c := Common{ID: s.ID}
	switch s.Kind {
	case entries.OfOrg:
		return &Org{Common: c}, nil
	case entries.OfPerson:
		return &Person{Common: c}, nil
	case entries.OfDevice:
		return &Device{Common: c}, nil
	case entries.OfGrounds:
		return &Grounds{Common: c}, nil
	case entries.OfTree:
		return &Tree{Common: c}, nil
	case entries.OfLabel:
		return &Label{Common: c}, nil
	case entries.OfLot:
		return &Lot{Common: c}, nil
	case entries.OfVisit:
		return &Visit{Common: c}, nil
	case entries.OfBag:
		return &Bag{Common: c}, nil
	}
	return nil, fmt.Errorf("subject of kind %q, want org, person, device, grounds, tree, label, lot, visit or bag", s.Kind)
}

// Fold makes the row of a subject from all entries that speak of it, in any
// order; one that is given twice counts once.
func Fold(s entries.Subject, items []Item) (Row, error) {
	st, err := blank(s)
	if err != nil {
		return Row{}, err
	}
	if len(items) == 0 {
		return Row{}, fmt.Errorf("%s %s: no entry speaks of it", s.Kind, s.ID)
	}
	steps, last := ordered(s, items)
	c := st.common()
	for i, step := range steps {
		switch {
		case i == 0 && !step.begins:
			c.flag("begin.missing", step.entry)
		case i > 0 && step.begins && s.Kind != entries.OfDevice: // a device may get another name
			c.flag("begin.twice", step.entry)
		}
		step.fold(st)
	}
	return makeRow(s, st, last)
}

// Extend adds entries to a row. ok is false where that cannot be done without the
// entries before: one of them stands before Last, or is an amendment, or was
// amended before it came, or began the subject. Then Fold.
func Extend(row Row, items []Item) (next Row, ok bool, err error) {
	if len(items) == 0 {
		return row, true, nil
	}
	if slices.ContainsFunc(items, func(it Item) bool { return it.Place.Compare(row.Last) <= 0 }) {
		return Row{}, false, nil
	}
	st, err := read(row)
	if err != nil {
		return Row{}, false, err
	}
	if slices.ContainsFunc(items, st.common().reachesBack) {
		return Row{}, false, nil
	}
	steps, last := ordered(row.Subject, items)
	for _, step := range steps {
		step.fold(st)
	}
	next, err = makeRow(row.Subject, st, last)
	return next, err == nil, err
}

// reachesBack tells of an entry that changes what came before it.
func (c *Common) reachesBack(it Item) bool {
	_, amends := it.Body.(entries.Amendment)
	return amends || it.ID == c.self() || slices.ContainsFunc(c.Amended, func(m Mark) bool { return m.Of == it.ID })
}

func makeRow(s entries.Subject, st state, last Place) (Row, error) {
	text, err := write(st)
	if err != nil {
		return Row{}, fmt.Errorf("%s %s: %w", s.Kind, s.ID, err)
	}
	return Row{Subject: s, Key: st.Key(), Last: last, State: text}, nil
}

// Read reads the state of a row.
func Read(row Row) (State, error) {
	st, err := read(row)
	if err != nil {
		return nil, err
	}
	return st, nil
}

func read(row Row) (state, error) {
	st, err := blank(row.Subject)
	if err != nil {
		return nil, err
	}
	if err := readInto(st, row.State); err != nil {
		return nil, fmt.Errorf("row of %s %s: %w", row.Subject.Kind, row.Subject.ID, err)
	}
	if id := st.common().ID; id != row.Subject.ID {
		return nil, fmt.Errorf("row of %s %s has the state of %q", row.Subject.Kind, row.Subject.ID, id)
	}
	return st, nil
}
