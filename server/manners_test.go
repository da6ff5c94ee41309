package server

import (
	"bufio"
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime/debug"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"sapwell/internal/outside"
	"sapwell/journal"
	"sapwell/store"
	"sapwell/store/mem"
	"sapwell/words"
)

// What is too large, too deep or no JSON is refused before a deed sees it, and
// writes nothing.
func TestBadInputs(t *testing.T) {
	h := newHouse(t)
	f := h.firm
	before := must(must(h.store.Ledger(t.Context(), f.org)).Size(t.Context()))
	for name, c := range map[string]struct {
		sent   string
		header http.Header
		status int
		code   string
	}{
		"empty":      {"", nil, 400, "request.malformed"},
		"cut":        {`{"name":`, nil, 422, "input.not_json"},
		"a list":     {`[]`, nil, 422, "input.value"},
		"null":       {`null`, nil, 422, ""},
		"twice":      {`{"name":"a","name":"b","context":"amenity"}`, nil, 422, "input.twice"},
		"unknown":    {`{"name":"a","context":"amenity","zoo":1}`, nil, 422, "input.unknown"},
		"deep":       {strings.Repeat(`{"name":`, 65) + "1" + strings.Repeat("}", 65), nil, 422, "request.too_deep"},
		"very deep":  {strings.Repeat("[", 3_000_000), nil, 422, "request.too_deep"},
		"large":      {`{"name":"` + strings.Repeat("x", mostDeed) + `"}`, nil, 413, "request.too_large"},
		"a form":     {"name=a", http.Header{"Content-Type": {"application/x-www-form-urlencoded"}}, 415, "request.other_type"},
		"plain text": {`{"name":"a","context":"amenity"}`, http.Header{"Content-Type": {"text/plain"}}, 415, "request.other_type"},
		"not UTF-8":  {"{\"name\":\"\xff\",\"context\":\"amenity\"}", nil, 422, "request.malformed"},
		"packed":     {`{"name":"a"}`, http.Header{"Content-Encoding": {"gzip"}}, 422, ""},
	} {
		res, body := h.post(f, "boss", "grounds.add", c.sent, c.header)
		h.problem(name, res, body, c.status, c.code)
	}
	for name, path := range map[string]string{
		"unknown parameter": "/api/trees?colour=red", "limit": "/api/trees?limit=0", "huge limit": "/api/trees?limit=99999999999999999999",
		"cursor": "/api/trees?cursor=%00", "long cursor": "/api/trees?cursor=" + strings.Repeat("a", 3000), "day": "/api/round?day=2026-13-01",
		"size": "/api/consistency?from=2&to=1", "no size": "/api/consistency?from=1", "beyond": "/api/consistency?from=1&to=99999",
	} {
		res, body := h.ask(f, question{method: "GET", path: path, who: "boss"})
		h.problem(name, res, body, http.StatusUnprocessableEntity, "")
	}
	res, body := h.ask(f, question{method: "DELETE", path: "/api/trees", who: "boss"})
	h.problem("method", res, body, http.StatusMethodNotAllowed, "request.method")
	if !strings.Contains(res.Header.Get("Allow"), "GET") {
		t.Errorf("allow %q", res.Header.Get("Allow"))
	}
	if after := must(must(h.store.Ledger(t.Context(), f.org)).Size(t.Context())); after != before {
		t.Errorf("%d entries, %d before", after, before)
	}
}

// A body that does not come is not waited for for ever, and its place is given back.
func TestSlowBody(t *testing.T) {
	h := newHouse(t)
	op := h.server.api.OpenAPI().Paths["/api/sync"].Post
	if op.BodyReadTimeout <= 0 || op.BodyReadTimeout > time.Minute {
		t.Errorf("a body may take %v", op.BodyReadTimeout)
	}
	conn := must(net.Dial("tcp", strings.TrimPrefix(h.web.URL, "http://")))
	defer conn.Close()
	fmt.Fprintf(conn, "POST /api/sync HTTP/1.1\r\nHost: localhost\r\nAuthorization: Bearer %s\r\nContent-Type: application/json\r\nContent-Length: 100\r\n\r\n{", h.firm.tokens["phone"])
	for len(h.server.syncs.slots) == 0 {
		time.Sleep(time.Millisecond)
	}
	conn.Close()
	for len(h.server.syncs.slots) > 0 {
		time.Sleep(time.Millisecond)
	}
}

