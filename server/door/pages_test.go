package door_test

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"html"
	"io/fs"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"sapwell/accounts"
	"sapwell/internal/outside"
	"sapwell/journal"
	"sapwell/server/door"
	"sapwell/words"
)

// everyPage is what each page shows, in a language.
func everyPage(t *testing.T, lang string) map[string]string {
	t.Helper()
	h := newHouse(t, func(c *door.Config) { c.Fingerprint = func() journal.Hash { return journal.Hash{0xab, 0xcd} } })
	h.known()
	boss := h.stranger()
	boss.send("POST", "/session", credentials("m.rivera", password))
	stranger := h.stranger()
	boss.headers["Accept-Language"], stranger.headers["Accept-Language"] = lang, lang
	all := map[string]string{}
	for name, a := range map[string]answer{
		"signin": stranger.send("GET", "/signin", nil), "join": stranger.send("GET", "/join", nil), "enrol": stranger.send("GET", "/enrol", nil),
		"account": boss.send("GET", "/account", nil), "invite": boss.send("GET", "/invite", nil),
		"invited":  boss.send("POST", "/invites", url.Values{"person": {h.hand.String()}, "sort": {"device"}}),
		"refused":  stranger.send("POST", "/session", url.Values{"login": {"m.rivera"}, "password": {other}}),
		"not made": boss.send("POST", "/invites", url.Values{"person": {"x"}, "sort": {"device"}}),
	} {
		if !strings.HasPrefix(a.Header().Get("Content-Type"), "text/html") || a.Header().Get("Content-Language") != lang {
			t.Errorf("%s: %d %v", name, a.Code, a.Header())
		}
		all[name] = a.Body.String()
	}
	return all
}

// Nothing on a page would be stopped by the content policy, and every page says its
// language and fits a narrow screen.
func TestPages(t *testing.T) {
	inline := regexp.MustCompile(`(?i)<style|\sstyle=|\son[a-z]+=|javascript:|<script(?:[^>]*[^>/])?>[^<]`)
	address := regexp.MustCompile(`(?:src|href|action)="([^"]*)"`)
	for _, lang := range words.Languages() {
		for name, page := range everyPage(t, lang) {
			if bad := inline.FindString(page); bad != "" {
				t.Errorf("%s: inline %q, which the content policy stops", name, bad)
			}
			for _, m := range address.FindAllStringSubmatch(page, -1) {
				if !strings.HasPrefix(m[1], "/") && !strings.HasPrefix(m[1], "data:image/png;base64,") {
					t.Errorf("%s: %.60q is loaded from elsewhere", name, m[1])
				}
			}
			for _, want := range []string{`<html lang="` + lang + `">`, `<meta name="viewport"`, "<title>", "<h1>", "<main>"} {
				if !strings.Contains(page, want) {
					t.Errorf("%s: no %s", name, want)
				}
			}
			if strings.ContainsAny(page, "⟨⟩") || strings.Contains(page, "{{") {
				t.Errorf("%s, %s: a text is missing:\n%s", name, lang, page)
			}
			if (name == "refused" || name == "not made") != strings.Contains(page, `role="alert">`) {
				t.Errorf("%s: whether something was wrong is not as it should be", name)
			}
		}
	}
}

// Every text of the catalogue's area is said by a page or is that of a problem, and
// every one that is asked for is there, in every language.
func TestWordsOfTheDoor(t *testing.T) {
	asked := map[string]bool{}
	for glob, pattern := range map[string]string{"pages/*.html": `\.Say "([^"]+)"`, "*.go": `code: "([a-z_.]+)"`} {
		files, err := filepath.Glob(glob)
		if err != nil || len(files) < 5 {
			t.Fatal(files, err)
		}
		for _, name := range files {
			if strings.HasSuffix(name, "_test.go") {
				continue
			}
			text, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			for _, m := range regexp.MustCompile(pattern).FindAllStringSubmatch(string(text), -1) {
				if glob == "*.go" {
					asked["door."+m[1]] = true
				} else {
					asked["door.page."+m[1]] = true
				}
			}
		}
	}
	for _, lang := range words.Languages() {
		text, err := fs.ReadFile(os.DirFS("../../words"), lang+"/door.json")
		if err != nil {
			t.Fatal(err)
		}
		var said map[string]any
		if err := json.Unmarshal(text, &said); err != nil {
			t.Fatal(err)
		}
		for key := range asked {
			if said[key] == nil {
				t.Errorf("%s: %s is not there", lang, key)
			}
		}
		for key := range said {
			if !asked[key] {
				t.Errorf("%s: %s is said by nobody", lang, key)
			}
		}
	}
}

