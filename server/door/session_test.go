package door_test

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"sapwell/entries"
	"sapwell/internal/outside"
	"sapwell/internal/softkey"
	"sapwell/journal"
	"sapwell/server/door"
)

// known gives the boss a name and password.
func (h *house) known() {
	h.t.Helper()
	if _, err := h.door.Desk().NewAccount(h.t.Context(), h.org, h.boss, "m.rivera", password); err != nil {
		h.t.Fatal(err)
	}
}

func credentials(login, password string) map[string]string {
	return map[string]string{"login": login, "password": password}
}

func TestSignInAndOut(t *testing.T) {
	h := newHouse(t, nil)
	h.known()
	v := h.stranger()
	v.wantOut("session.none")
	a := v.want(http.StatusOK, "", "POST", "/session", credentials("M.Rivera", password))
	if a.json()["person"] != h.boss.String() || a.json()["org"] != h.org.String() {
		t.Errorf("signed in as %s", a.Body)
	}
	if strings.Contains(a.Body.String(), v.cookies["__Host-sapwell"]) {
		t.Error("the token stands in the answer, where scripts can read it")
	}
	v.wantIn(h.boss)
	if a := v.want(http.StatusOK, "", "GET", "/session", nil); a.json()["until"] == nil {
		t.Errorf("who am I: %s", a.Body)
	}
	token := v.cookies["__Host-sapwell"]
	v.want(http.StatusNoContent, "", "DELETE", "/session", nil)
	v.wantOut("session.none")
	v.cookies["__Host-sapwell"] = token
	v.wantOut("session.over")
}

// RFC 6265bis, section 4.1.3.2: __Host- demands Secure, Path=/ and no Domain.
func TestCookie(t *testing.T) {
	for _, secure := range []bool{true, false} {
		h := newHouse(t, func(c *door.Config) {
			if !secure {
				c.Site, c.Loopback = site("http://localhost:8080"), true
			}
		})
		h.known()
		a := h.stranger().send("POST", "/session", credentials("m.rivera", password))
		got := a.Header().Get("Set-Cookie")
		name := map[bool]string{true: "__Host-sapwell=", false: "sapwell="}[secure]
		if !strings.HasPrefix(got, name) || strings.Contains(got, "Domain") {
			t.Errorf("cookie %q", got)
		}
		for _, want := range []string{"Path=/", "HttpOnly", "SameSite=Lax", "Max-Age=2592000"} {
			if !strings.Contains(got, want) {
				t.Errorf("cookie %q without %s", got, want)
			}
		}
		if strings.Contains(got, "Secure") != secure {
			t.Errorf("cookie %q, secure %v", got, secure)
		}
	}
	outside.Ran(t, "RFC 6265bis, 4.1.3.2 (from memory)", "the session cookie keeps what __Host- demands")
}

// Whatever is wrong, the answer is the same.
func TestRefusalsTellNothing(t *testing.T) {
	h := newHouse(t, nil)
	h.known()
	first := ""
	for _, c := range [][2]string{{"m.rivera", other}, {"nobody.here", password}, {"not a name!", password}, {"", ""}} {
		v := h.stranger()
		v.from = "198.51.100.8:1"
		a := v.want(http.StatusUnauthorized, "session.refused", "POST", "/session", credentials(c[0], c[1]))
		if first == "" {
			first = a.Body.String()
		}
		if a.Body.String() != first || a.Header().Get("Set-Cookie") != "" {
			t.Errorf("%q is told apart: %s", c[0], a.Body)
		}
	}
}

// A session planted in a browser before sign-in never becomes that of whoever signs
// in: they get a new one, and the planted one ends.
func TestSessionFixation(t *testing.T) {
	h := newHouse(t, nil)
	h.known()
	attacker := h.account(h.elsewhere, h.them)
	planted := attacker.cookies["__Host-sapwell"]
	victim := h.stranger()
	victim.cookies["__Host-sapwell"] = planted
	victim.want(http.StatusOK, "", "POST", "/session", credentials("m.rivera", password))
	if victim.cookies["__Host-sapwell"] == planted {
		t.Error("the planted session was kept")
	}
	victim.wantIn(h.boss)
	attacker.wantOut("session.over")
	made := h.stranger()
	made.cookies["__Host-sapwell"] = strings.Repeat("A", 43)
	made.want(http.StatusOK, "", "POST", "/session", credentials("m.rivera", password))
	if made.cookies["__Host-sapwell"] == strings.Repeat("A", 43) {
		t.Error("a token that a stranger made up was kept")
	}
}