// Who waits for a turn too long is told to come again, and is not told to be at fault.
func TestTurnThatNeverComes(t *testing.T) {
	h := newHouse(t)
	release, err := h.server.syncs.take(t.Context(), deviceOf(h.firm.phone)) // an earlier request of the same device
	h.must(err)
	defer release()
	ctx, cancel := context.WithTimeout(t.Context(), time.Millisecond)
	defer cancel()
	_, err = h.server.syncs.take(ctx, deviceOf(h.firm.phone))
	p := h.server.answerTo(t.Context(), err)
	if p.Status != http.StatusServiceUnavailable || p.Code != "server.busy" || p.GetHeaders().Get("Retry-After") == "" {
		t.Errorf("%+v", p)
	}
	if len(h.server.syncs.each) != 1 {
		t.Errorf("%d names are kept", len(h.server.syncs.each))
	}
}

// A refusal is said in the language asked for, with the same code.
func TestLanguages(t *testing.T) {
	h := newHouse(t)
	said := map[string]string{}
	for _, lang := range []string{"", "en-GB,en;q=0.9", "es-MX, en;q=0.5", "de", "de, es;q=0.1", strings.Repeat("es,", 100), ";;;"} {
		res, body := h.ask(h.firm, question{method: "GET", path: "/api/trees/" + none, who: "boss", header: http.Header{"Accept-Language": {lang}}})
		p := h.problem(lang, res, body, http.StatusNotFound, "thing.not_found")
		said[lang] = p.Detail
	}
	if said[""] != said["en-GB,en;q=0.9"] || said[""] != said["de"] || said["es-MX, en;q=0.5"] != said["de, es;q=0.1"] || said[""] == said["es-MX, en;q=0.5"] {
		t.Errorf("%q", said)
	}
	res, body := h.post(h.firm, "boss", "grounds.update", `{"grounds":"`+none+`"}`, http.Header{"Accept-Language": {"es"}})
	if p := h.problem("refusal", res, body, http.StatusNotFound, "grounds.unknown"); p.Field != "grounds" || strings.Contains(p.Detail, "There") {
		t.Errorf("%+v", p)
	}
}

// Every code and every text of the page has its words in every language.
func TestEverythingIsSaid(t *testing.T) {
	used := regexp.MustCompile(`(?:problem\([^,()]*, |http\.Status\w+:\s+|code: )"([a-z]+\.[a-z_]+)"`)
	page := regexp.MustCompile(`say\("([a-z]+)"`)
	keys := map[string]bool{}
	for _, name := range must(filepath.Glob("*.go")) {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		text := string(readFile(t, name))
		for _, m := range used.FindAllStringSubmatch(text, -1) {
			keys["http."+m[1]] = true
		}
		if name == "page.go" {
			for _, m := range page.FindAllStringSubmatch(text, -1) {
				keys["page."+m[1]] = true
			}
		}
	}
	if len(keys) < 30 {
		t.Fatalf("found %d keys: the search is broken", len(keys))
	}
	sp := newSpeech()
	for key := range keys {
		for _, lang := range words.Languages() {
			if strings.HasPrefix(sp.say(lang, key), "⟨") {
				t.Errorf("%s: %s has no words", lang, key)
			}
		}
	}
	var catalogue map[string]any
	if err := json.Unmarshal(readFile(t, "../words/en/server.json"), &catalogue); err != nil {
		t.Fatal(err)
	}
	for key := range catalogue {
		if !keys[key] {
			t.Errorf("%s is said by no code", key)
		}
	}
}

