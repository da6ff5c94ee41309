package accounts

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"errors"
	"fmt"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"sapwell/journal"
)

// How long things last. A device's token lasts until it is revoked.
const (
	IdleSession   = 12 * time.Hour
	LongSession   = 30 * 24 * time.Hour
	DeviceInvite  = 15 * time.Minute
	AccountInvite = 72 * time.Hour

	untilRevoked = 1<<48 - 1 // ms since 1970: the last moment a journal can name
	seenEvery    = int64(time.Minute / time.Millisecond)
)

// What an Invite is for.
const (
	ForDevice  = "device"
	ForAccount = "account"
)

// Errors of a Desk. ErrRefused is all that is told to somebody at the door: not
// whether the name, the password, the token or the invite was wrong.
var (
	ErrRefused = errors.New("name and password do not match, or this is no longer good")
	ErrLogin   = errors.New("sign-in name: want 2 to 64 letters, digits or . _ - + @, such as m.rivera")
)

// Desk lets people and devices in. It is safe for use by many at once.
type Desk struct {
	keeper  Keeper
	clock   Clock
	kitchen *kitchen
}

// NewDesk makes a desk over what is kept.
func NewDesk(k Keeper, clock Clock) *Desk {
	return &Desk{keeper: k, clock: clock, kitchen: newKitchen(today)}
}

func (d *Desk) now() int64 { return d.clock().UnixMilli() }

// CleanLogin brings a sign-in name into the form in which it is kept.
func CleanLogin(login string) (string, error) {
	login = strings.ToLower(normal(strings.TrimSpace(login)))
	n := utf8.RuneCountInString(login)
	odd := strings.ContainsFunc(login, func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r) && !unicode.IsMark(r) && !strings.ContainsRune("._-+@", r)
	})
	if n < 2 || n > 64 || odd || !utf8.ValidString(login) {
		return "", ErrLogin
	}
	return login, nil
}

// NewAccount gives a person a name and password to sign in with; if they have
// an account already, that one gets them.
func (d *Desk) NewAccount(ctx context.Context, org, person journal.ID, login, password string) (Account, error) {
	a, err := d.accountOf(ctx, org, person)
	if err != nil {
		return Account{}, err
	}
	return a, d.give(ctx, &a, login, password)
}

// accountOf is the account that a person has, or a new one that is not kept yet.
func (d *Desk) accountOf(ctx context.Context, org, person journal.ID) (Account, error) {
	all, err := d.keeper.Accounts(ctx, org)
	if err != nil {
		return Account{}, err
	}
	for _, a := range all {
		if a.Person == person {
			return a, nil
		}
	}
	id := make([]byte, 16)
	rand.Read(id) // never fails: crypto/rand ends the program instead
	return Account{ID: hex.EncodeToString(id), Org: org, Person: person, Made: d.now()}, nil
}

// SetPassword changes the password of an account whose present one is known. It
// ends all that was open for its person, devices too, and opens a new session.
func (d *Desk) SetPassword(ctx context.Context, account, old, password string) (token string, s Session, err error) {
	a, err := d.keeper.AccountByID(ctx, account)
	if err != nil {
		return "", Session{}, err
	}
	right, _, err := d.kitchen.verify(ctx, a.Password, old)
	if err != nil {
		return "", Session{}, err
	}
	if !right || a.Disabled {
		return "", Session{}, ErrRefused
	}
	if err := d.give(ctx, &a, a.Login, password); err != nil {
		return "", Session{}, err
	}
	return d.open(ctx, a)
}

// give puts a name and a new password on an account and ends all that was open
// for its person.
func (d *Desk) give(ctx context.Context, a *Account, login, password string) error {
	login, err := CleanLogin(login)
	if err != nil {
		return err
	}
	if err := CheckPassword(password, login); err != nil {
		return err
	}
	kept, err := d.kitchen.hash(ctx, password)
	if err != nil {
		return err
	}
	a.Login, a.Password, a.Disabled = login, kept, false
	if err := d.keeper.PutAccount(ctx, *a); err != nil {
		return err
	}
	return d.SignOutEverywhere(ctx, a.Person)
}

