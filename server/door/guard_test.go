package door_test

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"net/url"
	"strings"
	"sync"
	"testing"
	"time"

	"sapwell/entries"
	"sapwell/internal/outside"
	"sapwell/journal"
	"sapwell/server/door"
)

// ways are routes of the door and behind it, and who may use each without a
// session. A route that is new and not here fails TestEveryRouteIsTried.
var ways = []struct {
	pattern string
	open    bool
}{
	{"GET /signin", true}, {"GET /join", true}, {"GET /enrol", true}, {"GET /account", false}, {"GET /invite", false},
	{"GET /door/{file}", true}, {"GET /authority.crt", true},
	{"POST /session", true}, {"GET /session", false}, {"DELETE /session", false}, {"DELETE /sessions", false},
	{"POST /signout", false}, {"POST /password", false}, {"POST /join", true},
	{"POST /session/passkey/begin", true}, {"POST /session/passkey/finish", true},
	{"GET /passkeys", false}, {"POST /passkeys/begin", false}, {"POST /passkeys/finish", false}, {"DELETE /passkeys/{id}", false},
	{"POST /invites", false}, {"POST /enrol", true},
	// behind the door
	{"GET /healthz", true}, {"GET /", false}, {"GET /api/trees", false}, {"POST /api/deeds/tree.add", false}, {"POST /api/sync", false},
	{"PUT /api/photos/x", false}, {"GET /live", false}, {"POST /healthz", false}, {"GET /healthz/x", false}, {"OPTIONS /api/trees", false},
	{"GET /signin/x", false}, {"TRACE /api/trees", false}, {"GET //signin/../api/trees", false},
}

func TestEveryRouteIsTried(t *testing.T) {
	named := map[string]bool{}
	for _, w := range ways {
		named[w.pattern] = true
	}
	for _, p := range door.Patterns() {
		if !named[p] {
			t.Errorf("%s is not tried without a session: add it to ways", p)
		}
	}
}

// Every route without a session, and with every sort of session that is no longer
// or was never good.
func TestEveryRouteWithoutSession(t *testing.T) {
	h := newHouse(t, nil)
	boss := h.account(h.org, h.boss)
	for _, w := range ways {
		method, path, _ := strings.Cut(w.pattern, " ")
		path = strings.NewReplacer("{file}", "door.css", "{id}", "AAAA").Replace(path)
		for why, v := range h.outsiders(boss) {
			a := v.send(method, path, map[string]string{})
			turned := a.Code == http.StatusUnauthorized && strings.HasPrefix(a.code(), "session.") && a.code() != "session.refused"
			if turned == w.open {
				t.Errorf("%s %s with %s: %d %s", method, path, why, a.Code, a.Body)
			}
			if !w.open && a.Header().Get("WWW-Authenticate") == "" {
				t.Errorf("%s %s: no WWW-Authenticate (RFC 9110, 15.5.2)", method, path)
			}
		}
	}
}

// outsiders are visitors none of whom is in.
func (h *house) outsiders(boss *visitor) map[string]*visitor {
	h.t.Helper()
	const left = 99
	h.book.set(h.org, id(left), entries.Applicator)
	revoked := h.device(boss, h.hand)
	h.book.mu.Lock()
	for d := range h.book.devices {
		h.book.devices[d] = false
	}
	h.book.mu.Unlock()
	all := map[string]*visitor{
		"nothing":          h.stranger(),
		"a revoked device": revoked,
		"a person who left": func() *visitor {
			v := h.account(h.org, id(left))
			h.book.set(h.org, id(left))
			return v
		}(),
		"a session signed out": func() *visitor {
			v := h.account(h.org, h.hand)
			token := v.cookies["__Host-sapwell"]
			v.send("DELETE", "/session", nil)
			v.cookies["__Host-sapwell"] = token
			return v
		}(),
		"a made-up token": func() *visitor { v := h.stranger(); v.bearer = strings.Repeat("A", 43); return v }(),
	}
	for i, name := range []string{"nothing", "a revoked device", "a person who left", "a session signed out", "a made-up token"} {
		all[name].from = fmt.Sprintf("203.0.113.%d:1", i)
	}
	h.clock.wait(time.Minute) // so that no limit is met
	return all
}

// A person is sent to the sign-in page, a program is told.
func TestPersonIsSentToSignIn(t *testing.T) {
	v := newHouse(t, nil).stranger()
	v.headers["Accept"] = "text/html,application/xhtml+xml"
	a := v.send("GET", "/trees/1", nil)
	if a.Code != http.StatusSeeOther || a.Header().Get("Location") != "/signin" {
		t.Errorf("%d to %q", a.Code, a.Header().Get("Location"))
	}
	v.want(http.StatusUnauthorized, "session.none", "POST", "/trees/1", nil)
}

