package main

import (
	"context"
	"fmt"

	"sapwell/accounts"
	"sapwell/engine/why"
	"sapwell/journal"
	"sapwell/server/door"
	"sapwell/store"
)

// inviter shows links by which people choose a name and a password.
type inviter struct {
	world
	store  store.Store
	door   *door.Door
	config door.Config
}

// all invites the first person of the office, wherever nobody of an organisation
// has an account, and whoever has this name.
func (i inviter) all(ctx context.Context, name string) error {
	orgs, err := i.store.Orgs(ctx)
	if err != nil {
		return err
	}
	found := name == ""
	for _, org := range orgs {
		if err := i.first(ctx, org); err != nil {
			return err
		}
		people, err := i.config.Journal.People(ctx, org)
		if err != nil {
			return err
		}
		for _, p := range people {
			if name != "" && p.Name == name {
				found = true
				if err := i.show(ctx, "serve.invite", org, p); err != nil {
					return err
				}
			}
		}
	}
	if !found {
		return usage{fmt.Errorf("--invite: %q: want the name of somebody here, as it stands under People", name)}
	}
	return nil
}

func (i inviter) first(ctx context.Context, org journal.ID) error {
	with, err := i.store.Accounts(ctx, org)
	if err != nil || len(with) > 0 {
		return err
	}
	person, err := firstOfOffice(ctx, i.config.Journal, org)
	if err != nil {
		return err
	}
	return i.show(ctx, "serve.first_invite", org, person)
}

func (i inviter) show(ctx context.Context, key string, org journal.ID, p door.Person) error {
	secret, _, err := i.door.Desk().Invite(ctx, org, p.ID, accounts.ForAccount)
	if err != nil {
		return err
	}
	link := accounts.Link{Site: i.config.Site.String(), Sort: accounts.ForAccount, Secret: secret}
	if i.config.Fingerprint != nil {
		link.Fingerprint = i.config.Fingerprint()
	}
	wrapTo(i.stdout, "", i.say.Say(key, why.T("name", p.Name), why.T("org", org.String())))
	_, err = fmt.Fprintln(i.stdout, "  "+link.String())
	return err
}