// A token counts in its one place only: a browser's in the cookie, a device's in the
// Authorization header; never in the address, a form, or another header.
func TestTokensCountInTheirPlaceOnly(t *testing.T) {
	h := newHouse(t, nil)
	boss := h.account(h.org, h.boss)
	phone := h.device(boss, h.hand)
	browser, device := boss.cookies["__Host-sapwell"], phone.bearer
	for _, token := range []string{browser, device} {
		for _, path := range []string{"/api/x?token=" + token, "/api/x?access_token=" + token, "/api/" + token, "/session?sapwell=" + token} {
			h.stranger().want(http.StatusUnauthorized, "session.none", "GET", path, nil)
		}
		h.stranger().want(http.StatusUnauthorized, "session.none", "POST", "/api/x", url.Values{"token": {token}, "access_token": {token}})
		for _, name := range []string{"X-Auth-Token", "Token", "X-Api-Key", "Proxy-Authorization"} {
			v := h.stranger()
			v.headers[name] = token
			v.wantOut("session.none")
		}
		for _, scheme := range []string{"Basic ", "Token ", "", "Bearer", "Bearer  "} {
			v := h.stranger()
			v.headers["Authorization"] = scheme + token
			v.wantOut("session.over")
		}
		v := h.stranger()
		v.cookies["sapwell"] = token // without the prefix
		v.wantOut("session.none")
	}
	v := h.stranger()
	v.bearer = browser
	v.wantOut("session.over")
	v = h.stranger()
	v.cookies["__Host-sapwell"] = device
	v.wantOut("session.over")
	v = h.account(h.org, h.boss)
	v.bearer = "nonsense" // a bad bearer is not made good by a cookie
	v.wantOut("session.over")
}

func TestSessionEnds(t *testing.T) {
	h := newHouse(t, nil)
	v := h.account(h.org, h.hand)
	h.clock.wait(12*time.Hour - time.Second)
	v.wantIn(h.hand)
	h.clock.wait(12 * time.Hour)
	v.wantOut("session.over")
	if len(v.cookies) != 0 {
		t.Error("the cookie of a session that is over was left in the browser")
	}
	v = h.account(h.org, h.hand)
	for range 62 {
		h.clock.wait(11 * time.Hour)
		v.wantIn(h.hand)
	}
	h.clock.wait(11 * time.Hour)
	for range 3 {
		h.clock.wait(11 * time.Hour)
		v.send("GET", "/api/trees", nil)
	}
	v.wantOut("session.none") // 30 days are over; the cookie went with it
}

// Whoever leaves is out at once, everywhere, and stays out if they come back.
func TestLeaving(t *testing.T) {
	h := newHouse(t, nil)
	boss := h.account(h.org, h.boss)
	browser, phone := h.account(h.org, h.hand), h.device(boss, h.hand)
	browser.wantIn(h.hand)
	phone.wantIn(h.hand)
	late := boss.invited(h.hand, "device")
	h.book.set(h.org, h.hand)
	phone.wantOut("session.over")
	browser.wantOut("session.over")
	boss.want(http.StatusNotFound, "thing.not_found", "POST", "/invites", map[string]string{"person": h.hand.String(), "sort": "device"})
	phone.bearer = ""
	phone.want(http.StatusUnauthorized, "session.refused", "POST", "/enrol", phone.proof(late))
	h.book.set(h.org, h.hand, entries.Applicator)
	browser.wantOut("session.none")
}

func TestRolesAreThoseOfNow(t *testing.T) {
	h := newHouse(t, nil)
	v := h.account(h.org, h.hand)
	in := map[string]string{"person": h.hand.String(), "sort": "device"}
	v.want(http.StatusForbidden, "session.not_entitled", "POST", "/invites", in)
	v.want(http.StatusForbidden, "session.not_entitled", "GET", "/invite", nil)
	h.book.set(h.org, h.hand, entries.Applicator, entries.Office)
	v.want(http.StatusOK, "", "POST", "/invites", in)
	h.book.set(h.org, h.hand, entries.Inspector)
	v.want(http.StatusForbidden, "session.not_entitled", "POST", "/invites", in)
	v.wantIn(h.hand)
}

