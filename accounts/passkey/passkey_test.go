package passkey_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/url"
	"strings"
	"testing"
	"time"

	"sapwell/accounts"
	"sapwell/accounts/passkey"
	"sapwell/internal/outside"
	"sapwell/internal/softkey"
	"sapwell/journal"
	"sapwell/store/mem"
)

// office is a server with two accounts.
type office struct {
	*passkey.Checker
	t      *testing.T
	keeper accounts.Keeper
	desk   *accounts.Desk
	now    time.Time
	a, b   string // accounts
}

func newOffice(t *testing.T) *office {
	t.Helper()
	o := &office{t: t, keeper: mem.New(), now: time.UnixMilli(1_900_000_000_000), a: strings.Repeat("a", 32), b: strings.Repeat("b", 32)}
	clock := func() time.Time { return o.now }
	o.desk = accounts.NewDesk(o.keeper, clock)
	for i, id := range []string{o.a, o.b} {
		if err := o.keeper.PutAccount(t.Context(), accounts.Account{ID: id, Login: id, Person: journal.ID{byte(i)}}); err != nil {
			t.Fatal(err)
		}
	}
	var err error
	if o.Checker, err = passkey.New(o.keeper, o.desk, clock, site("https://office.example")); err != nil {
		t.Fatal(err)
	}
	return o
}

func site(text string) *url.URL {
	u, err := url.Parse(text)
	if err != nil {
		panic(err)
	}
	return u
}

// add registers a passkey with an account.
func (o *office) add(account string, key *softkey.Key) error {
	o.t.Helper()
	options, handle, err := o.BeginAdd(o.t.Context(), account)
	if err != nil {
		return err
	}
	return o.Add(o.t.Context(), account, handle, " my\nphone ", key.Create(options))
}

// enter signs in.
func (o *office) enter(key *softkey.Key) (accounts.Session, error) {
	o.t.Helper()
	options, handle, err := o.BeginSignIn()
	if err != nil {
		o.t.Fatal(err)
	}
	token, s, err := o.SignIn(o.t.Context(), handle, key.Get(options))
	if err == nil {
		if again, err := o.desk.Session(o.t.Context(), token); err != nil || again.Account != s.Account {
			o.t.Errorf("the session of the token: %+v, %v", again, err)
		}
	}
	return s, err
}

func (o *office) wantRefused(err error, why string) {
	o.t.Helper()
	if !errors.Is(err, accounts.ErrRefused) {
		o.t.Errorf("%s: %v, want ErrRefused", why, err)
	}
}

func TestPasskey(t *testing.T) {
	o, key := newOffice(t), softkey.New(t)
	if err := o.add(o.a, key); err != nil {
		t.Fatal(err)
	}
	for range 2 {
		s, err := o.enter(key)
		if err != nil || s.Account != o.a || s.Device != (journal.Hash{}) {
			t.Fatalf("%+v, %v", s, err)
		}
	}
	list, err := o.List(t.Context(), o.a)
	if err != nil || len(list) != 1 || list[0].Name != "my phone" || list[0].Used == 0 {
		t.Errorf("%+v, %v", list, err)
	}
	if err := o.Drop(t.Context(), o.b, key.ID); !errors.Is(err, accounts.ErrNotFound) {
		t.Errorf("removed by another account: %v", err)
	}
	if err := o.Drop(t.Context(), o.a, key.ID); err != nil {
		t.Fatal(err)
	}
	_, err = o.enter(key)
	o.wantRefused(err, "a passkey that was removed")
	outside.Ran(t, "W3C Web Authentication level 3, section 7 (go-webauthn)", "an ES256 passkey made by hand from the standard registers and signs in")
}

