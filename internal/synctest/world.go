package synctest

import (
	"context"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"sapwell/entries"
	"sapwell/internal/history"
	"sapwell/journal"
	"sapwell/store"
	"sapwell/store/mem"
	"sapwell/views"
)

// world is one history on its way.
type world struct {
	*testing.T
	*history.History
	random  *rand.Rand
	office  store.Ledger
	devices []*device
	ghosts  []*device // old journals of devices that were restored: found again at the end
	late    []gift
	things  []thing
	written []journal.Entry // every entry that was acknowledged, wherever
	heads   []journal.TreeHead
	proofs  []store.Proof
	revoked string // the device that is
	tally
}

// device is a phone with a journal of its own.
type device struct {
	name   string
	ledger store.Ledger
	copy   [][]byte // an old copy of its journal
}

// gift is lines on their way to somebody.
type gift struct {
	to    store.Ledger
	admit store.Admit
	lines [][]byte
}

const founding = `
office: firm org
office: boss person office applicator
office: desk enrolled office boss
office: park grounds
office: oak tree park
office: tape measured oak 1800
office: text label
office: lot lot
office: plan plan oak text tape 2
`

// begin founds the organisation and gives two to five devices its journal.
func begin(t *testing.T, s store.Store, seed uint64) *world {
	w := &world{T: t, History: history.New(fmt.Sprint("sync", seed)), random: rand.New(rand.NewPCG(seed, 7))}
	n := w.random.IntN(4) + 2
	text := founding
	for i := range n {
		text += fmt.Sprintf("office: person%d person applicator\noffice: phone%d enrolled dev%d person%d\n", i, i, i, i)
	}
	w.must(w.Tell(text))
	for _, name := range w.Names() {
		w.note(w.Entry(name), name)
	}
	org, err := s.Found(context.Background(), w.Lines(strings.Join(w.Names(), " ")), w.Now())
	w.must(err)
	w.office, err = s.Ledger(context.Background(), org)
	w.must(err)
	for i := range n {
		w.devices = append(w.devices, &device{name: fmt.Sprint("dev", i), ledger: mem.NewLedger(org)})
	}
	w.tally.devices = n
	return w
}

func (w *world) must(err error) {
	w.Helper()
	if err != nil {
		w.Fatal(err)
	}
}

// chance is true so many times in a hundred.
func (w *world) chance(percent int) bool { return w.random.IntN(100) < percent }

// play lets things happen.
func (w *world) play() {
	for range 60 + w.random.IntN(80) {
		d := w.devices[w.random.IntN(len(w.devices))]
		switch n := w.random.IntN(100); {
		case n < 55:
			w.write(d)
		case n < 65:
			w.officeActs()
		case n < 76:
			w.send(d)
		case n < 87:
			w.fetch(d)
		case n < 91:
			w.lateOnesCome()
		case n < 94:
			w.setClock(d)
		case n < 99:
			w.restore(d)
		default:
			w.revoke(d)
		}
	}
}

// write lets a device write some entries by what it knows.
func (w *world) write(d *device) {
	for range w.random.IntN(4) + 1 {
		w.writeOne(d.name, d.ledger)
	}
}

func (w *world) writeOne(device string, l store.Ledger) {
	name := fmt.Sprint("e", len(w.written))
	what := w.deed(l)
	if what == "" {
		return
	}
	draft, err := w.Draft(device, name+" "+what)
	w.must(err)
	got, err := l.Write(context.Background(), w.Signer(device), w.Now(), func(store.Reader) ([]journal.Draft, error) {
		return []journal.Draft{draft}, nil
	})
	w.must(err)
	w.must(w.Know(device, name, got[0]))
	w.note(got[0], name)
}

// note remembers what was acknowledged.
func (w *world) note(e journal.Entry, name string) {
	w.written = append(w.written, e)
	if read, err := entries.Read(e); err == nil {
		w.things = append(w.things, thing{name: name, body: read.Body, id: e.ID})
	}
	w.tally.entries++
}

