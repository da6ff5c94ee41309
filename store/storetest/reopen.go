package storetest

import (
	"bytes"
	"testing"

	"sapwell/accounts"
	"sapwell/journal"
	"sapwell/store"
)

// Reopen holds stores that outlive their closing against the promise: all is
// there when they are opened again. open makes an empty store; again opens the
// same one once it is closed.
func Reopen(t *testing.T, open func(t *testing.T) (s store.Store, again func(t *testing.T) store.Store)) {
	t.Run("All is there when the store is opened again", func(t *testing.T) {
		s, again := open(t)
		w := found(t, s, "one")
		keepsAll(t, w, func() {
			w.must(w.s.Close())
			w.s = again(t)
			l, err := w.s.Ledger(w.ctx, w.ID("firm"))
			w.must(err)
			w.l = l
		})
		w.must(w.s.Close())
	})
}

func keepsAll(t *testing.T, w *world, reopen func()) {
	w.take(grove)
	w.head()
	w.take(round)
	w.tell("stray: a note tree oak\nstray: b note tree oak")
	w.merge(w.Lines("a b"), w.notBy("stray", 1))
	other := found(t, w.s, "two")
	photo, err := w.l.PutBlob(w.ctx, []byte("photo"), 1)
	w.must(err)
	account := w.account("1", "ann")
	w.must(w.s.PutAccount(w.ctx, account))
	session := w.session(1, "boss", journal.Hash{}, 100)
	invite := accounts.Invite{Secret: journal.Hash{2}, Org: w.l.Org(), Person: w.ID("boss"), Sort: "account", Until: 9}
	w.must(w.s.PutInvite(w.ctx, invite))
	w.must(w.s.PutKey(w.ctx, accounts.Key{Org: w.l.Org(), Private: w.Signer("office")}))
	export, rows, head := w.export(), Rows(t, w.l), w.head()

	reopen()

	if orgs, err := w.s.Orgs(w.ctx); err != nil || len(orgs) != 2 {
		t.Errorf("organisations %v %v, want two", orgs, err)
	}
	if !bytes.HasPrefix(w.export(), export) || Rows(t, w.l) != rows {
		t.Error("journal or views are not what they were")
	}
	if h := w.head(); h.Root != head.Root || h.Size != head.Size || h.Time != head.Time {
		t.Errorf("head %+v, want %+v", h, head)
	}
	if names, whys := w.aside(); len(names) != 2 || names[0] != "a" || whys[0] != "revoked" || whys[1] != "after" {
		t.Errorf("aside %v for %v", names, whys)
	}
	if data, err := w.l.Blob(w.ctx, photo); err != nil || string(data) != "photo" {
		t.Errorf("blob %q %v", data, err)
	}
	if got, err := w.s.AccountByLogin(w.ctx, "ann"); err != nil || got != account {
		t.Errorf("account %+v %v", got, err)
	}
	if got, err := w.s.SessionByToken(w.ctx, session.Token); err != nil || got != session {
		t.Errorf("session %+v %v", got, err)
	}
	if got, err := w.s.TakeInvite(w.ctx, invite.Secret); err != nil || got != invite {
		t.Errorf("invite %+v %v", got, err)
	}
	if got, err := w.s.KeyOf(w.ctx, w.l.Org()); err != nil || !bytes.Equal(got.Private, w.Signer("office")) {
		t.Errorf("key: %v", err)
	}
	if e := w.write("office", "elm tree park"); e.Seq != w.Entry("bag").Seq+1 || e.Prev != w.Entry("bag").Hash() {
		t.Errorf("the office goes on with number %d, want it after the bag", e.Seq)
	}
	w.give("a b")
	Sound(t, w.l)
	if l, err := w.s.Ledger(w.ctx, other.l.Org()); err != nil {
		t.Error(err)
	} else {
		Sound(t, l)
	}
	reopen()
	Sound(t, w.l)
}