// SignIn checks name and password and opens a session. Whatever is wrong, it
// takes the work of one password and says ErrRefused.
func (d *Desk) SignIn(ctx context.Context, login, password string) (token string, s Session, err error) {
	a, err := d.byLogin(ctx, login)
	if err != nil {
		return "", Session{}, err
	}
	right, stale, err := d.kitchen.verify(ctx, a.Password, password)
	switch {
	case err != nil:
		return "", Session{}, err
	case !right || a.Disabled:
		return "", Session{}, ErrRefused
	case stale:
		if a.Password, err = d.kitchen.hash(ctx, password); err != nil {
			return "", Session{}, err
		}
		if err := d.keeper.PutAccount(ctx, a); err != nil {
			return "", Session{}, err
		}
	}
	return d.open(ctx, a)
}

// byLogin is the account of that name, or an empty one.
func (d *Desk) byLogin(ctx context.Context, login string) (Account, error) {
	clean, err := CleanLogin(login)
	if err != nil {
		return Account{}, nil
	}
	a, err := d.keeper.AccountByLogin(ctx, clean)
	if errors.Is(err, ErrNotFound) {
		return Account{}, nil
	}
	return a, err
}

// Open begins a session of an account whose holder was checked otherwise.
func (d *Desk) Open(ctx context.Context, account string) (token string, s Session, err error) {
	a, err := d.keeper.AccountByID(ctx, account)
	if errors.Is(err, ErrNotFound) || err == nil && a.Disabled {
		err = ErrRefused
	}
	if err != nil {
		return "", Session{}, err
	}
	return d.open(ctx, a)
}

// open begins a session of an account in a browser.
func (d *Desk) open(ctx context.Context, a Account) (string, Session, error) {
	now := d.now()
	token, hash := NewToken()
	s := Session{Token: hash, Org: a.Org, Person: a.Person, Account: a.ID, Made: now, Seen: now}
	s.Until = until(s)
	return token, s, d.keeper.PutSession(ctx, s)
}

// until is when a session ends if nobody is seen again.
func until(s Session) int64 {
	if s.Account == "" {
		return untilRevoked
	}
	return min(s.Seen+IdleSession.Milliseconds(), s.Made+LongSession.Milliseconds())
}

// Session is whose token this is, if it is still good: else ErrRefused. It notes
// that they were seen.
func (d *Desk) Session(ctx context.Context, token string) (Session, error) {
	hash, err := TokenHash(token)
	if err != nil {
		return Session{}, ErrRefused
	}
	s, err := d.keeper.SessionByToken(ctx, hash)
	if errors.Is(err, ErrNotFound) {
		return Session{}, ErrRefused
	}
	if err != nil {
		return Session{}, err
	}
	now := d.now()
	if now >= s.Until {
		return Session{}, errors.Join(ErrRefused, d.keeper.DropSession(ctx, hash))
	}
	if now-s.Seen < seenEvery {
		return s, nil
	}
	s.Seen = now
	s.Until = until(s)
	return s, d.keeper.PutSession(ctx, s)
}

// SignOut ends the session with this token, if there is one.
func (d *Desk) SignOut(ctx context.Context, token string) error {
	hash, err := TokenHash(token)
	if err != nil {
		return nil
	}
	return ignoreMissing(d.keeper.DropSession(ctx, hash))
}

// SignOutEverywhere ends all that is open for a person, their devices too.
func (d *Desk) SignOutEverywhere(ctx context.Context, person journal.ID) error {
	return ignoreMissing(d.keeper.DropSessionsOf(ctx, person, journal.Hash{}))
}

// Revoke ends the token of a device.
func (d *Desk) Revoke(ctx context.Context, device journal.Hash) error {
	if device == (journal.Hash{}) {
		return fmt.Errorf("device: want its hash, not zero")
	}
	return ignoreMissing(d.keeper.DropSessionsOf(ctx, journal.ID{}, device))
}

// Sweep throws away sessions that have ended.
func (d *Desk) Sweep(ctx context.Context) error { return d.keeper.DropSessionsBefore(ctx, d.now()) }

func ignoreMissing(err error) error {
	if errors.Is(err, ErrNotFound) {
		return nil
	}
	return err
}
