package server

import (
	"bytes"
	"compress/gzip"
	"context"
	"crypto/ed25519"
	"crypto/rand"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"maps"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"sync"
	"testing"
	"time"

	"sapwell/accounts"
	"sapwell/actions"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/server/door"
	"sapwell/store"
	"sapwell/store/mem"
	"sapwell/words"
)

// house is a server with two organisations, each with its people.
type house struct {
	t      testing.TB
	store  store.Store
	server *Server
	web    *httptest.Server
	log    *logged
	clock  *clock

	firm, other *firm
}

// firm is an organisation and tokens of its people.
type firm struct {
	org    journal.ID
	key    ed25519.PrivateKey // the office's
	people map[string]journal.ID
	tokens map[string]string // by person, and "phone" for the device of app
	phone  ed25519.PrivateKey
	names  []string // of things in paths and inputs, each followed by what stands for it
}

// clock goes on a little whenever it is asked, so that nobody is asked to slow down.
type clock struct {
	mu  sync.Mutex
	now time.Time
}

// morning is 9 June 2026, 15:00 UTC: eight in the morning at the firm.
var morning = time.Date(2026, 6, 9, 15, 0, 0, 0, time.UTC)

func (c *clock) tell() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.now = c.now.Add(250 * time.Millisecond)
	return c.now
}

// logged is what the server wrote into its log.
type logged struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (l *logged) Write(b []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.Write(b)
}

func (l *logged) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.String()
}

func newHouse(t testing.TB) *house { return newHouseOn(t, mem.New()) }

func newHouseOn(t testing.TB, st store.Store) *house {
	t.Helper()
	h := &house{t: t, store: st, log: new(logged), clock: &clock{now: morning}}
	log := slog.New(slog.NewJSONHandler(h.log, nil))
	mux := http.NewServeMux()
	h.web = httptest.NewServer(mux)
	t.Cleanup(h.web.Close)
	site, err := url.Parse(h.web.URL)
	if err != nil {
		t.Fatal(err)
	}
	d, err := door.New(door.Config{
		Journal: NewJournals(st, h.clock.tell, rand.Reader), Keeper: st, Clock: h.clock.tell, Log: log, Site: site, Loopback: true,
		Open: OpenRoutes(), Live: LiveRoutes(),
	})
	if err != nil {
		t.Fatal(err)
	}
	h.server = New(Options{Store: st, Clock: h.clock.tell, Random: rand.Reader, Log: log, Door: d, Version: "test"})
	mux.Handle("/", h.server)
	h.firm, h.other = h.found("Example Tree Care (fictional)"), h.found("Another Example (fictional)")
	return h
}

// found begins an organisation with one person of each role, and a phone.
func (h *house) found(name string) *firm {
	h.t.Helper()
	ctx := context.Background()
	_, key, err := ed25519.GenerateKey(rand.Reader)
	h.must(err)
	f := &firm{key: key, people: map[string]journal.ID{}, tokens: map[string]string{}}
	m := actions.Moment{Device: deviceOf(key), Now: h.clock.tell().UnixMilli(), NewID: h.server.ids.fresh}
	made, err := actions.Found(m, actions.FoundInput{
		Name: name, Country: "US", Region: "OR", Zone: "America/Los_Angeles", KeepYears: 3,
		Person: "Alma Beispiel", Roles: []entries.Role{entries.Applicator}, Device: "office",
	})
	h.must(err)
	var log journal.Journal
	var lines [][]byte
	for _, d := range made.Drafts {
		e, err := log.Append(key, d)
		h.must(err)
		lines = append(lines, e.Line)
	}
	f.org, f.people["boss"] = made.Org, made.Person
	h.must(h.store.PutKey(ctx, accounts.Key{Org: made.Org, Private: key}))
	_, err = h.store.Found(ctx, lines, m.Now)
	h.must(err)
	f.tokens["boss"] = h.session(f, "boss")
	for _, p := range []struct{ who, input string }{
		{"app", `{"name":"Bo Muster","roles":["applicator"]}`},
		{"train", `{"name":"Cyd Modelo","roles":["trainee"],"supervisor":"$app"}`},
		{"look", `{"name":"Dee Esempio","roles":["inspector"]}`},
	} {
		f.people[p.who] = h.made(f, "boss", "person.add", p.input)
		f.name(p.who, f.people[p.who].String())
		f.tokens[p.who] = h.session(f, p.who)
	}
	f.name("boss", f.people["boss"].String(), "org", f.org.String())
	f.tokens["phone"], f.phone = h.enrol(f, "app")
	return f
}