// officeActs lets the office write, or sign a head and prove an entry under it.
func (w *world) officeActs() {
	w.writeOne("office", w.office)
	if !w.chance(40) {
		return
	}
	line, err := w.office.Head(context.Background(), w.Signer("office"), w.Now())
	w.must(err)
	head, err := journal.ReadTreeHead(line)
	w.must(err)
	proof, err := w.office.Proof(context.Background(), w.ID("oak"), head.Size)
	w.must(err)
	w.heads, w.proofs = append(w.heads, head), append(w.proofs, proof)
}

func (w *world) setClock(d *device) {
	w.must(w.Tell(fmt.Sprintf("clock: %s %dh", d.name, (w.random.IntN(3)-1)*24)))
}

// restore gives a device a copy of its journal, old or made now; the copy's
// original, with what was not sent yet, is found again at the end.
func (w *world) restore(d *device) {
	if d.copy == nil {
		d.copy = w.lines(d.ledger)
		return
	}
	if d.name == w.revoked {
		return
	}
	w.ghosts = append(w.ghosts, &device{name: d.name, ledger: d.ledger})
	d.ledger = mem.NewLedger(w.office.Org())
	_, err := d.ledger.Merge(context.Background(), d.copy, w.Now(), nil)
	w.must(err)
	d.copy = nil
	w.tally.restored++
}

// revoke ends what a device may write. It goes on all the same.
func (w *world) revoke(d *device) {
	restored := slices.ContainsFunc(w.ghosts, func(g *device) bool { return g.name == d.name })
	if w.revoked != "" || restored {
		return
	}
	through := int64(0)
	w.must(w.office.Read(context.Background(), func(r store.Reader) error {
		tip, _, err := r.Tip(w.Device(d.name))
		through = tip.Seq
		return err
	}))
	name := fmt.Sprint("e", len(w.written))
	draft, err := w.Draft("office", fmt.Sprintf("%s revoked %s %d", name, d.name, through))
	w.must(err)
	got, err := w.office.Write(context.Background(), w.Signer("office"), w.Now(), func(store.Reader) ([]journal.Draft, error) {
		return []journal.Draft{draft}, nil
	})
	w.must(err)
	w.must(w.Know("office", name, got[0]))
	w.note(got[0], name)
	w.revoked = d.name
	w.tally.revoked++
}

// lines are all entries of a ledger, each below the one before it.
func (w *world) lines(l store.Ledger) [][]byte {
	lines, more, err := l.Missing(context.Background(), nil, 1<<40)
	w.must(err)
	if more {
		w.Fatal("more than a terabyte")
	}
	return lines
}

// thing is what an entry brought into the world.
type thing struct {
	name string
	id   journal.ID
	body entries.Body
}

// known picks a thing that the ledger knows; ok is false if it knows none.
func known[B entries.Body](w *world, l store.Ledger) (name string, body B, ok bool) {
	var all []thing
	err := l.Read(context.Background(), func(r store.Reader) error {
		for _, t := range w.things {
			if _, is := t.body.(B); !is {
				continue
			}
			_, there, err := r.Entry(t.id)
			if err != nil {
				return err
			}
			if there {
				all = append(all, t)
			}
		}
		return nil
	})
	w.must(err)
	if len(all) == 0 {
		return "", body, false
	}
	// The latest are picked more often, so that devices meet at the same things.
	t := all[len(all)-1-min(w.random.IntN(len(all)), w.random.IntN(len(all)))]
	return t.name, t.body.(B), true
}

// nameOf is the name of the entry with this id.
func (w *world) nameOf(id journal.ID) string {
	i := slices.IndexFunc(w.things, func(t thing) bool { return t.id == id })
	return w.things[i].name
}

// common is what all states have.
func common(st views.State) views.Common {
	switch st := st.(type) {
	case *views.Org:
		return st.Common
	case *views.Person:
		return st.Common
	case *views.Device:
		return st.Common
	case *views.Grounds:
		return st.Common
	case *views.Tree:
		return st.Common
	case *views.Label:
		return st.Common
	case *views.Lot:
		return st.Common
	case *views.Visit:
		return st.Common
	}
	return st.(*views.Bag).Common
}
