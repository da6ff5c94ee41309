package accounts_test

import (
	"context"
	"crypto/ed25519"
	"crypto/sha256"
	"crypto/x509"
	"encoding/hex"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"golang.org/x/crypto/argon2"

	"sapwell/accounts"
	"sapwell/internal/outside"
	"sapwell/journal"
	"sapwell/store/mem"
)

const (
	password = "rusty gate winds uphill"
	other    = "seven herons cross at dusk"
)

// clock is a clock that a test turns.
type clock struct{ now time.Time }

func (c *clock) tell() time.Time         { return c.now }
func (c *clock) wait(d time.Duration)    { c.now = c.now.Add(d) }
func newClock() *clock                   { return &clock{time.UnixMilli(1_900_000_000_000)} }
func id(t testing.TB, n byte) journal.ID { return newID(t, 1_800_000_000_000+int64(n), n) }

func newID(t testing.TB, ms int64, n byte) journal.ID {
	t.Helper()
	made, err := journal.NewID(journal.ID{}, ms, [10]byte{n})
	if err != nil {
		t.Fatal(err)
	}
	return made
}

// office is a desk with one account.
type office struct {
	*accounts.Desk
	keeper  accounts.Keeper
	clock   *clock
	account accounts.Account
	org     journal.ID
	person  journal.ID
}

func newOffice(t testing.TB) *office {
	t.Helper()
	o := &office{keeper: mem.New(), clock: newClock(), org: id(t, 1), person: id(t, 2)}
	o.Desk = accounts.NewCheapDesk(o.keeper, o.clock.tell)
	var err error
	if o.account, err = o.NewAccount(t.Context(), o.org, o.person, " M.Rivera ", password); err != nil {
		t.Fatal(err)
	}
	return o
}

func (o *office) signIn(t *testing.T) string {
	t.Helper()
	token, s, err := o.SignIn(t.Context(), "m.rivera", password)
	if err != nil || s.Org != o.org || s.Person != o.person || s.Account != o.account.ID || s.Device != (journal.Hash{}) {
		t.Fatalf("sign in: %+v, %v", s, err)
	}
	return token
}

func (o *office) wantOut(t *testing.T, token, why string) {
	t.Helper()
	if _, err := o.Session(t.Context(), token); !errors.Is(err, accounts.ErrRefused) {
		t.Errorf("%s: %v, want ErrRefused", why, err)
	}
}

func TestSignIn(t *testing.T) {
	o := newOffice(t)
	token := o.signIn(t)
	s, err := o.Session(t.Context(), token)
	if err != nil || s.Person != o.person {
		t.Fatalf("%+v, %v", s, err)
	}
	if o.signIn(t) == token {
		t.Error("the same token twice")
	}
	for _, c := range [][2]string{
		{"m.rivera", other}, {"m.rivera", ""}, {"m.rivera", password + " "},
		{"nobody.here", password}, {"", password}, {"no such name!", password}, {strings.Repeat("x", 10000), password},
	} {
		if _, _, err := o.SignIn(t.Context(), c[0], c[1]); !errors.Is(err, accounts.ErrRefused) {
			t.Errorf("%q %q: %v, want ErrRefused", c[0], c[1], err)
		}
	}
	o.account.Disabled = true
	if err := o.keeper.PutAccount(t.Context(), o.account); err != nil {
		t.Fatal(err)
	}
	if _, _, err := o.SignIn(t.Context(), "m.rivera", password); !errors.Is(err, accounts.ErrRefused) {
		t.Errorf("a disabled account: %v", err)
	}
	if _, _, err := o.Open(t.Context(), o.account.ID); !errors.Is(err, accounts.ErrRefused) {
		t.Errorf("a disabled account, opened: %v", err)
	}
}

// What is kept is never the token or the password themselves.
func TestNothingSecretIsKept(t *testing.T) {
	o := newOffice(t)
	token := o.signIn(t)
	hash, err := accounts.TokenHash(token)
	if err != nil {
		t.Fatal(err)
	}
	s, err := o.keeper.SessionByToken(t.Context(), hash)
	if err != nil || strings.Contains(hex.EncodeToString(s.Token[:]), hex.EncodeToString([]byte(token))) {
		t.Error("the session is not kept under the hash of its token")
	}
	if strings.Contains(o.account.Password, password) {
		t.Error("the password is kept")
	}
}

