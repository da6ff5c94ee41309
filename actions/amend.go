package actions

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"

	"sapwell/engine/why"
	"sapwell/entries"
	"sapwell/journal"
)

type amendEntry struct {
	Of    journal.ID      `json:"of" doc:"the entry that is wrong"`
	After json.RawMessage `json:"after" doc:"its body as it should be read, whole; v, by and over may be left out"`
	Why   string          `json:"why" doc:"what was wrong, and how that is known"`
}

type amended struct {
	ID     journal.ID `json:"id"`
	OfKind string     `json:"of_kind"`
}

// amend writes beside an entry what should be read in its place. What it said
// stays, and whoever looks sees both.
//
// It may make a unit that was lifted stand as out again, also in a closed visit:
// if that is how it was, the journal has to say so. But never silently: the deed
// tells it, and the view of the visit carries the flag. The figures of a closed
// visit were signed, so nothing changes them but an amendment of the closing
// itself; the deed tells when they do not fit any more.
func amend(d *desk, in amendEntry) (amended, error) {
	if strings.TrimSpace(in.Why) == "" {
		return amended{}, refuse(BadInput, "amend.no_reason", "why", "why: empty; an amendment without a reason is none")
	}
	was, ok, err := current(d, in.Of)
	if err != nil {
		return amended{}, err
	}
	if !ok {
		return amended{}, refuse(NotFound, "amend.unknown", "of", fmt.Sprintf("of: there is no entry %s", in.Of))
	}
	if err := d.amendable(was); err != nil {
		return amended{}, err
	}
	after, body, err := d.after(was, in.After)
	if err != nil {
		return amended{}, err
	}
	if bytes.Equal(after, was.Raw) {
		return amended{}, refuse(Conflict, "amend.nothing", "after", "after: it says what the entry says already")
	}
	if err := sameThing(was, body); err != nil {
		return amended{}, err
	}
	a := entries.Amendment{Head: d.now(), Of: in.Of, OfKind: was.Kind, Why: in.Why, Before: was.Raw, After: after}
	id, err := d.write(a)
	if err != nil {
		return amended{}, err
	}
	return amended{id, was.Kind}, d.tellVisits(id, a, was.Body.About(was.ID), body.About(was.ID))
}

// amendable refuses what is corrected in another way, or by somebody else.
func (d *desk) amendable(was said) error {
	switch was.Kind {
	case entries.Amendment{}.Kind():
		return refuse(BadInput, "amend.of_amendment", "of", "of: it is an amendment itself; amend the entry that it corrects")
	case entries.Label{}.Kind(), entries.Plan{}.Kind(), entries.DeviceEnrolled{}.Kind(), entries.DeviceRevoked{}.Kind():
		return refuse(Conflict, "amend.never", "of",
			fmt.Sprintf("of: a %s is not amended, since others rest on what it was; write a new one", was.Kind), why.T("kind", was.Kind))
	}
	if was.Body == nil {
		return refuse(Conflict, "amend.unread", "of",
			fmt.Sprintf("of: a newer program wrote it, as %s; amend it with that", was.Kind), why.T("kind", was.Kind))
	}
	if ofTheOffice(was.Kind) && !slices.Contains(d.actor.Facts.Roles, entries.Office) {
		return refuse(Forbidden, "amend.office_only", "of",
			fmt.Sprintf("of: a %s is amended by the office", was.Kind), why.T("kind", was.Kind))
	}
	return nil
}

// after is the body that should be read, in canonical form. Who said it, and which
// facts they had before them, are not amended: these and the version are taken over
// where they are left out.
func (d *desk) after(was said, raw json.RawMessage) ([]byte, entries.Body, error) {
	head := was.Body.Said()
	after, err := withHead(raw, was.Raw)
	var body entries.Body
	if err == nil {
		body, err = entries.ReadBody(was.Kind, after)
	}
	switch {
	case err != nil:
		return nil, nil, refuse(BadInput, "amend.after", "after", "after: "+err.Error(), why.T("kind", was.Kind))
	case body.Said().By != head.By:
		return nil, nil, refuse(BadInput, "amend.by", "after.by", "after.by: who said it stays as it was; who corrects it is you")
	}
	return after, body, nil
}

// withHead fills in what a body takes over from the one before. The body is brought
// to canonical form first, which refuses a member that is given twice.
func withHead(raw, was []byte) ([]byte, error) {
	strict, err := journal.Canonical(raw)
	if err != nil {
		return nil, err
	}
	var members map[string]json.RawMessage
	if err := json.Unmarshal(strict, &members); err != nil || members == nil {
		return nil, errors.New("want the whole body, one JSON object")
	}
	var before map[string]json.RawMessage
	if err := json.Unmarshal(was, &before); err != nil {
		return nil, err
	}
	for _, name := range []string{"v", "by", "over"} {
		_, given := members[name]
		if value, there := before[name]; there && !given {
			members[name] = value
		}
	}
	whole, err := json.Marshal(members)
	if err != nil {
		return nil, err
	}
	return journal.Canonical(whole)
}

// sameThing refuses an amendment that would make of an entry about one person, lot
// or other thing that has a name an entry about another.
func sameThing(was said, body entries.Body) error {
	before, after := was.Body.About(was.ID)[0], body.About(was.ID)[0]
	switch before.Kind {
	case entries.OfVisit, entries.OfBag:
		return nil
	case entries.OfTree:
		if _, names := body.(entries.Tree); !names {
			return nil
		}
	}
	switch body.(type) {
	case entries.Note, entries.Photo, entries.Stock:
		return nil
	}
	if before == after {
		return nil
	}
	return refuse(BadInput, "amend.other_thing", "after",
		fmt.Sprintf("after: it speaks of the %s %s; want the %s %s, as before", after.Kind, after.ID, before.Kind, before.ID))
}

// tellVisits says what an amendment does to the visits it bears on.
func (d *desk) tellVisits(id journal.ID, a entries.Amendment, before, after []entries.Subject) error {
	told := map[entries.Subject]bool{}
	for _, s := range slices.Concat(before, after) {
		if s.Kind != entries.OfVisit || told[s] {
			continue
		}
		told[s] = true
		if err := d.tellVisit(s, entries.Entry{ID: id, Time: d.Now, Body: a}); err != nil {
			return err
		}
	}
	return nil
}

// tellVisit folds the visit anew with the amendment and holds the two against each
// other. It says which figures of a closed visit do not fit any more.
func (d *desk) tellVisit(s entries.Subject, with entries.Entry) error {
	was, err := d.foldVisit(s)
	if err != nil || was == nil {
		return err
	}
	is, err := d.foldVisit(s, with)
	if err != nil || is == nil {
		return err
	}
	day := why.T("date", is.Facts.Day)
	if n := newlyOut(was, is); n > 0 {
		d.tell("amend.unit_out", why.Warn, "after", day, why.T("n", n))
	}
	if is.Closed == nil {
		return nil
	}
	if is.Tally != nil {
		if _, ok := miscount(is, is.Tally.Lots); ok {
			d.tell("amend.tally_differs", why.Warn, "after", day)
		}
	}
	trees, err := d.treated(is)
	switch {
	case err != nil && !isRefusal(err):
		return err
	case err != nil || !slices.Equal(trees, is.Closed.Trees):
		d.tell("amend.closing_differs", why.Warn, "after", day)
	}
	return nil
}
