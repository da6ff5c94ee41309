// Package accounts answers: who is at the door, and may they come in?
//
// It holds what must not stand in a journal: password hashes, passkeys, tokens,
// sessions, the office's signing keys. Who a person is and what they may do stands
// in the journal (entries.Person); an account only ties a way of signing in to it.
package accounts

import (
	"context"
	"crypto/ed25519"
	"errors"
	"fmt"
	"time"

	"sapwell/journal"
)

// Errors of a Keeper, told apart with errors.Is.
var (
	ErrNotFound = errors.New("not found")
	ErrExists   = errors.New("there already")
)

// Account ties a sign-in name to a person of an organisation.
type Account struct {
	ID       string // random
	Org      journal.ID
	Person   journal.ID
	Login    string // lower case, unique in the whole store
	Password string // argon2id in PHC form; "" where none is set
	Disabled bool
	Made     int64 // ms since 1970
}

// Passkey is a public key of an account.
type Passkey struct {
	ID      []byte // credential id
	Account string
	Name    string
	Data    []byte // what the checker of passkeys keeps, as JSON
	Made    int64
	Used    int64
}

// Session is somebody signed in, or a device. Only the SHA-256 of its token is
// kept.
type Session struct {
	Token   journal.Hash // SHA-256 of the token
	Org     journal.ID
	Person  journal.ID
	Account string       // "" for a device
	Device  journal.Hash // zero for a browser
	Made    int64
	Until   int64
	Seen    int64
}

// Invite lets one device or one person in, once. Only the SHA-256 of its secret
// is kept.
type Invite struct {
	Secret journal.Hash
	Org    journal.ID
	Person journal.ID
	Sort   string // "device" or "account"
	Until  int64
}

// Key is the office's own signing key of an organisation.
type Key struct {
	Org     journal.ID
	Private []byte // ed25519.PrivateKey
}

// Keeper keeps accounts. Where nothing is found the error is ErrNotFound, where a
// name is taken ErrExists.
type Keeper interface {
	PutAccount(ctx context.Context, a Account) error // by ID: makes or replaces
	AccountByLogin(ctx context.Context, login string) (Account, error)
	AccountByID(ctx context.Context, id string) (Account, error)
	Accounts(ctx context.Context, org journal.ID) ([]Account, error)
	CountAccounts(ctx context.Context) (int, error)

	PutPasskey(ctx context.Context, p Passkey) error
	Passkeys(ctx context.Context, account string) ([]Passkey, error)
	PasskeyByID(ctx context.Context, id []byte) (Passkey, error)
	DropPasskey(ctx context.Context, id []byte) error

	PutSession(ctx context.Context, s Session) error
	SessionByToken(ctx context.Context, token journal.Hash) (Session, error)
	DropSession(ctx context.Context, token journal.Hash) error
	DropSessionsOf(ctx context.Context, person journal.ID, device journal.Hash) error // of a person, or of a device where it is not zero
	DropSessionsBefore(ctx context.Context, until int64) error

	PutInvite(ctx context.Context, i Invite) error
	// TakeInvite returns the invite and removes it, in one step.
	TakeInvite(ctx context.Context, secret journal.Hash) (Invite, error)

	PutKey(ctx context.Context, k Key) error
	KeyOf(ctx context.Context, org journal.ID) (Key, error)
}

// Clock tells the time; tests bring their own.
type Clock func() time.Time

// EnrolMessage is what a device signs to show that it holds the private key of
// the public key it brings. The secret, drawn for this one occasion, is the
// challenge.
func EnrolMessage(secret string, key ed25519.PublicKey) []byte {
	return fmt.Appendf(nil, "sapwell enrol 1\n%s\n%x\n", secret, []byte(key))
}