// An unknown name takes as long as a known one. The bound is wide because the
// machine is shared: without the work it would be a thousandfold.
func TestUnknownNamesTakeTheSameWork(t *testing.T) {
	o := newOffice(t)
	o.Desk = accounts.NewDesk(o.keeper, o.clock.tell)
	if _, err := o.NewAccount(t.Context(), o.org, o.person, "m.rivera", password); err != nil { // at today's cost
		t.Fatal(err)
	}
	least := map[string]time.Duration{}
	for range 3 {
		for _, login := range []string{"m.rivera", "nobody.here", "not a name!"} {
			start := time.Now()
			_, _, _ = o.SignIn(t.Context(), login, other)
			if took := time.Since(start); least[login] == 0 || took < least[login] {
				least[login] = took
			}
		}
	}
	for login, took := range least {
		if known := least["m.rivera"]; took < known/20 || took > known*20 {
			t.Errorf("%q took %v, a known name %v", login, took, known)
		}
	}
}

// A password kept at a lower cost still signs in, and is then kept at today's.
func TestOlderCostIsRaised(t *testing.T) {
	o := newOffice(t)
	o.Desk = accounts.NewDesk(o.keeper, o.clock.tell)
	// as golang.org/x/crypto/argon2 makes it at m=1024, t=1, p=1
	o.account.Password = "$argon2id$v=19$m=1024,t=1,p=1$c29tZXNhbHQ$" + rawBase64(argon2.IDKey([]byte(password), []byte("somesalt"), 1, 1024, 1, 32))
	if err := o.keeper.PutAccount(t.Context(), o.account); err != nil {
		t.Fatal(err)
	}
	if _, _, err := o.SignIn(t.Context(), "m.rivera", other); !errors.Is(err, accounts.ErrRefused) {
		t.Error("a wrong password was taken")
	}
	o.signIn(t)
	a, err := o.keeper.AccountByID(t.Context(), o.account.ID)
	if err != nil || !strings.Contains(a.Password, "$m=19456,t=2,p=1$") {
		t.Errorf("kept as %q, %v", a.Password, err)
	}
	o.signIn(t)
}

func TestSessionsEnd(t *testing.T) {
	o := newOffice(t)
	idle := o.signIn(t)
	o.clock.wait(12*time.Hour - time.Millisecond)
	if _, err := o.Session(t.Context(), idle); err != nil {
		t.Fatalf("just within 12 hours: %v", err)
	}
	o.clock.wait(12 * time.Hour)
	o.wantOut(t, idle, "idle for 12 hours")

	long := o.signIn(t)
	for range 29*2 + 1 {
		o.clock.wait(12*time.Hour - time.Minute)
		if _, err := o.Session(t.Context(), long); err != nil {
			t.Fatalf("seen every 12 hours: %v", err)
		}
	}
	o.clock.wait(12*time.Hour - time.Minute)
	if _, err := o.Session(t.Context(), long); err != nil {
		t.Fatal(err)
	}
	o.clock.wait(time.Hour)
	o.wantOut(t, long, "after 30 days")

	for _, bad := range []string{"", "x", strings.Repeat("A", 43), long + "=", long[:42] + "\n", long[:42] + "*"} {
		o.wantOut(t, bad, "no token")
	}
}

// What has ended is thrown away when somebody comes in; what holds is not.
func TestEndedSessionsAreThrownAway(t *testing.T) {
	o := newOffice(t)
	token := o.signIn(t)
	o.clock.wait(11 * time.Hour)
	later := o.signIn(t)
	o.clock.wait(2 * time.Hour)
	o.signIn(t)
	hash, _ := accounts.TokenHash(token)
	if _, err := o.keeper.SessionByToken(t.Context(), hash); !errors.Is(err, accounts.ErrNotFound) {
		t.Error("a session that ended is still kept")
	}
	if _, err := o.Session(t.Context(), later); err != nil {
		t.Error("a session that holds was thrown away")
	}
}

// meddling is a Keeper to which something happens between a look and a change.
type meddling struct {
	accounts.Keeper
	after map[string]func() // what was looked at; once
}

func (m *meddling) happens(what string) {
	if do := m.after[what]; do != nil {
		delete(m.after, what)
		do()
	}
}

func (m *meddling) SessionByToken(ctx context.Context, token journal.Hash) (accounts.Session, error) {
	s, err := m.Keeper.SessionByToken(ctx, token)
	m.happens("session")
	return s, err
}