// RFC 9457: the members of a problem, their types, and the media type.
func TestProblemsAreThoseOfTheRFC(t *testing.T) {
	h := newHouse(t, nil)
	for lang, want := range map[string]string{"": "Sign in", "es-MX,es;q=0.9,en;q=0.8": "Inicie", "de, fr;q=0.5": "Sign in", "en-GB": "Sign in"} {
		v := h.stranger()
		v.headers["Accept-Language"] = lang
		a := v.want(http.StatusUnauthorized, "session.none", "GET", "/api/x", nil)
		p := a.json()
		if a.Header().Get("Content-Type") != "application/problem+json" || p["type"] != "about:blank" || p["title"] != "Unauthorized" || p["status"] != float64(401) {
			t.Errorf("%v %s", a.Header(), a.Body)
		}
		if detail, _ := p["detail"].(string); !strings.Contains(detail, want) {
			t.Errorf("%q is answered with %q", lang, detail)
		}
	}
	outside.Ran(t, "RFC 9457, sections 3.1 and 4.2.1", "problems of the door: media type, members, about:blank with the status phrase as title")
}

// What a person without scripts can do: everything but passkeys.
func TestForms(t *testing.T) {
	h := newHouse(t, nil)
	h.known()
	v := h.stranger()
	a := v.send("POST", "/session", url.Values{"login": {"m.rivera"}, "password": {other}})
	if a.Code != http.StatusUnauthorized || !strings.Contains(a.Body.String(), `action="/session"`) {
		t.Errorf("a wrong password: %d", a.Code)
	}
	if strings.Contains(a.Body.String(), other) {
		t.Error("the page shows the password")
	}
	goes := func(to, path string, form url.Values) {
		t.Helper()
		if a := v.send("POST", path, form); a.Code != http.StatusSeeOther || a.Header().Get("Location") != to {
			t.Errorf("%s: %d to %q\n%s", path, a.Code, a.Header().Get("Location"), a.Body)
		}
	}
	goes("/", "/session", url.Values{"login": {"m.rivera"}, "password": {password}})
	goes("/", "/password", url.Values{"old": {password}, "new": {other}})
	v.wantIn(h.boss)
	goes("/signin", "/signout", url.Values{})
	v.wantOut("session.none")
	goes("/", "/session", url.Values{"login": {"m.rivera"}, "password": {other}})
	elsewhere := h.stranger()
	elsewhere.cookies["__Host-sapwell"] = v.cookies["__Host-sapwell"]
	secret := v.invited(h.hand, accounts.ForAccount)
	goes("/signin", "/signout", url.Values{"everywhere": {"yes"}})
	elsewhere.wantOut("session.over")
	goes("/", "/join", url.Values{"secret": {secret}, "login": {"l.okafor"}, "password": {password}})
	v.wantIn(h.hand)
}

