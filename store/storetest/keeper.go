package storetest

import (
	"bytes"
	"errors"
	"reflect"
	"slices"
	"sync"
	"sync/atomic"
	"testing"

	"sapwell/accounts"
	"sapwell/journal"
)

// account is somebody of this organisation who can sign in.
func (w *world) account(id, login string) accounts.Account {
	return accounts.Account{ID: id, Org: w.l.Org(), Person: w.ID("boss"), Login: login, Password: "$argon2id$v=19$m=19456,t=2,p=1$c2FsdA$aGFzaA", Made: w.Now()}
}

func (w *world) missing(what string, err error) {
	w.Helper()
	if !errors.Is(err, accounts.ErrNotFound) {
		w.Errorf("%s: error %v, want ErrNotFound", what, err)
	}
}

var keeperChecks = []check{
	{"Accounts", keepsAccounts},
	{"Passkeys", keepsPasskeys},
	{"Sessions", keepsSessions},
	{"Sessions of a person, of a device and of long ago are dropped", dropsSessions},
	{"An invite is taken once", keepsInvites},
	{"Keys", func(t *testing.T, w *world) {
		_, err := w.s.KeyOf(w.ctx, w.l.Org())
		w.missing("no key", err)
		k := accounts.Key{Org: w.l.Org(), Private: bytes.Clone(w.Signer("office"))}
		w.must(w.s.PutKey(w.ctx, k))
		k.Private[0] ^= 1
		got, err := w.s.KeyOf(w.ctx, w.l.Org())
		if err != nil || got.Org != w.l.Org() || !bytes.Equal(got.Private, w.Signer("office")) {
			t.Errorf("another key than was put, %v", err)
		}
	}},
}

func keepsAccounts(t *testing.T, w *world) {
	for what, find := range map[string]func() error{
		"by login": func() error { _, err := w.s.AccountByLogin(w.ctx, "ann"); return err },
		"by id":    func() error { _, err := w.s.AccountByID(w.ctx, "1"); return err },
	} {
		w.missing(what, find())
	}
	ann, bob := w.account("1", "ann"), w.account("2", "bob")
	w.must(w.s.PutAccount(w.ctx, ann))
	w.must(w.s.PutAccount(w.ctx, bob))
	taken := w.account("3", "ann")
	if err := w.s.PutAccount(w.ctx, taken); !errors.Is(err, accounts.ErrExists) {
		t.Errorf("a login that is taken: %v, want ErrExists", err)
	}
	ann.Login, ann.Disabled, ann.Password = "anna", true, ""
	w.must(w.s.PutAccount(w.ctx, ann))
	w.must(w.s.PutAccount(w.ctx, taken)) // now it is free
	if got, err := w.s.AccountByLogin(w.ctx, "anna"); err != nil || got != ann {
		t.Errorf("by login: %+v %v, want %+v", got, err, ann)
	}
	if got, err := w.s.AccountByID(w.ctx, "1"); err != nil || got != ann {
		t.Errorf("by id: %+v %v, want %+v", got, err, ann)
	}
	all, err := w.s.Accounts(w.ctx, w.l.Org())
	slices.SortFunc(all, func(a, b accounts.Account) int { return bytes.Compare([]byte(a.ID), []byte(b.ID)) })
	if err != nil || !slices.Equal(all, []accounts.Account{ann, bob, taken}) {
		t.Errorf("accounts %+v %v", all, err)
	}
	if n, err := w.s.CountAccounts(w.ctx); n != 3 || err != nil {
		t.Errorf("%d accounts %v, want 3", n, err)
	}
}

