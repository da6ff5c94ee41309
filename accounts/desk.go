//go:build !js

package accounts

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"errors"
	"fmt"
	"strings"
	"sync"
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
	sweepEvery   = int64(time.Hour / time.Millisecond)
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

	// changes lets nobody change accounts or sessions between a look at them and
	// what follows from it: else a session that was just ended could come back, or
	// an old password open one more.
	changes sync.Mutex
	swept   int64 // when ended sessions were last thrown away; ms since 1970
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
// an account already, that one gets them. All that was open for them ends.
func (d *Desk) NewAccount(ctx context.Context, org, person journal.ID, login, password string) (Account, error) {
	login, kept, err := d.prepare(ctx, login, password)
	if err != nil {
		return Account{}, err
	}
	d.changes.Lock()
	defer d.changes.Unlock()
	a, err := d.accountOf(ctx, org, person)
	if err != nil {
		return Account{}, err
	}
	a.Login, a.Password, a.Disabled = login, kept, false
	return a, d.settle(ctx, a)
}

// prepare checks a name and a new password and gives what is kept of them.
func (d *Desk) prepare(ctx context.Context, login, password string) (clean, kept string, err error) {
	if clean, err = CleanLogin(login); err != nil {
		return "", "", err
	}
	if err = CheckPassword(password, clean); err != nil {
		return "", "", err
	}
	kept, err = d.kitchen.hash(ctx, password)
	return clean, kept, err
}

// settle keeps a changed account and ends all that is open for its person.
func (d *Desk) settle(ctx context.Context, a Account) error {
	if err := d.keeper.PutAccount(ctx, a); err != nil {
		return err
	}
	return ignoreMissing(d.keeper.DropSessionsOf(ctx, a.Person, journal.Hash{}))
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
	if !right {
		return "", Session{}, ErrRefused
	}
	_, kept, err := d.prepare(ctx, a.Login, password)
	if err != nil {
		return "", Session{}, err
	}
	d.changes.Lock()
	defer d.changes.Unlock()
	if err := d.unchanged(ctx, a); err != nil {
		return "", Session{}, err
	}
	a.Password = kept
	if err := d.settle(ctx, a); err != nil {
		return "", Session{}, err
	}
	return d.open(ctx, a)
}

// unchanged is ErrRefused if an account was shut, or its password changed, since
// it was looked at.
func (d *Desk) unchanged(ctx context.Context, a Account) error {
	now, err := d.keeper.AccountByID(ctx, a.ID)
	if errors.Is(err, ErrNotFound) || err == nil && (now.Disabled || now.Password != a.Password) {
		return ErrRefused
	}
	return err
}

// SignIn checks name and password and opens a session. Whatever is wrong, it
// takes the work of one password and says ErrRefused.
func (d *Desk) SignIn(ctx context.Context, login, password string) (token string, s Session, err error) {
	a, err := d.byLogin(ctx, login)
	if err != nil {
		return "", Session{}, err
	}
	right, stale, err := d.kitchen.verify(ctx, a.Password, password)
	if err != nil {
		return "", Session{}, err
	}
	if !right {
		return "", Session{}, ErrRefused
	}
	dearer := a
	if stale {
		if dearer.Password, err = d.kitchen.hash(ctx, password); err != nil {
			return "", Session{}, err
		}
	}
	d.changes.Lock()
	defer d.changes.Unlock()
	if err := d.unchanged(ctx, a); err != nil {
		return "", Session{}, err
	}
	if stale {
		if err := d.keeper.PutAccount(ctx, dearer); err != nil {
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
	d.changes.Lock()
	defer d.changes.Unlock()
	a, err := d.keeper.AccountByID(ctx, account)
	if errors.Is(err, ErrNotFound) || err == nil && a.Disabled {
		err = ErrRefused
	}
	if err != nil {
		return "", Session{}, err
	}
	return d.open(ctx, a)
}

// open begins a session of an account in a browser; now and then it throws away
// those that have ended.
func (d *Desk) open(ctx context.Context, a Account) (string, Session, error) {
	now := d.now()
	if now-d.swept >= sweepEvery {
		if err := d.keeper.DropSessionsBefore(ctx, now); err != nil {
			return "", Session{}, err
		}
		d.swept = now
	}
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
	s, err := d.good(ctx, hash)
	if err != nil || d.now()-s.Seen < seenEvery {
		return s, err
	}
	d.changes.Lock()
	defer d.changes.Unlock()
	if s, err = d.good(ctx, hash); err != nil { // ended meanwhile
		return Session{}, err
	}
	s.Seen = d.now()
	s.Until = until(s)
	return s, d.keeper.PutSession(ctx, s)
}

// good is a session that has not ended.
func (d *Desk) good(ctx context.Context, hash journal.Hash) (Session, error) {
	s, err := d.keeper.SessionByToken(ctx, hash)
	if errors.Is(err, ErrNotFound) || err == nil && d.now() >= s.Until {
		return Session{}, ErrRefused
	}
	return s, err
}

// SignOut ends the session with this token, if there is one.
func (d *Desk) SignOut(ctx context.Context, token string) error {
	hash, err := TokenHash(token)
	if err != nil {
		return nil
	}
	d.changes.Lock()
	defer d.changes.Unlock()
	return ignoreMissing(d.keeper.DropSession(ctx, hash))
}

// SignOutEverywhere ends all that is open for a person, their devices too.
func (d *Desk) SignOutEverywhere(ctx context.Context, person journal.ID) error {
	d.changes.Lock()
	defer d.changes.Unlock()
	return ignoreMissing(d.keeper.DropSessionsOf(ctx, person, journal.Hash{}))
}

// Revoke ends the token of a device.
func (d *Desk) Revoke(ctx context.Context, device journal.Hash) error {
	if device == (journal.Hash{}) {
		return fmt.Errorf("device: want its hash, not zero")
	}
	d.changes.Lock()
	defer d.changes.Unlock()
	return ignoreMissing(d.keeper.DropSessionsOf(ctx, journal.ID{}, device))
}

func ignoreMissing(err error) error {
	if errors.Is(err, ErrNotFound) {
		return nil
	}
	return err
}
