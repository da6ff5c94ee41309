package storetest

import (
	"bytes"
	"errors"
	"slices"
	"strings"
	"testing"

	"sapwell/accounts"
	"sapwell/journal"
	"sapwell/store"
	"sapwell/views"
)

// apartChecks try to reach from one organisation what belongs to another, with
// every id, hash, cursor and offer of the other.
var apartChecks = []check{
	{"Nothing of another organisation can be read", func(t *testing.T, w *world) {
		other := neighbour(t, w)
		theirs, own := w.allRows(), Rows(t, other.l)
		other.read(func(r store.Reader) { seesNothing(t, r, w, theirs, own) })
		_, err := other.l.Write(w.ctx, other.Signer("office"), 1, func(r store.Reader) ([]journal.Draft, error) {
			seesNothing(t, r, w, theirs, own)
			return nil, nil
		})
		w.must(err)
		other.tell("office: yew grounds")
		other.merge(other.Lines("yew"), func(r store.Reader, _ journal.Entry) (string, error) {
			seesNothing(t, r, w, theirs, own)
			return "", nil
		})
	}},
	{"Nothing of another organisation is synced, proved or exported", func(t *testing.T, w *world) {
		other := neighbour(t, w)
		offer, err := w.l.Offer(w.ctx)
		w.must(err)
		lines, _, err := other.l.Missing(w.ctx, offer, 1<<30)
		if err != nil || int64(len(lines)) != other.size() {
			t.Errorf("%d lines missing %v, want all %d of its own", len(lines), err, other.size())
		}
		own, err := other.l.Offer(w.ctx)
		w.must(err)
		export := string(other.export())
		aside, err := other.l.Aside(w.ctx)
		if err != nil || len(aside) > 0 {
			t.Errorf("%d aside, %v; want none", len(aside), err)
		}
		for _, name := range w.Names() {
			e := w.Entry(name)
			if _, err := other.l.Proof(w.ctx, e.ID, 0); !errors.Is(err, store.ErrNotFound) {
				t.Errorf("proof of %s: %v", name, err)
			}
			if strings.Contains(export, e.ID.String()) || strings.Contains(export, e.Hash().String()) || slices.ContainsFunc(own, func(k journal.Known) bool { return k.Hash == e.Hash() }) {
				t.Errorf("%s is in the export or the offer", name)
			}
		}
		if size := other.head().Size; size != 4 {
			t.Errorf("head of size %d, want 4", size)
		}
		if changed, size, err := other.l.Changed(w.ctx, 0, 1000); err != nil || size != 4 || len(changed) != 4 {
			t.Errorf("changed %v, size %d, %v", changed, size, err)
		}
	}},
	{"Blobs, accounts and keys are of one organisation", func(t *testing.T, w *world) {
		other := neighbour(t, w)
		sum, err := w.l.PutBlob(w.ctx, []byte("photo"), 1)
		w.must(err)
		if _, err := other.l.Blob(w.ctx, sum); !errors.Is(err, store.ErrNotFound) {
			t.Errorf("blob: %v", err)
		}
		if all, err := other.l.Blobs(w.ctx); err != nil || len(all) > 0 {
			t.Errorf("blobs %v %v", all, err)
		}
		w.must(w.s.PutAccount(w.ctx, w.account("1", "ann")))
		if all, err := w.s.Accounts(w.ctx, other.l.Org()); err != nil || len(all) > 0 {
			t.Errorf("accounts %v %v", all, err)
		}
		if err := w.s.PutAccount(w.ctx, other.account("2", "ann")); !errors.Is(err, accounts.ErrExists) {
			t.Errorf("a login of another organisation: %v, want ErrExists", err)
		}
		w.must(w.s.PutKey(w.ctx, accounts.Key{Org: w.l.Org(), Private: w.Signer("office")}))
		_, err = w.s.KeyOf(w.ctx, other.l.Org())
		w.missing("key", err)
	}},
	{"The same entries in two organisations are two", func(t *testing.T, w *world) {
		other := neighbour(t, w)
		before, head := w.export(), w.head()
		var all [][]byte
		for _, name := range w.Names() {
			all = append(all, w.Entry(name).Line)
		}
		if m := other.merge(all, nil); len(m.Added) != len(all) || m.Known != 0 || m.Size != int64(len(all))+4 {
			t.Errorf("added %d, known %d, size %d; want all", len(m.Added), m.Known, m.Size)
		}
		other.write("phone", "more note tree oak2")
		if got := w.head(); got.Root != head.Root || got.Size != head.Size {
			t.Error("the head of the first changed")
		}
		if after := w.export(); !bytes.HasPrefix(after, []byte(joined(entryLines(before)))) || len(entryLines(after)) != len(entryLines(before)) {
			t.Error("the export of the first changed")
		}
		Sound(t, w.l)
		Sound(t, other.l)
	}},
	{"What is aside in one organisation is not in another", func(t *testing.T, w *world) {
		other := neighbour(t, w)
		w.tell("phone: a note tree oak\nphone: b note tree oak")
		w.merge(w.Lines("a"), w.notBy("phone", 1))
		if m := other.merge(w.Lines("b"), nil); len(m.Refused) != 1 || len(m.Aside) > 0 {
			t.Errorf("what follows it is %+v in the other, want refused", m)
		}
		if m := other.merge(w.Lines("a b"), nil); len(m.Added) != 2 {
			t.Errorf("added %v, refused %v", m.Added, m.Refused)
		}
		if names, _ := w.aside(); !slices.Equal(names, []string{"a"}) {
			t.Errorf("aside in the first: %v", names)
		}
	}},
}

// neighbour is a second organisation with one tree less grounds than the first,
// which has a grove and has done a round.
func neighbour(t *testing.T, w *world) *world {
	t.Helper()
	w.take(grove + round)
	other := found(t, w.s, "two")
	other.take("office: oak2 grounds")
	return other
}

func (w *world) allRows() []views.Row {
	w.Helper()
	var all []views.Row
	w.read(func(r store.Reader) {
		for _, kind := range kinds {
			rows, err := r.List(kind, "", "", "", 1000)
			w.must(err)
			all = append(all, rows...)
		}
	})
	return all
}

// seesNothing asks a reader for all that there is in another organisation.
func seesNothing(t *testing.T, r store.Reader, w *world, theirs []views.Row, own string) {
	t.Helper()
	for _, name := range w.Names() {
		e := w.Entry(name)
		if _, ok, err := r.Entry(e.ID); ok || err != nil {
			t.Errorf("entry %s: %v %v", name, ok, err)
		}
	}
	if _, ok, err := r.Tip(w.Device("office")); ok || err != nil {
		t.Errorf("tip: %v %v", ok, err)
	}
	for _, row := range theirs {
		if _, ok, err := r.View(row.Subject); ok || err != nil {
			t.Errorf("view of %v: %v %v", row.Subject, ok, err)
		}
		if told, err := r.Entries(row.Subject); len(told) > 0 || err != nil {
			t.Errorf("entries on %v: %d %v", row.Subject, len(told), err)
		}
		for _, from := range []string{"", row.Key} {
			got, err := r.List(row.Subject.Kind, from, "", row.Subject.ID, 1000)
			w.must(err)
			for _, g := range got {
				if !strings.Contains(own, rowText(g)) {
					t.Errorf("list from %q after %s: %s", from, row.Subject.ID, rowText(g))
				}
			}
		}
	}
}
