package door_test

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"crypto/rand"
	"encoding/hex"
	"encoding/json"
	"errors"
	"io"
	"log/slog"
	"maps"
	"net/http"
	"net/http/httptest"
	"net/url"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"sapwell/accounts"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/server/door"
	"sapwell/store/mem"
)

const (
	password = "rusty gate winds uphill"
	other    = "seven herons cross at dusk"
	home     = "198.51.100.7:4711" // where requests come from, unless a test says otherwise
)

// book is what the door is told of the journals.
type book struct {
	mu      sync.Mutex
	people  map[journal.ID]map[journal.ID][]entries.Role // by organisation
	devices map[journal.Hash]bool                        // false: revoked
	broken  error
}

func (b *book) Roles(_ context.Context, org, person journal.ID) ([]entries.Role, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.people[org][person], b.broken
}

func (b *book) Enrolled(_ context.Context, _ journal.ID, device journal.Hash) (bool, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.devices[device], nil
}

func (b *book) Enrol(_ context.Context, _, _ journal.ID, device journal.Hash, _ string) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	if in, known := b.devices[device]; known && !in {
		return door.ErrRevoked
	}
	b.devices[device] = true
	return b.broken
}

func (b *book) People(_ context.Context, org journal.ID) (list []door.Person, err error) {
	for _, id := range slices.SortedFunc(maps.Keys(b.people[org]), func(a, b journal.ID) int { return bytes.Compare(a[:], b[:]) }) {
		list = append(list, door.Person{ID: id, Name: "Person <" + id.String()[34:] + ">"})
	}
	return list, nil
}

// set gives a person roles; none: they have left.
func (b *book) set(org, person journal.ID, roles ...entries.Role) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.people[org] == nil {
		b.people[org] = map[journal.ID][]entries.Role{}
	}
	b.people[org][person] = roles
}

// clock is a clock that a test turns.
type clock struct {
	mu  sync.Mutex
	now time.Time
}

func (c *clock) tell() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.now
}

func (c *clock) wait(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.now = c.now.Add(d)
}

// house is a door with something behind it: a handler that tells who asked.
type house struct {
	t      testing.TB
	door   *door.Door
	all    http.Handler
	keeper *mem.Store
	book   *book
	clock  *clock
	log    *bytes.Buffer
	config door.Config

	org, boss, hand journal.ID // boss is of the office, hand an applicator
	elsewhere, them journal.ID // another organisation
}

func id(n byte) journal.ID {
	made, err := journal.NewID(journal.ID{}, 1_800_000_000_000, [10]byte{n, n, n, n, n, n, n, n, n, n})
	if err != nil {
		panic(err)
	}
	return made
}

// newHouse builds it; change alters how the door is set up.
func newHouse(t testing.TB, change func(*door.Config)) *house {
	t.Helper()
	h := &house{t: t, keeper: mem.New(), clock: &clock{now: time.UnixMilli(1_900_000_000_000)}, log: new(bytes.Buffer),
		book: &book{people: map[journal.ID]map[journal.ID][]entries.Role{}, devices: map[journal.Hash]bool{}},
		org:  id(1), boss: id(2), hand: id(3), elsewhere: id(4), them: id(5)}
	h.book.set(h.org, h.boss, entries.Office)
	h.book.set(h.org, h.hand, entries.Applicator)
	h.book.set(h.elsewhere, h.them, entries.Office)
	h.config = door.Config{
		Journal: h.book, Keeper: h.keeper, Clock: h.clock.tell, Log: slog.New(slog.NewTextHandler(h.log, nil)),
		Site: site("https://office.example"), Open: []string{"GET /healthz"}, Live: []string{"GET /live"},
	}
	if change != nil {
		change(&h.config)
	}
	var err error
	if h.door, err = door.New(h.config); err != nil {
		t.Fatal(err)
	}
	h.all = h.door.Wrap(http.HandlerFunc(behind))
	return h
}

func site(text string) *url.URL {
	u, err := url.Parse(text)
	if err != nil {
		panic(err)
	}
	return u
}

// behind tells who asked, after reading what was sent.
func behind(w http.ResponseWriter, r *http.Request) {
	if _, err := io.Copy(io.Discard, r.Body); err != nil {
		w.WriteHeader(http.StatusTeapot)
		_, _ = io.WriteString(w, err.Error())
		return
	}
	who, in := door.From(r.Context())
	_ = json.NewEncoder(w).Encode(map[string]any{"in": in, "who": who})
}

// account gives a person an account without the work of a password, and signs in.
func (h *house) account(org, person journal.ID) *visitor {
	h.t.Helper()
	login, _ := accounts.NewToken()
	a := accounts.Account{ID: strings.ToLower(login[:32]), Org: org, Person: person, Login: strings.ToLower(login)}
	if err := h.keeper.PutAccount(h.t.Context(), a); err != nil {
		h.t.Fatal(err)
	}
	token, _, err := h.door.Desk().Open(h.t.Context(), a.ID)
	if err != nil {
		h.t.Fatal(err)
	}
	v := h.stranger()
	v.account = a.ID
	v.cookies["__Host-sapwell"] = token
	return v
}

