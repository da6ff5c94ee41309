package storetest

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"sapwell/journal"
	"sapwell/store"
)

var cancelChecks = []check{
	{"A context that has ended changes nothing", func(t *testing.T, w *world) {
		w.take(grove)
		w.tell("office: elm tree park")
		before := w.export()
		ended, end := context.WithCancel(w.ctx)
		end()
		l, d := w.l, w.oneDraft("ash tree park")
		for name, try := range map[string]func() error{
			"write": func() error {
				_, err := l.Write(ended, w.Signer("office"), 1, func(store.Reader) ([]journal.Draft, error) { return []journal.Draft{d}, nil })
				return err
			},
			"merge":   func() error { _, err := l.Merge(ended, w.Lines("elm"), 1, nil); return err },
			"read":    func() error { return l.Read(ended, func(store.Reader) error { return nil }) },
			"head":    func() error { _, err := l.Head(ended, w.Signer("office"), 1); return err },
			"rebuild": func() error { return l.Rebuild(ended) },
			"blob":    func() error { _, err := l.PutBlob(ended, []byte("x"), 1); return err },
			"export":  func() error { return l.Export(ended, new(bytes.Buffer)) },
			"offer":   func() error { _, err := l.Offer(ended); return err },
			"missing": func() error { _, _, err := l.Missing(ended, nil, 1000); return err },
			"account": func() error { return w.s.PutAccount(ended, w.account("1", "ann")) },
		} {
			if err := try(); !errors.Is(err, context.Canceled) {
				t.Errorf("%s: error %v, want that the context has ended", name, err)
			}
		}
		if !bytes.Equal(w.export(), before) {
			t.Error("something was written")
		}
		if blobs, err := l.Blobs(w.ctx); err != nil || len(blobs) > 0 {
			t.Errorf("blobs %v %v", blobs, err)
		}
		w.give("elm")
		Sound(t, w.l)
	}},
	{"A context that ends while decide or admit thinks takes nothing", func(t *testing.T, w *world) {
		w.take("office: park grounds")
		before := w.export()
		ctx, end := context.WithCancel(w.ctx)
		d := w.oneDraft("ash tree park")
		_, err := w.l.Write(ctx, w.Signer("office"), 1, func(store.Reader) ([]journal.Draft, error) {
			end()
			return []journal.Draft{d}, nil
		})
		if err == nil || !bytes.Equal(w.export(), before) {
			t.Errorf("write: %v, or it was written", err)
		}
		w.tell("phone: a tree park\nphone: b tree park")
		ctx, end = context.WithCancel(w.ctx)
		_, err = w.l.Merge(ctx, w.Lines("a b"), 1, func(store.Reader, journal.Entry) (string, error) {
			end()
			return "", nil
		})
		if err == nil || !bytes.Equal(w.export(), before) {
			t.Errorf("merge: %v, or it was taken", err)
		}
		w.give("a b")
		Sound(t, w.l)
	}},
	{"A context that ends at any moment leaves nothing half-written", endsAtAnyMoment},
}

func (w *world) oneDraft(what string) journal.Draft {
	w.Helper()
	d, err := w.Draft("office", what)
	w.must(err)
	return d
}

func endsAtAnyMoment(t *testing.T, w *world) {
	w.take("office: park grounds")
	random := rand.New(rand.NewPCG(1, 0))
	for i := range 30 {
		var drafts []journal.Draft
		for k := range 5 {
			drafts = append(drafts, w.oneDraft(fmt.Sprintf("t%d-%d tree park", i, k)))
		}
		before := w.size()
		ctx, end := context.WithTimeout(w.ctx, time.Duration(random.IntN(3000))*time.Microsecond)
		var err error
		if i%2 == 0 {
			_, err = w.l.Write(ctx, w.Signer("office"), 1, func(store.Reader) ([]journal.Draft, error) { return drafts, nil })
		} else {
			gift := w.gifts(fmt.Sprint("phone", i), [][]journal.Draft{drafts})
			_, err = w.l.Merge(ctx, gift[0], 1, nil)
		}
		end()
		if n := w.size() - before; n != 5 && (n != 0 || err == nil) {
			t.Fatalf("%d of 5 entries there, error %v", n, err)
		}
	}
	Sound(t, w.l)
}
