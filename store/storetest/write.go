package storetest

import (
	"bytes"
	"crypto"
	"crypto/rand"
	"crypto/rsa"
	"errors"
	"io"
	"slices"
	"strings"
	"testing"

	"sapwell/entries"
	"sapwell/journal"
	"sapwell/store"
	"sapwell/views"
)

var writeChecks = []check{
	{"Write goes on from the tip and is in the views at return", func(t *testing.T, w *world) {
		first := w.write("office", "park grounds")
		second := w.write("office", "oak tree park")
		if first.Seq != 4 || second.Seq != 5 || second.Prev != first.Hash() || first.Prev != w.Entry("desk").Hash() {
			t.Errorf("numbers %d and %d, want 4 and 5, in one chain", first.Seq, second.Seq)
		}
		w.read(func(r store.Reader) {
			row, ok, err := r.View(entries.Subject{Kind: entries.OfTree, ID: w.ID("oak").String()})
			if err != nil || !ok {
				t.Fatalf("the tree is not there: %v", err)
			}
			st, err := views.Read(row)
			if tree, is := st.(*views.Tree); err != nil || !is || tree.Facts.Tag != "oak" {
				t.Errorf("view %+v %v", st, err)
			}
		})
		if n := w.size(); n != 5 {
			t.Errorf("size %d, want 5", n)
		}
		Sound(t, w.l)
	}},
	{"Write lets decide look at the present", func(t *testing.T, w *world) {
		w.write("office", "park grounds")
		d, err := w.Draft("office", "oak tree park")
		w.must(err)
		written, err := w.l.Write(w.ctx, w.Signer("office"), w.Now(), func(r store.Reader) ([]journal.Draft, error) {
			rows, err := r.List(entries.OfGrounds, "", "", "", 9)
			w.must(err)
			e, ok, err := r.Entry(w.ID("park"))
			w.must(err)
			told, err := r.Entries(entries.Subject{Kind: entries.OfGrounds, ID: w.ID("park").String()})
			w.must(err)
			tip, _, err := r.Tip(w.Device("office"))
			if err != nil || len(rows) != 1 || !ok || len(told) != 1 || e.Hash() != told[0].Hash() || tip.Hash() != e.Hash() {
				t.Errorf("%d rows, entry %v, %d entries, tip %d, %v", len(rows), ok, len(told), tip.Seq, err)
			}
			return []journal.Draft{d}, nil
		})
		if err != nil || len(written) != 1 || written[0].ID != w.ID("oak") {
			t.Errorf("written %v %v", written, err)
		}
	}},
	{"Write of several keeps their order; of none writes none", func(t *testing.T, w *world) {
		var drafts []journal.Draft
		for _, what := range []string{"park grounds", "oak tree park", "elm tree park"} {
			d, err := w.Draft("office", what)
			w.must(err)
			drafts = append(drafts, d)
		}
		all := func(store.Reader) ([]journal.Draft, error) { return drafts, nil }
		none := func(store.Reader) ([]journal.Draft, error) { return nil, nil }
		written, err := w.l.Write(w.ctx, w.Signer("office"), w.Now(), all)
		w.must(err)
		for i, e := range written {
			if e.ID != drafts[i].ID || e.Seq != int64(4+i) {
				t.Errorf("entry %d has number %d", i, e.Seq)
			}
		}
		if written, err := w.l.Write(w.ctx, w.Signer("office"), w.Now(), none); err != nil || len(written) != 0 || w.size() != 6 {
			t.Errorf("nothing to write: %v %v, size %d", written, err, w.size())
		}
		Sound(t, w.l)
	}},
	{"Write begins the chain of a new device", func(t *testing.T, w *world) {
		if e := w.write("phone", "park grounds"); e.Seq != 1 || e.Device != w.Device("phone") || len(e.Key) == 0 {
			t.Errorf("number %d", e.Seq)
		}
		Sound(t, w.l)
	}},
	{"Write writes nothing where decide fails", writesNothing},
	{"Write writes nothing where one draft cannot be", writesNoHalf},
	{"Write demands a right signature by an Ed25519 key", writesSigned},
	{"Write is not stuck by a decide that panics", func(t *testing.T, w *world) {
		before := w.export()
		func() {
			defer func() { _ = recover() }()
			_, _ = w.l.Write(w.ctx, w.Signer("office"), w.Now(), func(store.Reader) ([]journal.Draft, error) { panic("slip") })
		}()
		if !bytes.Equal(w.export(), before) {
			t.Error("something was written")
		}
		w.write("office", "park grounds")
		Sound(t, w.l)
	}},
}