// device enrols a device of a person over HTTP.
func (h *house) device(boss *visitor, person journal.ID) *visitor {
	h.t.Helper()
	v := h.stranger()
	v.from, v.host, v.key = boss.from, boss.host, newKey()
	a := v.send("POST", "/enrol", v.proof(boss.invited(person, "device")))
	v.bearer, _ = a.json()["token"].(string)
	if a.Code != http.StatusOK || v.bearer == "" {
		h.t.Fatalf("enrol: %d %s", a.Code, a.Body)
	}
	return v
}

// invited makes an invite and returns its secret.
func (v *visitor) invited(person journal.ID, sort string) string {
	v.t.Helper()
	a := v.send("POST", "/invites", map[string]string{"person": person.String(), "sort": sort})
	text, _ := a.json()["link"].(string)
	link, err := accounts.ReadLink(text)
	if err != nil {
		v.t.Fatalf("invite: %d %s: %v", a.Code, a.Body, err)
	}
	return link.Secret
}

// proof is what a device sends to be enrolled.
func (v *visitor) proof(secret string) map[string]string {
	public := v.key.Public().(ed25519.PublicKey)
	return map[string]string{"secret": secret, "key": hex.EncodeToString(public), "name": "Phone of a test",
		"signature": hex.EncodeToString(ed25519.Sign(v.key, accounts.EnrolMessage(secret, public)))}
}

// visitor is a browser or a device.
type visitor struct {
	t       testing.TB
	h       *house
	from    string
	host    string
	account string
	cookies map[string]string
	bearer  string
	key     ed25519.PrivateKey
	headers map[string]string
}

func (h *house) stranger() *visitor {
	return &visitor{t: h.t, h: h, from: home, host: h.config.Site.Host, cookies: map[string]string{}, headers: map[string]string{}}
}

// answer is what came back.
type answer struct {
	*httptest.ResponseRecorder
}

func (a answer) json() (read map[string]any) {
	_ = json.Unmarshal(a.Body.Bytes(), &read) // no JSON: then nothing is in it
	return read
}

// code is that of a problem.
func (a answer) code() string {
	code, _ := a.json()["code"].(string)
	return code
}

// request makes a request: a map of texts is sent as JSON, url.Values as a form, a
// string as it is, nil as nothing.
func (v *visitor) request(method, path string, body any) *http.Request {
	v.t.Helper()
	var reader io.Reader
	kind := ""
	switch b := body.(type) {
	case nil:
	case url.Values:
		reader, kind = strings.NewReader(b.Encode()), "application/x-www-form-urlencoded"
	case string:
		reader, kind = strings.NewReader(b), "application/json"
	default:
		text, err := json.Marshal(b)
		if err != nil {
			v.t.Fatal(err)
		}
		reader, kind = bytes.NewReader(text), "application/json"
	}
	r := httptest.NewRequest(method, path, reader)
	r.RemoteAddr, r.Host = v.from, v.host
	if kind != "" {
		r.Header.Set("Content-Type", kind)
	}
	for name, value := range v.cookies {
		r.AddCookie(&http.Cookie{Name: name, Value: value})
	}
	if v.bearer != "" {
		r.Header.Set("Authorization", "Bearer "+v.bearer)
	}
	for name, value := range v.headers {
		r.Header.Set(name, value)
	}
	return r
}

// send makes a request and keeps the cookies of the answer, as a browser does.
func (v *visitor) send(method, path string, body any) answer {
	v.t.Helper()
	a := answer{httptest.NewRecorder()}
	v.h.all.ServeHTTP(a, v.request(method, path, body))
	for _, c := range a.Result().Cookies() {
		if c.MaxAge < 0 {
			delete(v.cookies, c.Name)
		} else {
			v.cookies[c.Name] = c.Value
		}
	}
	return a
}

func (v *visitor) want(status int, code, method, path string, body any) answer {
	v.t.Helper()
	a := v.send(method, path, body)
	if a.Code != status || a.code() != code {
		v.t.Errorf("%s %s: %d %q, want %d %q\n%s", method, path, a.Code, a.code(), status, code, a.Body)
	}
	return a
}

// wantIn asks something behind the door, and gets it.
func (v *visitor) wantIn(person journal.ID) {
	v.t.Helper()
	a := v.want(http.StatusOK, "", "GET", "/api/trees", nil)
	if who, _ := a.json()["who"].(map[string]any); who["person"] != person.String() {
		v.t.Errorf("in as %v, want %v", who, person)
	}
}

// wantOut asks the same, and is turned away.
func (v *visitor) wantOut(code string) {
	v.t.Helper()
	v.want(http.StatusUnauthorized, code, "GET", "/api/trees", nil)
}

var errBroken = errors.New("the store is on fire")

func newKey() ed25519.PrivateKey {
	_, key, _ := ed25519.GenerateKey(rand.Reader) // never fails
	return key
}
