package server

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"net"
	"net/http"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"sapwell/entries"
	"sapwell/journal"
	"sapwell/store"
)

// stream is a page that listens.
type stream struct {
	t     *testing.T
	res   *http.Response
	lines *bufio.Scanner
}

type event struct {
	name, id string
	change   change
}

func (h *house) listen(f *firm, who, last string) *stream {
	h.t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	h.t.Cleanup(cancel)
	req := must(http.NewRequestWithContext(ctx, "GET", h.web.URL+"/api/live", nil))
	if last != "" {
		req.Header.Set("Last-Event-ID", last)
	}
	f.sign(req, who)
	res := must(h.web.Client().Do(req))
	if res.StatusCode != http.StatusOK || res.Header.Get("Content-Type") != "text/event-stream" {
		h.t.Fatalf("%d %v", res.StatusCode, res.Header)
	}
	t, _ := h.t.(*testing.T)
	return &stream{t, res, bufio.NewScanner(res.Body)}
}

// next reads an event; heartbeats are passed over.
func (s *stream) next() (e event) {
	s.t.Helper()
	for s.lines.Scan() {
		name, value, _ := strings.Cut(s.lines.Text(), ": ")
		switch name {
		case "event":
			e.name = value
		case "id":
			e.id = value
		case "data":
			if err := json.Unmarshal([]byte(value), &e.change); err != nil {
				s.t.Fatal(err)
			}
		case "":
			if e.name != "" {
				return e
			}
		}
	}
	s.t.Fatalf("the stream ended: %v", s.lines.Err())
	return e
}

// A page hears what it and others write, once each, and where it comes back it hears
// what it missed. Nobody hears of another organisation.
func TestLive(t *testing.T) {
	h := newHouse(t)
	f := h.firm
	page, stranger := h.listen(f, "look", ""), h.listen(h.other, "boss", "")
	ready := page.next()
	if ready.name != "ready" || ready.id != fmt.Sprint(ready.change.Size) || stranger.next().name != "ready" {
		t.Fatalf("%+v", ready)
	}
	grounds := h.made(f, "boss", "grounds.add", `{"name":"Example Park (invented)","context":"amenity"}`)
	want := entries.Subject{Kind: entries.OfGrounds, ID: grounds.String()}
	heard := page.next()
	if heard.name != "changed" || heard.change.Size != ready.change.Size+1 || len(heard.change.Subjects) != 1 || heard.change.Subjects[0] != want {
		t.Errorf("%+v, want %v", heard, want)
	}
	page.res.Body.Close()
	f.name("grounds", grounds.String())
	for i := range 3 {
		h.made(f, "boss", "tree.add", fmt.Sprintf(`{"grounds":"$grounds","tag":"A-%d","species":"Fraxinus americana"}`, i))
	}
	page = h.listen(f, "look", heard.id)
	if e := page.next(); e.name != "ready" || e.id != heard.id {
		t.Errorf("%+v", e)
	}
	if e := page.next(); e.change.Size != heard.change.Size+3 || len(e.change.Subjects) != 3 {
		t.Errorf("missed: %+v", e)
	}
	h.made(h.other, "boss", "grounds.add", `{"name":"Another Park (invented)","context":"amenity"}`)
	if e := stranger.next(); len(e.change.Subjects) != 1 || e.change.Subjects[0] == want {
		t.Errorf("another organisation hears %+v", e)
	}
	// The page above heard nothing of that: what comes next is its own again.
	h.made(f, "boss", "grounds.add", `{"name":"Third Park (invented)","context":"amenity"}`)
	if e := page.next(); e.change.Size != heard.change.Size+4 || len(e.change.Subjects) != 1 {
		t.Errorf("%+v", e)
	}
}

// What another server on the same store wrote is heard within seconds.
func TestLiveHearsOtherServers(t *testing.T) {
	h := newHouse(t)
	f := h.firm
	page := h.listen(f, "look", "")
	page.next()
	other := New(h.server.Options) // the same store, another process as it were
	ledger := must(h.store.Ledger(t.Context(), f.org))
	signer := must(other.signer(t.Context(), f.org))
	id := must(other.ids.fresh())
	draft := must(entries.Draft(id, morning.UnixMilli(), entries.Grounds{Head: entries.Head{By: f.people["boss"]}, Name: "Example", Context: "amenity"}))
	must(ledger.Write(t.Context(), signer, morning.UnixMilli(), draftsOf(draft)))
	start := time.Now()
	if e := page.next(); len(e.change.Subjects) != 1 || time.Since(start) > 5*time.Second {
		t.Errorf("%+v after %v", e, time.Since(start))
	}
}

