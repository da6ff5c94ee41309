package server

import (
	"context"
	"errors"
	"io"

	"sapwell/accounts"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/server/door"
	"sapwell/store"
	"sapwell/views"
)

// Journals answers what the door asks of the journals of a store.
type Journals struct {
	store store.Store
	clock accounts.Clock
	ids   *idMaker
}

// NewJournals makes it; random is crypto/rand.Reader, but for tests.
func NewJournals(s store.Store, clock accounts.Clock, random io.Reader) *Journals {
	return &Journals{store: s, clock: clock, ids: &idMaker{random: random, clock: func() int64 { return clock().UnixMilli() }}}
}

// view reads the state of a subject of an organisation; ok is false where there is
// none.
func view[S views.State](ctx context.Context, s store.Store, org journal.ID, subject entries.Subject) (state S, ok bool, err error) {
	l, err := s.Ledger(ctx, org)
	if err != nil {
		return state, false, err
	}
	err = l.Read(ctx, func(r store.Reader) error {
		row, there, err := r.View(subject)
		if err != nil || !there {
			return err
		}
		read, err := views.Read(row)
		state, ok = read.(S)
		return err
	})
	return state, ok, err
}

// Roles: see door.Journal.
func (j *Journals) Roles(ctx context.Context, org, person journal.ID) ([]entries.Role, error) {
	p, ok, err := view[*views.Person](ctx, j.store, org, entries.Subject{Kind: entries.OfPerson, ID: person.String()})
	if errors.Is(err, store.ErrNotFound) || err == nil && (!ok || p.Facts.Left) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	return p.Facts.Roles, nil
}

// Enrolled: see door.Journal.
func (j *Journals) Enrolled(ctx context.Context, org journal.ID, device journal.Hash) (bool, error) {
	d, ok, err := view[*views.Device](ctx, j.store, org, entries.Subject{Kind: entries.OfDevice, ID: device.String()})
	if errors.Is(err, store.ErrNotFound) {
		return false, nil
	}
	return err == nil && ok && d.Revoked == nil, err
}

// Enrol: see door.Journal.
func (j *Journals) Enrol(ctx context.Context, org, person journal.ID, device journal.Hash, name string) error {
	l, err := j.store.Ledger(ctx, org)
	if err != nil {
		return err
	}
	signer, err := signerOf(ctx, j.store, org)
	if err != nil {
		return err
	}
	now := j.clock().UnixMilli()
	_, err = l.Write(ctx, signer, now, func(v store.Reader) ([]journal.Draft, error) {
		known, ok, err := deviceIn(v, device)
		switch {
		case err != nil:
			return nil, err
		case ok && known.Revoked != nil:
			return nil, door.ErrRevoked
		case ok:
			return nil, nil
		}
		id, err := j.ids.fresh()
		if err != nil {
			return nil, err
		}
		// By is the person whose device it is: with the invite somebody of the office
		// has let them in.
		draft, err := entries.Draft(id, now, entries.DeviceEnrolled{Head: entries.Head{By: person}, Device: device, Name: name, Person: person})
		return []journal.Draft{draft}, err
	})
	return err
}

func deviceIn(v store.Reader, device journal.Hash) (*views.Device, bool, error) {
	row, ok, err := v.View(entries.Subject{Kind: entries.OfDevice, ID: device.String()})
	if err != nil || !ok {
		return nil, false, err
	}
	state, err := views.Read(row)
	d, is := state.(*views.Device)
	return d, is, err
}

// People: see door.Journal.
func (j *Journals) People(ctx context.Context, org journal.ID) ([]door.Person, error) {
	l, err := j.store.Ledger(ctx, org)
	if err != nil {
		return nil, err
	}
	var people []door.Person
	err = l.Read(ctx, func(r store.Reader) error {
		const page = 200
		for from, after := "", ""; ; {
			rows, err := r.List(entries.OfPerson, from, "", after, page)
			if err != nil {
				return err
			}
			for _, row := range rows {
				if people, err = appendPerson(people, row); err != nil {
					return err
				}
			}
			if len(rows) < page {
				return nil
			}
			last := rows[len(rows)-1]
			from, after = last.Key, last.Subject.ID
		}
	})
	return people, err
}

func appendPerson(people []door.Person, row views.Row) ([]door.Person, error) {
	state, err := views.Read(row)
	p, ok := state.(*views.Person)
	if err != nil || !ok || p.Facts.Left {
		return people, err
	}
	var id journal.ID
	if err := id.UnmarshalText([]byte(p.ID)); err != nil {
		return people, err
	}
	return append(people, door.Person{ID: id, Name: p.Facts.Name}), nil
}
