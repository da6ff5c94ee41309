package passkey

import (
	"sync"
	"time"

	"github.com/go-webauthn/webauthn/webauthn"

	"sapwell/accounts"
	"sapwell/journal"
)

// A ceremony that was begun can be ended for lasts, and at most maxBegun wait;
// beyond that the oldest is forgotten. They are kept in memory: after a restart
// people begin again.
const (
	lasts    = 5 * time.Minute
	maxBegun = 1000
)

// begun keeps what the library must find again when the browser answers.
type begun struct {
	clock accounts.Clock

	mu       sync.Mutex
	sessions map[journal.Hash]waiting
	order    []journal.Hash // oldest first; may name some that were taken
}

type waiting struct {
	session webauthn.SessionData
	until   time.Time
}

func newBegun(clock accounts.Clock) *begun {
	return &begun{clock: clock, sessions: map[journal.Hash]waiting{}}
}

// put keeps a ceremony and returns its handle.
func (b *begun) put(s webauthn.SessionData) string {
	handle, hash := accounts.NewToken()
	now := b.clock()
	b.mu.Lock()
	defer b.mu.Unlock()
	for len(b.order) > 0 {
		oldest, there := b.sessions[b.order[0]]
		if there && now.Before(oldest.until) && len(b.order) < maxBegun {
			break
		}
		delete(b.sessions, b.order[0])
		b.order = b.order[1:]
	}
	b.sessions[hash] = waiting{session: s, until: now.Add(lasts)}
	b.order = append(b.order, hash)
	return handle
}

// take returns a ceremony once.
func (b *begun) take(handle string) (webauthn.SessionData, bool) {
	hash, err := accounts.TokenHash(handle)
	if err != nil {
		return webauthn.SessionData{}, false
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	w, ok := b.sessions[hash]
	delete(b.sessions, hash)
	return w.session, ok && b.clock().Before(w.until)
}
