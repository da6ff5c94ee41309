package server

import (
	"bytes"
	"compress/gzip"
	"context"
	"crypto/ed25519"
	"crypto/rand"
	"encoding/json"
	"fmt"
	"net/http"
	"reflect"
	"slices"
	"strings"
	"testing"

	"sapwell/actions"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/store"
	"sapwell/store/mem"
	"sapwell/views"
)

// handset is a device that works by itself and syncs when it can.
type handset struct {
	h      *house
	f      *firm
	who    string // its token
	person string
	key    ed25519.PrivateKey
	ledger *mem.Ledger
	office []journal.Known // what the office had when it was last heard
}

func newHandset(h *house, f *firm, who, person string, key ed25519.PrivateKey) *handset {
	return &handset{h: h, f: f, who: who, person: person, key: key, ledger: mem.NewLedger(f.org)}
}

// do does a deed without signal.
func (p *handset) do(deed, input string) json.RawMessage {
	p.h.t.Helper()
	ctx := context.Background()
	i := slices.IndexFunc(actions.Deeds(), func(d actions.Deed) bool { return d.Name == deed })
	now := p.h.clock.tell().UnixMilli()
	var out actions.Outcome
	_, err := p.ledger.Write(ctx, p.key, now, func(v store.Reader) (_ []journal.Draft, err error) {
		m := actions.Moment{By: p.f.people[p.person], Device: deviceOf(p.key), Now: now, NewID: p.h.server.ids.fresh}
		out, err = actions.Deeds()[i].Do(m, v, json.RawMessage(p.f.with(input)))
		return out.Drafts, err
	})
	if err != nil {
		p.h.t.Fatalf("%s without signal: %v", deed, err)
	}
	text, err := json.Marshal(out.Result)
	p.h.must(err)
	return text
}

// gift is the request that a sync would make now.
func (p *handset) gift() SyncRequest {
	p.h.t.Helper()
	ctx := context.Background()
	lines, _, err := p.ledger.Missing(ctx, p.office, 8<<20)
	p.h.must(err)
	req := SyncRequest{Offer: []journal.Known{}}
	offer, err := p.ledger.Offer(ctx)
	p.h.must(err)
	req.Offer = append(req.Offer, offer...)
	for _, l := range lines {
		req.Lines = append(req.Lines, string(l))
	}
	return req
}

// sync goes on until nothing is left to be given; the answers' counts are summed.
func (p *handset) sync() (sum SyncAnswer) {
	p.h.t.Helper()
	for more := true; more; {
		a := p.send(p.gift(), false)
		var lines [][]byte
		for _, l := range a.Lines {
			lines = append(lines, []byte(l))
		}
		merged, err := p.ledger.Merge(context.Background(), lines, 1, nil)
		p.h.must(err)
		if len(merged.Refused) > 0 {
			p.h.t.Errorf("the office gave %v", merged.Refused)
		}
		p.office, more = a.Offer, a.More
		sum.Added, sum.Known, sum.Lines = sum.Added+a.Added, sum.Known+a.Known, append(sum.Lines, a.Lines...)
		sum.Aside, sum.Refused = append(sum.Aside, a.Aside...), append(sum.Refused, a.Refused...)
	}
	return sum
}

