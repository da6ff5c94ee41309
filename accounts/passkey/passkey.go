// Package passkey answers: does whoever is at the door hold the passkey of an
// account?
//
// It stands apart from package accounts because its library brings a web server's
// worth of code, which the phone must not carry.
package passkey

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/url"
	"strings"
	"unicode/utf8"

	"github.com/go-webauthn/webauthn/protocol"
	"github.com/go-webauthn/webauthn/webauthn"

	"sapwell/accounts"
)

// maxKeys is how many passkeys an account may have.
const maxKeys = 20

// ErrTooMany says that an account has as many passkeys as it may have.
var ErrTooMany = fmt.Errorf("there are %d passkeys already; remove one first", maxKeys)

// Checker holds the two ceremonies of passkeys (W3C Web Authentication, level 3,
// section 7): adding one to an account, and signing in with one. It is safe for
// use by many at once.
type Checker struct {
	keeper  accounts.Keeper
	desk    *accounts.Desk
	clock   accounts.Clock
	library *webauthn.WebAuthn
	begun   *begun
}

// New makes a Checker for the server that people reach at site. A passkey is
// bound to a host name, so an address in numbers is refused.
func New(k accounts.Keeper, desk *accounts.Desk, clock accounts.Clock, site *url.URL) (*Checker, error) {
	if err := accounts.CheckSite(site); err != nil {
		return nil, err
	}
	must := true
	library, err := webauthn.New(&webauthn.Config{
		RPID:                  site.Hostname(),
		RPDisplayName:         "Sapwell",
		RPOrigins:             []string{site.Scheme + "://" + site.Host},
		AttestationPreference: protocol.PreferNoAttestation,
		AuthenticatorSelection: protocol.AuthenticatorSelection{
			ResidentKey:        protocol.ResidentKeyRequirementRequired,
			RequireResidentKey: &must,
			UserVerification:   protocol.VerificationRequired,
		},
	})
	if err != nil {
		return nil, fmt.Errorf("passkeys at %s: want a host name: %w", site.Hostname(), err)
	}
	return &Checker{keeper: k, desk: desk, clock: clock, library: library, begun: newBegun(clock)}, nil
}

// BeginAdd begins adding a passkey to an account. options is what the browser is
// to be asked; handle names the ceremony and goes to that browser in a cookie.
func (c *Checker) BeginAdd(ctx context.Context, account string) (options []byte, handle string, err error) {
	u, err := c.holder(ctx, account)
	if err != nil {
		return nil, "", err
	}
	if len(u.keys) >= maxKeys {
		return nil, "", ErrTooMany
	}
	creation, session, err := c.library.BeginRegistration(u, webauthn.WithExclusions(webauthn.Credentials(u.keys).CredentialDescriptors()))
	if err != nil {
		return nil, "", fmt.Errorf("begin to add a passkey: %w", err)
	}
	options, err = json.Marshal(creation)
	return options, c.begun.put(*session), err
}

// Add ends it: answer is what the browser said.
func (c *Checker) Add(ctx context.Context, account, handle, name string, answer []byte) error {
	session, ok := c.begun.take(handle)
	if !ok || !bytes.Equal(session.UserID, []byte(account)) {
		return accounts.ErrRefused
	}
	u, err := c.holder(ctx, account)
	if err != nil {
		return err
	}
	parsed, err := protocol.ParseCredentialCreationResponseBytes(answer)
	if err != nil {
		return refused(err)
	}
	key, err := c.library.CreateCredential(u, session, parsed)
	if err != nil {
		return refused(err)
	}
	if _, err := c.keeper.PasskeyByID(ctx, key.ID); !errors.Is(err, accounts.ErrNotFound) {
		return errors.Join(accounts.ErrExists, err)
	}
	return c.keep(ctx, key, accounts.Passkey{ID: key.ID, Account: account, Name: cleanName(name), Made: c.clock().UnixMilli()})
}

// keep writes what the library wants to have next time.
func (c *Checker) keep(ctx context.Context, key *webauthn.Credential, p accounts.Passkey) error {
	data, err := json.Marshal(key)
	if err != nil {
		return fmt.Errorf("passkey: %w", err)
	}
	p.Data = data
	return c.keeper.PutPasskey(ctx, p)
}

