// Package history answers, for tests: what did which device write, told in a few
// words a line?
//
// A history is text. Every line is one entry:
//
//	office:   oak tree park tag=12
//	ann:      day visit park boss oak plan
//	ann/day:  h1 hole day oak 250
//
// Before the colon stands the device; after a slash the entry it goes on from,
// where that is not its last: a device that was restored from an old copy. After
// the colon: the name of the entry, what it is (the words of package history's
// table), what it speaks of by name, and members of its body as key=value. A line
// "clock: ann -24h" sets a clock off the true time. Keys, ids and times follow from
// the names and the seed, so that the same text gives the same bytes.
package history

import (
	"crypto/ed25519"
	"crypto/sha256"
	"fmt"
	"strings"
	"time"

	"sapwell/journal"
)

// start is the time before the first line; every line comes a minute later.
const start = 1_700_000_000_000

// History is what has been told so far.
type History struct {
	seed    string
	now     int64
	newest  map[string]journal.ID // by device
	entries map[string]journal.Entry
	ids     map[string]journal.ID
	names   map[journal.Hash]string
	order   []string
	pens    map[string]*journal.Journal // by device: its chain up to where it writes on
	clocks  map[string]time.Duration
	owners  map[string]string // device -> person
}

// New begins a history. Other seeds give other keys and ids to the same text.
func New(seed string) *History {
	return &History{
		seed:    seed,
		now:     start,
		newest:  make(map[string]journal.ID),
		entries: make(map[string]journal.Entry),
		ids:     make(map[string]journal.ID),
		names:   make(map[journal.Hash]string),
		pens:    make(map[string]*journal.Journal),
		clocks:  make(map[string]time.Duration),
		owners:  make(map[string]string),
	}
}

// Tell goes on with lines of text. Empty lines and those that begin with # are
// passed over.
func (h *History) Tell(text string) error {
	for line := range strings.Lines(text) {
		line = strings.TrimSpace(line)
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		if err := h.line(line); err != nil {
			return fmt.Errorf("%s: %w", line, err)
		}
	}
	return nil
}

func (h *History) line(line string) error {
	who, what, ok := strings.Cut(line, ":")
	if !ok {
		return fmt.Errorf("want a colon after the device")
	}
	if who == "clock" {
		return h.setClock(strings.Fields(what))
	}
	device, from, _ := strings.Cut(strings.TrimSpace(who), "/")
	if from != "" {
		if err := h.restore(device, from); err != nil {
			return err
		}
	}
	_, err := h.Write(device, what)
	return err
}

func (h *History) setClock(words []string) error {
	if len(words) != 2 {
		return fmt.Errorf("want a device and a duration")
	}
	off, err := time.ParseDuration(words[1])
	h.clocks[words[0]] = off
	return err
}

// restore lets a device go on from an entry of its chain.
func (h *History) restore(device, from string) error {
	e, ok := h.entries[from]
	if !ok || e.Device != h.Device(device) {
		return fmt.Errorf("%s has written no %q", device, from)
	}
	var lines [][]byte
	for ; e.Seq > 0; e = h.entries[h.names[e.Prev]] {
		lines = append(lines, e.Line)
	}
	h.pens[device] = new(journal.Journal)
	_, refused := h.pens[device].Merge(lines)
	if len(refused) > 0 {
		return refused[0]
	}
	return nil
}

// Write lets a device write one entry: name, word, and what belongs to it.
func (h *History) Write(device, what string) (journal.Entry, error) {
	d, err := h.Draft(device, what)
	if err != nil {
		return journal.Entry{}, err
	}
	e, err := h.pen(device).Append(h.Signer(device), d)
	if err != nil {
		return journal.Entry{}, err
	}
	return e, h.Know(device, strings.Fields(what)[0], e)
}

func (h *History) pen(device string) *journal.Journal {
	if h.pens[device] == nil {
		h.pens[device] = new(journal.Journal)
	}
	return h.pens[device]
}

// Draft is what Write would let the device write, for those who write it
// themselves. Its id is known by its name from now on.
func (h *History) Draft(device, what string) (journal.Draft, error) {
	told := strings.Fields(what)
	if len(told) < 2 {
		return journal.Draft{}, fmt.Errorf("want a name and a word")
	}
	name := told[0]
	if _, ok := h.ids[name]; ok {
		return journal.Draft{}, fmt.Errorf("%s is written twice", name)
	}
	h.now += time.Minute.Milliseconds()
	at := h.now + h.clocks[device].Milliseconds()
	random := sha256.Sum256([]byte(h.seed + " id " + name))
	id, err := journal.NewID(h.newest[device], at, [10]byte(random[:]))
	if err != nil {
		return journal.Draft{}, err
	}
	h.newest[device], h.ids[name] = id, id
	kind, body, err := h.body(device, name, told[1], told[2:])
	return journal.Draft{ID: id, Time: at, Kind: kind, Body: body}, err
}

// Know gives a name to the next entry of a device, which was written elsewhere
// from a Draft.
func (h *History) Know(device, name string, e journal.Entry) error {
	h.entries[name], h.ids[name], h.names[e.Hash()] = e, e.ID, name
	h.order = append(h.order, name)
	_, err := h.pen(device).Add(e.Line)
	return err
}

// Now is the true time, in milliseconds since 1970, after the lines so far.
func (h *History) Now() int64 { return h.now }

// Entry is the entry of this name. A name that nobody gave is a slip of the test
// and panics, here and below.
func (h *History) Entry(name string) journal.Entry {
	e, ok := h.entries[name]
	if !ok {
		panic(fmt.Sprintf("history: no entry %q", name))
	}
	return e
}

// ID is the id of the entry of this name.
func (h *History) ID(name string) journal.ID {
	id, ok := h.ids[name]
	if !ok {
		panic(fmt.Sprintf("history: no entry %q", name))
	}
	return id
}

// Lines are the stored lines of the entries with these names.
func (h *History) Lines(names string) [][]byte {
	var lines [][]byte
	for _, name := range strings.Fields(names) {
		lines = append(lines, h.Entry(name).Line)
	}
	return lines
}

// Names lists the names of all entries in the order they were told.
func (h *History) Names() []string { return h.order }

// Name is the name of an entry, or its hash where it has none.
func (h *History) Name(e journal.Hash) string {
	if name, ok := h.names[e]; ok {
		return name
	}
	return e.String()
}

// Signer is the key of a device.
func (h *History) Signer(device string) ed25519.PrivateKey {
	seed := sha256.Sum256([]byte(h.seed + " key " + device))
	return ed25519.NewKeyFromSeed(seed[:])
}

// Device is the hash that names a device in entries.
func (h *History) Device(device string) journal.Hash {
	return sha256.Sum256(h.Signer(device).Public().(ed25519.PublicKey))
}