func (h *house) must(err error) {
	h.t.Helper()
	if err != nil {
		h.t.Fatal(err)
	}
}

// session signs somebody in, without the wait for a password.
func (h *house) session(f *firm, who string) string {
	h.t.Helper()
	ctx := context.Background()
	id, _ := accounts.NewToken()
	h.must(h.store.PutAccount(ctx, accounts.Account{ID: id, Org: f.org, Person: f.people[who], Login: strings.ToLower(id)}))
	token, _, err := accounts.NewDesk(h.store, h.clock.tell).Open(ctx, id)
	h.must(err)
	return token
}

// enrol gives somebody a device.
func (h *house) enrol(f *firm, who string) (token string, key ed25519.PrivateKey) {
	h.t.Helper()
	ctx := context.Background()
	public, key, err := ed25519.GenerateKey(rand.Reader)
	h.must(err)
	desk := accounts.NewDesk(h.store, h.clock.tell)
	secret, _, err := desk.Invite(ctx, f.org, f.people[who], accounts.ForDevice)
	h.must(err)
	journals := NewJournals(h.store, h.clock.tell, rand.Reader)
	token, _, err = desk.Enrol(ctx, accounts.Enrolment{Secret: secret, Key: public, Signature: ed25519.Sign(key, accounts.EnrolMessage(secret, public))},
		func(ctx context.Context, i accounts.Invite, device journal.Hash) error {
			return journals.Enrol(ctx, i.Org, i.Person, device, "phone of "+who)
		})
	h.must(err)
	return token, key
}

// name lets paths and inputs speak of a thing as $name. A longer name is to be given
// before a shorter one that it begins with.
func (f *firm) name(pairs ...string) {
	for i := 0; i < len(pairs); i += 2 {
		f.names = append(f.names, "$"+pairs[i], pairs[i+1])
	}
}

func (f *firm) with(text string) string { return strings.NewReplacer(f.names...).Replace(text) }

// asked is a request as a test makes it.
type question struct {
	method, path string
	sent         []byte
	header       http.Header
	who          string    // "": nobody
	body         io.Reader // instead of sent
}

// ask sends a request and returns the answer with its body read.
func (h *house) ask(f *firm, q question) (*http.Response, []byte) {
	h.t.Helper()
	if q.body == nil && q.sent != nil {
		q.body = bytes.NewReader(q.sent)
	}
	req, err := http.NewRequest(q.method, h.web.URL+f.with(q.path), q.body)
	h.must(err)
	maps.Copy(req.Header, q.header)
	f.sign(req, q.who)
	res, err := h.web.Client().Do(req)
	h.must(err)
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	h.must(err)
	if res.Header.Get("Content-Encoding") == "gzip" { // the client unpacks only what it asked for by itself
		body = must(io.ReadAll(must(gzip.NewReader(bytes.NewReader(body)))))
	}
	check(h.t, q, res, body)
	return res, body
}

// sign shows who asks.
func (f *firm) sign(req *http.Request, who string) {
	switch {
	case who == "":
	case strings.HasPrefix(who, "phone"):
		req.Header.Set("Authorization", "Bearer "+f.tokens[who])
	default:
		req.AddCookie(&http.Cookie{Name: "sapwell", Value: f.tokens[who]})
	}
}

// get asks for JSON that must be there.
func (h *house) get(f *firm, who, path string, to any) {
	h.t.Helper()
	res, body := h.ask(f, question{method: "GET", path: path, who: who})
	if res.StatusCode != http.StatusOK {
		h.t.Fatalf("GET %s: %d %s", path, res.StatusCode, body)
	}
	h.must(json.Unmarshal(body, to))
}

