package door

import (
	"fmt"
	"math/rand/v2"
	"net/http/httptest"
	"net/netip"
	"sync"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// turned is a clock that a test turns.
type turned struct {
	mu  sync.Mutex
	now time.Time
}

func (c *turned) tell() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.now
}

func (c *turned) wait(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.now = c.now.Add(d)
}

func newTurned() *turned { return &turned{now: time.UnixMilli(1_900_000_000_000)} }

// Wrong passwords from one address: five are free, then each costs twice the wait
// of the one before, up to 15 minutes.
func TestDelaysGrow(t *testing.T) {
	c := newTurned()
	tr := newTries(c.tell)
	for n := range freeHere {
		if wait := tr.begin("a", "x"); wait != 0 {
			t.Fatalf("try %d waits %d s", n+1, wait)
		}
	}
	want := int64(1)
	for range 14 {
		wait := tr.begin("a", "x")
		if wait != want {
			t.Errorf("wait %d s, want %d", wait, want)
		}
		c.wait(time.Duration(wait)*time.Second - time.Millisecond)
		if again := tr.begin("a", "x"); again != 1 {
			t.Errorf("a moment too early: wait %d s, want 1", again)
		}
		c.wait(time.Hour) // long enough for the limit of the address, too
		if wait := tr.begin("a", "x"); wait != 0 {
			t.Errorf("after the wait: %d s more", wait)
		}
		want = min(2*want, int64(longestDelay/time.Second))
	}
	tr.right("a", "x")
	for range freeHere {
		if wait := tr.begin("a", "x"); wait != 0 {
			t.Errorf("after a right one: wait %d s", wait)
		}
	}
}

// Guesses at one name from everywhere are slowed too, but not for an address from
// which the name was right before.
func TestManyAddresses(t *testing.T) {
	c := newTurned()
	tr := newTries(c.tell)
	if tr.begin("a", "home") != 0 {
		t.Fatal("the first try waits")
	}
	tr.right("a", "home")
	let := 0
	for n := range 1000 {
		if tr.begin("a", fmt.Sprint("bot", n)) == 0 {
			let++
		}
		c.wait(time.Second)
	}
	// 20 free, then the waits 1, 2, 4, … 512 s fit into the rest of 1,000 s.
	if let > freeAnywhere+10 {
		t.Errorf("%d guesses in 1,000 s from 1,000 addresses", let)
	}
	if wait := tr.begin("a", "elsewhere"); wait == 0 {
		t.Error("an address that is new waits not at all")
	}
	if wait := tr.begin("a", "home"); wait != 0 {
		t.Errorf("home waits %d s because of strangers", wait)
	}
	if wait := tr.begin("b", "elsewhere"); wait != 0 {
		t.Errorf("another name waits %d s", wait)
	}
}

// Many at the same moment are no way round.
func TestTriesAtOnce(t *testing.T) {
	tr := newTries(newTurned().tell)
	var let, all = make(chan bool, 100), sync.WaitGroup{}
	for range 100 {
		all.Go(func() {
			if tr.begin("a", "x") == 0 {
				let <- true
			}
		})
	}
	all.Wait()
	if len(let) != freeHere {
		t.Errorf("%d of 100 at once were let try, want %d", len(let), freeHere)
	}
}

// One address that tries many names.
func TestManyNames(t *testing.T) {
	c := newTurned()
	tr := newTries(c.tell)
	let := 0
	for n := range 600 {
		if tr.begin(fmt.Sprint("name", n), "x") == 0 {
			let++
		}
		c.wait(100 * time.Millisecond)
	}
	if most := signInBurst + 30 + 1; let > most {
		t.Errorf("%d tries in a minute, want at most %d", let, most)
	}
}

// However many names and addresses come, so many are kept and no more.
func TestMemoryIsBounded(t *testing.T) {
	c := newTurned()
	tr, p := newTries(c.tell), newPacer(c.tell, strangerRate, strangerBurst)
	for n := range 3 * maxKept {
		tr.begin(fmt.Sprint("name", n), fmt.Sprint("address", n))
		tr.right(fmt.Sprint("name", n), fmt.Sprint("address", n))
		tr.begin(fmt.Sprint("name", n), fmt.Sprint("address", n))
		p.wait(fmt.Sprint(n))
	}
	for name, n := range map[string]int{
		"here": len(tr.here.byName), "anywhere": len(tr.anywhere.byName), "known": len(tr.known.byName),
		"addresses": len(tr.address.each.byName), "pacer": len(p.each.byName), "order": p.each.order.Len(),
	} {
		if n > maxKept {
			t.Errorf("%s keeps %d, want at most %d", name, n, maxKept)
		}
	}
}