func TestDevice(t *testing.T) {
	h := newHouse(t, nil)
	boss := h.account(h.org, h.boss)
	phone := h.device(boss, h.hand)
	a := phone.want(http.StatusOK, "", "GET", "/session", nil)
	if a.json()["device"] == nil || a.json()["until"] != nil {
		t.Errorf("a device is told: %s", a.Body)
	}
	h.clock.wait(400 * 24 * time.Hour)
	phone.wantIn(h.hand)
	// A device has no account to change.
	phone.want(http.StatusForbidden, "session.not_entitled", "POST", "/password", map[string]string{"old": password, "new": other})
	phone.want(http.StatusForbidden, "session.not_entitled", "GET", "/passkeys", nil)
	phone.want(http.StatusForbidden, "session.not_entitled", "GET", "/account", nil)

	var device journal.Hash
	if err := device.UnmarshalText([]byte(a.json()["device"].(string))); err != nil {
		t.Fatal(err)
	}
	h.book.mu.Lock()
	h.book.devices[device] = false
	h.book.mu.Unlock()
	phone.wantOut("session.over")
	boss = h.account(h.org, h.boss)
	again := h.stranger()
	again.key = phone.key
	again.want(http.StatusConflict, "device.revoked", "POST", "/enrol", again.proof(boss.invited(h.hand, "device")))
}

func TestEnrolmentsThatAreRefused(t *testing.T) {
	h := newHouse(t, nil)
	boss := h.account(h.org, h.boss)
	v := h.device(boss, h.hand) // its key will do
	v.bearer = ""
	secret := boss.invited(h.hand, "device")
	for name, bad := range map[string]string{"key": "zz", "signature": "zz", "name": ""} {
		in := v.proof(secret)
		in[name] = bad
		v.want(http.StatusBadRequest, "request.malformed", "POST", "/enrol", in)
	}
	in := v.proof(secret)
	in["name"] = strings.Repeat("x", 61)
	v.want(http.StatusBadRequest, "request.malformed", "POST", "/enrol", in)
	in = v.proof(secret)
	in["signature"] = strings.Repeat("00", 64)
	v.want(http.StatusUnauthorized, "session.refused", "POST", "/enrol", in)
	v.want(http.StatusUnauthorized, "session.refused", "POST", "/enrol", v.proof(boss.invited(h.hand, "account")))
	v.want(http.StatusOK, "", "POST", "/enrol", v.proof(secret))
	v.want(http.StatusUnauthorized, "session.refused", "POST", "/enrol", v.proof(secret))
}

func TestJoinAndPassword(t *testing.T) {
	h := newHouse(t, nil)
	boss := h.account(h.org, h.boss)
	v := h.stranger()
	in := credentials("l.okafor", "too short")
	in["secret"] = boss.invited(h.hand, "account")
	v.want(http.StatusUnprocessableEntity, "password.short", "POST", "/join", in)
	in["password"] = "passwordpassword"
	v.want(http.StatusUnprocessableEntity, "password.common", "POST", "/join", in)
	in["password"] = password
	v.want(http.StatusOK, "", "POST", "/join", in)
	v.wantIn(h.hand)
	h.stranger().want(http.StatusUnauthorized, "session.refused", "POST", "/join", in)
	elsewhere := h.stranger()
	elsewhere.want(http.StatusOK, "", "POST", "/session", credentials("l.okafor", password))
	v.want(http.StatusUnauthorized, "session.refused", "POST", "/password", map[string]string{"old": other, "new": other})
	v.want(http.StatusOK, "", "POST", "/password", map[string]string{"old": password, "new": other})
	v.wantIn(h.hand)
	elsewhere.wantOut("session.over")
	v.want(http.StatusNoContent, "", "DELETE", "/sessions", nil)
	v.wantOut("session.none")
}