func writesNothing(t *testing.T, w *world) {
	before := w.export()
	refusal := errors.New("not as things stand")
	d, err := w.Draft("office", "park grounds")
	w.must(err)
	_, err = w.l.Write(w.ctx, w.Signer("office"), w.Now(), func(store.Reader) ([]journal.Draft, error) {
		return []journal.Draft{d}, refusal
	})
	if !errors.Is(err, refusal) {
		t.Errorf("error %v, want decide's own", err)
	}
	if !bytes.Equal(w.export(), before) {
		t.Error("something was written")
	}
	w.write("office", "elm grounds")
	Sound(t, w.l)
}

func writesNoHalf(t *testing.T, w *world) {
	before := w.export()
	good, err := w.Draft("office", "park grounds")
	w.must(err)
	for name, bad := range map[string]journal.Draft{
		"a kind too long":     {ID: w.ID("boss"), Kind: strings.Repeat("k", 65), Body: []byte("{}")},
		"no kind":             {ID: w.ID("boss"), Body: []byte("{}")},
		"a body of no object": {ID: w.ID("boss"), Kind: "note", Body: []byte("[]")},
		"a fraction":          {ID: w.ID("boss"), Kind: "note", Body: []byte(`{"n":1.5}`)},
		"a time before 1970":  {ID: w.ID("boss"), Kind: "note", Body: []byte("{}"), Time: -1},
		"no id":               {Kind: "note", Body: []byte("{}")},
	} {
		_, err := w.l.Write(w.ctx, w.Signer("office"), w.Now(), func(store.Reader) ([]journal.Draft, error) {
			return []journal.Draft{good, bad}, nil
		})
		if err == nil || !bytes.Equal(w.export(), before) {
			t.Errorf("%s: error %v, or half of it was written", name, err)
		}
	}
	w.write("office", "elm grounds")
	Sound(t, w.l)
}

// forger signs with another key than it shows.
type forger struct{ shown, used crypto.Signer }

func (f forger) Public() crypto.PublicKey { return f.shown.Public() }
func (f forger) Sign(r io.Reader, message []byte, o crypto.SignerOpts) ([]byte, error) {
	return f.used.Sign(r, message, o)
}

func writesSigned(t *testing.T, w *world) {
	before := w.export()
	d, err := w.Draft("office", "park grounds")
	w.must(err)
	rsaKey, err := rsa.GenerateKey(rand.Reader, 2048)
	w.must(err)
	for _, signer := range []crypto.Signer{rsaKey, forger{w.Signer("office"), w.Signer("phone")}} {
		_, err := w.l.Write(w.ctx, signer, w.Now(), func(store.Reader) ([]journal.Draft, error) {
			return []journal.Draft{d}, nil
		})
		if err == nil || !bytes.Equal(w.export(), before) {
			t.Errorf("%T: error %v, or it was written", signer, err)
		}
	}
	if e := w.write("office", "elm grounds"); e.Seq != 4 {
		t.Errorf("number %d after it, want 4", e.Seq)
	}
	names := []string{"firm", "boss", "desk"}
	w.read(func(r store.Reader) {
		for _, name := range names {
			if e, ok, err := r.Entry(w.ID(name)); err != nil || !ok || !slices.Equal(e.Line, w.Entry(name).Line) {
				t.Errorf("%s: %v %v", name, ok, err)
			}
		}
	})
}
