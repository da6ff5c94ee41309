package views

import (
	"bytes"
	"cmp"
	"encoding/json"
	"slices"

	"sapwell/entries"
	"sapwell/journal"
)

// step is one entry on its way into a state, with the body that counts.
type step struct {
	entry   entries.Entry
	place   Place
	begins  bool   // the subject began with it
	implied bool   // known from an amendment only, so no entry of its own
	dropped bool   // as amended it no longer speaks of the subject
	flag    string // what is wrong with it by itself
}

// ordered lists the steps in the order of folding: what began the subject, then
// by place. The last place among the items comes with them.
func ordered(s entries.Subject, items []Item) (steps []step, last Place) {
	steps = make([]step, len(items))
	for i, it := range items {
		steps[i] = step{entry: it.Entry, place: it.Place}
	}
	byPlace(steps)
	steps = slices.CompactFunc(steps, func(a, b step) bool { return a.place == b.place })
	last = steps[len(steps)-1].place
	steps = amended(s, steps)
	for i := range steps {
		steps[i].begins = begins(s, steps[i])
	}
	if s.Kind != entries.OfDevice { // what is enrolled after it was revoked stays where it stands
		beginningFirst(steps)
	}
	return steps, last
}

func byPlace(steps []step) {
	order := func(a, b step) int { return a.place.Compare(b.place) }
	if !slices.IsSortedFunc(steps, order) {
		slices.SortStableFunc(steps, order)
	}
}

func beginningFirst(steps []step) {
	slices.SortStableFunc(steps, func(a, b step) int {
		switch {
		case a.begins == b.begins:
			return 0
		case a.begins:
			return -1
		}
		return 1
	})
}

// begins tells whether the subject began with this step.
func begins(s entries.Subject, p step) bool {
	if p.dropped {
		return false
	}
	switch b := p.entry.Body.(type) {
	case entries.DeviceEnrolled:
		return s.Kind == entries.OfDevice
	case entries.Org, entries.Person, entries.Grounds, entries.Tree, entries.Label, entries.Lot, entries.VisitOpened, entries.BagSealed:
		return p.entry.ID.String() == s.ID && b.(entries.Body).About(p.entry.ID)[0] == s
	}
	return false
}

// amended puts what amendments say in place of what they amend, in the order of
// their places. What was said of another subject before and is said of this one
// now is not among the steps: it is put there as the amendment has it.
func amended(s entries.Subject, steps []step) []step {
	var implied []step
	for i := range steps {
		a, ok := steps[i].entry.Body.(entries.Amendment)
		if !ok {
			continue
		}
		c, err := readChange(s, a)
		if err != nil {
			steps[i].flag = "amendment.unreadable"
			continue
		}
		found, flag := c.apply(steps)
		foundToo, flagToo := c.apply(implied)
		steps[i].flag = cmp.Or(flag, flagToo)
		if found || foundToo {
			continue
		}
		implied = append(implied, c.implied(steps[i]))
		if slices.Contains(c.before.About(a.Of), s) {
			steps[i].flag = "amendment.no_target"
		}
	}
	if len(implied) > 0 {
		steps = append(steps, implied...)
		byPlace(steps)
	}
	return steps
}

// change is an amendment as it bears on one subject.
type change struct {
	of            journal.ID
	before, after entries.Body
	speaks        bool // after, of the subject
}

func readChange(s entries.Subject, a entries.Amendment) (change, error) {
	before, errBefore := entries.ReadBody(a.OfKind, a.Before)
	after, err := entries.ReadBody(a.OfKind, a.After)
	if err := cmp.Or(errBefore, err); err != nil {
		return change{}, err
	}
	return change{a.Of, before, after, slices.Contains(after.About(a.Of), s)}, nil
}

// apply changes the steps of the entry that is named.
func (c change) apply(steps []step) (found bool, flag string) {
	for i := range steps {
		p := &steps[i]
		if p.entry.ID != c.of {
			continue
		}
		found = true
		switch {
		case p.entry.Body.Kind() != c.after.Kind():
			flag = "amendment.kind"
			continue
		case !same(p.entry.Body, c.before):
			flag = "amendment.crossed"
		}
		p.entry.Body, p.dropped = c.after, !c.speaks
	}
	return found, flag
}

// implied is the step of an entry that only its amendment tells of. It stands
// where its id says it was made, but not after the amendment.
func (c change) implied(by step) step {
	p := step{implied: true, dropped: !c.speaks}
	p.entry = entries.Entry{ID: c.of, Device: by.entry.Device, Time: min(made(c.of), by.place.Time), Body: c.after}
	p.place = Place{Time: p.entry.Time, Device: by.place.Device}
	copy(p.place.Hash[:], c.of[:]) // so that no two are in one place
	return p
}

// same compares bodies as they are on the wire: an empty list is no list.
func same(a, b entries.Body) bool {
	x, errX := json.Marshal(a)
	y, errY := json.Marshal(b)
	return errX == nil && errY == nil && bytes.Equal(x, y)
}

// fold takes the step into the state.
func (p step) fold(st state) {
	c := st.common()
	if !p.implied {
		c.Entries++
	}
	if p.flag != "" {
		c.flag(p.flag, p.entry)
	}
	if p.dropped {
		return
	}
	switch b := p.entry.Body.(type) {
	case entries.Amendment:
		if p.flag != "amendment.kind" && p.flag != "amendment.unreadable" {
			restate(st, b.Of, p.entry.ID)
		}
		c.Amended = append(c.Amended, Mark{Of: b.Of, Entry: p.entry.ID, By: b.By, Time: p.entry.When(), Why: b.Why})
	case entries.Note:
		c.Notes++
	case entries.RecordFact:
		c.tell(p.entry, b)
	case entries.Photo:
		if sum := b.SHA256.String(); !slices.Contains(c.Photos, sum) {
			c.Photos = append(c.Photos, sum)
		}
	default:
		st.take(p.entry)
	}
}
