package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"
	"time"

	"sapwell/entries"
	"sapwell/journal"
	"sapwell/server/door"
	"sapwell/store"
)

// alone knows who works alone here: the only organisation and somebody of its
// office. It is asked at every request, and looks only now and then.
type alone struct {
	store   store.Store
	journal door.Journal
	now     func() time.Time

	mu          sync.Mutex
	org, person journal.ID
	looked      time.Time
}

// lookAgain is how long somebody who left the office is still taken for it. The
// roles are asked of the journal at every request all the same.
const lookAgain = 10 * time.Second

func (a *alone) who(ctx context.Context) (org, person journal.ID, err error) {
	a.mu.Lock()
	defer a.mu.Unlock()
	now := a.now()
	if since := now.Sub(a.looked); a.looked.IsZero() || since < 0 || since >= lookAgain {
		if err := a.look(ctx); err != nil {
			return org, person, err
		}
		a.looked = now
	}
	return a.org, a.person, nil
}

func (a *alone) look(ctx context.Context) error {
	orgs, err := a.store.Orgs(ctx)
	if err != nil {
		return err
	}
	if len(orgs) != 1 {
		return fmt.Errorf("the store keeps %d organisations now, and who works alone has one: start the server again, it will ask for accounts", len(orgs))
	}
	first, err := firstOfOffice(ctx, a.journal, orgs[0])
	a.org, a.person = orgs[0], first.ID
	return err
}

// firstOfOffice is somebody who may do everything.
func firstOfOffice(ctx context.Context, j door.Journal, org journal.ID) (door.Person, error) {
	people, err := j.People(ctx, org)
	if err != nil {
		return door.Person{}, err
	}
	for _, p := range people {
		roles, err := j.Roles(ctx, org, p.ID)
		if err != nil {
			return door.Person{}, err
		}
		if slices.Contains(roles, entries.Office) {
			return p, nil
		}
	}
	return door.Person{}, errors.New("organisation " + org.String() + ": nobody has the role office")
}