func keepsPasskeys(t *testing.T, w *world) {
	w.must(w.s.PutAccount(w.ctx, w.account("1", "ann")))
	w.must(w.s.PutAccount(w.ctx, w.account("2", "bob")))
	a := accounts.Passkey{ID: []byte{0, 1, 255}, Account: "1", Name: "phone", Data: []byte(`{"n":1}`), Made: 5}
	b := accounts.Passkey{ID: []byte{0, 2}, Account: "1", Name: "key", Data: []byte(`{}`), Made: 6}
	_, err := w.s.PasskeyByID(w.ctx, a.ID)
	w.missing("passkey", err)
	w.must(w.s.PutPasskey(w.ctx, a))
	w.must(w.s.PutPasskey(w.ctx, b))
	a.Used, a.Data = 9, []byte(`{"n":2}`)
	w.must(w.s.PutPasskey(w.ctx, a))
	got, err := w.s.PasskeyByID(w.ctx, a.ID)
	if err != nil || !reflect.DeepEqual(got, a) {
		t.Errorf("passkey %+v %v, want %+v", got, err, a)
	}
	all, err := w.s.Passkeys(w.ctx, "1")
	slices.SortFunc(all, func(a, b accounts.Passkey) int { return bytes.Compare(a.ID, b.ID) })
	if err != nil || !reflect.DeepEqual(all, []accounts.Passkey{a, b}) {
		t.Errorf("passkeys %+v %v", all, err)
	}
	if all, err := w.s.Passkeys(w.ctx, "2"); len(all) > 0 || err != nil {
		t.Errorf("passkeys of another account: %+v %v", all, err)
	}
	w.must(w.s.DropPasskey(w.ctx, a.ID))
	_, err = w.s.PasskeyByID(w.ctx, a.ID)
	w.missing("a dropped passkey", err)
}

func (w *world) session(token byte, person string, device journal.Hash, until int64) accounts.Session {
	w.Helper()
	s := accounts.Session{Token: journal.Hash{token}, Org: w.l.Org(), Person: w.ID(person), Device: device, Made: 1, Until: until, Seen: 2}
	if device == (journal.Hash{}) {
		s.Account = "1"
	}
	w.must(w.s.PutSession(w.ctx, s))
	return s
}

func keepsSessions(t *testing.T, w *world) {
	w.must(w.s.PutAccount(w.ctx, w.account("1", "ann")))
	_, err := w.s.SessionByToken(w.ctx, journal.Hash{1})
	w.missing("session", err)
	s := w.session(1, "boss", journal.Hash{}, 100)
	s.Seen, s.Until = 50, 150
	w.must(w.s.PutSession(w.ctx, s))
	if got, err := w.s.SessionByToken(w.ctx, s.Token); err != nil || got != s {
		t.Errorf("session %+v %v, want %+v", got, err, s)
	}
	w.session(2, "boss", w.Device("phone"), 100)
	w.must(w.s.DropSession(w.ctx, s.Token))
	_, err = w.s.SessionByToken(w.ctx, s.Token)
	w.missing("a dropped session", err)
	if _, err := w.s.SessionByToken(w.ctx, journal.Hash{2}); err != nil {
		t.Errorf("the other session: %v", err)
	}
}

func dropsSessions(t *testing.T, w *world) {
	w.take("office: ann person applicator")
	w.must(w.s.PutAccount(w.ctx, w.account("1", "ann")))
	begin := func() {
		w.session(1, "ann", journal.Hash{}, 100)
		w.session(2, "ann", w.Device("phone"), 200)
		w.session(3, "boss", w.Device("phone"), 300)
		w.session(4, "boss", w.Device("desk"), 400)
	}
	left := func(what string, want ...byte) {
		t.Helper()
		for token := byte(1); token <= 4; token++ {
			_, err := w.s.SessionByToken(w.ctx, journal.Hash{token})
			if (err == nil) != slices.Contains(want, token) {
				t.Errorf("%s: session %d: %v, want left %v", what, token, err, want)
			}
		}
	}
	begin()
	w.must(w.s.DropSessionsOf(w.ctx, w.ID("ann"), journal.Hash{}))
	left("of a person", 3, 4)
	begin()
	w.must(w.s.DropSessionsOf(w.ctx, journal.ID{}, w.Device("phone")))
	left("of a device", 1, 4)
	begin()
	w.must(w.s.DropSessionsBefore(w.ctx, 300))
	left("of before 300", 3, 4)
}

func keepsInvites(t *testing.T, w *world) {
	i := accounts.Invite{Secret: journal.Hash{1}, Org: w.l.Org(), Person: w.ID("boss"), Sort: "device", Until: 9}
	_, err := w.s.TakeInvite(w.ctx, i.Secret)
	w.missing("invite", err)
	for range 5 {
		w.must(w.s.PutInvite(w.ctx, i))
		var taken atomic.Int32
		var all sync.WaitGroup
		for range 8 {
			all.Go(func() {
				switch got, err := w.s.TakeInvite(w.ctx, i.Secret); {
				case err == nil && got == i:
					taken.Add(1)
				case !errors.Is(err, accounts.ErrNotFound):
					t.Errorf("invite %+v %v", got, err)
				}
			})
		}
		all.Wait()
		if n := taken.Load(); n != 1 {
			t.Fatalf("the invite was taken %d times", n)
		}
	}
}
