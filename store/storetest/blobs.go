package storetest

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"slices"
	"testing"

	"sapwell/journal"
	"sapwell/store"
)

var blobChecks = []check{
	{"A blob is kept under its SHA-256", func(t *testing.T, w *world) {
		var sums []journal.Hash
		for _, data := range [][]byte{{}, []byte("a"), bytes.Repeat([]byte{0, 255, '\n'}, 100_000)} {
			want := journal.Hash(sha256.Sum256(data))
			for range 2 { // twice is once
				sum, err := w.l.PutBlob(w.ctx, data, w.Now())
				if err != nil || sum != want {
					t.Fatalf("sum %s %v, want %s", sum, err, want)
				}
			}
			got, err := w.l.Blob(w.ctx, want)
			if err != nil || !bytes.Equal(got, data) {
				t.Errorf("%d bytes %v, want %d", len(got), err, len(data))
			}
			sums = append(sums, want)
		}
		all, err := w.l.Blobs(w.ctx)
		slices.SortFunc(sums, compareHashes)
		slices.SortFunc(all, compareHashes)
		if err != nil || !slices.Equal(all, sums) {
			t.Errorf("blobs %v %v, want %v", all, err, sums)
		}
	}},
	{"A blob that is not there is not found", func(t *testing.T, w *world) {
		if _, err := w.l.Blob(w.ctx, journal.Hash{1}); !errors.Is(err, store.ErrNotFound) {
			t.Errorf("error %v, want ErrNotFound", err)
		}
		if all, err := w.l.Blobs(w.ctx); len(all) > 0 || err != nil {
			t.Errorf("blobs %v %v, want none", all, err)
		}
	}},
	{"A blob does not change with the slice it came from", func(t *testing.T, w *world) {
		data := []byte("photo")
		sum, err := w.l.PutBlob(w.ctx, data, w.Now())
		w.must(err)
		data[0] = 'P'
		if got, err := w.l.Blob(w.ctx, sum); err != nil || string(got) != "photo" {
			t.Errorf("blob %q %v", got, err)
		}
	}},
}

func compareHashes(a, b journal.Hash) int { return bytes.Compare(a[:], b[:]) }