// What another organisation's office can do to ours: nothing.
func TestOtherOrganisation(t *testing.T) {
	h := newHouse(t, nil)
	them := h.account(h.elsewhere, h.them)
	for _, sort := range []string{"device", "account"} {
		them.want(http.StatusNotFound, "thing.not_found", "POST", "/invites", map[string]string{"person": h.hand.String(), "sort": sort})
	}
	page := them.want(http.StatusOK, "", "GET", "/invite", nil).Body.String()
	if strings.Contains(page, h.hand.String()) || !strings.Contains(page, h.them.String()) {
		t.Error("the page lists people of another organisation")
	}
}

// Fetch metadata and Origin (https://www.w3.org/TR/fetch-metadata/): what another
// site's page sends is not done.
func TestCrossSite(t *testing.T) {
	h := newHouse(t, nil)
	boss := h.account(h.org, h.boss)
	for _, headers := range []map[string]string{
		{"Sec-Fetch-Site": "cross-site"}, {"Sec-Fetch-Site": "same-site"}, {"Sec-Fetch-Site": "cross-site", "Origin": "https://evil.example"},
		{"Origin": "https://evil.example"}, {"Origin": "null"}, {"Origin": "https://office.example.evil.example"}, {"Origin": "https://office.example:444"},
	} {
		boss.headers = headers
		for _, w := range ways {
			method, path, _ := strings.Cut(w.pattern, " ")
			if method == "GET" || method == "OPTIONS" || method == "TRACE" {
				continue
			}
			if a := boss.send(method, strings.NewReplacer("{id}", "AAAA").Replace(path), map[string]string{}); a.code() != "request.cross_site" || a.Code != http.StatusForbidden {
				t.Errorf("%s %s with %v: %d %s", method, path, headers, a.Code, a.Body)
			}
		}
	}
	for _, headers := range []map[string]string{
		{"Sec-Fetch-Site": "same-origin"}, {"Sec-Fetch-Site": "none"}, {"Origin": "https://office.example"}, {},
	} {
		boss.headers = headers
		boss.want(http.StatusOK, "", "POST", "/api/deeds", map[string]string{})
	}
	boss.headers = map[string]string{"Sec-Fetch-Site": "cross-site"}
	boss.wantIn(h.boss) // a link from elsewhere
	outside.Ran(t, "W3C Fetch Metadata (net/http CrossOriginProtection)", "every route that changes something refuses cross-site and same-site requests")
}

// Every answer says to browsers how narrowly to read it, whatever its status.
func TestHeaders(t *testing.T) {
	h := newHouse(t, nil)
	boss := h.account(h.org, h.boss)
	boss.headers["Accept-Language"] = "es"
	crossing := h.account(h.org, h.boss)
	crossing.headers["Sec-Fetch-Site"] = "cross-site"
	for name, a := range map[string]answer{
		"page": h.stranger().send("GET", "/signin", nil), "401": h.stranger().send("GET", "/api/x", nil),
		"403": crossing.send("POST", "/api/x", nil), "200": boss.send("GET", "/api/x", nil), "404": boss.send("GET", "/door/x", nil),
	} {
		for header, want := range map[string]string{
			"X-Content-Type-Options": "nosniff", "Referrer-Policy": "no-referrer", "Cross-Origin-Opener-Policy": "same-origin",
			"Cross-Origin-Resource-Policy": "same-origin", "Strict-Transport-Security": "max-age=31536000", "Cache-Control": "no-store", "X-Frame-Options": "DENY",
		} {
			if got := a.Header().Get(header); got != want {
				t.Errorf("%s: %s: %q, want %q", name, header, got, want)
			}
		}
		policy := a.Header().Get("Content-Security-Policy")
		for directive, want := range map[string]string{
			"default-src": "'none'", "script-src": "'self' 'wasm-unsafe-eval'", "style-src": "'self'", "img-src": "'self' blob: data:",
			"connect-src": "'self'", "manifest-src": "'self'", "worker-src": "'self'", "object-src": "'none'",
			"frame-ancestors": "'none'", "base-uri": "'none'", "form-action": "'self'",
		} {
			if !strings.Contains(policy+";", directive+" "+want+";") {
				t.Errorf("%s: content policy %q: want %s %s", name, policy, directive, want)
			}
		}
		for _, bad := range []string{"unsafe-inline", "'unsafe-eval'", "http:", "*"} {
			if strings.Contains(policy, bad) {
				t.Errorf("%s: content policy has %s", name, bad)
			}
		}
		if p := a.Header().Get("Permissions-Policy"); !strings.Contains(p, "camera=(self)") || !strings.Contains(p, "microphone=()") {
			t.Errorf("%s: permissions %q", name, p)
		}
	}
	plain := newHouse(t, alone)
	if a := plain.stranger().send("GET", "/api/x", nil); a.Header().Get("Strict-Transport-Security") != "" {
		t.Error("without TLS it demands TLS")
	}
}

