package main

import (
	"context"
	"crypto/sha256"
	"crypto/tls"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"sapwell/accounts"
	"sapwell/certs"
	"sapwell/entries"
	"sapwell/internal/outside"
	"sapwell/internal/pgtest"
	"sapwell/journal"
	"sapwell/server/door"
	"sapwell/store"
	"sapwell/store/mem"
)

// browser is somebody with a cookie jar who takes only the certificate whose
// fingerprint they were told.
func browser(t *testing.T, fingerprint journal.Hash) *http.Client {
	t.Helper()
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	config := &tls.Config{InsecureSkipVerify: true, VerifyConnection: func(s tls.ConnectionState) error {
		if sha256.Sum256(s.PeerCertificates[0].Raw) != fingerprint {
			return errors.New("another certificate")
		}
		return nil
	}}
	return &http.Client{Jar: jar, Transport: &http.Transport{TLSClientConfig: config}}
}

func asks(t *testing.T, b *http.Client, method, address, body string) (int, string) {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), method, address, strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	if body != "" {
		r.Header.Set("Content-Type", "application/json")
	}
	a, err := b.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer a.Body.Close()
	text, err := io.ReadAll(a.Body)
	if err != nil {
		t.Fatal(err)
	}
	return a.StatusCode, string(text)
}

func freePort(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	_, port, _ := net.SplitHostPort(l.Addr().String())
	return port
}

// The link that a new office is shown lets its first person in, once: they make an
// account, and sign in with it later.
func TestFirstInvite(t *testing.T) {
	port := freePort(t)
	site := "https://localhost:" + port
	args := []string{"serve", "--data", t.TempDir(), "--listen", "127.0.0.1:" + port, "--tls-self", "--site", site}
	r := serving(t, args...)
	link := linkIn(r.said)
	if link.Site != site || link.Sort != accounts.ForAccount || !strings.Contains(r.said, certs.Print(link.Fingerprint)) {
		t.Fatalf("no link, or without the fingerprint, in\n%s", r.said)
	}
	stranger := browser(t, link.Fingerprint)
	if code, text := asks(t, stranger, "GET", site+"/api/people", ""); code != http.StatusUnauthorized {
		t.Errorf("a stranger: %d %s", code, text)
	}
	if code, text := asks(t, stranger, "GET", link.String(), ""); code != http.StatusOK {
		t.Errorf("the page of the link: %d %s", code, text)
	}
	join := fmt.Sprintf(`{"secret": %q, "login": "alder", "password": "seven quiet ponds"}`, link.Secret)
	first := browser(t, link.Fingerprint)
	if code, text := asks(t, first, "POST", site+"/join", join); code != http.StatusOK {
		t.Fatalf("join: %d %s", code, text)
	}
	if code, text := asks(t, first, "GET", site+"/api/people", ""); code != http.StatusOK || !strings.Contains(text, `"office"`) {
		t.Errorf("with the new account: %d %s", code, text)
	}
	if code, _ := asks(t, stranger, "POST", site+"/join", join); code == http.StatusOK {
		t.Error("the link was taken twice")
	}
	if err := r.end(); err != nil {
		t.Fatal(err)
	}

	// The next time nobody is invited, and signing in works; without TLS too they
	// are asked for it now.
	again := serving(t, args...)
	if strings.Contains(again.said, "/join#") {
		t.Errorf("invited again:\n%s", again.said)
	}
	later := browser(t, link.Fingerprint)
	if code, text := asks(t, later, "POST", site+"/session", `{"login": "alder", "password": "seven quiet ponds"}`); code != http.StatusOK {
		t.Fatalf("sign in: %d %s", code, text)
	}
	if code, text := asks(t, later, "GET", site+"/api/people", ""); code != http.StatusOK {
		t.Errorf("signed in: %d %s", code, text)
	}
	if err := again.end(); err != nil {
		t.Fatal(err)
	}

	// Whoever lost the password is invited by name, from the machine itself.
	if s := call(t, nil, append(args, "--invite", "Nobody at all")...); s.code != exitUsage || !strings.Contains(s.errors, "--invite") {
		t.Errorf("nobody invited: %d %s", s.code, s.errors)
	}
	lost := serving(t, append(args, "--invite", firstName(t))...)
	link = linkIn(lost.said)
	join = fmt.Sprintf(`{"secret": %q, "login": "alder", "password": "nine loud rivers"}`, link.Secret)
	if code, text := asks(t, browser(t, link.Fingerprint), "POST", site+"/join", join); code != http.StatusOK {
		t.Fatalf("join again: %d %s", code, text)
	}
	if code, _ := asks(t, browser(t, link.Fingerprint), "POST", site+"/session", `{"login": "alder", "password": "seven quiet ponds"}`); code == http.StatusOK {
		t.Error("the lost password still lets in")
	}
}