// The QR code holds the link with the secret behind the #, and the fingerprint of
// the certificate: a reader of codes that is not ours reads it off the page.
func TestQRCode(t *testing.T) {
	tool := outside.Tool(t, "zbarimg")
	sum := journal.Hash(sha256.Sum256([]byte("DER of the authority")))
	h := newHouse(t, func(c *door.Config) {
		c.Authority = []byte("DER of the authority")
		c.Fingerprint = func() journal.Hash { return journal.Hash{0xab, 0xcd} }
	})
	boss := h.account(h.org, h.boss)
	page := boss.send("POST", "/invites", url.Values{"person": {h.hand.String()}, "sort": {"device"}}).Body.String()
	m := regexp.MustCompile(`src="data:image/png;base64,([^"]+)"`).FindStringSubmatch(page)
	if m == nil {
		t.Fatalf("no picture:\n%s", page)
	}
	png, err := base64.StdEncoding.DecodeString(html.UnescapeString(m[1]))
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "qr.png")
	if err := os.WriteFile(file, png, 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(tool, "-q", "--raw", file).Output()
	if err != nil {
		t.Fatal(err)
	}
	text := strings.TrimSpace(string(out))
	link, err := accounts.ReadLink(text)
	if err != nil || link.Site != "https://office.example" || link.Sort != accounts.ForDevice || link.Fingerprint != sum {
		t.Fatalf("%q: %+v, %v", text, link, err)
	}
	if !strings.Contains(page, "AB:CD:00:") || !strings.Contains(page, fmt.Sprintf("%02X:%02X:", sum[0], sum[1])) || !strings.Contains(page, text) {
		t.Error("the page does not show the link and both fingerprints in words")
	}
	phone := h.stranger()
	phone.key = newKey()
	phone.want(http.StatusOK, "", "POST", "/enrol", phone.proof(link.Secret))
	outside.Ran(t, "zbarimg", "the QR code on the page reads as the link, and its secret lets a device in")
}

// A name that looks like markup is shown as a name.
func TestNamesAreEscaped(t *testing.T) {
	page := everyPage(t, "en")["invite"]
	if strings.Contains(page, "Person <") || !strings.Contains(page, "Person &lt;") {
		t.Errorf("names are not escaped:\n%s", page)
	}
}

func TestFilesOfThePages(t *testing.T) {
	v := newHouse(t, nil).stranger()
	for path, kind := range map[string]string{"/door/door.js": "text/javascript", "/door/door.css": "text/css", "/door/door.svg": "image/svg+xml"} {
		if a := v.send("GET", path, nil); a.Code != http.StatusOK || !strings.HasPrefix(a.Header().Get("Content-Type"), kind) {
			t.Errorf("%s: %d %v", path, a.Code, a.Header())
		}
	}
	for _, path := range []string{"/door/signin.html", "/door/frame.html", "/door/..", "/door/%2e%2e%2fdoor.go", "/door/", "/door/door.js/x"} {
		if a := v.send("GET", path, nil); a.Code == http.StatusOK {
			t.Errorf("%s is given out", path)
		}
	}
}

// The script is sound JavaScript.
func TestScriptIsSound(t *testing.T) {
	if out, err := exec.Command(outside.Tool(t, "node"), "--check", "pages/door.js").CombinedOutput(); err != nil {
		t.Errorf("%s", out)
	}
}

// Whatever is posted as a sign-in is answered, and never with a session.
func FuzzSignIn(f *testing.F) {
	f.Add(`{"login":"m.rivera","password":"x"}`, true)
	f.Add(`login=m.rivera&password=%ff%00&login=b`, false)
	f.Fuzz(func(t *testing.T, body string, asJSON bool) {
		h := newHouse(t, nil)
		v := h.stranger()
		v.headers["Content-Type"] = map[bool]string{true: "application/json", false: "application/x-www-form-urlencoded"}[asJSON]
		for _, path := range []string{"/join", "/enrol", "/session/passkey/finish"} {
			if a := v.send("POST", path, body); a.Code < 400 || a.Code >= 500 || len(v.cookies) > 0 {
				t.Errorf("%s: %d %s", path, a.Code, a.Body)
			}
		}
	})
}

// Every route of the door stands in doc/door.md.
func TestRoutesAreDescribed(t *testing.T) {
	page, err := os.ReadFile("../../doc/door.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range door.Patterns() {
		if !strings.Contains(string(page), "`"+p+"`") {
			t.Errorf("doc/door.md does not tell of %s", p)
		}
	}
}