// alone sets the door up for one user on loopback.
func alone(c *door.Config) {
	c.Site, c.Loopback = site("http://localhost:8080"), true
	c.Sole = func(context.Context) (org, person journal.ID, err error) { return id(1), id(2), nil }
}

func TestOversizedBodies(t *testing.T) {
	h := newHouse(t, func(c *door.Config) { c.Limits.Body = 1 << 20 })
	boss := h.account(h.org, h.boss)
	long := strings.Repeat("x", 1<<20+1)
	boss.want(http.StatusRequestEntityTooLarge, "request.too_large", "POST", "/api/sync", `"`+long+`"`)
	r := boss.request("POST", "/api/sync", `"`+long+`"`)
	r.ContentLength = -1 // chunked
	a := answer{httptest.NewRecorder()}
	h.all.ServeHTTP(a, r)
	if a.Code != http.StatusTeapot || !strings.Contains(a.Body.String(), "too large") {
		t.Errorf("chunked: the route behind read on: %d %s", a.Code, a.Body)
	}
	for _, w := range ways {
		method, path, _ := strings.Cut(w.pattern, " ")
		if method != "POST" || path == "/session/passkey/begin" || path == "/passkeys/begin" || strings.HasPrefix(path, "/api") || path == "/healthz" {
			continue
		}
		for name, body := range map[string]any{"JSON": `{"login":"` + strings.Repeat("x", 70_000) + `"}`, "form": url.Values{"login": {strings.Repeat("x", 70_000)}}} {
			h.clock.wait(time.Minute)
			a := boss.send(method, path, body)
			if a.Code != http.StatusRequestEntityTooLarge && a.Code != http.StatusUnsupportedMediaType {
				t.Errorf("%s %s, %s of 70 kB: %d %s", method, path, name, a.Code, a.Body)
			}
		}
	}
}

func TestMalformedBodies(t *testing.T) {
	h := newHouse(t, nil)
	v := h.stranger()
	for _, body := range []string{
		"", "{", "null x", `{"login":1}`, `{"login":{"a":[1]}}`, `[]`, `{"login":"a"}{"login":"b"}`, `{"login":"a","extra":"b"}`,
		strings.Repeat("[", 60_000), strings.Repeat(`{"a":`, 10_000), "\xff\xfe", `{"login":"a","password":"b"`,
	} {
		v.want(http.StatusBadRequest, "request.malformed", "POST", "/session", body)
		v.want(http.StatusBadRequest, "request.malformed", "POST", "/enrol", body)
		h.clock.wait(time.Minute)
	}
	for _, kind := range []string{"", "text/plain", "multipart/form-data; boundary=x", "application/json/x", "application/xml"} {
		v.headers["Content-Type"] = kind
		v.want(http.StatusUnsupportedMediaType, "request.other_type", "POST", "/session", `{"login":"a","password":"b"}`)
		h.clock.wait(time.Minute)
	}
}

// listen serves a door on loopback.
func (h *house) listen() (address string) {
	h.t.Helper()
	s := httptest.NewUnstartedServer(h.all)
	door.Harden(s.Config)
	s.Start()
	h.t.Cleanup(s.Close)
	return s.Listener.Addr().String()
}

// converse sends raw bytes, waits, and reads whatever comes back until the server
// closes.
func converse(t *testing.T, address string, pieces []string, pause time.Duration) string {
	t.Helper()
	c, err := net.Dial("tcp", address)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	_ = c.SetDeadline(time.Now().Add(10 * time.Second))
	go func() {
		for _, p := range pieces {
			if _, err := io.WriteString(c, p); err != nil {
				return
			}
			time.Sleep(pause)
		}
	}()
	all, err := io.ReadAll(bufio.NewReader(c))
	if err != nil && len(all) == 0 {
		t.Errorf("no answer: %v", err)
	}
	return string(all)
}