func TestPasskeys(t *testing.T) {
	h := newHouse(t, nil)
	v, key := h.account(h.org, h.hand), softkey.New(t)
	add := func(v *visitor) answer {
		options := v.want(http.StatusOK, "", "POST", "/passkeys/begin", nil).Body.Bytes()
		return v.send("POST", "/passkeys/finish", `{"name":"phone","answer":`+string(key.Create(options))+`}`)
	}
	if a := add(v); a.Code != http.StatusNoContent {
		t.Fatalf("%d %s", a.Code, a.Body)
	}
	if a := add(v); a.code() != "passkey.there" {
		t.Errorf("the same again: %d %s", a.Code, a.Body)
	}
	in := h.stranger()
	options := in.want(http.StatusOK, "", "POST", "/session/passkey/begin", nil).Body.Bytes()
	said := string(key.Get(options))
	h.stranger().want(http.StatusUnauthorized, "session.refused", "POST", "/session/passkey/finish", said) // another browser
	in.want(http.StatusOK, "", "POST", "/session/passkey/finish", said)
	in.wantIn(h.hand)
	in.want(http.StatusUnauthorized, "session.refused", "POST", "/session/passkey/finish", said)

	list := v.want(http.StatusOK, "", "GET", "/passkeys", nil)
	if !strings.Contains(list.Body.String(), `"name":"phone"`) {
		t.Errorf("list: %s", list.Body)
	}
	path := "/passkeys/" + strings.Split(list.Body.String(), `"`)[3]
	h.account(h.elsewhere, h.them).want(http.StatusNotFound, "thing.not_found", "DELETE", path, nil)
	v.want(http.StatusNotFound, "thing.not_found", "DELETE", "/passkeys/AAAA", nil)
	v.want(http.StatusNotFound, "thing.not_found", "DELETE", "/passkeys/*", nil)
	v.want(http.StatusNoContent, "", "DELETE", path, nil)
	v.want(http.StatusUnprocessableEntity, "passkey.refused", "POST", "/passkeys/finish", `{"answer":{}}`)
}

func TestNoPasskeysAtAnAddress(t *testing.T) {
	h := newHouse(t, func(c *door.Config) { c.Site = site("https://192.168.1.20:8443") })
	v := h.account(h.org, h.hand)
	h.stranger().want(http.StatusNotFound, "passkey.none_here", "POST", "/session/passkey/begin", nil)
	h.stranger().want(http.StatusNotFound, "passkey.none_here", "POST", "/session/passkey/finish", "{}")
	v.want(http.StatusNotFound, "passkey.none_here", "POST", "/passkeys/begin", nil)
	if a := h.stranger().send("GET", "/signin", nil); strings.Contains(a.Body.String(), `id="passkey"`) {
		t.Error("the page offers what there is not")
	}
}

// What goes on stands in the log without names, tokens or addresses.
func TestLogHoldsNothingPersonal(t *testing.T) {
	h := newHouse(t, nil)
	h.known()
	v := h.stranger()
	v.send("POST", "/session", credentials("m.rivera", other))
	v.send("POST", "/session", credentials("m.rivera", password))
	secret := v.invited(h.hand, "device")
	phone := h.stranger()
	phone.key = newKey()
	phone.send("POST", "/enrol", phone.proof(secret))
	h.book.broken = errBroken
	v.want(http.StatusInternalServerError, "server.fault", "GET", "/api/trees", nil)
	said := h.log.String()
	for _, want := range []string{"signed in", "invited", "device enrolled", "store is on fire"} {
		if !strings.Contains(said, want) {
			t.Errorf("the log does not tell of %q", want)
		}
	}
	for _, secret := range []string{"m.rivera", password, other, secret, v.cookies["__Host-sapwell"], "198.51.100.7", "Phone of a test", h.boss.String()} {
		if strings.Contains(said, secret) {
			t.Errorf("the log holds %q:\n%s", secret, said)
		}
	}
}

// What the door costs a device's request, the routes behind it aside.
func BenchmarkDoor(b *testing.B) {
	h := newHouse(b, nil)
	phone := h.device(h.account(h.org, h.boss), h.hand)
	r := phone.request("GET", "/api/trees", nil)
	for b.Loop() {
		h.clock.wait(time.Second)
		h.all.ServeHTTP(httptest.NewRecorder(), r)
	}
}
