package server

import (
	"context"
	"log/slog"
	"net/http"
	"sync"
	"time"

	"sapwell/entries"
	"sapwell/journal"
	"sapwell/store"
)

// How much of the live channel there is.
const (
	mostListeners    = 1000
	mostListenersOrg = 250
	mostBehind       = 16   // changes that wait for a slow listener, then it is let go
	mostLooked       = 1000 // entries looked at for one change
	pollEvery        = time.Second
)

// change is what came into a journal: the subjects it speaks of, and the size of
// the log after it.
type change struct {
	Size     int64             `json:"size" doc:"of the log, with this change"`
	Subjects []entries.Subject `json:"subjects" nullable:"false" doc:"what it speaks of"`
}

// live tells listeners what changed in their journals. Writes of this process wake
// it at once; those of other processes on the same store it sees by asking for the
// size every second, as long as somebody listens.
type live struct {
	store store.Store
	log   *slog.Logger

	mu      sync.Mutex
	watches map[journal.ID]*watch
	all     int
	closed  bool
}

// watch is one organisation that somebody listens to.
type watch struct {
	ledger    store.Ledger
	at        int64 // listeners know the log up to here
	listeners map[chan change]bool
	wake      chan struct{}
	stop      context.CancelFunc
}

func newLive(st store.Store, log *slog.Logger) *live {
	return &live{store: st, log: log, watches: map[journal.ID]*watch{}}
}

// nudge says that something was written.
func (l *live) nudge(org journal.ID) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if w, ok := l.watches[org]; ok {
		select {
		case w.wake <- struct{}{}:
		default: // it is awake already
		}
	}
}

// join listens from a size of the log on, which it returns. The channel is closed
// when the listener falls behind or the server ends; leave must be called.
func (l *live) join(ledger store.Ledger, size int64) (heard chan change, at int64, err error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	org := ledger.Org()
	w, ok := l.watches[org]
	if l.closed || l.all >= mostListeners || ok && len(w.listeners) >= mostListenersOrg {
		return nil, 0, problem(http.StatusServiceUnavailable, "live.full")
	}
	if !ok {
		ctx, stop := context.WithCancel(context.Background())
		w = &watch{ledger: ledger, at: size, listeners: map[chan change]bool{}, wake: make(chan struct{}, 1), stop: stop}
		l.watches[org] = w
		go l.run(ctx, w)
	}
	heard = make(chan change, mostBehind)
	w.listeners[heard] = true
	l.all++
	return heard, w.at, nil
}

func (l *live) leave(org journal.ID, heard chan change) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if w, ok := l.watches[org]; ok && w.listeners[heard] {
		l.drop(w, heard)
		if len(w.listeners) == 0 {
			w.stop()
			delete(l.watches, org)
		}
	}
}

// drop ends a channel. The lock is held.
func (l *live) drop(w *watch, heard chan change) {
	delete(w.listeners, heard)
	close(heard)
	l.all--
}

// close lets all listeners go and takes no new ones.
func (l *live) close() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.closed = true
	for org, w := range l.watches {
		w.stop()
		for heard := range w.listeners {
			l.drop(w, heard)
		}
		delete(l.watches, org)
	}
}

// count is how many listen.
func (l *live) count() int {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.all
}

// run looks for changes until nobody listens any more.
func (l *live) run(ctx context.Context, w *watch) {
	tick := time.NewTicker(pollEvery)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		case <-w.wake:
		}
		if err := l.look(ctx, w); err != nil && ctx.Err() == nil {
			l.log.WarnContext(ctx, "live", "cause", err.Error()) // and again in a second
		}
	}
}

// look tells the listeners all that came in since the last time.
func (l *live) look(ctx context.Context, w *watch) error {
	for {
		c, size, err := changeFrom(ctx, w.ledger, w.at)
		if err != nil || c.Size == w.at {
			return err
		}
		l.tell(w, c)
		if c.Size == size {
			return nil
		}
	}
}

func (l *live) tell(w *watch, c change) {
	l.mu.Lock()
	defer l.mu.Unlock()
	w.at = c.Size
	for heard := range w.listeners {
		select {
		case heard <- c:
		default:
			l.drop(w, heard)
		}
	}
}

// changeFrom is the first change after a size of the log, and the size now.
func changeFrom(ctx context.Context, ledger store.Ledger, from int64) (c change, size int64, err error) {
	size, err = ledger.Size(ctx) // cheap; most of the time nothing is new
	if err != nil || size <= from {
		return change{Size: from}, size, err
	}
	subjects, size, err := ledger.Changed(ctx, from, mostLooked)
	return change{Size: min(from+mostLooked, size), Subjects: append([]entries.Subject{}, subjects...)}, size, err
}
