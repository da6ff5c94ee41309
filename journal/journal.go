// Package journal answers: what was written, by which device, in which order,
// and has anyone changed it since?
//
// It is an append-only log of opaque entries, as doc/journal-format.md has it:
// canonical lines, a signed chain for each device, a hash tree over arrivals,
// and the union of two journals. It never learns what an entry is about. Time,
// random bytes, keys and storage come from the caller. Nothing here is safe for
// use by several goroutines at once.
package journal

import (
	"cmp"
	"crypto"
	"fmt"
	"slices"
)

// Journal is a set of entries, closed under "the one before". The zero Journal
// is empty and ready.
type Journal struct {
	index index
	lines map[Hash]Entry
}

// Draft is what a writer says of an entry; the rest follows from its chain.
type Draft struct {
	ID   ID
	Time int64  // milliseconds since 1970 by the writer's clock
	Kind string // 1 to 64 bytes
	Body []byte // any JSON object that has a canonical form
}

// Append writes the next entry of the device whose key the signer holds. An
// ed25519.PrivateKey is a signer; so is anything that can ask for a signature
// without showing the key. The signature is checked before it is kept.
func (j *Journal) Append(signer crypto.Signer, d Draft) (Entry, error) {
	device, err := DeviceOf(signer)
	if err != nil {
		return Entry{}, err
	}
	var last Known
	if c := j.index.chains[device]; c != nil {
		last = j.index.known(j.index.last(c))
	}
	e, err := Next(signer, last, d)
	if err != nil {
		return Entry{}, err
	}
	return j.Add(e.Line)
}

// Add takes one entry as it was stored or sent. One that is there already
// changes nothing. An error leaves the journal as it was.
func (j *Journal) Add(line []byte) (Entry, error) {
	if e, ok := j.lines[HashLine(line)]; ok {
		return e, nil
	}
	e, err := ReadEntry(line)
	if err != nil {
		return Entry{}, err
	}
	return e, j.take(e)
}

// take keeps an entry that is new.
func (j *Journal) take(e Entry) error {
	if err := j.index.add(e); err != nil {
		return err
	}
	if j.lines == nil {
		j.lines = make(map[Hash]Entry)
	}
	j.lines[e.hash] = e
	return nil
}

// Fault is a line that is not taken. Line counts from 1; ID is empty where the
// line could not be read so far.
type Fault struct {
	Line   int
	ID     string
	Reason error
}

func (f *Fault) Error() string {
	if f.ID == "" {
		return fmt.Sprintf("line %d: %v", f.Line, f.Reason)
	}
	return fmt.Sprintf("line %d: entry %s: %v", f.Line, f.ID, f.Reason)
}

func (f *Fault) Unwrap() error { return f.Reason }

// Merge takes a gift of entries in any order. It returns those that were new,
// each after the one before it in its chain, and names the lines that are not
// sound; these do not keep the others out.
func (j *Journal) Merge(lines [][]byte) (added []Entry, refused []*Fault) {
	type numbered struct {
		n int
		Entry
	}
	var given []numbered
	for i, line := range lines {
		e, err := ReadEntry(line)
		if err != nil {
			refused = append(refused, &Fault{Line: i + 1, Reason: err})
			continue
		}
		given = append(given, numbered{i + 1, e})
	}
	// An entry's predecessor has a smaller number, so it comes first.
	slices.SortStableFunc(given, func(a, b numbered) int { return cmp.Compare(a.Seq, b.Seq) })
	for _, g := range given {
		if _, ok := j.lines[g.hash]; ok {
			continue
		}
		if err := j.take(g.Entry); err != nil {
			refused = append(refused, &Fault{Line: g.n, ID: g.ID.String(), Reason: err})
			continue
		}
		added = append(added, g.Entry)
	}
	slices.SortFunc(refused, func(a, b *Fault) int { return cmp.Compare(a.Line, b.Line) })
	return added, refused
}

// Entries lists all, by device, sequence number and hash: the order of an
// export, in which an entry follows the one before it.
func (j *Journal) Entries() []Entry {
	all := make([]Entry, 0, len(j.lines))
	for _, e := range j.lines {
		all = append(all, e)
	}
	sortEntries(all)
	return all
}

// Entry returns the entry of this hash.
func (j *Journal) Entry(h Hash) (Entry, bool) {
	e, ok := j.lines[h]
	return e, ok
}

// Forks lists what is claimed by more than one entry: places in a chain, then
// ids. The entries stay; someone has to be told.
func (j *Journal) Forks() []Fork { return j.index.forks() }