// did is the answer to a deed.
type did struct {
	Result   json.RawMessage
	Entries  []journal.ID
	Findings []words.Finding
	Repeated bool
}

// do has a deed done.
func (h *house) do(f *firm, who, deed, input string) did {
	h.t.Helper()
	res, body := h.post(f, who, deed, input, nil)
	if res.StatusCode != http.StatusOK {
		h.t.Fatalf("%s %s: %d %s", deed, f.with(input), res.StatusCode, body)
	}
	var d did
	h.must(json.Unmarshal(body, &d))
	return d
}

func (h *house) post(f *firm, who, deed, input string, header http.Header) (*http.Response, []byte) {
	h.t.Helper()
	head := http.Header{"Content-Type": {"application/json"}}
	maps.Copy(head, header)
	return h.ask(f, question{method: "POST", path: "/api/deeds/" + deed, sent: []byte(f.with(input)), header: head, who: who})
}

// made is the id in the result of a deed.
func (h *house) made(f *firm, who, deed, input string) journal.ID {
	h.t.Helper()
	var result struct{ ID journal.ID }
	h.must(json.Unmarshal(h.do(f, who, deed, input).Result, &result))
	return result.ID
}

// refused asks for a deed that must not be done.
func (h *house) refused(f *firm, who, deed, input string, status int, code string) Problem {
	h.t.Helper()
	res, body := h.post(f, who, deed, input, nil)
	return h.problem(deed, res, body, status, code)
}

// problem checks that an answer is a problem of this sort.
func (h *house) problem(what string, res *http.Response, body []byte, status int, code string) Problem {
	h.t.Helper()
	var p Problem
	if err := json.Unmarshal(body, &p); err != nil || res.Header.Get("Content-Type") != "application/problem+json" {
		h.t.Errorf("%s: %d %s, no problem: %s", what, res.StatusCode, res.Header.Get("Content-Type"), body)
		return p
	}
	if res.StatusCode != status || p.Status != status || code != "" && p.Code != code || p.Code == "" || p.Detail == "" || p.Request == "" {
		h.t.Errorf("%s: %d %s, want %d %s", what, res.StatusCode, body, status, code)
	}
	return p
}

// day is what a day's work needs: grounds, an ash of 96 in, label, lot and plan.
func (h *house) day(f *firm) {
	h.t.Helper()
	label, err := json.Marshal(string(readFile(h.t, "../cmd/sapwell/demo/labels/demo-a.yaml")))
	h.must(err)
	for _, step := range []struct{ name, who, deed, input string }{
		{"grounds", "boss", "grounds.add", `{"name":"Example Park (invented)","context":"amenity","country":"US","region":"OR"}`},
		{"tree", "app", "tree.add", `{"grounds":"$grounds","tag":"A-1","species":"Fraxinus americana"}`},
		{"measurement", "app", "tree.measure", `{"tree":"$tree","stems":[{"ring":{"girth":{"around":"96 in","height":"12 in"}},"bark":[{"at":"0 in","thickness":"1/2 in"},{"at":"48 in","thickness":"1/2 in"}]}]}`},
		{"condition", "app", "tree.inspect", `{"tree":"$tree","canopy_loss":10,"pest":"Agrilus planipennis","bloom_over":"yes"}`},
		{"label", "boss", "label.add", fmt.Sprintf(`{"file":%s}`, label)},
		{"lot", "boss", "lot.add", `{"label":"demo-a","number":"B7","size":"4 mL","expires":"2027-01-31","units":40}`},
		{"certificate", "boss", "person.certify", `{"person":"$app","sort":"certificate","number":"X-1","authority":"Example Board","from":"2025-01-01","until":"2027-12-31"}`},
		{"plan", "app", "tree.plan", `{"tree":"$tree","day":"2026-06-09","label":"$label","certified":"yes"}`},
		{"visit", "app", "visit.open", `{"grounds":"$grounds","day":"2026-06-09","crew":["$train"],"jobs":[{"tree":"$tree","plan":"$plan"}]}`},
	} {
		f.name(step.name, h.made(f, step.who, step.deed, step.input).String())
	}
}

func sum(data []byte) journal.Hash { return sha256.Sum256(data) }