// The log tells what happened and nothing of whom, where or what.
func TestLogTellsNothingPersonal(t *testing.T) {
	h := furnished(t)
	f := h.firm
	h.ask(f, question{method: "GET", path: "/api/trees?grounds=$grounds&cursor=Bo+Muster", who: "boss", header: http.Header{"User-Agent": {"telltale"}}})
	h.ask(f, question{method: "GET", path: "/api/trees/Bo-Muster", who: "boss"})
	h.ask(f, question{method: "MUSTER", path: "/Muster?Muster", who: "boss"})
	_, log, _ := strings.Cut(h.log.String(), "\n") // the first line tells of our own address
	for _, secret := range append([]string{"Muster", "Alma", "Example", "A-1", "127.0.0.1", "telltale", "cursor", "Bearer", "sapwell=", f.org.String(), f.with("$tree"), f.with("$app")},
		f.tokens["boss"], f.tokens["phone"]) {
		if strings.Contains(log, secret) {
			i := strings.Index(log, secret)
			t.Errorf("the log holds %q: %s", secret, log[max(0, i-200):i+50])
		}
	}
	var line struct {
		Request, Method, Route, Org, Msg string
		Status                           int
		MS                               float64
		In, Out                          int64
	}
	lines := strings.Split(strings.TrimSpace(log), "\n")
	i := slices.IndexFunc(lines, func(l string) bool { return strings.Contains(l, "POST /api/deeds/tree.add") })
	h.must(json.Unmarshal([]byte(lines[i]), &line))
	if line.Msg != "request" || line.Route != "POST /api/deeds/tree.add" || line.Status != 200 || line.MS <= 0 || line.In == 0 || line.Out == 0 || len(line.Request) != 16 || len(line.Org) != 8 {
		t.Errorf("%s", lines[i])
	}
}

// The figures are read by the parser of the Prometheus client, and tell nothing
// personal either.
func TestFiguresArePrometheus(t *testing.T) {
	python := outside.Tool(t, "/usr/bin/python3")
	if err := exec.Command(python, "-c", "import prometheus_client").Run(); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("python3-prometheus-client is not installed, and CI=true demands it (make tools installs it)")
		}
		t.Skip("SKIPPED, NOT CHECKED: python3-prometheus-client is not installed; `make tools` installs it")
	}
	h := furnished(t)
	res, figures := h.ask(h.firm, question{method: "GET", path: "/metrics", who: "boss"})
	if res.StatusCode != http.StatusOK || !strings.HasPrefix(res.Header.Get("Content-Type"), "text/plain; version=0.0.4") {
		t.Fatalf("%d %v", res.StatusCode, res.Header)
	}
	read := exec.Command(python, "-c", `
import sys
from prometheus_client.parser import text_string_to_metric_families
found = {f.name: f for f in text_string_to_metric_families(sys.stdin.read())}
assert set(found) == {"sapwell_requests", "sapwell_request_seconds", "sapwell_sync_lines", "sapwell_requests_now", "sapwell_live_listeners", "sapwell_heap_bytes", "sapwell_goroutines"}, set(found)
assert found["sapwell_requests"].type == "counter" and found["sapwell_request_seconds"].type == "histogram"
added = [s.value for s in found["sapwell_requests"].samples if s.labels["route"] == "/api/deeds/tree.add"]
assert added == [1.0], added
last = {}
for s in found["sapwell_request_seconds"].samples:
    r = s.labels["route"]
    if s.name.endswith("_bucket"):
        assert s.value >= last.get(r, 0), s
        last[r] = s.value
    if s.name.endswith("_count"):
        assert s.value == last[r], s
`)
	read.Stdin = bytes.NewReader(figures)
	if out, err := read.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s\n%s", err, out, figures)
	}
	for _, secret := range []string{"Muster", h.firm.org.String(), h.firm.with("$tree"), "Example"} {
		if bytes.Contains(figures, []byte(secret)) {
			t.Errorf("the figures hold %q", secret)
		}
	}
	outside.Ran(t, "prometheus_client 0.16 (Debian), text_string_to_metric_families", "/metrics: families, a counter, cumulative buckets")
}