// firstName is what the first person of a new journal is called.
func firstName(t *testing.T) string { return english(t).Say("serve.first_person") }

// linkIn finds a link in what a server says.
func linkIn(said string) (link accounts.Link) {
	for line := range strings.Lines(said) {
		if found, err := accounts.ReadLink(strings.TrimSpace(line)); err == nil {
			link = found
		}
	}
	return link
}

// counting is a journal of which one wants to know how often it lists people.
type counting struct {
	door.Journal
	lists  int
	people []door.Person
	office map[journal.ID]bool
}

func (c *counting) People(context.Context, journal.ID) ([]door.Person, error) {
	c.lists++
	return c.people, nil
}

func (c *counting) Roles(_ context.Context, _, p journal.ID) ([]entries.Role, error) {
	if c.office[p] {
		return []entries.Role{entries.Office}, nil
	}
	return []entries.Role{entries.Inspector}, nil
}

// Who works alone is looked up now and then, not at every request, and is somebody
// else soon after the office has passed on.
func TestAloneIsCheap(t *testing.T) {
	st := oneFirm(t)
	one, two := journal.ID{15: 1}, journal.ID{15: 2}
	c := &counting{people: []door.Person{{ID: one}, {ID: two}}, office: map[journal.ID]bool{one: true}}
	now := time.Date(2026, 6, 9, 12, 0, 0, 0, time.UTC)
	a := &alone{store: st, journal: c, now: func() time.Time { return now }}
	for range 1000 {
		if _, person, err := a.who(t.Context()); err != nil || person != one {
			t.Fatal(person, err)
		}
	}
	if c.lists != 1 {
		t.Errorf("people were listed %d times", c.lists)
	}
	c.office = map[journal.ID]bool{two: true}
	now = now.Add(lookAgain)
	if _, person, err := a.who(t.Context()); err != nil || person != two {
		t.Errorf("the office is %s (%v), want %s", person, err, two)
	}
	c.office = nil
	now = now.Add(-time.Hour) // a clock that was set back does not keep it from looking
	if _, _, err := a.who(t.Context()); err == nil {
		t.Error("nobody has the office, and somebody was let in")
	}
}

func oneFirm(t *testing.T) store.Store {
	t.Helper()
	st := mem.New()
	w := world{stdout: io.Discard, now: time.Now, say: english(t)}
	if err := w.firstOf(t.Context(), st, "US", "UTC"); err != nil {
		t.Fatal(err)
	}
	return st
}

// A journal goes from SQLite into PostgreSQL and comes out byte for byte, as export
// and as backup; serve, verify and doctor work there alike.
func TestPostgresByCommandLine(t *testing.T) {
	address := pgtest.Start(t)
	dir := t.TempDir()
	in := func(name string) string { return filepath.Join(dir, name) }
	done := func(args ...string) string {
		t.Helper()
		s := call(t, nil, args...)
		if s.code != exitDone {
			t.Fatalf("%v: %d %s", args, s.code, s.errors)
		}
		return s.out
	}
	done("demo", "--no-serve", "--out", in("day"))
	done("journal", "export", "--data", in("day/data"), "--out", in("one.jsonl"))
	done("backup", in("one.bak"), "--data", in("day/data"))
	done("restore", in("one.bak"), "--postgres", address)
	one, err := os.ReadFile(in("one.jsonl"))
	if err != nil {
		t.Fatal(err)
	}
	if two := done("journal", "export", "--postgres", address); two != string(one) {
		t.Error("the export of PostgreSQL differs from that of SQLite")
	}
	if text := done("journal", "verify", "--postgres", address); !strings.HasPrefix(text, "Sound: ") {
		t.Error(text)
	}
	r := serving(t, "serve", "--postgres", address, "--listen", "127.0.0.1:0")
	u, err := url.Parse(address)
	if err != nil {
		t.Fatal(err)
	}
	if p, ok := u.User.Password(); ok && strings.Contains(r.said, p) {
		t.Errorf("it shows the password:\n%s", r.said)
	}
	if code, text := asks(t, http.DefaultClient, "GET", r.site+"/api/round", ""); code != http.StatusOK || !strings.Contains(text, "Q-04") {
		t.Errorf("the round: %d %s", code, text)
	}
	// The server of a test syncs nothing, for speed: the doctor finds that.
	s := call(t, nil, "doctor", "--postgres", address, "--listen", "127.0.0.1:0")
	if s.code != exitRefused || !strings.Contains(s.out, "! Survives a power cut: off") || strings.Contains(s.out, "setting ") {
		t.Errorf("doctor: %d\n%s%s", s.code, s.out, s.errors)
	}
	outside.Ran(t, "PostgreSQL", "sapwell restore, export, verify, serve and doctor on a real server")
}
