package server

import (
	"container/list"
	"crypto/sha256"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"sync"

	"sapwell/engine/why"
	"sapwell/journal"
)

// A request that is sent again must not bore a hole twice. Two things see to it:
//
// The ids of the entries follow from the person and the key. Before the deed is
// done, under the lock of the journal, the first of them is looked up: if it stands
// there, the deed was done. That holds for ever, after a restart and when several
// servers share a store.
//
// The answers themselves are kept in memory, the newest of them, so that a retry is
// answered as the first request was. Where an answer is forgotten, the retry is
// told the entries only.

// ids makes one id after another.
type ids func() (journal.ID, error)

// idMaker makes ids by the clock.
type idMaker struct {
	random io.Reader
	clock  func() int64

	mu   sync.Mutex
	last journal.ID
}

func (m *idMaker) fresh() (journal.ID, error) {
	var random [10]byte
	if _, err := io.ReadFull(m.random, random[:]); err != nil {
		return journal.ID{}, fmt.Errorf("random bytes: %w", err)
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	id, err := journal.NewID(m.last, m.clock(), random)
	if err == nil {
		m.last = id
	}
	return id, err
}

// keyName stands for a key of one person.
func keyName(org, person, key journal.ID) journal.Hash {
	h := sha256.New()
	h.Write([]byte("sapwell deed\n"))
	h.Write(org[:])
	h.Write(person[:])
	h.Write(key[:])
	return journal.Hash(h.Sum(nil))
}

// derivedIDs makes the ids of the one deed of a key: always the same, with the time
// of the key.
func derivedIDs(name journal.Hash, key journal.ID) ids {
	var last journal.ID
	ms := int64(binary.BigEndian.Uint64(key[:]) >> 16)
	seed := name
	return func() (journal.ID, error) {
		seed = sha256.Sum256(seed[:])
		id, err := journal.NewID(last, ms, [10]byte(seed[:10]))
		last = id
		return id, err
	}
}

// How many answers are kept, and how large all of them may be.
const (
	mostKeys      = 1024
	mostDone      = 10_000
	mostDoneBytes = 16 << 20
)

// doneDeed is what came of a deed.
type doneDeed struct {
	deed     string
	input    [sha256.Size]byte
	result   any
	entries  []journal.ID
	findings []why.Finding
	before   bool // by an earlier request
}

// doneDeeds keeps the newest answers to requests with a key.
type doneDeeds struct {
	mu     sync.Mutex
	byName map[journal.Hash]*list.Element
	order  *list.List // of kept, the newest first
	bytes  int
}

type kept struct {
	name journal.Hash
	did  doneDeed
	size int
}

func newDoneDeeds() *doneDeeds {
	return &doneDeeds{byName: map[journal.Hash]*list.Element{}, order: list.New()}
}

// find looks for an answer. A key that was used for something else is refused.
func (d *doneDeeds) find(name journal.Hash, deed string, input []byte) (doneDeed, bool, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	e, ok := d.byName[name]
	if !ok {
		return doneDeed{}, false, nil
	}
	did := e.Value.(kept).did
	if did.deed != deed || did.input != sha256.Sum256(input) {
		return doneDeed{}, false, problem(http.StatusUnprocessableEntity, "request.key_reused").in("header.Idempotency-Key")
	}
	return did, true, nil
}

func (d *doneDeeds) keep(name journal.Hash, did doneDeed) {
	text, err := json.Marshal(did.result)
	if err != nil || len(text) > mostDoneBytes/16 { // then the retry is told the entries only
		return
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	k := kept{name, did, len(text) + 17*len(did.entries) + 500*(1+len(did.findings))}
	d.byName[name] = d.order.PushFront(k)
	d.bytes += k.size
	for d.order.Len() > mostDone || d.bytes > mostDoneBytes {
		oldest := d.order.Remove(d.order.Back()).(kept)
		delete(d.byName, oldest.name)
		d.bytes -= oldest.size
	}
}