// Only the office and this machine see the figures.
func TestFiguresAreNotForAll(t *testing.T) {
	for _, c := range []struct {
		remote, proxy string
		want          bool
	}{
		{"127.0.0.1:5", "", true}, {"[::1]:5", "", true}, {"[::ffff:127.0.0.1]:5", "", true},
		{"192.0.2.1:5", "", false}, {"127.0.0.1:5", "192.0.2.1", false}, {"", "", false}, {"@", "", false},
	} {
		r := &http.Request{RemoteAddr: c.remote, Header: http.Header{}}
		if c.proxy != "" {
			r.Header.Set("X-Forwarded-For", c.proxy)
		}
		if asksHere(r) != c.want {
			t.Errorf("%+v", c)
		}
	}
}

// RFC 4180: records end in CR LF, have equally many fields, quotes are doubled; read
// here by encoding/csv. A formula is no formula any more (common practice, from memory:
// = + - @, tab and carriage return begin one).
func TestTreesForASpreadsheet(t *testing.T) {
	h := newHouse(t)
	f := h.firm
	f.name("grounds", h.made(f, "boss", "grounds.add", `{"name":"=cmd|' /C calc'!A0","context":"amenity"}`).String())
	notes := []string{`=1+1`, `+1`, `-1`, `@SUM(A1)`, "\tx", "a,b \"c\"\nd", "plain", "'already", "ä ✓"}
	for i, note := range notes {
		text := string(mustJSON(t, note))
		res, body := h.post(f, "boss", "tree.add", fmt.Sprintf(`{"grounds":"$grounds","tag":"=T%d","species":"Fraxinus americana","note":%s,"place":{"lat_e7":451234567,"lon_e7":-1226500000}}`, i, text), nil)
		if res.StatusCode != http.StatusOK {
			t.Fatalf("%q: %s", note, body)
		}
	}
	res, body := h.ask(f, question{method: "GET", path: "/api/trees.csv", who: "look"})
	if res.Header.Get("Content-Type") != "text/csv; charset=utf-8" || !strings.HasPrefix(res.Header.Get("Content-Disposition"), "attachment") {
		t.Errorf("%v", res.Header)
	}
	if n := bytes.Count(body, []byte("\r\n")); n != len(notes)+1 || n+1 != bytes.Count(body, []byte("\n")) { // the line feed within a note stays as it is
		t.Errorf("%d lines ended by CR LF", n)
	}
	records := must(csv.NewReader(bytes.NewReader(body)).ReadAll())
	if len(records) != len(notes)+1 || !slices.Equal(records[0], treeColumns) {
		t.Fatalf("%d records, %v", len(records), records[0])
	}
	col := func(name string) int { return slices.Index(treeColumns, name) }
	for i, r := range records[1:] {
		for j, cell := range r {
			number := j == col("lat") || j == col("lon")
			if cell != "" && strings.ContainsAny(cell[:1], "=+-@\t\r") && !number {
				t.Errorf("%s of tree %d is %q", treeColumns[j], i, cell)
			}
		}
		if r[col("lat")] != "45.1234567" || r[col("lon")] != "-122.6500000" {
			t.Errorf("place %s %s", r[col("lat")], r[col("lon")])
		}
	}
	outside.Ran(t, "RFC 4180, section 2; reader encoding/csv of Go", "trees.csv: CR LF, equal fields, quotes doubled, formulas guarded")
}