// A listener that does not listen is let go; the others hear on. Places are given back.
func TestSlowListenerIsLetGo(t *testing.T) {
	h := newHouse(t)
	ledger := must(h.store.Ledger(t.Context(), h.firm.org))
	size := must(ledger.Size(t.Context()))
	l := newLive(h.store, h.server.Log)
	slow, at, err := l.join(ledger, size)
	h.must(err)
	if at != size {
		t.Errorf("joined at %d, want %d", at, size)
	}
	w := l.watches[h.firm.org]
	for i := range mostBehind + 1 {
		l.tell(w, change{Size: size + int64(i)})
	}
	for range mostBehind {
		<-slow
	}
	if _, open := <-slow; open {
		t.Error("the slow listener is still told")
	}
	l.leave(h.firm.org, slow) // does no harm
	if l.count() != 0 {
		t.Errorf("%d listen", l.count())
	}
}

func TestListenersAreBounded(t *testing.T) {
	h := newHouse(t)
	ledger := must(h.store.Ledger(t.Context(), h.firm.org))
	l := newLive(h.store, h.server.Log)
	defer l.close()
	var last chan change
	for range mostListenersOrg {
		heard, _, err := l.join(ledger, 0)
		h.must(err)
		last = heard
	}
	if _, _, err := l.join(ledger, 0); err == nil {
		t.Error("one organisation takes all places")
	}
	l.leave(h.firm.org, last)
	if _, _, err := l.join(ledger, 0); err != nil {
		t.Error("a place was not given back")
	}
}

// Told to end, the server lets the pages go and takes no new ones.
func TestLiveEnds(t *testing.T) {
	h := newHouse(t)
	page := h.listen(h.firm, "look", "")
	page.next()
	h.server.live.close()
	if page.lines.Scan() && page.lines.Text() != "" {
		t.Errorf("%q after the end", page.lines.Text())
	}
	req := must(http.NewRequest("GET", h.web.URL+"/api/live", nil))
	h.firm.sign(req, "look")
	res := must(h.web.Client().Do(req))
	res.Body.Close()
	if res.StatusCode != http.StatusServiceUnavailable || res.Header.Get("Retry-After") == "" {
		t.Errorf("%d %v", res.StatusCode, res.Header)
	}
}

// A quiet stream has a heartbeat, so that a proxy in between does not close it.
func TestHeartbeat(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithTimeout(t.Context(), 65*time.Second)
		defer cancel()
		w := &written{header: http.Header{}}
		e := &events{w: w, conn: http.NewResponseController(w)}
		e.run(ctx, caller{}, 5, 5, make(chan change))
		if got := strings.Count(w.text.String(), ":\n\n"); got != 3 { // at 20, 40 and 60 s
			t.Errorf("%d heartbeats in 65 s, want 3: %q", got, w.text.String())
		}
	})
}

type written struct {
	header http.Header
	text   strings.Builder
}

func (w *written) Header() http.Header         { return w.header }
func (w *written) WriteHeader(int)             {}
func (w *written) Write(b []byte) (int, error) { return w.text.Write(b) }
func (w *written) Flush()                      {}

func draftsOf(d ...journal.Draft) func(store.Reader) ([]journal.Draft, error) {
	return func(store.Reader) ([]journal.Draft, error) { return d, nil }
}

// The time that a request may take does not end a stream that goes on after it.
func TestLiveOutlastsTheRequest(t *testing.T) {
	h := newHouse(t)
	web := &http.Server{Handler: h.server, ReadTimeout: 200 * time.Millisecond, WriteTimeout: 200 * time.Millisecond}
	l := must(net.Listen("tcp", "127.0.0.1:0"))
	go web.Serve(l) //nolint:errcheck // ends with the test
	defer web.Close()
	h.web.URL = "http://" + l.Addr().String()
	page := h.listen(h.firm, "look", "")
	page.next()
	time.Sleep(500 * time.Millisecond)
	h.made(h.firm, "boss", "grounds.add", `{"name":"Example Park (invented)","context":"amenity"}`)
	if e := page.next(); len(e.change.Subjects) != 1 {
		t.Errorf("%+v", e)
	}
}
