package storetest

import (
	"bytes"
	"errors"
	"slices"
	"testing"

	"sapwell/internal/history"
	"sapwell/journal"
	"sapwell/store"
)

var foundChecks = []check{
	{"Found begins an organisation", func(t *testing.T, w *world) {
		orgs, err := w.s.Orgs(w.ctx)
		w.must(err)
		if !slices.Equal(orgs, []journal.ID{w.ID("firm")}) || w.l.Org() != w.ID("firm") {
			t.Errorf("organisations %v, want the one", orgs)
		}
		if n := w.size(); n != 3 {
			t.Errorf("size %d, want 3", n)
		}
		w.read(func(r store.Reader) {
			e, ok, err := r.Tip(w.Device("office"))
			if err != nil || !ok || w.Name(e.Hash()) != "desk" {
				t.Errorf("tip %v %v %v, want desk", w.Name(e.Hash()), ok, err)
			}
		})
		Sound(t, w.l)
	}},
	{"Found twice is refused", func(t *testing.T, w *world) {
		before := w.export()
		if _, err := w.s.Found(w.ctx, w.Lines("firm boss desk"), w.Now()); !errors.Is(err, store.ErrExists) {
			t.Errorf("error %v, want ErrExists", err)
		}
		if !bytes.Equal(w.export(), before) {
			t.Error("the second founding changed the first")
		}
	}},
	{"Found takes only a sound journal of an organisation", foundRefuses},
	{"Orgs lists by id, Ledger finds each", func(t *testing.T, w *world) {
		var want []journal.ID
		for _, seed := range []string{"two", "three", "four"} {
			want = append(want, found(t, w.s, seed).l.Org())
		}
		want = append(want, w.l.Org())
		slices.SortFunc(want, func(a, b journal.ID) int { return bytes.Compare(a[:], b[:]) })
		orgs, err := w.s.Orgs(w.ctx)
		if err != nil || !slices.Equal(orgs, want) {
			t.Errorf("organisations %v %v, want %v", orgs, err, want)
		}
		for _, id := range want {
			l, err := w.s.Ledger(w.ctx, id)
			if err != nil || l.Org() != id {
				t.Errorf("ledger of %s: %v", id, err)
			}
		}
		if _, err := w.s.Ledger(w.ctx, w.ID("boss")); !errors.Is(err, store.ErrNotFound) {
			t.Errorf("ledger of nobody: %v, want ErrNotFound", err)
		}
	}},
	{"Check finds nothing wrong, and says what it looked at", func(t *testing.T, w *world) {
		w.take(grove)
		findings := w.s.Check(w.ctx)
		if len(findings) == 0 {
			t.Error("nothing was looked at")
		}
		for _, f := range findings {
			if f.What == "" || f.Err != nil {
				t.Errorf("%q: %v", f.What, f.Err)
			}
		}
		if text, err := w.s.Describe(w.ctx); err != nil || text == "" {
			t.Errorf("describe: %q %v", text, err)
		}
	}},
}

func foundRefuses(t *testing.T, w *world) {
	h := history.New("other")
	if err := h.Tell(founding + "office: firm2 again firm name=renamed\nother: x org"); err != nil {
		t.Fatal(err)
	}
	for name, lines := range map[string][][]byte{
		"nothing":                   nil,
		"another kind first":        h.Lines("boss firm desk"),
		"facts of one that is old":  h.Lines("firm2"),
		"an entry without its prev": h.Lines("firm desk"),
		"a forged signature":        {h.Entry("firm").Line, forge(h.Entry("boss"))},
		"no JSON":                   {h.Entry("firm").Line, []byte("{")},
		"a line twice":              h.Lines("firm boss boss"),
	} {
		if _, err := w.s.Found(w.ctx, lines, w.Now()); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
	orgs, err := w.s.Orgs(w.ctx)
	if err != nil || len(orgs) != 1 {
		t.Errorf("organisations %v %v, want the one from before", orgs, err)
	}
	if _, err := w.s.Ledger(w.ctx, h.ID("firm")); !errors.Is(err, store.ErrNotFound) {
		t.Errorf("ledger of what was refused: %v", err)
	}
	if _, err := w.s.Found(w.ctx, h.Lines("firm boss desk"), w.Now()); err != nil {
		t.Errorf("founded at last: %v", err)
	}
}
