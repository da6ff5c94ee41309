package storetest

import (
	"bytes"
	"crypto"
	"fmt"
	"io"
	"sync"
	"testing"

	"sapwell/entries"
	"sapwell/journal"
	"sapwell/store"
)

const (
	hands = 8
	deeds = 12
)

var raceChecks = []check{
	{"Writers at once never fork the chain", func(t *testing.T, w *world) {
		w.take("office: park grounds")
		var all sync.WaitGroup
		written := make([][]journal.Entry, hands)
		var drafts [][][]journal.Draft
		for i := range hands {
			drafts = append(drafts, w.drafts("office", i, 1))
		}
		signer := w.Signer("office")
		for i := range hands {
			all.Go(func() {
				for _, deed := range drafts[i] {
					got, err := w.l.Write(w.ctx, signer, 1, func(store.Reader) ([]journal.Draft, error) { return deed, nil })
					if err != nil {
						t.Error(err)
						return
					}
					written[i] = append(written[i], got...)
				}
			})
		}
		all.Wait()
		rep, err := journal.Verify(bytes.NewReader(Sound(t, w.l)))
		if err != nil || len(rep.Forks) > 0 || rep.Entries != 4+hands*deeds {
			t.Errorf("%d entries, forks %v, %v; want %d and none", rep.Entries, rep.Forks, err, 4+hands*deeds)
		}
		w.read(func(r store.Reader) {
			for _, of := range written {
				for _, e := range of {
					if got, ok, err := r.Entry(e.ID); err != nil || !ok || got.Hash() != e.Hash() {
						t.Errorf("an acknowledged entry: %v %v", ok, err)
					}
				}
			}
		})
	}},
	{"Writers, mergers and readers at once", everythingAtOnce},
}

// drafts are deeds of so many trees each.
func (w *world) drafts(device string, hand, trees int) [][]journal.Draft {
	w.Helper()
	all := make([][]journal.Draft, deeds)
	for i := range all {
		for k := range trees {
			d, err := w.Draft(device, fmt.Sprintf("t-%d-%d-%d tree park", hand, i, k))
			w.must(err)
			all[i] = append(all[i], d)
		}
	}
	return all
}

// everythingAtOnce lets every second hand write pairs of trees, by the office or
// by a merge; the others look: at any moment there is an even number of trees.
func everythingAtOnce(t *testing.T, w *world) {
	w.take("office: park grounds")
	var drafts [hands][][]journal.Draft
	var gifts [hands][][][]byte
	for hand := range hands {
		device := fmt.Sprint("phone", hand)
		drafts[hand] = w.drafts(device, hand, 2)
		gifts[hand] = w.gifts(device, drafts[hand])
	}
	signer, boss := w.Signer("office"), w.ID("boss")
	var all sync.WaitGroup
	for hand := range hands {
		all.Go(func() {
			for i := range deeds {
				var err error
				switch hand % 4 {
				case 0:
					_, err = w.l.Write(w.ctx, signer, 1, func(store.Reader) ([]journal.Draft, error) { return drafts[hand][i], nil })
				case 1:
					_, err = w.l.Merge(w.ctx, gifts[hand][i], 1, nil)
				case 2:
					err = w.l.Read(w.ctx, evenTrees)
				default:
					err = w.look(int64(i), signer, boss)
				}
				if err != nil {
					t.Error(err)
				}
			}
		})
	}
	all.Wait()
	rep, err := journal.Verify(bytes.NewReader(Sound(t, w.l)))
	if want := int64(4 + hands/4*2*deeds*2); err != nil || rep.Entries != want || len(rep.Forks) > 0 {
		t.Errorf("%d entries, forks %v, %v; want %d", rep.Entries, rep.Forks, err, want)
	}
}

// gifts are the drafts written by the device itself.
func (w *world) gifts(device string, drafts [][]journal.Draft) [][][]byte {
	w.Helper()
	var j journal.Journal
	gifts := make([][][]byte, len(drafts))
	for i, of := range drafts {
		for _, d := range of {
			e, err := j.Append(w.Signer(device), d)
			w.must(err)
			gifts[i] = append(gifts[i], e.Line)
		}
	}
	return gifts
}

func evenTrees(r store.Reader) error {
	before := -1
	for range 3 {
		rows, err := r.List(entries.OfTree, "", "", "", 1<<20)
		if err != nil {
			return err
		}
		if len(rows)%2 != 0 || before >= 0 && len(rows) != before {
			return fmt.Errorf("%d trees within one moment that had %d", len(rows), before)
		}
		before = len(rows)
	}
	return nil
}

// look asks for all that can be asked for.
func (w *world) look(i int64, signer crypto.Signer, id journal.ID) error {
	offer, err := w.l.Offer(w.ctx)
	if err != nil {
		return err
	}
	if _, _, err := w.l.Missing(w.ctx, offer[:len(offer)/2], 2000); err != nil {
		return err
	}
	if _, _, err := w.l.Changed(w.ctx, i%4, 5); err != nil {
		return err
	}
	if _, err := w.l.Head(w.ctx, signer, 1); err != nil {
		return err
	}
	if _, err := w.l.Proof(w.ctx, id, 0); err != nil {
		return err
	}
	if i%4 == 0 {
		if err := w.l.Rebuild(w.ctx); err != nil {
			return err
		}
	}
	return w.l.Export(w.ctx, io.Discard)
}
