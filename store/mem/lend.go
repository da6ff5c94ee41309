package mem

import (
	"context"
	"errors"

	"sapwell/journal"
	"sapwell/store"
)

// Lent is an entry that an office lends to a phone: its line, and the time of its
// place in the order of folding, which follows from a chain that the phone does not
// have.
type Lent struct {
	Line []byte
	Time int64
}

var errLent = errors.New("this device writes that chain itself; merge it")

// Lend lets the views tell of entries whose chains are not here: a phone carries
// what its day needs, and no more. They are looked at like others, but are not part
// of the journal: no offer names them, no gift and no export holds them, and of
// their signatures nothing is known here. What is there already is passed over.
func (l *Ledger) Lend(ctx context.Context, lines []Lent) (refused []*journal.Fault, err error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	var taken []journal.Entry
	var places []arrival
	fresh := make(map[journal.Hash]bool)
	for i, lent := range lines {
		e, err := journal.ReadEntry(lent.Line)
		if err == nil && l.keys[e.Device] != nil && !l.knows(e) {
			err = errLent
		}
		if err != nil {
			refused = append(refused, &journal.Fault{Line: i + 1, Reason: err})
			continue
		}
		if l.knows(e) || fresh[e.Hash()] {
			continue
		}
		fresh[e.Hash()] = true
		taken, places = append(taken, e), append(places, arrival{n: -1, time: lent.Time})
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if err := l.present.take(taken, places, l.entry); err != nil {
		return nil, err
	}
	for i, e := range taken {
		l.lent[e.Hash()] = e
		l.known[e.Hash()] = places[i]
		if _, ok := l.first[e.ID]; !ok {
			l.first[e.ID] = e.Hash()
		}
		l.noteTip(e)
	}
	return refused, nil
}

// Last is the entry after which a device writes on, as far as its chain is here or
// was lent; the zero Held where there is none.
func (l *Ledger) Last(device journal.Hash) store.Held {
	l.mu.RLock()
	defer l.mu.RUnlock()
	tip, ok := l.tips[device]
	if !ok {
		return store.Held{}
	}
	return l.held(tip)
}

func (l *Ledger) knows(e journal.Entry) bool {
	_, ok := l.known[e.Hash()]
	return ok
}

// entry is an entry of the journal, or one that was lent.
func (l *Ledger) entry(h journal.Hash) (journal.Entry, bool) {
	if e, ok := l.log.Entry(h); ok {
		return e, true
	}
	e, ok := l.lent[h]
	return e, ok
}
