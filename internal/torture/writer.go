// Package torture answers, for tests: is what was acknowledged still there when
// the writer, the database or the disk fails at any moment?
//
// Write is an office and a phone that never rest. Before a deed they say what they
// try, after it what was promised to be kept. Whoever listened can Check a store
// for it afterwards.
package torture

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"errors"
	"fmt"
	mathrand "math/rand/v2"
	"slices"
	"strings"
	"sync"
	"time"

	"sapwell/entries"
	"sapwell/internal/history"
	"sapwell/journal"
	"sapwell/store"
)

const founding = `
office: firm org
office: boss person office applicator
office: desk enrolled office boss
office: ann person applicator
office: phone enrolled phone ann
office: park grounds
office: oak tree park
`

// Org tells the founding of an organisation by its name. The same name gives the
// same organisation and keys.
func Org(name string) *history.History {
	h := history.New("torture " + name)
	if err := h.Tell(founding); err != nil {
		panic(err)
	}
	return h
}

// writer is one organisation being written to.
type writer struct {
	h   *history.History
	s   store.Store
	l   store.Ledger
	say func(string)
}

// Write founds the organisation where it is not there, and then lets three hands
// write in it at once until one of them meets an error, which it returns. say is
// called with every line of the account, from several goroutines.
func Write(ctx context.Context, s store.Store, org string, say func(line string)) error {
	w := &writer{h: Org(org), s: s, say: say}
	if err := w.begin(ctx); err != nil {
		return err
	}
	ctx, stop := context.WithCancelCause(ctx)
	defer stop(nil)
	var all sync.WaitGroup
	for _, hand := range []func(context.Context, *mathrand.Rand) error{w.deed, w.gift, w.beside} {
		random := mathrand.New(mathrand.NewPCG(mathrand.Uint64(), 0))
		all.Go(func() {
			for {
				if err := hand(ctx, random); err != nil {
					stop(err)
					return
				}
			}
		})
	}
	all.Wait()
	return context.Cause(ctx)
}

func (w *writer) begin(ctx context.Context) error {
	lines := w.h.Lines(strings.Join(w.h.Names(), " "))
	w.say("try" + ids(w.h))
	org, err := w.s.Found(ctx, lines, now())
	if errors.Is(err, store.ErrExists) {
		org, err = w.h.ID("firm"), nil
	}
	if err != nil {
		return err
	}
	w.say("org " + org.String())
	w.l, err = w.s.Ledger(ctx, org)
	return err
}

func ids(h *history.History) string {
	var b strings.Builder
	for _, name := range h.Names() {
		b.WriteString(" " + h.ID(name).String())
	}
	return b.String()
}

func now() int64 { return time.Now().UnixMilli() }

// deed is one of the office: one to four entries that belong together.
func (w *writer) deed(ctx context.Context, random *mathrand.Rand) error {
	written, err := w.l.Write(ctx, w.h.Signer("office"), now(), func(r store.Reader) ([]journal.Draft, error) {
		return w.drafts(r, random, random.IntN(4)+1)
	})
	if err == nil {
		w.kept(written)
	}
	return err
}

// drafts are what somebody says who sees the present, and says that it is tried.
func (w *writer) drafts(r store.Reader, random *mathrand.Rand, n int) ([]journal.Draft, error) {
	trees, err := r.List(entries.OfTree, "", "", "", 50)
	if err != nil {
		return nil, err
	}
	var drafts []journal.Draft
	try := "try"
	for range n {
		var tree journal.ID
		row := trees[random.IntN(len(trees))]
		if err := tree.UnmarshalText([]byte(row.Subject.ID)); err != nil {
			return nil, err
		}
		var chance [10]byte
		_, _ = rand.Read(chance[:]) // never fails (package crypto/rand)
		id, err := journal.NewID(journal.ID{}, now(), chance)
		if err != nil {
			return nil, err
		}
		d, err := entries.Draft(id, now(), w.body(tree, random))
		if err != nil {
			return nil, err
		}
		drafts, try = append(drafts, d), try+" "+id.String()
	}
	w.say(try)
	return drafts, nil
}

func (w *writer) body(tree journal.ID, random *mathrand.Rand) entries.Body {
	head := entries.Head{By: w.h.ID("ann")}
	switch random.IntN(4) {
	case 0:
		return entries.Tree{Head: head, Grounds: w.h.ID("park"), Tag: fmt.Sprint(random.IntN(1000)), Species: "Quercus robur"}
	case 1:
		girth := entries.Girth{Around: random.Int64N(3_000_000_000) + 1, Height: 300_000_000}
		return entries.Measurement{Head: head, Tree: tree, Stems: []entries.Stem{{Girth: girth}}}
	case 2:
		return entries.Wound{Head: head, Tree: tree, Around: random.Int64N(3_000_000_000)}
	}
	on := entries.Subject{Kind: entries.OfTree, ID: tree.String()}
	return entries.Note{Head: head, On: on, Text: strings.Repeat("seen ", random.IntN(100)+1)}
}

func (w *writer) kept(written []journal.Entry) {
	line := "kept"
	for _, e := range written {
		line += " " + e.Hash().String()
	}
	w.say(line)
}

// gift is one from the phone: up to 25 entries that go on from what the office has.
func (w *writer) gift(ctx context.Context, random *mathrand.Rand) error {
	var lines [][]byte
	err := w.l.Read(ctx, func(r store.Reader) error {
		drafts, err := w.drafts(r, random, random.IntN(25)+1)
		if err != nil {
			return err
		}
		tip, _, err := r.Tip(w.h.Device("phone"))
		for _, d := range drafts {
			if err != nil {
				return err
			}
			last := journal.Known{Device: tip.Device, Hash: tip.Hash(), Seq: tip.Seq}
			tip, err = journal.Next(w.h.Signer("phone"), last, d)
			lines = append(lines, tip.Line)
		}
		return err
	})
	if err != nil {
		return err
	}
	random.Shuffle(len(lines), func(i, j int) { lines[i], lines[j] = lines[j], lines[i] })
	m, err := w.l.Merge(ctx, lines, now(), nil)
	if err != nil {
		return err
	}
	if len(m.Added) != len(lines) {
		return fmt.Errorf("of %d lines %d were added: %v", len(lines), len(m.Added), m.Refused)
	}
	w.kept(slices.SortedFunc(slices.Values(m.Added), func(a, b journal.Entry) int { return int(a.Seq - b.Seq) }))
	return nil
}

// beside is what is kept beside entries: blobs, heads, and now and then the views
// made anew.
func (w *writer) beside(ctx context.Context, random *mathrand.Rand) error {
	switch n := random.IntN(20); {
	case n == 0:
		return w.l.Rebuild(ctx)
	case n < 8:
		line, err := w.l.Head(ctx, w.h.Signer("office"), now())
		if err == nil {
			w.say("head " + string(line))
		}
		return err
	}
	data := make([]byte, random.IntN(40_000))
	_, _ = rand.Read(data)
	sum, err := w.l.PutBlob(ctx, data, now())
	if err != nil {
		return err
	}
	if sum != sha256.Sum256(data) {
		return fmt.Errorf("blob kept as %s, want its SHA-256", sum)
	}
	w.say("blob " + sum.String())
	return nil
}
