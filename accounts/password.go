//go:build !js

package accounts

import (
	"context"
	"crypto/rand"
	"crypto/subtle"
	"errors"
	"strings"
	"unicode/utf8"

	"golang.org/x/crypto/argon2"
	"golang.org/x/text/unicode/norm"
)

// MinPassword is the least number of characters of a password. NIST SP
// 800-63B-4, section 3.1.1.2, asks for 15 where a password is all that is asked.
const MinPassword = 15

// maxPassword is in bytes. It is far above the 64 characters that the standard
// wants to be allowed, and keeps what is hashed small.
const maxPassword = 1024

// Why a new password is not taken.
var (
	ErrShort   = errors.New("password: fewer than 15 characters; four unrelated words are easy to keep")
	ErrLong    = errors.New("password: more than 1024 bytes")
	ErrCommon  = errors.New("password: made of words and rows of keys that everybody tries first")
	ErrNotText = errors.New("password: not sound UTF-8 text")
)

// ErrBusy says that too many passwords are being checked just now.
var ErrBusy = errors.New("too many passwords are being checked; try again shortly")

// At most hashSlots passwords are hashed at once, each taking 19 MiB and a core
// for a tenth of a second; as many as hashQueue may wait for it.
const (
	hashSlots = 2
	hashQueue = 32
)

// kitchen hashes passwords, few at once.
type kitchen struct {
	cost  cost
	slots chan struct{} // being hashed
	queue chan struct{} // being hashed or waiting
}

func newKitchen(c cost) *kitchen {
	return &kitchen{cost: c, slots: make(chan struct{}, hashSlots), queue: make(chan struct{}, hashSlots+hashQueue)}
}

// stretch is argon2id, when there is room for it.
func (k *kitchen) stretch(ctx context.Context, password string, salt []byte, c cost, size uint32) ([]byte, error) {
	select {
	case k.queue <- struct{}{}:
		defer func() { <-k.queue }()
	default:
		return nil, ErrBusy
	}
	select {
	case k.slots <- struct{}{}:
		defer func() { <-k.slots }()
	case <-ctx.Done():
		return nil, ctx.Err()
	}
	return argon2.IDKey([]byte(normal(password)), salt, c.passes, c.memory, c.lanes, size), nil
}

// hash makes what is kept of a password.
func (k *kitchen) hash(ctx context.Context, password string) (string, error) {
	salt := make([]byte, 16)
	rand.Read(salt) // never fails: crypto/rand ends the program instead
	sum, err := k.stretch(ctx, password, salt, k.cost, 32)
	if err != nil {
		return "", err
	}
	return phc{cost: k.cost, salt: salt, sum: sum}.String(), nil
}

// verify tells whether the password is the one that was kept, and whether it
// should be kept anew because the cost has been raised since. An empty kept
// string takes the same work and is never right.
func (k *kitchen) verify(ctx context.Context, kept, password string) (right, stale bool, err error) {
	p := phc{cost: k.cost, salt: make([]byte, 16), sum: make([]byte, 32)}
	if kept != "" {
		if p, err = parsePHC(kept); err != nil {
			return false, false, err
		}
	}
	if len(password) > maxPassword {
		password = ""
	}
	sum, err := k.stretch(ctx, password, p.salt, p.cost, uint32(len(p.sum)))
	if err != nil {
		return false, false, err
	}
	right = subtle.ConstantTimeCompare(sum, p.sum) == 1 && kept != "" && password != ""
	return right, right && p.cost != k.cost, nil
}

// normal gives the same bytes for the same characters however they were typed
// (NIST SP 800-63B, section 5.1.1.2: NFKC or NFKD, before hashing).
func normal(password string) string { return norm.NFKC.String(password) }

// CheckPassword says whether a new password is taken, by the rules of NIST SP
// 800-63B: length, and not what everybody tries; no rule on what kinds of
// characters must be in it. about are words that are near at hand, such as the
// sign-in name.
func CheckPassword(password string, about ...string) error {
	switch {
	case len(password) > maxPassword:
		return ErrLong
	case !utf8.ValidString(password):
		return ErrNotText
	case utf8.RuneCountInString(normal(password)) < MinPassword:
		return ErrShort
	case uncommon(strings.ToLower(normal(password)), about) < minUncommon:
		return ErrCommon
	}
	return nil
}