func (m *meddling) AccountByLogin(ctx context.Context, login string) (accounts.Account, error) {
	a, err := m.Keeper.AccountByLogin(ctx, login)
	m.happens("account")
	return a, err
}

// A session that ends, or a password that is changed, in the very moment it is
// used stays ended and changed.
func TestNothingComesBack(t *testing.T) {
	o := newOffice(t)
	m := &meddling{o.keeper, map[string]func(){}}
	o.Desk = accounts.NewCheapDesk(m, o.clock.tell)
	token := o.signIn(t)
	o.clock.wait(2 * time.Minute) // so that being seen is noted
	m.after["session"] = func() { _ = o.SignOutEverywhere(t.Context(), o.person) }
	o.wantOut(t, token, "signed out while it was looked at")
	o.wantOut(t, token, "afterwards")

	m.after["account"] = func() {
		if _, err := o.NewAccount(t.Context(), o.org, o.person, "m.rivera", other); err != nil {
			t.Error(err)
		}
	}
	if _, _, err := o.SignIn(t.Context(), "m.rivera", password); !errors.Is(err, accounts.ErrRefused) {
		t.Errorf("with a password that was changed meanwhile: %v", err)
	}
	if _, _, err := o.SignIn(t.Context(), "m.rivera", other); err != nil {
		t.Errorf("the new password: %v", err)
	}
}

func TestSignOut(t *testing.T) {
	o := newOffice(t)
	a, b := o.signIn(t), o.signIn(t)
	if err := errors.Join(o.SignOut(t.Context(), a), o.SignOut(t.Context(), a), o.SignOut(t.Context(), "nonsense")); err != nil {
		t.Fatal(err)
	}
	o.wantOut(t, a, "signed out")
	if _, err := o.Session(t.Context(), b); err != nil {
		t.Errorf("the other session: %v", err)
	}
	if err := o.SignOutEverywhere(t.Context(), o.person); err != nil {
		t.Fatal(err)
	}
	o.wantOut(t, b, "signed out everywhere")
}

func TestPasswordIsChanged(t *testing.T) {
	o := newOffice(t)
	elsewhere := o.signIn(t)
	if _, _, err := o.SetPassword(t.Context(), o.account.ID, other, other); !errors.Is(err, accounts.ErrRefused) {
		t.Errorf("with a wrong present one: %v", err)
	}
	if _, _, err := o.SetPassword(t.Context(), o.account.ID, password, "short"); !errors.Is(err, accounts.ErrShort) {
		t.Errorf("with a short new one: %v", err)
	}
	if _, err := o.Session(t.Context(), elsewhere); err != nil {
		t.Errorf("a failed change ended a session: %v", err)
	}
	token, _, err := o.SetPassword(t.Context(), o.account.ID, password, other)
	if err != nil {
		t.Fatal(err)
	}
	o.wantOut(t, elsewhere, "after the password was changed")
	if _, err := o.Session(t.Context(), token); err != nil {
		t.Errorf("the new session: %v", err)
	}
	if _, _, err := o.SignIn(t.Context(), "m.rivera", password); !errors.Is(err, accounts.ErrRefused) {
		t.Errorf("the old password: %v", err)
	}
}

func TestNamesAreUnique(t *testing.T) {
	o := newOffice(t)
	if _, err := o.NewAccount(t.Context(), id(t, 7), id(t, 8), "M.RIVERA", other); !errors.Is(err, accounts.ErrExists) {
		t.Errorf("a name of another organisation: %v, want ErrExists", err)
	}
	for _, login := range []string{"", "x", "a b", "a\nb", "a/b", "a:b", strings.Repeat("x", 65), "x\xff"} {
		if _, err := o.NewAccount(t.Context(), o.org, id(t, 9), login, other); !errors.Is(err, accounts.ErrLogin) {
			t.Errorf("%q: %v, want ErrLogin", login, err)
		}
	}
	if _, err := o.NewAccount(t.Context(), o.org, id(t, 9), "José.Núñez@office", other); err != nil {
		t.Errorf("a name with accents: %v", err)
	}
}