// BeginSignIn begins a sign-in by whoever holds any passkey of this server; no
// name is asked, so none can be tried.
func (c *Checker) BeginSignIn() (options []byte, handle string, err error) {
	assertion, session, err := c.library.BeginDiscoverableLogin(webauthn.WithUserVerification(protocol.VerificationRequired))
	if err != nil {
		return nil, "", fmt.Errorf("begin to sign in with a passkey: %w", err)
	}
	options, err = json.Marshal(assertion)
	return options, c.begun.put(*session), err
}

// SignIn ends it and opens a session.
func (c *Checker) SignIn(ctx context.Context, handle string, answer []byte) (token string, s accounts.Session, err error) {
	session, ok := c.begun.take(handle)
	if !ok {
		return "", s, accounts.ErrRefused
	}
	parsed, err := protocol.ParseCredentialRequestResponseBytes(answer)
	if err != nil {
		return "", s, refused(err)
	}
	found := func(_, account []byte) (webauthn.User, error) { return c.holder(ctx, string(account)) }
	u, key, err := c.library.ValidatePasskeyLogin(found, session, parsed)
	if err != nil {
		return "", s, refused(err)
	}
	if key.Authenticator.CloneWarning { // its counter went back: there are two of it
		return "", s, accounts.ErrRefused
	}
	p, err := c.keeper.PasskeyByID(ctx, key.ID)
	if err != nil {
		return "", s, err
	}
	p.Used = c.clock().UnixMilli()
	if err := c.keep(ctx, key, p); err != nil {
		return "", s, err
	}
	return c.desk.Open(ctx, u.(holder).account.ID)
}

// Drop removes a passkey of an account.
func (c *Checker) Drop(ctx context.Context, account string, id []byte) error {
	p, err := c.keeper.PasskeyByID(ctx, id)
	if err != nil {
		return err
	}
	if p.Account != account {
		return accounts.ErrNotFound
	}
	return c.keeper.DropPasskey(ctx, id)
}

// List is the passkeys of an account.
func (c *Checker) List(ctx context.Context, account string) ([]accounts.Passkey, error) {
	return c.keeper.Passkeys(ctx, account)
}

// holder is an account as the library wants to see it.
type holder struct {
	account accounts.Account
	keys    []webauthn.Credential
}

// WebAuthnID is random and says nothing of the person.
func (h holder) WebAuthnID() []byte { return []byte(h.account.ID) }

// WebAuthnName is what the browser shows beside the passkey.
func (h holder) WebAuthnName() string { return h.account.Login }

// WebAuthnDisplayName is the same.
func (h holder) WebAuthnDisplayName() string { return h.account.Login }

// WebAuthnCredentials are the keys that are kept.
func (h holder) WebAuthnCredentials() []webauthn.Credential { return h.keys }

func (c *Checker) holder(ctx context.Context, account string) (holder, error) {
	a, err := c.keeper.AccountByID(ctx, account)
	if err != nil {
		return holder{}, err
	}
	kept, err := c.keeper.Passkeys(ctx, account)
	if err != nil {
		return holder{}, err
	}
	h := holder{account: a}
	for _, p := range kept {
		var key webauthn.Credential
		if err := json.Unmarshal(p.Data, &key); err != nil {
			return holder{}, fmt.Errorf("passkey %x: %w", p.ID, err)
		}
		h.keys = append(h.keys, key)
	}
	return h, nil
}

// refused keeps what the library said for the log, and is ErrRefused to all.
func refused(err error) error { return fmt.Errorf("%w: %w", accounts.ErrRefused, err) }

// cleanName makes a name that can be shown.
func cleanName(name string) string {
	name = strings.Join(strings.Fields(strings.ToValidUTF8(name, "")), " ")
	for utf8.RuneCountInString(name) > 60 {
		_, n := utf8.DecodeLastRuneInString(name)
		name = name[:len(name)-n]
	}
	return name
}
