package main

import (
	"context"
	"crypto"
	"crypto/ed25519"
	"crypto/rand"
	"crypto/sha256"
	"errors"
	"fmt"
	"time"

	"sapwell/accounts"
	"sapwell/actions"
	"sapwell/engine/why"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/store"
	"sapwell/store/sqlstore"
)

// signerOf is the office's own key in a journal.
func signerOf(ctx context.Context, s store.Store, org journal.ID) (crypto.Signer, error) {
	key, err := s.KeyOf(ctx, org)
	if err != nil {
		return nil, fmt.Errorf("the office's signing key of %s: %w", org, err)
	}
	return ed25519.PrivateKey(key.Private), nil
}

// signing opens the store and shows the journal that is meant, with the office's key.
func (o whose) signing(w world, at where, with func(context.Context, store.Ledger, crypto.Signer) error) error {
	ctx := context.Background()
	s, err := at.open(ctx, w, sqlstore.Options{})
	if err != nil {
		return err
	}
	defer s.Close() //nolint:errcheck // what was acknowledged is on the disk
	l, err := o.ledger(ctx, w, s)
	if err != nil {
		return err
	}
	signer, err := signerOf(ctx, s, l.Org())
	if errors.Is(err, store.ErrNotFound) {
		return refused{errors.New(w.say.Say("journal.no_key", why.T("org", l.Org().String())))}
	}
	if err != nil {
		return err
	}
	return with(ctx, l, signer)
}

// found begins an organisation with a new key, and returns it and its first person.
func (w world) found(ctx context.Context, s store.Store, in actions.FoundInput) (actions.Founding, error) {
	public, private, err := ed25519.GenerateKey(rand.Reader)
	if err != nil {
		return actions.Founding{}, err
	}
	now := w.now().UnixMilli()
	m := actions.Moment{Device: sha256.Sum256(public), Now: now, NewID: newIDs(w.now)}
	f, err := actions.Found(m, in)
	if err != nil {
		return f, err
	}
	var log journal.Journal
	lines := make([][]byte, len(f.Drafts))
	for i, d := range f.Drafts {
		e, err := log.Append(private, d)
		if err != nil {
			return f, err
		}
		lines[i] = e.Line
	}
	// The key first: a key without a journal does no harm, a journal without its key
	// can never be written on.
	if err := s.PutKey(ctx, accounts.Key{Org: f.Org, Private: private}); err != nil {
		return f, err
	}
	_, err = s.Found(ctx, lines, now)
	return f, err
}

// newIDs makes ids that grow.
func newIDs(now func() time.Time) func() (journal.ID, error) {
	var last journal.ID
	return func() (journal.ID, error) {
		var random [10]byte
		if _, err := rand.Read(random[:]); err != nil {
			return journal.ID{}, err
		}
		id, err := journal.NewID(last, now().UnixMilli(), random)
		if err == nil {
			last = id
		}
		return id, err
	}
}

// first is the organisation that a new store begins with, as somebody who works
// alone needs it; names are changed later.
func (w world) first(country, zone string) actions.FoundInput {
	if zone == "" {
		zone = zoneHere()
	}
	return actions.FoundInput{
		Name: w.say.Say("serve.first_org"), Country: country, Zone: zone, KeepYears: keepYears,
		Person: w.say.Say("serve.first_person"), Roles: []entries.Role{entries.Office, entries.Applicator}, Device: w.say.Say("serve.office_device"),
	}
}

// checkFirst says what is wrong with what a new store would begin with, before
// there is one.
func (w world) checkFirst(country, zone string) error {
	if _, err := time.LoadLocation(zone); err != nil || zone == "Local" {
		return fmt.Errorf("--zone: %q: want the name of a time zone, such as America/Chicago", zone)
	}
	m := actions.Moment{Device: journal.Hash{1}, Now: w.now().UnixMilli(), NewID: newIDs(w.now)}
	_, err := actions.Found(m, w.first(country, zone))
	if bad, ok := errors.AsType[*actions.Refusal](err); ok {
		return fmt.Errorf("--%w", bad) // it names its field first, as the flag is called
	}
	return err
}

// firstOf begins an organisation in an empty store.
func (w world) firstOf(ctx context.Context, s store.Store, country, zone string) error {
	orgs, err := s.Orgs(ctx)
	if err != nil || len(orgs) > 0 {
		return err
	}
	_, err = w.found(ctx, s, w.first(country, zone))
	return err
}

// keepYears is how long treatment records are kept where nobody said: the longest
// that any profile known here asks (7 years, from memory).
const keepYears = 7