func TestSlowBodies(t *testing.T) {
	h := newHouse(t, func(c *door.Config) {
		alone(c)
		c.Limits.BodyGrace = 300 * time.Millisecond
	})
	address := h.listen()
	head := func(path string, length int) string {
		return fmt.Sprintf("POST %s HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\nContent-Length: %d\r\n\r\n", path, length)
	}
	drops := []string{head("/enrol", 1000), `{"name":"`}
	for range 60 {
		drops = append(drops, "x")
	}
	start := time.Now()
	if got := converse(t, address, drops, 50*time.Millisecond); !strings.HasPrefix(got, "HTTP/1.1 408 ") {
		t.Errorf("drop by drop: %q", got)
	}
	if took := time.Since(start); took > 2*time.Second {
		t.Errorf("a slow body held on for %v", took)
	}
	// A body that nobody reads does not hold the connection either.
	if got := converse(t, address, []string{head("/door/door.css", 1000), "x"}, 0); got == "" {
		t.Error("no answer")
	}
	// Steady is fast enough, however long it takes.
	steady := []string{head("/api/sync", 40<<10)}
	for range 10 {
		steady = append(steady, strings.Repeat("x", 4<<10))
	}
	got := converse(t, address, append(steady, "GET /api/x HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n"), 60*time.Millisecond)
	if strings.Count(got, "HTTP/1.1 200 ") != 2 {
		t.Errorf("steadily, then another request: %q", got)
	}
}

func TestOversizedHeaders(t *testing.T) {
	address := newHouse(t, alone).listen()
	got := converse(t, address, []string{"GET / HTTP/1.1\r\nHost: localhost\r\nX: " + strings.Repeat("x", 64<<10) + "\r\n\r\n"}, 0)
	if !strings.HasPrefix(got, "HTTP/1.1 431 ") {
		t.Errorf("64 kB of headers: %.60q", got)
	}
}

// More at once than there are places are told to come back; live answers have
// places of their own.
func TestTooManyAtOnce(t *testing.T) {
	h := newHouse(t, func(c *door.Config) { c.Limits.Busy, c.Limits.LiveBusy = 2, 1 })
	boss := h.account(h.org, h.boss)
	inside, leave := make(chan bool), make(chan bool)
	slow := h.door.Wrap(http.HandlerFunc(func(http.ResponseWriter, *http.Request) { inside <- true; <-leave }))
	var all sync.WaitGroup
	for _, path := range []string{"/api/a", "/api/b", "/live"} {
		r := boss.request("GET", path, nil)
		all.Go(func() { slow.ServeHTTP(httptest.NewRecorder(), r) })
		<-inside
	}
	for _, path := range []string{"/api/c", "/live", "/signin"} {
		a := boss.want(http.StatusServiceUnavailable, "server.busy", "GET", path, nil)
		if a.Header().Get("Retry-After") != "1" || a.Header().Get("X-Content-Type-Options") == "" {
			t.Errorf("%s: headers %v", path, a.Header())
		}
	}
	close(leave)
	all.Wait()
	boss.wantIn(h.boss)
}

func TestAlone(t *testing.T) {
	h := newHouse(t, alone)
	local := func() *visitor {
		v := h.stranger()
		v.from = "127.0.0.1:4711"
		return v
	}
	for _, host := range []string{"localhost", "localhost:8080", "127.0.0.1:9", "[::1]:8080", "[::1]"} {
		v := local()
		v.host = host
		v.wantIn(h.boss)
	}
	v := local()
	v.from = "[::1]:4711"
	v.wantIn(h.boss)
	// A page whose name was pointed at this machine (DNS rebinding).
	for _, host := range []string{"evil.example", "evil.example:8080", "localhost.evil.example", "127.0.0.1.evil.example", "", "0.0.0.0:8080", "127.0.0.2", "office.example"} {
		v := local()
		v.host = host
		v.want(http.StatusMisdirectedRequest, "request.other_host", "GET", "/api/x", nil)
	}
	for _, name := range []string{"Forwarded", "X-Forwarded-For", "X-Forwarded-Host", "X-Forwarded-Proto", "X-Real-IP", "Via"} {
		v := local()
		v.headers[name] = "127.0.0.1"
		v.want(http.StatusForbidden, "request.not_local", "GET", "/api/x", nil)
	}
	for _, from := range []string{"192.168.1.5:1", "[fe80::1]:1", "", "nonsense"} {
		v := local()
		v.from = from
		v.want(http.StatusForbidden, "request.not_local", "GET", "/api/x", nil)
	}
	v = local()
	v.headers = map[string]string{"Sec-Fetch-Site": "cross-site"}
	v.want(http.StatusForbidden, "request.cross_site", "POST", "/api/x", nil)
	// There are no accounts, but there are devices.
	for _, w := range []string{"GET /signin", "GET /join", "GET /account", "POST /session", "POST /join", "POST /password", "POST /session/passkey/begin", "GET /passkeys"} {
		method, path, _ := strings.Cut(w, " ")
		local().want(http.StatusNotFound, "thing.not_found", method, path, nil)
	}
	phone := h.device(local(), h.hand)
	phone.wantIn(h.hand)
	if a := local().want(http.StatusOK, "", "GET", "/session", nil); a.json()["sole"] != true {
		t.Errorf("who am I: %s", a.Body)
	}
}