func TestInvitedPerson(t *testing.T) {
	o := newOffice(t)
	ctx, newcomer := t.Context(), id(t, 3)
	secret, until, err := o.Invite(ctx, o.org, newcomer, accounts.ForAccount)
	if err != nil || until != o.clock.now.Add(72*time.Hour).UnixMilli() {
		t.Fatal(until, err)
	}
	if _, _, err := o.Join(ctx, secret, "m.rivera", other); !errors.Is(err, accounts.ErrExists) {
		t.Errorf("a name that is taken: %v", err)
	}
	if _, _, err := o.Join(ctx, secret, "l.okafor", "short"); !errors.Is(err, accounts.ErrShort) {
		t.Errorf("a short password: %v", err)
	}
	token, s, err := o.Join(ctx, secret, "l.okafor", other)
	if err != nil || s.Person != newcomer || s.Org != o.org {
		t.Fatal(s, err)
	}
	if _, _, err := o.Join(ctx, secret, "second", other); !errors.Is(err, accounts.ErrRefused) {
		t.Errorf("used twice: %v", err)
	}
	// Invited again, they get a new password for the account they have.
	secret, _, _ = o.Invite(ctx, o.org, newcomer, accounts.ForAccount)
	if _, _, err := o.Join(ctx, secret, "l.okafor", "nine wet stones in the creek"); err != nil {
		t.Fatal(err)
	}
	o.wantOut(t, token, "after a new password")
	if n, _ := o.keeper.CountAccounts(ctx); n != 2 {
		t.Errorf("%d accounts, want 2", n)
	}
	secret, _, _ = o.Invite(ctx, o.org, newcomer, accounts.ForAccount)
	o.clock.wait(72 * time.Hour)
	if _, _, err := o.Join(ctx, secret, "l.okafor", other); !errors.Is(err, accounts.ErrRefused) {
		t.Errorf("after 72 hours: %v", err)
	}
	if _, _, err := o.Invite(ctx, o.org, newcomer, "visitor"); err == nil {
		t.Error("an invite for nothing known was made")
	}
}

// phone is a device with its key.
func phone(seed byte) ed25519.PrivateKey {
	return ed25519.NewKeyFromSeed(append(make([]byte, 31), seed))
}

func enrolment(secret string, key ed25519.PrivateKey) accounts.Enrolment {
	public := key.Public().(ed25519.PublicKey)
	return accounts.Enrolment{Secret: secret, Key: public, Signature: ed25519.Sign(key, accounts.EnrolMessage(secret, public))}
}

func written(context.Context, accounts.Invite, journal.Hash) error { return nil }

func TestDeviceIsEnrolled(t *testing.T) {
	o := newOffice(t)
	ctx, key := t.Context(), phone(1)
	device := journal.Hash(sha256.Sum256(key.Public().(ed25519.PublicKey)))
	secret, until, err := o.Invite(ctx, o.org, o.person, accounts.ForDevice)
	if err != nil || until != o.clock.now.Add(15*time.Minute).UnixMilli() {
		t.Fatal(until, err)
	}
	broken := errors.New("no room")
	if _, _, err := o.Enrol(ctx, enrolment(secret, key), func(context.Context, accounts.Invite, journal.Hash) error { return broken }); !errors.Is(err, broken) {
		t.Fatalf("when it cannot be written: %v", err)
	}
	var wrote journal.Hash
	token, s, err := o.Enrol(ctx, enrolment(secret, key), func(_ context.Context, i accounts.Invite, d journal.Hash) error {
		wrote = d
		return nil
	})
	if err != nil || s.Device != device || wrote != device || s.Person != o.person {
		t.Fatalf("%+v, %x, %v", s, wrote, err)
	}
	o.clock.wait(3 * 365 * 24 * time.Hour)
	if _, err := o.Session(ctx, token); err != nil {
		t.Errorf("after three years: %v", err)
	}
	o.signIn(t) // what has ended is thrown away, the device's token is not
	if _, err := o.Session(ctx, token); err != nil {
		t.Errorf("after that: %v", err)
	}
	secret, _, _ = o.Invite(ctx, o.org, o.person, accounts.ForDevice)
	again, _, err := o.Enrol(ctx, enrolment(secret, key), written)
	if err != nil {
		t.Fatal(err)
	}
	o.wantOut(t, token, "the older token of a device that came again")
	if err := o.Revoke(ctx, device); err != nil {
		t.Fatal(err)
	}
	o.wantOut(t, again, "a revoked device")
	if err := o.Revoke(ctx, journal.Hash{}); err == nil {
		t.Error("the zero device was revoked: that would be everybody's browser")
	}
}