// recent is a map that forgets the one that was quiet longest.
func TestRecent(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := newRecent[int]()
		last := map[string]int{} // when each was used
		for now := range rapid.IntRange(0, 50).Draw(t, "steps") {
			name := rapid.StringMatching(`[a-d]`).Draw(t, "name")
			if rapid.Bool().Draw(t, "drop") {
				r.drop(name)
				delete(last, name)
			} else {
				r.get(name, func() int { return now })
				last[name] = now
			}
			if len(r.byName) != len(last) || r.order.Len() != len(last) {
				t.Fatalf("keeps %d, want %d", len(r.byName), len(last))
			}
		}
		for name := range last {
			if !r.has(name) {
				t.Fatalf("%s is gone", name)
			}
		}
	})
}

func TestPace(t *testing.T) {
	c := newTurned()
	p := newPacer(c.tell, 2, 3)
	for n := range 3 {
		if wait := p.wait("x"); wait != 0 {
			t.Errorf("%d: wait %d", n, wait)
		}
	}
	if wait := p.wait("x"); wait != 1 {
		t.Errorf("wait %d s, want 1 (half a second, rounded up)", wait)
	}
	if wait := p.wait("y"); wait != 0 {
		t.Errorf("another name waits %d s", wait)
	}
	c.wait(500 * time.Millisecond)
	if wait := p.wait("x"); wait != 0 {
		t.Errorf("after half a second: wait %d", wait)
	}
}

// X-Forwarded-For is believed only as far as our own proxies vouch for it.
func TestAddress(t *testing.T) {
	d := &Door{Config: Config{Proxies: []netip.Prefix{netip.MustParsePrefix("10.0.0.0/8"), netip.MustParsePrefix("fd00::/8")}}}
	for _, c := range []struct {
		remote    string
		forwarded []string
		want      string
	}{
		{"203.0.113.5:1", nil, "203.0.113.5"},
		{"203.0.113.5:1", []string{"1.2.3.4"}, "203.0.113.5"}, // not our proxy
		{"10.0.0.1:1", []string{"203.0.113.5"}, "203.0.113.5"},
		{"10.0.0.1:1", []string{"1.2.3.4, 203.0.113.5"}, "203.0.113.5"}, // made up by whoever asks
		{"10.0.0.1:1", []string{"1.2.3.4", "203.0.113.5"}, "203.0.113.5"},
		{"10.0.0.1:1", []string{"203.0.113.5, 10.0.0.2"}, "203.0.113.5"}, // two of ours
		{"10.0.0.1:1", []string{"203.0.113.5, nonsense"}, "10.0.0.1"},
		{"10.0.0.1:1", []string{""}, "10.0.0.1"},
		{"10.0.0.1:1", nil, "10.0.0.1"},
		{"[2001:db8:1:2:3::4]:1", nil, "2001:db8:1:2::/64"},
		{"[2001:db8:1:2:ffff::9%eth0]:1", nil, "2001:db8:1:2::/64"},
		{"[::ffff:203.0.113.5]:1", nil, "203.0.113.5"},
		{"[fd00::1]:1", []string{"2001:db8::1"}, "2001:db8::/64"},
		{"nonsense", nil, "?"},
	} {
		r := httptest.NewRequest("GET", "/", nil)
		r.RemoteAddr = c.remote
		for _, f := range c.forwarded {
			r.Header.Add("X-Forwarded-For", f)
		}
		if got := d.address(r); got != c.want {
			t.Errorf("%s, %q: %q, want %q", c.remote, c.forwarded, got, c.want)
		}
	}
}

func FuzzAddress(f *testing.F) {
	d := &Door{Config: Config{Proxies: []netip.Prefix{netip.MustParsePrefix("10.0.0.0/8")}}}
	f.Add("10.0.0.1:1", "1.2.3.4, 10.0.0.9")
	f.Add("[fe80::1%eth0]:1", "::ffff:10.0.0.1,[::1]:80")
	f.Fuzz(func(t *testing.T, remote, forwarded string) {
		r := httptest.NewRequest("GET", "/", nil)
		r.RemoteAddr = remote
		r.Header["X-Forwarded-For"] = []string{forwarded}
		if got := d.address(r); len(got) > 60 {
			t.Errorf("%q: a long name to keep", got)
		}
	})
}

func BenchmarkTries(b *testing.B) {
	c := newTurned()
	tr := newTries(c.tell)
	for b.Loop() {
		tr.begin("a", fmt.Sprint(rand.IntN(2*maxKept)))
	}
}