// Accounts on loopback: names of this machine, or the site that a proxy serves.
func TestLoopbackWithAccounts(t *testing.T) {
	h := newHouse(t, func(c *door.Config) {
		c.Loopback, c.Proxies = true, []netip.Prefix{netip.MustParsePrefix("127.0.0.0/8")}
	})
	v := h.account(h.org, h.boss)
	v.from, v.headers = "127.0.0.1:1", map[string]string{"X-Forwarded-For": "203.0.113.5"}
	v.wantIn(h.boss)
	v.host = "evil.example"
	v.want(http.StatusMisdirectedRequest, "request.other_host", "GET", "/api/x", nil)
	v.host = "localhost:8080"
	v.wantIn(h.boss)
}

// A door that would let strangers in, or passwords out, is not built.
func TestUnsafeDoorsAreNotBuilt(t *testing.T) {
	for why, change := range map[string]func(*door.Config){
		"plain http beyond loopback": func(c *door.Config) { c.Site = site("http://office.example") },
		"loopback name, not loopback": func(c *door.Config) {
			c.Site = site("http://localhost:8080")
		},
		"one user beyond loopback": func(c *door.Config) { alone(c); c.Loopback, c.Site = false, site("https://office.example") },
		"one user behind a proxy":  func(c *door.Config) { alone(c); c.Proxies = []netip.Prefix{netip.MustParsePrefix("127.0.0.1/32")} },
		"no journal":               func(c *door.Config) { c.Journal = nil },
		"no site":                  func(c *door.Config) { c.Site = nil },
		"a pattern that is none":   func(c *door.Config) { c.Open = []string{"GET healthz{"} },
		"a live one that is none":  func(c *door.Config) { c.Live = []string{"{"} },
	} {
		h := newHouse(t, nil)
		c := h.config
		change(&c)
		if _, err := door.New(c); err == nil {
			t.Errorf("%s: it was built", why)
		}
	}
}

func TestAuthorityDownload(t *testing.T) {
	newHouse(t, nil).stranger().want(http.StatusNotFound, "thing.not_found", "GET", "/authority.crt", nil)
	h := newHouse(t, func(c *door.Config) { c.Authority = []byte("DER") })
	if a := h.stranger().send("GET", "/authority.crt", nil); a.Code != http.StatusOK || a.Body.String() != "DER" || a.Header().Get("Content-Type") != "application/x-x509-ca-cert" {
		t.Errorf("%d %s %v", a.Code, a.Body, a.Header())
	}
}

var app = http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { _, _ = io.WriteString(w, "the app") })

// The link of an invite for a device leads to the app, where there is one.
func TestEnrolPage(t *testing.T) {
	for want, change := range map[string]func(*door.Config){
		"the app": func(c *door.Config) { c.App = app },
		"<html":   func(c *door.Config) {},
	} {
		h := newHouse(t, change)
		w := httptest.NewRecorder()
		r := httptest.NewRequest(http.MethodGet, "https://office.example/enrol", nil)
		h.all.ServeHTTP(w, r)
		if w.Code != http.StatusOK || !strings.Contains(w.Body.String(), want) {
			t.Errorf("%d %q, want %q in it", w.Code, w.Body, want)
		}
	}
}

// Where there are no accounts, the pages of theirs are the app's.
func TestPagesOfAccountsWithoutAccounts(t *testing.T) {
	h := newHouse(t, func(c *door.Config) { alone(c); c.App = app })
	v := h.stranger()
	v.from = "127.0.0.1:4711"
	v.want(http.StatusNotFound, "thing.not_found", "GET", "/signin", nil)
	v.headers["Accept"] = "text/html"
	for _, path := range []string{"/signin", "/join"} {
		if a := v.send("GET", path, nil); a.Code != http.StatusOK || a.Body.String() != "the app" {
			t.Errorf("%s: %d %q", path, a.Code, a.Body)
		}
	}
}