// The export is a sound journal for a checker that trusts only bytes; see package journal.
func TestExport(t *testing.T) {
	h := furnished(t)
	_, body := h.ask(h.firm, question{method: "GET", path: "/api/journal", who: "look"})
	empty := mem.New()
	org, err := empty.Import(t.Context(), bytes.NewReader(body), 1)
	if err != nil || org != h.firm.org {
		t.Fatal(org, err)
	}
	var again bytes.Buffer
	h.must(must(empty.Ledger(t.Context(), org)).Export(t.Context(), &again))
	if !bytes.Equal(again.Bytes(), body) {
		t.Error("export, import, export is not byte-equal")
	}
}

// The start page shows the round without a script, and whatever somebody wrote
// stays text.
func TestStartPage(t *testing.T) {
	h := newHouse(t)
	f := h.firm
	h.do(f, "boss", "org.update", `{"name":"<script>alert(1)</script> & Co. (fictional)"}`)
	h.day(f)
	h.do(f, "app", "tree.install", `{"visit":"$visit","tree":"$tree","lot":"$lot"}`)
	res, body := h.ask(f, question{method: "GET", path: "/", who: "look", header: http.Header{"Accept": {"text/html"}}})
	page := string(body)
	if res.StatusCode != http.StatusOK || strings.Contains(page, "<script") || strings.Contains(page, "style=") || !strings.Contains(page, "width=device-width") {
		t.Errorf("%d %s", res.StatusCode, page)
	}
	for _, want := range []string{"2026-06-09: 16 units out", "A-1", "seated 16", `href="/openapi.json"`, "Example Park", "&lt;script&gt;"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	_, body = h.ask(f, question{method: "GET", path: "/", who: "look", header: http.Header{"Accept-Language": {"es"}}})
	if !strings.Contains(string(body), `<html lang="es">`) || !strings.Contains(string(body), "Ronda de hoy") {
		t.Errorf("%s", body)
	}
	if res, _ := h.ask(f, question{method: "GET", path: "/style.css"}); !strings.HasPrefix(res.Header.Get("Content-Type"), "text/css") {
		t.Errorf("%v", res.Header)
	}
}

// broken is a store whose journals panic, or fail with an error that holds a secret.
type broken struct {
	store.Store
	err error
}

func (b broken) Orgs(context.Context) ([]journal.ID, error) { return nil, b.err }

// A panic and an error of the store are answered without details; the log knows them.
func TestFaultsTellNothing(t *testing.T) {
	h := newHouse(t)
	h.server.plain(anybody, "GET", "/panic", func(http.ResponseWriter, *http.Request) { panic(errors.New("secret: " + h.firm.tokens["boss"])) })
	h.server.plain(anybody, "GET", "/half", func(w http.ResponseWriter, _ *http.Request) {
		fmt.Fprint(w, "half")
		_ = http.NewResponseController(w).Flush()
		panic("index out of range")
	})
	res, body := h.ask(h.firm, question{method: "GET", path: "/panic", who: "boss"})
	h.problem("panic", res, body, http.StatusInternalServerError, "server.fault")
	if bytes.Contains(body, []byte("secret")) || strings.Contains(h.log.String(), h.firm.tokens["boss"]) {
		t.Error("the panic's text came out")
	}
	if !strings.Contains(h.log.String(), "manners_test.go") {
		t.Error("the log does not say where")
	}
	req := must(http.NewRequest("GET", h.web.URL+"/half", nil))
	h.firm.sign(req, "boss")
	half := must(h.web.Client().Do(req))
	defer half.Body.Close()
	if _, err := io.ReadAll(half.Body); err == nil {
		t.Error("half an answer looks whole")
	}
	h.server.Store = broken{h.store, errors.New("secret place")}
	h.server.ready.asked = time.Time{}
	res, body = h.ask(h.firm, question{method: "GET", path: "/readyz"})
	if res.StatusCode != http.StatusServiceUnavailable || bytes.Contains(body, []byte("secret")) {
		t.Errorf("%d %s", res.StatusCode, body)
	}
	h.server.Store = h.store
}

// Told to end, the server answers what is under way, lets live pages go and stops.
func TestServeEndsWell(t *testing.T) {
	h := newHouse(t)
	began, finish := make(chan bool), make(chan bool)
	h.server.plain(anybody, "GET", "/healthz/slow", func(w http.ResponseWriter, _ *http.Request) {
		close(began)
		<-finish
		fmt.Fprint(w, "done")
	})
	l := must(net.Listen("tcp", "127.0.0.1:0"))
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- h.server.Serve(ctx, l, nil) }()
	h.web.URL = "http://" + l.Addr().String()
	page := h.listen(h.firm, "look", "")
	page.next()
	var wait sync.WaitGroup
	wait.Go(func() {
		res, body := h.ask(h.firm, question{method: "GET", path: "/healthz/slow", who: "boss"})
		if res.StatusCode != http.StatusOK || string(body) != "done" {
			t.Errorf("under way: %d %s", res.StatusCode, body)
		}
	})
	<-began
	stop()
	for page.lines.Scan() { // until it is let go
	}
	if _, err := net.DialTimeout("tcp", l.Addr().String(), time.Second); err == nil {
		t.Error("new connections are taken")
	}
	close(finish)
	wait.Wait()
	if err := <-ended; err != nil {
		t.Error(err)
	}
}