// What the browser is asked: a key that stays on the device, a user who is
// verified, no attestation, 16 random bytes at least (section 13.4.3).
func TestWhatTheBrowserIsAsked(t *testing.T) {
	o := newOffice(t)
	options, _, err := o.BeginAdd(t.Context(), o.a)
	if err != nil {
		t.Fatal(err)
	}
	var asked struct {
		PublicKey struct {
			Challenge              string
			RP                     struct{ ID string }
			Attestation            string
			AuthenticatorSelection struct {
				ResidentKey, UserVerification string
				RequireResidentKey            bool
			}
		}
	}
	if err := json.Unmarshal(options, &asked); err != nil {
		t.Fatal(err)
	}
	p := asked.PublicKey
	if p.RP.ID != "office.example" || p.AuthenticatorSelection.ResidentKey != "required" || !p.AuthenticatorSelection.RequireResidentKey || p.AuthenticatorSelection.UserVerification != "required" || p.Attestation != "none" && p.Attestation != "" {
		t.Errorf("%s", options)
	}
	if len(p.Challenge) < 22 {
		t.Errorf("challenge %q is short", p.Challenge)
	}
}

func TestRegistrationsThatAreRefused(t *testing.T) {
	for why, bend := range map[string]func(*softkey.Key){
		"another site's page":     func(a *softkey.Key) { a.Origin = "https://evil.example" },
		"another site's key":      func(a *softkey.Key) { a.RPID = "evil.example" },
		"plain http":              func(a *softkey.Key) { a.Origin = "http://office.example" },
		"a user nobody verified":  func(a *softkey.Key) { a.Flags = softkey.UserPresent },
		"a user who is not there": func(a *softkey.Key) { a.Flags = softkey.UserVerified },
	} {
		o, key := newOffice(t), softkey.New(t)
		bend(key)
		o.wantRefused(o.add(o.a, key), why)
	}
	o, key := newOffice(t), softkey.New(t)
	options, handle, err := o.BeginAdd(t.Context(), o.a)
	if err != nil {
		t.Fatal(err)
	}
	o.wantRefused(o.Add(t.Context(), o.b, handle, "", key.Create(options)), "a ceremony of another account")
	o.wantRefused(o.Add(t.Context(), o.a, handle, "", key.Create(options)), "a ceremony that was used")
	_, handle, _ = o.BeginAdd(t.Context(), o.a)
	o.wantRefused(o.Add(t.Context(), o.a, handle, "", key.Create(options)), "an answer to another challenge")
	_, handle, _ = o.BeginAdd(t.Context(), o.a)
	o.wantRefused(o.Add(t.Context(), o.a, handle, "", []byte(`{"id":1}`)), "no answer at all")
	if err := o.add(o.a, key); err != nil {
		t.Fatal(err)
	}
	if err := o.add(o.b, key); !errors.Is(err, accounts.ErrExists) {
		t.Errorf("the same passkey for another account: %v", err)
	}
}

func TestSignInsThatAreRefused(t *testing.T) {
	for why, bend := range map[string]func(*office, *softkey.Key){
		"another site's page":        func(_ *office, a *softkey.Key) { a.Origin = "https://evil.example" },
		"another site's key":         func(_ *office, a *softkey.Key) { a.RPID = "evil.example" },
		"a user nobody verified":     func(_ *office, a *softkey.Key) { a.Flags = softkey.UserPresent },
		"another key":                func(_ *office, a *softkey.Key) { a.Secret = softkey.New(t).Secret },
		"another account's handle":   func(o *office, a *softkey.Key) { a.Handle = []byte(o.b) },
		"no handle":                  func(_ *office, a *softkey.Key) { a.Handle = nil },
		"a key that was not added":   func(_ *office, a *softkey.Key) { a.ID = []byte("sixteen bytes no") },
		"a counter that went back":   func(_ *office, a *softkey.Key) { a.Count = 0 },
		"an account that is shut":    func(o *office, _ *softkey.Key) { o.shut(o.a) },
		"a handle that is not there": func(_ *office, a *softkey.Key) { a.Handle = []byte("nobody") },
	} {
		o, key := newOffice(t), softkey.New(t)
		key.Count = 10
		if err := o.add(o.a, key); err != nil {
			t.Fatal(err)
		}
		if _, err := o.enter(key); err != nil {
			t.Fatal(err)
		}
		bend(o, key)
		_, err := o.enter(key)
		o.wantRefused(err, why)
	}
	o, key := newOffice(t), softkey.New(t)
	if err := o.add(o.a, key); err != nil {
		t.Fatal(err)
	}
	options, handle, _ := o.BeginSignIn()
	answer := key.Get(options)
	if _, _, err := o.SignIn(t.Context(), handle, answer); err != nil {
		t.Fatal(err)
	}
	_, _, err := o.SignIn(t.Context(), handle, answer)
	o.wantRefused(err, "an answer sent twice")
	_, handle, _ = o.BeginSignIn()
	_, _, err = o.SignIn(t.Context(), handle, answer)
	o.wantRefused(err, "an answer to an earlier challenge")
	_, _, err = o.SignIn(t.Context(), "", answer)
	o.wantRefused(err, "no ceremony")
	options, handle, _ = o.BeginSignIn()
	o.now = o.now.Add(5 * time.Minute)
	_, _, err = o.SignIn(t.Context(), handle, key.Get(options))
	o.wantRefused(err, "a ceremony begun five minutes ago")
}

