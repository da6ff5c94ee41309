//go:build !js

package accounts

import (
	"context"
	"crypto/ed25519"
	"crypto/sha256"
	"errors"
	"fmt"

	"sapwell/journal"
)

// Invite makes an invite for a device or an account of a person and returns its
// secret, which is shown once and kept nowhere.
func (d *Desk) Invite(ctx context.Context, org, person journal.ID, sort string) (secret string, until int64, err error) {
	lasts := AccountInvite
	switch sort {
	case ForAccount:
	case ForDevice:
		lasts = DeviceInvite
	default:
		return "", 0, fmt.Errorf("sort of invite %q, want %q or %q", sort, ForDevice, ForAccount)
	}
	secret, hash := NewToken()
	until = d.now() + lasts.Milliseconds()
	return secret, until, d.keeper.PutInvite(ctx, Invite{Secret: hash, Org: org, Person: person, Sort: sort, Until: until})
}

// take uses an invite up, whether or not it is still good.
func (d *Desk) take(ctx context.Context, secret, sort string) (Invite, error) {
	hash, err := TokenHash(secret)
	if err != nil {
		return Invite{}, ErrRefused
	}
	i, err := d.keeper.TakeInvite(ctx, hash)
	switch {
	case errors.Is(err, ErrNotFound):
		return Invite{}, ErrRefused
	case err != nil:
		return Invite{}, err
	case i.Sort != sort || d.now() >= i.Until:
		return Invite{}, ErrRefused
	}
	return i, nil
}

// giveBack makes an invite good again when what it was taken for went wrong for
// no fault of whoever holds it.
func (d *Desk) giveBack(ctx context.Context, i Invite, because error) error {
	return errors.Join(because, d.keeper.PutInvite(context.WithoutCancel(ctx), i))
}

// Join turns an invite into an account and signs in. A name or password that is
// not taken leaves the invite as it was.
func (d *Desk) Join(ctx context.Context, secret, login, password string) (token string, s Session, err error) {
	i, err := d.take(ctx, secret, ForAccount)
	if err != nil {
		return "", Session{}, err
	}
	a, err := d.NewAccount(ctx, i.Org, i.Person, login, password)
	if err != nil {
		return "", Session{}, d.giveBack(ctx, i, err)
	}
	return d.Open(ctx, a.ID)
}

// Enrolment is what a device brings with an invite.
type Enrolment struct {
	Secret    string
	Key       ed25519.PublicKey
	Signature []byte // over EnrolMessage
}

// Enrol lets a device in. write is asked to write down that it is; it must not
// mind being asked again for a device that stands there already. If it fails the
// invite stays good. A device has one token: an older one ends.
func (d *Desk) Enrol(ctx context.Context, e Enrolment, write func(context.Context, Invite, journal.Hash) error) (token string, s Session, err error) {
	if len(e.Key) != ed25519.PublicKeySize || !ed25519.Verify(e.Key, EnrolMessage(e.Secret, e.Key), e.Signature) {
		return "", Session{}, ErrRefused
	}
	i, err := d.take(ctx, e.Secret, ForDevice)
	if err != nil {
		return "", Session{}, err
	}
	device := journal.Hash(sha256.Sum256(e.Key))
	if err := write(ctx, i, device); err != nil {
		return "", Session{}, d.giveBack(ctx, i, err)
	}
	if err := d.Revoke(ctx, device); err != nil {
		return "", Session{}, d.giveBack(ctx, i, err)
	}
	token, hash := NewToken()
	now := d.now()
	s = Session{Token: hash, Org: i.Org, Person: i.Person, Device: device, Made: now, Until: untilRevoked, Seen: now}
	if err := d.keeper.PutSession(ctx, s); err != nil {
		return "", Session{}, d.giveBack(ctx, i, err)
	}
	return token, s, nil
}