func TestEnrolmentsThatAreRefused(t *testing.T) {
	o := newOffice(t)
	ctx, key, stranger := t.Context(), phone(1), phone(2)
	refused := func(why string, e accounts.Enrolment) {
		t.Helper()
		write := func(context.Context, accounts.Invite, journal.Hash) error {
			t.Errorf("%s: it was written", why)
			return nil
		}
		if _, _, err := o.Enrol(ctx, e, write); !errors.Is(err, accounts.ErrRefused) {
			t.Errorf("%s: %v", why, err)
		}
	}
	secret, _, _ := o.Invite(ctx, o.org, o.person, accounts.ForDevice)
	second, _, _ := o.Invite(ctx, o.org, o.person, accounts.ForDevice)
	e := enrolment(secret, key)
	e.Key = stranger.Public().(ed25519.PublicKey)
	refused("the key of another", e)
	e = enrolment(second, key)
	e.Secret = secret
	refused("a proof for another invite", e)
	e = enrolment(secret, key)
	e.Key = e.Key[:31]
	refused("a short key", e)
	e = enrolment(secret, key)
	e.Signature = nil
	refused("no proof", e)
	nowhere, _ := accounts.NewToken()
	refused("an invite that is none", enrolment(nowhere, key))
	forAccount, _, _ := o.Invite(ctx, o.org, o.person, accounts.ForAccount)
	refused("an invite for an account", enrolment(forAccount, key))
	if _, _, err := o.Enrol(ctx, enrolment(secret, key), written); err != nil {
		t.Fatalf("after all that, the right one: %v", err)
	}
	refused("used twice", enrolment(secret, key))
	o.clock.wait(15 * time.Minute)
	refused("after 15 minutes", enrolment(second, key))
}

// Of many who come with one invite at the same time one gets in.
func TestInviteWorksOnce(t *testing.T) {
	o := newOffice(t)
	secret, _, _ := o.Invite(t.Context(), o.org, o.person, accounts.ForDevice)
	var in sync.Map
	var all sync.WaitGroup
	for n := range 20 {
		all.Go(func() {
			if _, _, err := o.Enrol(t.Context(), enrolment(secret, phone(byte(n))), written); err == nil {
				in.Store(n, true)
			}
		})
	}
	all.Wait()
	count := 0
	in.Range(func(any, any) bool { count++; return true })
	if count != 1 {
		t.Errorf("%d devices came in with one invite", count)
	}
}

// A proof can be made by anybody's program: openssl signs the message as the page
// gives it, and the device is let in.
func TestEnrolWithOpenSSL(t *testing.T) {
	tool := outside.Tool(t, "openssl")
	o := newOffice(t)
	key := phone(1)
	public := key.Public().(ed25519.PublicKey)
	secret, _, _ := o.Invite(t.Context(), o.org, o.person, accounts.ForDevice)
	der, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	keyFile, message := filepath.Join(dir, "key.der"), filepath.Join(dir, "message")
	text := "sapwell enrol 1\n" + secret + "\n" + hex.EncodeToString(public) + "\n"
	if err := errors.Join(os.WriteFile(keyFile, der, 0o600), os.WriteFile(message, []byte(text), 0o600)); err != nil {
		t.Fatal(err)
	}
	signature, err := exec.Command(tool, "pkeyutl", "-sign", "-rawin", "-inkey", keyFile, "-keyform", "DER", "-in", message).Output()
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := o.Enrol(t.Context(), accounts.Enrolment{Secret: secret, Key: public, Signature: signature}, written); err != nil {
		t.Errorf("signed by openssl: %v", err)
	}
	outside.Ran(t, "openssl pkeyutl (Ed25519, RFC 8032)", "its signature over the enrolment message lets a device in")
}

func TestTokens(t *testing.T) {
	token, hash := accounts.NewToken()
	raw := make([]byte, 32)
	n, err := rawURL.Decode(raw, []byte(token))
	if err != nil || n != 32 || journal.Hash(sha256.Sum256(raw)) != hash {
		t.Errorf("%q: %d bytes, %v", token, n, err)
	}
	if again, err := accounts.TokenHash(token); err != nil || again != hash {
		t.Errorf("%x, %v", again, err)
	}
	// The last character holds four bits; the two left over must be zero, so that
	// one token has one text.
	if _, err := accounts.TokenHash(strings.Repeat("A", 42) + "B"); err == nil {
		t.Error("a second text of a token was taken")
	}
	outside.Ran(t, "RFC 4648, section 5 and 3.5", "tokens are base64url of 32 bytes without padding, one text each")
}