func (o *office) shut(account string) {
	o.t.Helper()
	a, err := o.keeper.AccountByID(context.Background(), account)
	if err != nil {
		o.t.Fatal(err)
	}
	a.Disabled = true
	if err := o.keeper.PutAccount(context.Background(), a); err != nil {
		o.t.Fatal(err)
	}
}

// A passkey is bound to a host name (section 5.1.2, effective domain).
func TestOnlyWithAHostName(t *testing.T) {
	for text, ok := range map[string]bool{
		"https://office.example": true, "https://office.example:8443": true, "http://localhost:8080": true,
		"https://192.168.1.20": false, "https://[fd00::1]:8443": false, "http://127.0.0.1:8080": false, "http://office.example": false,
	} {
		if _, err := passkey.New(mem.New(), nil, time.Now, site(text)); (err == nil) != ok {
			t.Errorf("%s: %v", text, err)
		}
	}
}

func TestLimits(t *testing.T) {
	o := newOffice(t)
	for n := range 20 {
		if err := o.add(o.a, softkey.New(t)); err != nil {
			t.Fatal(n, err)
		}
	}
	if err := o.add(o.a, softkey.New(t)); !errors.Is(err, passkey.ErrTooMany) {
		t.Errorf("one too many: %v", err)
	}
	// Who begins and never ends pushes out those before, and no more are kept.
	key := softkey.New(t)
	if err := o.add(o.b, key); err != nil {
		t.Fatal(err)
	}
	options, handle, _ := o.BeginSignIn()
	for range 1000 {
		if _, _, err := o.BeginSignIn(); err != nil {
			t.Fatal(err)
		}
	}
	_, _, err := o.SignIn(t.Context(), handle, key.Get(options))
	o.wantRefused(err, "the first of 1,001")
}

// Whatever a browser sends is refused or taken, and nothing else happens.
func FuzzAnswer(f *testing.F) {
	f.Add([]byte(`{"id":"AA","rawId":"AA","type":"public-key","response":{"clientDataJSON":"e30","attestationObject":"oA","authenticatorData":"","signature":"","userHandle":""}}`))
	f.Add([]byte(`{}`))
	key := softkey.New(f)
	f.Add(key.Create([]byte(`{"publicKey":{"challenge":"AAAA","user":{"id":"YQ"}}}`)))
	f.Add(key.Get([]byte(`{"publicKey":{"challenge":"AAAA"}}`)))
	f.Fuzz(func(t *testing.T, answer []byte) {
		o := newOffice(t)
		_, handle, err := o.BeginSignIn()
		if err != nil {
			t.Fatal(err)
		}
		if _, _, err := o.SignIn(t.Context(), handle, answer); err == nil {
			t.Error("somebody came in")
		}
		_, handle, err = o.BeginAdd(t.Context(), o.a)
		if err != nil {
			t.Fatal(err)
		}
		if err := o.Add(t.Context(), o.a, handle, fmt.Sprint(len(answer)), answer); err == nil {
			t.Error("a key was added without its challenge")
		}
	})
}
