package door

import (
	"container/list"
	"math"
	"sync"
	"time"

	"golang.org/x/time/rate"

	"sapwell/accounts"
)

// How often is often (own conventions).
const (
	sessionRate   = 20 // requests a second of one session, on the whole
	sessionBurst  = 200
	strangerRate  = 5 // of one address without a session
	strangerBurst = 60
	signInRate    = 0.5 // sign-ins, joins and enrolments of one address
	signInBurst   = 20
	freeHere      = 5  // wrong passwords for a name from one address before delays
	freeAnywhere  = 20 // and from all addresses
	firstDelay    = time.Second
	longestDelay  = 15 * time.Minute

	// maxKept is how many addresses, sessions or names each limit keeps in mind.
	// Beyond that the one that was quiet for longest is forgotten, so that many
	// addresses cannot fill the memory.
	maxKept = 10000
)

// recent keeps values by name, at most maxKept of them. It is not safe for use by
// many at once.
type recent[V any] struct {
	order  *list.List // of *kept[V], the latest first
	byName map[string]*list.Element
}

type kept[V any] struct {
	name  string
	value V
}

func newRecent[V any]() *recent[V] {
	return &recent[V]{order: list.New(), byName: map[string]*list.Element{}}
}

// get returns the value of that name, making a new one if there is none.
func (r *recent[V]) get(name string, make func() V) V {
	if e, ok := r.byName[name]; ok {
		r.order.MoveToFront(e)
		return e.Value.(*kept[V]).value
	}
	if r.order.Len() >= maxKept {
		last := r.order.Back()
		delete(r.byName, last.Value.(*kept[V]).name)
		r.order.Remove(last)
	}
	v := make()
	r.byName[name] = r.order.PushFront(&kept[V]{name, v})
	return v
}

func (r *recent[V]) has(name string) bool {
	_, ok := r.byName[name]
	return ok
}

func (r *recent[V]) drop(name string) {
	if e, ok := r.byName[name]; ok {
		delete(r.byName, name)
		r.order.Remove(e)
	}
}

// pacer lets each name ask so many times a second, and some at once.
type pacer struct {
	clock accounts.Clock
	rate  rate.Limit
	burst int

	mu   sync.Mutex
	each *recent[*rate.Limiter]
}

func newPacer(clock accounts.Clock, perSecond rate.Limit, burst int) *pacer {
	return &pacer{clock: clock, rate: perSecond, burst: burst, each: newRecent[*rate.Limiter]()}
}

// wait is 0 if the name may ask now, else after how many seconds.
func (p *pacer) wait(name string) int64 {
	now := p.clock()
	p.mu.Lock()
	limiter := p.each.get(name, func() *rate.Limiter { return rate.NewLimiter(p.rate, p.burst) })
	p.mu.Unlock()
	turn := limiter.ReserveN(now, 1)
	delay := turn.DelayFrom(now)
	if delay > 0 {
		turn.CancelAt(now)
	}
	return seconds(delay)
}

// seconds rounds up.
func seconds(d time.Duration) int64 { return int64(math.Ceil(d.Seconds())) }

// tries counts attempts to sign in. Each counts as wrong until it turns out right,
// so that many at once are no way round.
type tries struct {
	clock   accounts.Clock
	address *pacer

	mu       sync.Mutex
	here     *recent[*wrong] // by name and address
	anywhere *recent[*wrong] // by name
	known    *recent[bool]   // name and address that were right before
}

// wrong is how often in a row, and until when not again.
type wrong struct {
	count int
	until time.Time
}

func newTries(clock accounts.Clock) *tries {
	return &tries{clock: clock, address: newPacer(clock, signInRate, signInBurst),
		here: newRecent[*wrong](), anywhere: newRecent[*wrong](), known: newRecent[bool]()}
}

// begin is asked before a password is looked at: 0, or after how many seconds to
// try again. The delays of a name grow with every wrong password, but those made by
// strangers do not hold up an address from which the name was right before.
func (t *tries) begin(name, address string) int64 {
	if wait := t.address.wait(address); wait > 0 {
		return wait
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	both, now := name+" "+address, t.clock()
	checks := map[*wrong]int{t.here.get(both, newWrong): freeHere}
	if !t.known.has(both) {
		checks[t.anywhere.get(name, newWrong)] = freeAnywhere
	}
	var wait int64
	for w := range checks {
		wait = max(wait, seconds(w.until.Sub(now)))
	}
	if wait > 0 {
		return wait
	}
	for w, free := range checks {
		w.again(now, free)
	}
	return 0
}

func newWrong() *wrong { return new(wrong) }

func (w *wrong) again(now time.Time, free int) {
	if w.count++; w.count >= free {
		w.until = now.Add(min(firstDelay<<min(w.count-free, 20), longestDelay))
	}
}

// right forgets the wrong ones of a name.
func (t *tries) right(name, address string) {
	t.mu.Lock()
	defer t.mu.Unlock()
	both := name + " " + address
	t.here.drop(both)
	t.anywhere.drop(name)
	t.known.get(both, func() bool { return true })
}
