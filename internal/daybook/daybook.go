// Package daybook answers, for tests and benchmarks: what does the journal of
// years of work look like? It invents one from a seed: an organisation with an
// office and a phone for each crew, a list of trees, and then day after day plans,
// visits, holes, units, tallies, bags, with a few units lost, a few notes and
// photos and now and then an amendment. Nothing in it happened to anybody; the
// shares are round figures that look like a crew's year.
package daybook

import (
	"crypto"
	"crypto/ed25519"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"iter"
	"math/rand/v2"
	"slices"
	"sync"

	"sapwell/entries"
	"sapwell/journal"
)

// Book says what to invent. The same Book gives the same bytes.
type Book struct {
	Seed    uint64
	Trees   int             // on the list, treated in turn, again and again
	Devices []crypto.Signer // the office's, then the phones'; at least two
	Start   int64           // ms since 1970
}

// Entries yields entries without end, in the order of their times, each after
// the one before it in its device's chain. The first is the organisation, then
// come people and devices, the list of trees, and the days: about 300 entries for
// each phone and day. It ends after an error.
func (b Book) Entries() iter.Seq2[journal.Entry, error] {
	return func(yield func(journal.Entry, error) bool) {
		w, err := b.open()
		if err != nil {
			yield(journal.Entry{}, err)
			return
		}
		for day := 0; ; day++ {
			written, err := w.write(w.day(day))
			if err != nil {
				yield(journal.Entry{}, err)
				return
			}
			for _, e := range written {
				if !yield(e, nil) {
					return
				}
			}
		}
	}
}

// Keys makes n signers from a seed. Whoever knows the seed can sign for them.
func Keys(seed uint64, n int) []crypto.Signer {
	signers := make([]crypto.Signer, n)
	for i := range signers {
		var s [ed25519.SeedSize]byte
		binary.BigEndian.PutUint64(s[:], seed)
		binary.BigEndian.PutUint64(s[8:], uint64(i))
		signers[i] = ed25519.NewKeyFromSeed(s[:])
	}
	return signers
}

// Unsigned makes n devices that save the time: their signatures have the form of
// one and are not right. journal.ReadEntry takes such lines, a Journal does not.
func Unsigned(seed uint64, n int) []crypto.Signer {
	signers := Keys(seed, n)
	for i, s := range signers {
		signers[i] = blank{s}
	}
	return signers
}

type blank struct{ crypto.Signer }

func (blank) Sign(io.Reader, []byte, crypto.SignerOpts) ([]byte, error) {
	return make([]byte, ed25519.SignatureSize), nil
}

// writer is a history under way.
type writer struct {
	Book
	r    *rand.Rand
	pens []pen
	acts []act // of the day under way
	known
}

// pen is a device: what it wrote last, and its clock.
type pen struct {
	device journal.Hash
	last   journal.Known
	lastID journal.ID
	now    int64
}

// act is an entry before it is written.
type act struct {
	by   int // which device
	id   journal.ID
	time int64
	body entries.Body
}

func (b Book) open() (*writer, error) {
	if len(b.Devices) < 2 || b.Trees < 1 {
		return nil, fmt.Errorf("%d devices and %d trees, want at least two devices and a tree", len(b.Devices), b.Trees)
	}
	w := &writer{Book: b, r: rand.New(rand.NewPCG(b.Seed, 0))}
	for _, s := range b.Devices {
		device, err := journal.DeviceOf(s)
		if err != nil {
			return nil, err
		}
		w.pens = append(w.pens, pen{device: device})
	}
	return w, nil
}

// day invents what is written on one day.
func (w *writer) day(n int) []act {
	w.acts = w.acts[:0]
	for i := range w.pens {
		w.pens[i].now = w.Start + int64(n)*24*hour
	}
	if survey := (w.Trees + perSurvey - 1) / perSurvey; n == 0 {
		w.found()
	} else if n <= survey {
		w.survey()
	} else {
		w.work(n)
	}
	slices.SortStableFunc(w.acts, func(a, b act) int { return int(a.time - b.time) })
	return w.acts
}

// say lets a device write, a little later than what it wrote last.
func (w *writer) say(by int, body entries.Body) journal.ID {
	p := &w.pens[by]
	p.now += second * (10 + w.r.Int64N(40))
	var random [10]byte
	binary.BigEndian.PutUint64(random[:], w.r.Uint64())
	id, err := journal.NewID(p.lastID, p.now, random)
	if err != nil {
		panic(err) // the times are whole days after a start that was taken
	}
	p.lastID = id
	w.acts = append(w.acts, act{by, id, p.now, body})
	return id
}

// write signs what was invented, every device for itself.
func (w *writer) write(acts []act) ([]journal.Entry, error) {
	written := make([]journal.Entry, len(acts))
	failed := make([]error, len(w.pens))
	var all sync.WaitGroup
	for by := range w.pens {
		all.Go(func() {
			for i, a := range acts {
				if a.by == by && failed[by] == nil {
					written[i], failed[by] = w.pens[by].write(w.Devices[by], a)
				}
			}
		})
	}
	all.Wait()
	return written, errors.Join(failed...)
}

func (p *pen) write(signer crypto.Signer, a act) (journal.Entry, error) {
	draft, err := entries.Draft(a.id, a.time, a.body)
	if err != nil {
		return journal.Entry{}, err
	}
	e, err := journal.Next(signer, p.last, draft)
	if err != nil {
		return journal.Entry{}, err
	}
	p.last = journal.Known{Device: e.Device, Hash: e.Hash(), Seq: e.Seq}
	return e, nil
}