// send makes one request; packed sends lines, packed, instead of JSON.
func (p *handset) send(req SyncRequest, packed bool) (a SyncAnswer) {
	p.h.t.Helper()
	q := question{method: "POST", path: "/api/sync", who: p.who, header: http.Header{"Content-Type": {"application/json"}}}
	q.sent = must(json.Marshal(req))
	if packed {
		q.header = http.Header{"Content-Type": {"application/x-ndjson"}, "Content-Encoding": {"gzip"}, "Accept-Encoding": {"gzip"}, "Accept": {ndjson}}
		head := must(json.Marshal(map[string]any{"offer": req.Offer}))
		q.body = bytes.NewReader(zipped([]byte(string(head) + "\n" + strings.Join(req.Lines, "\n") + "\n")))
		q.sent = nil
	}
	res, body := p.h.ask(p.f, q)
	if res.StatusCode != http.StatusOK {
		p.h.t.Fatalf("sync: %d %s", res.StatusCode, body)
	}
	if packed && res.Header.Get("Content-Encoding") != "gzip" {
		p.h.t.Error("the answer is not packed")
	}
	head, lines, _ := bytes.Cut(body, []byte("\n"))
	p.h.must(json.Unmarshal(head, &a))
	for line := range bytes.Lines(lines) {
		a.Lines = append(a.Lines, string(bytes.TrimSuffix(line, []byte("\n"))))
	}
	return a
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

func zipped(b []byte) []byte {
	var out bytes.Buffer
	z := gzip.NewWriter(&out)
	must(z.Write(b))
	if err := z.Close(); err != nil {
		panic(err)
	}
	return out.Bytes()
}

// states are what a ledger shows of a kind of thing.
func states(t *testing.T, l store.Ledger, kind entries.SubjectKind) map[string]string {
	t.Helper()
	all := map[string]string{}
	err := l.Read(context.Background(), func(v store.Reader) error {
		rows, err := v.List(kind, "", "", "", 1000)
		for _, r := range rows {
			all[r.Subject.ID] = string(r.State)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// A second device joins, works without signal while the office works too, and then
// both have everything and show the same.
func TestSecondDeviceJoinsAndMerges(t *testing.T) {
	h := newHouse(t)
	f := h.firm
	h.day(f)
	var key ed25519.PrivateKey
	f.tokens["phone2"], key = h.enrol(f, "app")
	p := newHandset(h, f, "phone2", "app", key)
	if got := p.sync(); len(got.Lines) == 0 || got.Added != 0 {
		t.Fatalf("joined with %d lines, gave %d", len(got.Lines), got.Added)
	}
	var installed struct{ Units []journal.ID }
	h.must(json.Unmarshal(p.do("tree.install", `{"visit":"$visit","tree":"$tree","lot":"$lot"}`), &installed))
	units := string(mustJSON(t, installed.Units))
	p.do("unit.lift", `{"visit":"$visit","units":`+units+`,"left":"0 mL"}`)
	h.made(f, "boss", "note.add", `{"on":{"kind":"tree","id":"$tree"},"text":"the gate is locked"}`) // meanwhile

	gift := p.gift()
	if len(gift.Lines) != 48 { // 16 holes, 16 units seated, 16 lifted
		t.Errorf("%d lines to give, want 48", len(gift.Lines))
	}
	if got := p.sync(); got.Added != 48 || len(got.Aside)+len(got.Refused) != 0 || len(got.Lines) != 1 {
		t.Errorf("gave %d, aside %v, refused %v, got %d lines", got.Added, got.Aside, got.Refused, len(got.Lines))
	}
	if got := p.send(gift, true); got.Added != 0 || got.Known != 48 { // delivered twice
		t.Errorf("again: added %d, known %d", got.Added, got.Known)
	}
	p.do("visit.tally", `{"visit":"$visit","lots":[{"lot":"$lot","taken":16,"seated":16,"lifted":16,"lost":0,"unused":0}]}`)
	p.do("visit.close", `{"visit":"$visit","signature":{"name":"Bo Muster","meaning":"done as recorded"}}`)
	p.sync()

	office, err := h.store.Ledger(t.Context(), f.org)
	h.must(err)
	mine, theirs := must(p.ledger.Offer(t.Context())), must(office.Offer(t.Context()))
	if !reflect.DeepEqual(mine, theirs) {
		t.Error("they do not have the same entries")
	}
	for _, kind := range []entries.SubjectKind{entries.OfTree, entries.OfVisit, entries.OfLot, entries.OfPerson} {
		if a, b := states(t, p.ledger, kind), states(t, office, kind); len(a) == 0 || !reflect.DeepEqual(a, b) {
			t.Errorf("the views of %s differ", kind)
		}
	}
	var visit views.Visit
	h.get(f, "look", "/api/visits/$visit", &visit)
	if visit.Closed == nil || len(visit.Flags) != 0 {
		t.Errorf("the visit shows %+v, %v", visit.Closed, visit.Flags)
	}
}

// What may not stand in the journal is kept apart, what is not sound is refused, and
// neither keeps the rest out; each is named by its line.
func TestFatesOfLines(t *testing.T) {
	h := newHouse(t)
	f := h.firm
	h.day(f)
	p := newHandset(h, f, "phone", "app", f.phone)
	p.sync()
	p.do("note.add", `{"on":{"kind":"tree","id":"$tree"},"text":"one"}`)
	p.do("note.add", `{"on":{"kind":"tree","id":"$tree"},"text":"two"}`)
	req := p.gift()
	stranger := newHandset(h, f, "", "app", must(newKey()))
	_, err := stranger.ledger.Merge(t.Context(), linesOf(t, p.ledger), 1, nil)
	h.must(err)
	stranger.do("note.add", `{"on":{"kind":"tree","id":"$tree"},"text":"from nowhere"}`)
	stranger.do("note.add", `{"on":{"kind":"tree","id":"$tree"},"text":"and on"}`)
	all := linesOf(t, stranger.ledger)
	unknown := slices.DeleteFunc(all, func(l []byte) bool {
		return !bytes.Contains(l, []byte("from nowhere")) && !bytes.Contains(l, []byte("and on"))
	})
	flipped := strings.Replace(req.Lines[1], `"two"`, `"TWO"`, 1)
	req.Lines = []string{string(unknown[0]), flipped, req.Lines[0], "not json", string(unknown[1])}
	a := p.send(req, false)
	if a.Added != 1 || !reflect.DeepEqual(a.Aside, []SyncAside{{1, "unknown"}, {5, "after"}}) && !reflect.DeepEqual(a.Aside, []SyncAside{{5, "unknown"}, {1, "after"}}) {
		t.Errorf("added %d, aside %v", a.Added, a.Aside)
	}
	if len(a.Refused) != 2 || a.Refused[0].Line != 2 || a.Refused[1].Line != 4 {
		t.Errorf("refused %+v, want lines 2 and 4", a.Refused)
	}
	// A browser may not push, whoever sits before it.
	q := question{method: "POST", path: "/api/sync", sent: []byte(`{"offer":[]}`), header: http.Header{"Content-Type": {"application/json"}}, who: "boss"}
	res, body := h.ask(f, q)
	h.problem("a browser", res, body, http.StatusForbidden, "session.not_a_device")
}

func linesOf(t *testing.T, l store.Ledger) (lines [][]byte) {
	t.Helper()
	lines, more, err := l.Missing(t.Context(), nil, 64<<20)
	if err != nil || more {
		t.Fatal(err, more)
	}
	return lines
}

// A revoked device is turned away at the door; what it wrote before stands.
func TestRevokedDevice(t *testing.T) {
	h := newHouse(t)
	f := h.firm
	h.day(f)
	p := newHandset(h, f, "phone", "app", f.phone)
	p.sync()
	p.do("note.add", `{"on":{"kind":"tree","id":"$tree"},"text":"before"}`)
	p.sync()
	f.name("device", deviceOf(f.phone).String())
	h.do(f, "boss", "device.revoke", `{"device":"$device","why":"lost in the river"}`)
	p.do("note.add", `{"on":{"kind":"tree","id":"$tree"},"text":"later"}`)
	q := question{method: "POST", path: "/api/sync", sent: must(json.Marshal(p.gift())), header: http.Header{"Content-Type": {"application/json"}}, who: "phone"}
	res, body := h.ask(f, q)
	h.problem("revoked", res, body, http.StatusUnauthorized, "session.over")
	// Brought by another device the later entry is kept apart.
	f.tokens["phone2"], _ = h.enrol(f, "app")
	q.who = "phone2"
	_, body = h.ask(f, q)
	var a SyncAnswer
	h.must(json.Unmarshal(body, &a))
	if a.Added != 0 || len(a.Aside) != 1 || a.Aside[0].Why != "revoked" {
		t.Errorf("added %d, aside %v", a.Added, a.Aside)
	}
	var apart struct{ Lines []KeptApart }
	h.get(f, "boss", "/api/aside", &apart)
	if len(apart.Lines) != 1 || apart.Lines[0].Why != "revoked" || apart.Lines[0].Device != deviceOf(f.phone) || !strings.Contains(apart.Lines[0].Line, "later") {
		t.Errorf("kept apart: %+v", apart.Lines)
	}
}

// Large gifts come in parts, each with a little more; the end is told.
func TestGiftInParts(t *testing.T) {
	h := newHouse(t)
	f := h.firm
	h.day(f)
	p := newHandset(h, f, "phone", "app", f.phone)
	rounds := 0
	for more := true; more; rounds++ {
		q := question{method: "POST", path: "/api/sync?limit=2000", sent: must(json.Marshal(p.gift())), header: http.Header{"Content-Type": {"application/json"}}, who: "phone"}
		_, body := h.ask(f, q)
		var a SyncAnswer
		h.must(json.Unmarshal(body, &a))
		if len(a.Lines) == 0 {
			t.Fatalf("nothing after %d rounds: %s", rounds, body)
		}
		var lines [][]byte
		for _, l := range a.Lines {
			lines = append(lines, []byte(l))
		}
		must(p.ledger.Merge(t.Context(), lines, 1, nil))
		more = a.More
	}
	office := must(h.store.Ledger(t.Context(), f.org))
	if rounds < 3 || !reflect.DeepEqual(must(p.ledger.Offer(t.Context())), must(office.Offer(t.Context()))) {
		t.Errorf("after %d rounds the phone has not everything", rounds)
	}
}

// What is too much, too deep or of another form is refused with its reason and
// changes nothing.
func TestBadSyncs(t *testing.T) {
	h := newHouse(t)
	f := h.firm
	json, ndjson := "application/json", "application/x-ndjson"
	before := must(must(h.store.Ledger(t.Context(), f.org)).Size(t.Context()))
	for name, c := range map[string]struct {
		kind, encoding string
		sent           []byte
		status         int
		code           string
	}{
		"empty":         {json, "", nil, 400, "request.malformed"},
		"no JSON":       {json, "", []byte("{"), 422, "request.malformed"},
		"two objects":   {json, "", []byte(`{"offer":[]}{"offer":[]}`), 422, "request.malformed"},
		"unknown":       {json, "", []byte(`{"offer":[],"more":1}`), 422, "request.malformed"},
		"wrong hash":    {json, "", []byte(`{"offer":[{"device":"x","hash":"y","seq":1}]}`), 422, "request.malformed"},
		"lines of what": {json, "", []byte(`{"offer":[],"lines":[1]}`), 422, "request.malformed"},
		"deep":          {json, "", []byte(`{"offer":` + strings.Repeat("[", 100_000)), 422, "request.too_deep"},
		"a form":        {"application/x-www-form-urlencoded", "", []byte("offer=1"), 415, "request.other_type"},
		"no type":       {"", "", []byte(`{"offer":[]}`), 415, "request.other_type"},
		"not gzip":      {json, "gzip", []byte("no"), 422, "request.packed"},
		"cut gzip":      {json, "gzip", zipped([]byte(`{"offer":[]}`))[:20], 422, "request.packed"},
		"other packing": {json, "br", []byte("x"), 422, "request.malformed"},
		"bomb":          {json, "gzip", zipped(bytes.Repeat([]byte(" "), 64<<20)), 413, "request.too_large"},
		"large":         {ndjson, "", append([]byte("{\"offer\":[]}\n"), bytes.Repeat([]byte("x"), 5<<20)...), 413, "request.too_large"},
		"many lines":    {ndjson, "gzip", zipped(append([]byte("{\"offer\":[]}\n"), bytes.Repeat([]byte("x\n"), 10_001)...)), 413, "sync.too_many"},
	} {
		head := http.Header{}
		for k, v := range map[string]string{"Content-Type": c.kind, "Content-Encoding": c.encoding} {
			if v != "" {
				head.Set(k, v)
			}
		}
		res, body := h.ask(f, question{method: "POST", path: "/api/sync", sent: c.sent, header: head, who: "phone"})
		h.problem(name, res, body, c.status, c.code)
	}
	if after := must(must(h.store.Ledger(t.Context(), f.org)).Size(t.Context())); after != before {
		t.Errorf("%d entries, %d before", after, before)
	}
}

// A gift of anything at all never brings the server to an error of its own.
func FuzzGift(f *testing.F) {
	f.Add("application/json", "", []byte(`{"offer":[],"lines":["{}"]}`))
	f.Add("application/x-ndjson", "", []byte("{\"offer\":[]}\n{}\n"))
	f.Add("application/json", "gzip", zipped([]byte(`{"offer":[]}`)))
	f.Fuzz(func(t *testing.T, kind, encoding string, body []byte) {
		_, lines, err := readGift(&syncInput{Type: kind, Encoding: encoding, RawBody: body})
		var p *Problem
		if err != nil && !asProblem(err, &p) {
			t.Errorf("%v", err)
		}
		if len(lines) > mostLines && err == nil {
			t.Errorf("%d lines", len(lines))
		}
	})
}

func asProblem(err error, to **Problem) bool {
	p, ok := err.(*Problem) //nolint:errorlint // exactly
	*to = p
	return ok && p.Status < 500 && fmt.Sprint(p.Code) != ""
}

func newKey() (ed25519.PrivateKey, error) {
	_, key, err := ed25519.GenerateKey(rand.Reader)
	return key, err
}

// A cursor is read as it was written, whatever the key; any other text is refused.
func FuzzCursor(f *testing.F) {
	f.Add("a|b", "id", "bm90")
	f.Fuzz(func(t *testing.T, key, id, text string) {
		id = strings.ReplaceAll(id, "|", "")
		if k, i, err := readCursor(writeCursor(key, id)); k != key || i != id || err != nil {
			t.Errorf("%q %q %v, want %q %q", k, i, err, key, id)
		}
		_, _, err := readCursor(text)
		var p *Problem
		if err != nil && !asProblem(err, &p) {
			t.Error(err)
		}
	})
}

// depth is what encoding/json finds by reading the tokens.
func FuzzDepth(f *testing.F) {
	for _, s := range []string{`{}`, `[[{"a":"]}[\\"}]]`, `"["`, `{"a\"{":[1,{"b":[]}]}`, `1`} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		if !json.Valid(text) {
			depth(text) // comes to an end
			return
		}
		deepest, now := 0, 0
		for dec := json.NewDecoder(bytes.NewReader(text)); ; {
			tok, err := dec.Token()
			if err != nil {
				break
			}
			switch tok {
			case json.Delim('{'), json.Delim('['):
				now++
			case json.Delim('}'), json.Delim(']'):
				now--
			}
			deepest = max(deepest, now)
		}
		if got := depth(text); got != deepest {
			t.Errorf("%s: %d deep, want %d", text, got, deepest)
		}
	})
}
