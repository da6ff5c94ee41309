// Package storetest answers: does a store keep what package store promises?
//
// It is the one suite that every store passes. Histories are told as package
// internal/history has them.
package storetest

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"strings"
	"testing"

	"sapwell/internal/history"
	"sapwell/journal"
	"sapwell/store"
)

// Run holds stores against the promise. open makes an empty one, which is closed
// when its test ends.
func Run(t *testing.T, open func(t *testing.T) store.Store) {
	for _, group := range [][]check{foundChecks, writeChecks, mergeChecks, asideChecks, syncChecks, readChecks, viewChecks, proofChecks, exportChecks, blobChecks, keeperChecks, apartChecks, raceChecks, cancelChecks} {
		for _, c := range group {
			t.Run(c.name, func(t *testing.T) { c.run(t, opened(t, open(t))) })
		}
	}
	for _, m := range importChecks {
		t.Run(m.name, func(t *testing.T) {
			empty := open(t)
			t.Cleanup(func() { _ = empty.Close() })
			m.run(t, opened(t, open(t)), empty)
		})
	}
}

// check is one part of the suite.
type check struct {
	name string
	run  func(t *testing.T, w *world)
}

// world is a store, an organisation in it and its history so far.
type world struct {
	*testing.T
	*history.History
	s   store.Store
	l   store.Ledger
	ctx context.Context
}

// founding are the first entries of every organisation.
const founding = `
office: firm org
office: boss person office applicator
office: desk enrolled office boss
`

// grove is something to work on.
const grove = `
office: park grounds
office: oak tree park
office: tape measured oak 1800
office: text label
office: lot lot
office: in stock lot 12
office: plan plan oak text tape 2
`

// round is a visit from its opening to the bag.
const round = `
office: day visit park boss oak plan
office: h1 hole day oak 100
office: u1 seated day h1 lot
office: h2 hole day oak 700
office: u2 seated day h2 lot
office: d1 drained day u1
office: l1 lifted day u1
office: l2 lifted day u2 left_nl=500000
office: count tally day lot 2
office: end closed day oak text 2
office: bag bagged day
`

// opened founds an organisation in an empty store.
func opened(t *testing.T, s store.Store) *world {
	t.Helper()
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Errorf("close: %v", err)
		}
	})
	return found(t, s, "one")
}

// found begins an organisation. Another seed is another organisation.
func found(t *testing.T, s store.Store, seed string) *world {
	t.Helper()
	w := &world{T: t, History: history.New(seed), s: s, ctx: t.Context()}
	w.tell(founding)
	org, err := s.Found(w.ctx, w.Lines("firm boss desk"), w.Now())
	w.must(err)
	w.l, err = s.Ledger(w.ctx, org)
	w.must(err)
	return w
}

func (w *world) must(err error) {
	w.Helper()
	if err != nil {
		w.Fatal(err)
	}
}

// tell goes on with the history, and not yet with the ledger. It returns the
// names of what was told.
func (w *world) tell(text string) []string {
	w.Helper()
	n := len(w.Names())
	w.must(w.Tell(text))
	return w.Names()[n:]
}

// give merges entries by name.
func (w *world) give(names string) store.Merged {
	w.Helper()
	return w.merge(w.Lines(names), nil)
}

func (w *world) merge(lines [][]byte, admit store.Admit) store.Merged {
	w.Helper()
	m, err := w.l.Merge(w.ctx, lines, w.Now(), admit)
	w.must(err)
	return m
}

// take tells a text and merges all of it.
func (w *world) take(text string) {
	w.Helper()
	var lines [][]byte
	for _, name := range w.tell(text) {
		lines = append(lines, w.Entry(name).Line)
	}
	if m := w.merge(lines, nil); len(m.Refused) > 0 || len(m.Added) != len(lines) {
		w.Fatalf("of %d entries %d taken, refused %v", len(lines), len(m.Added), m.Refused)
	}
}

// write lets a device write one entry through the ledger.
func (w *world) write(device, what string) journal.Entry {
	w.Helper()
	d, err := w.Draft(device, what)
	w.must(err)
	written, err := w.l.Write(w.ctx, w.Signer(device), w.Now(), func(store.Reader) ([]journal.Draft, error) {
		return []journal.Draft{d}, nil
	})
	w.must(err)
	if len(written) != 1 {
		w.Fatalf("%d entries written, want 1", len(written))
	}
	w.must(w.Know(device, strings.Fields(what)[0], written[0]))
	return written[0]
}

// read looks at the ledger.
func (w *world) read(look func(store.Reader)) {
	w.Helper()
	w.must(w.l.Read(w.ctx, func(r store.Reader) error { look(r); return nil }))
}

func (w *world) size() int64 {
	w.Helper()
	n, err := w.l.Size(w.ctx)
	w.must(err)
	return n
}

func (w *world) export() []byte {
	w.Helper()
	var b bytes.Buffer
	w.must(w.l.Export(w.ctx, &b))
	return b.Bytes()
}

// head is the signed head of the ledger now, read.
func (w *world) head() journal.TreeHead {
	w.Helper()
	line, err := w.l.Head(w.ctx, w.Signer("office"), w.Now())
	w.must(err)
	h, err := journal.ReadTreeHead(line)
	w.must(err)
	if !bytes.Equal(h.Key, w.Signer("office").Public().(ed25519.PublicKey)) {
		w.Fatal("the head is not signed by the office's key")
	}
	return h
}

// called lists entries by their names.
func (w *world) called(all []journal.Entry) []string {
	var names []string
	for _, e := range all {
		names = append(names, w.Name(e.Hash()))
	}
	return names
}