// A header that never ends is cut off, by the limits of the door.
func TestSlowHeader(t *testing.T) {
	t.Parallel()
	h := newHouse(t)
	l := must(net.Listen("tcp", "127.0.0.1:0"))
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- h.server.Serve(ctx, l, nil) }()
	conn := must(net.Dial("tcp", l.Addr().String()))
	defer conn.Close()
	fmt.Fprint(conn, "GET /healthz HTTP/1.1\r\nHost: localhost\r\nX: ")
	h.must(conn.SetReadDeadline(time.Now().Add(20 * time.Second)))
	start := time.Now()
	_, err := bufio.NewReader(conn).ReadString('\n')
	if errors.Is(err, os.ErrDeadlineExceeded) {
		t.Errorf("still open after %v", time.Since(start))
	}
	stop()
	h.must(<-ended)
}

func TestMain(m *testing.M) {
	debug.SetMemoryLimit(1 << 30)
	os.Exit(m.Run())
}

// Lists come in pages that leave nothing out and show nothing twice, and can be
// narrowed.
func TestPages(t *testing.T) {
	h := newHouse(t)
	f := h.firm
	for _, name := range []string{"park", "yard"} {
		f.name(name, h.made(f, "boss", "grounds.add", `{"name":"`+name+` (invented)","context":"amenity"}`).String())
		for i := range 7 {
			h.made(f, "boss", "tree.add", fmt.Sprintf(`{"grounds":"$%s","tag":"%s | %d","species":"Fraxinus americana"}`, name, name, i))
		}
	}
	for path, want := range map[string]int{"/api/trees?limit=3": 14, "/api/trees?limit=7": 14, "/api/trees?limit=1000": 14, "/api/trees?grounds=$park&limit=2": 7, "/api/trees?grounds=" + none: 0} {
		seen := map[string]bool{}
		for next := ""; ; {
			var page struct {
				Items []struct {
					ID    string
					Facts struct{ Tag string }
				}
				Next string
			}
			at := path
			if next != "" {
				at += "&cursor=" + next
			}
			h.get(f, "look", at, &page)
			for _, tree := range page.Items {
				if seen[tree.ID] || strings.Contains(path, "$park") && !strings.HasPrefix(tree.Facts.Tag, "park") {
					t.Errorf("%s shows %s", path, tree.Facts.Tag)
				}
				seen[tree.ID] = true
			}
			if next = page.Next; next == "" {
				break
			}
		}
		if len(seen) != want {
			t.Errorf("%s: %d trees, want %d", path, len(seen), want)
		}
	}
}
