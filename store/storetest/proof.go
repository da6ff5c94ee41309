package storetest

import (
	"bytes"
	"errors"
	"testing"

	"sapwell/journal"
	"sapwell/store"
)

var proofChecks = []check{
	{"Head is signed, kept, and new when something came in", func(t *testing.T, w *world) {
		w.take(grove)
		first, err := w.l.Head(w.ctx, w.Signer("office"), w.Now())
		w.must(err)
		again, err := w.l.Head(w.ctx, w.Signer("office"), w.Now()+1000)
		if err != nil || !bytes.Equal(first, again) {
			t.Errorf("nothing came in, and the head is another: %v", err)
		}
		if h := w.head(); h.Size != w.size() || h.Time != w.Now() {
			t.Errorf("head of size %d at %d, want %d at %d", h.Size, h.Time, w.size(), w.Now())
		}
		w.take("office: elm tree park")
		if h := w.head(); h.Size != w.size() {
			t.Errorf("head of size %d, want %d", h.Size, w.size())
		}
		if export := w.export(); !bytes.Contains(export, append(first, '\n')) {
			t.Error("the first head is not kept")
		}
		Sound(t, w.l)
	}},
	{"Every entry is proved under the head", func(t *testing.T, w *world) {
		w.take(grove + round)
		h := w.head()
		seen := make(map[int64]bool)
		for _, name := range w.Names() {
			for _, size := range []int64{0, h.Size} {
				p, err := w.l.Proof(w.ctx, w.ID(name), size)
				w.must(err)
				w.proves(p, name, h)
				seen[p.N] = true
			}
		}
		if int64(len(seen)) != h.Size {
			t.Errorf("%d numbers of receipts, want %d", len(seen), h.Size)
		}
	}},
	{"Heads of different sizes are consistent", func(t *testing.T, w *world) {
		heads := []journal.TreeHead{w.head()}
		for _, part := range []string{"office: park grounds", "office: oak tree park\noffice: elm tree park", "office: ash tree park"} {
			w.take(part)
			heads = append(heads, w.head())
		}
		for i, old := range heads {
			for _, h := range heads[i:] {
				proof, err := w.l.Consistency(w.ctx, old.Size, h.Size)
				w.must(err)
				w.must(journal.VerifyConsistency(old.Root, old.Size, h.Root, h.Size, proof))
			}
		}
	}},
	{"An old proof still holds after an amendment", oldProofHolds},
	{"There is no proof of what is not there", func(t *testing.T, w *world) {
		w.take(grove)
		n := w.size()
		w.tell("office: elm tree park")
		if _, err := w.l.Proof(w.ctx, w.ID("elm"), 0); !errors.Is(err, store.ErrNotFound) {
			t.Errorf("of an entry that is not there: %v, want ErrNotFound", err)
		}
		w.give("elm")
		if _, err := w.l.Proof(w.ctx, w.ID("elm"), n); err == nil {
			t.Error("of an entry that came after the head: no error")
		}
		for _, size := range []int64{-1, n + 2, 1 << 40} {
			if _, err := w.l.Proof(w.ctx, w.ID("firm"), size); err == nil {
				t.Errorf("under a head of size %d: no error", size)
			}
		}
		for _, c := range [][2]int64{{0, 1}, {-1, 1}, {2, 1}, {1, n + 2}} {
			if _, err := w.l.Consistency(w.ctx, c[0], c[1]); err == nil {
				t.Errorf("consistency of %v: no error", c)
			}
		}
	}},
}

// proves checks a proof as somebody would who has only the head.
func (w *world) proves(p store.Proof, name string, h journal.TreeHead) {
	w.Helper()
	r, err := journal.ReadReceipt(p.Receipt)
	w.must(err)
	if !bytes.Equal(p.Line, w.Entry(name).Line) || r.Entry != journal.HashLine(p.Line) || r.N != p.N || p.Size != h.Size || p.Root != h.Root {
		w.Errorf("the proof of %s is of something else: %+v", name, p)
	}
	w.must(journal.VerifyInclusion(h.Root, h.Size, p.N, journal.HashLine(p.Receipt), p.Inclusion))
}

func oldProofHolds(t *testing.T, w *world) {
	w.take(grove + round)
	old := w.head()
	proof, err := w.l.Proof(w.ctx, w.ID("l2"), 0)
	w.must(err)
	w.take("office: fix amended l2 left_nl=400000\noffice: text2 label version=2026-07-01")
	w.proves(proof, "l2", old)
	h := w.head()
	consistency, err := w.l.Consistency(w.ctx, old.Size, h.Size)
	w.must(err)
	w.must(journal.VerifyConsistency(old.Root, old.Size, h.Root, h.Size, consistency))
	again, err := w.l.Proof(w.ctx, w.ID("l2"), old.Size)
	w.must(err)
	w.proves(again, "l2", old)
	again, err = w.l.Proof(w.ctx, w.ID("l2"), 0)
	w.must(err)
	w.proves(again, "l2", h)
}
