package server

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"os"
	"strings"
	"testing"

	"sapwell/internal/outside"
	"sapwell/journal"
	"sapwell/records"
	"sapwell/server/door"
	"sapwell/store"
)

// recordSaid is a record of a visit as it comes over the wire.
type recordSaid struct {
	Record, Tree string
	Profiles     []string
	Findings     []struct{ Code, Says string }
	Data         json.RawMessage
}

func (h *house) recordsOf(f *firm) []recordSaid {
	h.t.Helper()
	var said struct{ Records []recordSaid }
	h.get(f, "boss", "/api/visits/$visit/records", &said)
	if len(said.Records) == 0 {
		h.t.Fatal("the visit has no records")
	}
	return said.Records
}

// closed is a house whose first firm has closed a visit to one tree.
func closed(t *testing.T) (*house, *firm) {
	t.Helper()
	h := newHouse(t)
	f := h.firm
	h.day(f)
	var installed struct{ Units []journal.ID }
	h.must(json.Unmarshal(h.do(f, "app", "tree.install", `{"visit":"$visit","tree":"$tree","lot":"$lot"}`).Result, &installed))
	open := h.recordsOf(f)[0]
	if !has(open, "MISSING:signature") {
		t.Errorf("while it is open nobody has signed: %+v", open.Findings)
	}
	units, _ := json.Marshal(installed.Units)
	h.do(f, "app", "unit.lift", `{"visit":"$visit","units":`+string(units)+`,"left":"0 mL"}`)
	h.do(f, "train", "visit.tally", `{"visit":"$visit","lots":[{"lot":"$lot","taken":16,"seated":16,"lifted":16,"lost":0,"unused":0}]}`)
	h.do(f, "app", "visit.close", `{"visit":"$visit","signature":{"name":"Bo Muster","meaning":"done as recorded"}}`)
	return h, f
}

func has(r recordSaid, code string) bool {
	for _, f := range r.Findings {
		if f.Code == code {
			return true
		}
	}
	return false
}

// The records of a visit, what they miss, and that it is mended where it is told.
func TestRecordsOfAVisit(t *testing.T) {
	h, f := closed(t)
	r := h.recordsOf(f)[0]
	if has(r, "MISSING:signature") || len(r.Profiles) == 0 {
		t.Errorf("closed and signed: %+v", r)
	}
	data, err := records.Parse(r.Data)
	if err != nil || data.Text("units.installed") != "16" || data.Text("amount.total") != "64 mL" {
		t.Errorf("%v: %s", err, r.Data)
	}
	f.name("record", r.Record)
	const field = "waste.batch"
	if !has(r, "MISSING:"+field) {
		t.Fatalf("without a bag: %+v", r.Findings)
	}
	h.do(f, "app", "record.tell", `{"on":{"kind":"visit","id":"$visit"},"field":"`+field+`","text":"W-7"}`)
	if r = h.recordsOf(f)[0]; has(r, "MISSING:"+field) {
		t.Errorf("told, and still missing: %+v", r.Findings)
	}

	_, body := h.ask(f, question{method: "GET", path: "/api/records", who: "look"})
	lines := strings.Split(strings.TrimSpace(string(body)), "\n")
	if len(lines) != 2 || !strings.Contains(lines[0], r.Record) || lines[1] != `{"records":{"count":1}}` {
		t.Errorf("%s", body)
	}
	if _, body = h.ask(f, question{method: "GET", path: "/api/records?to=2020-01-01", who: "look"}); string(body) != `{"records":{"count":0}}`+"\n" {
		t.Errorf("of other days: %s", body)
	}
	day := data.Text("date")
	if _, body = h.ask(f, question{method: "GET", path: "/api/records?from=" + day + "&to=" + day, who: "look"}); !strings.Contains(string(body), `{"records":{"count":1}}`) {
		t.Errorf("of the day itself: %s", body)
	}
	if _, body = h.ask(f, question{method: "GET", path: "/api/records?from=2030-01-01", who: "look"}); !strings.Contains(string(body), `{"records":{"count":0}}`) {
		t.Errorf("of later days: %s", body)
	}
	if res, _ := h.ask(f, question{method: "GET", path: "/api/records?to=June", who: "look"}); res.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("no day: %d", res.StatusCode)
	}
}

func TestPapersOverHTTP(t *testing.T) {
	h, f := closed(t)
	f.name("record", h.recordsOf(f)[0].Record)
	var other []byte // in the other language
	for _, lang := range []string{"en", "es"} {
		res, pdf := h.ask(f, question{method: "GET", path: "/api/visits/$visit/records/$record?paper=a4&units=metric", who: "look", header: http.Header{"Accept-Language": {lang}}})
		if res.StatusCode != http.StatusOK || !bytes.HasPrefix(pdf, []byte("%PDF-")) || bytes.Equal(pdf, other) {
			t.Errorf("%s: %d %.60q", lang, res.StatusCode, pdf)
		}
		other = pdf
	}
	res, _ := h.ask(f, question{method: "GET", path: "/api/visits/$visit/records/" + none, who: "look"})
	if res.StatusCode != http.StatusNotFound {
		t.Errorf("a record that is not: %d", res.StatusCode)
	}
	var due struct{ Duties []struct{ Due, Name string } }
	h.get(f, "look", "/api/due", &due)
	if len(due.Duties) == 0 {
		t.Error("nothing is due, not even keeping")
	}
	_, body := h.ask(f, question{method: "GET", path: "/api/visits/$visit/records", who: "look", header: http.Header{"Accept-Language": {"es"}}})
	if !strings.Contains(string(body), `"says":"partida de residuos"`) {
		t.Errorf("what a profile asks, in Spanish: %s", body)
	}
	res, ics := h.ask(f, question{method: "GET", path: "/api/due.ics", who: "look"})
	if !strings.HasPrefix(res.Header.Get("Content-Type"), "text/calendar") || strings.Count(string(ics), "BEGIN:VEVENT\r\n") != len(due.Duties) {
		t.Errorf("%v, %d duties\n%s", res.Header, len(due.Duties), ics)
	}
	if _, none := h.ask(f, question{method: "GET", path: "/api/due.ics?to=2020-01-01", who: "look"}); !strings.Contains(string(none), "BEGIN:VTIMEZONE\r\n") {
		t.Errorf("a calendar without a component (RFC 5545, 3.6): %s", none)
	}
	for _, path := range []string{"/api/records", "/api/due", "/api/due.ics", "/api/papers.zip"} {
		res, body := h.ask(f, question{method: "GET", path: path + "?from=2026-12-01&to=2026-01-01", who: "boss"})
		h.problem(path, res, body, http.StatusUnprocessableEntity, "request.days")
	}
	if res, _ := h.ask(f, question{method: "GET", path: "/api/papers.zip", who: "train"}); res.StatusCode != http.StatusForbidden {
		t.Errorf("a trainee takes the pile: %d", res.StatusCode)
	}
	_, pile := h.ask(f, question{method: "GET", path: "/api/papers.zip?all=true", who: "boss"})
	z, err := zip.NewReader(bytes.NewReader(pile), int64(len(pile)))
	if err != nil {
		t.Fatal(err)
	}
	papers := 0
	for _, file := range z.File {
		in, err := file.Open()
		h.must(err)
		data, err := io.ReadAll(in)
		h.must(err)
		if strings.HasSuffix(file.Name, ".pdf") && bytes.HasPrefix(data, []byte("%PDF-")) {
			papers++
		}
	}
	if papers < 8 {
		t.Errorf("%d papers of %d files", papers, len(z.File))
	}
	outside.Ran(t, "archive/zip", "the pile of papers as one file, over HTTP")
}

// watchedLedger counts how many are reading.
type watchedLedger struct {
	store.Ledger
	reading *int
}

func (l watchedLedger) Read(ctx context.Context, look func(store.Reader) error) error {
	*l.reading++
	defer func() { *l.reading-- }()
	return l.Ledger.Read(ctx, look)
}

// Whoever fetches slowly does not keep the store open: the file is whole before the
// first byte of it goes out, and it is gone when it was fetched or given up.
func TestASlowReaderHoldsNothing(t *testing.T) {
	h, f := closed(t)
	passing := t.TempDir()
	t.Setenv("TMPDIR", passing) // where os.TempDir looks on Unix
	left := func() int {
		found, err := os.ReadDir(passing)
		h.must(err)
		return len(found)
	}
	l, err := h.store.Ledger(t.Context(), f.org)
	h.must(err)
	reading := 0
	c := caller{Who: door.Who{Org: f.org}, ledger: watchedLedger{l, &reading}}
	if _, err := h.server.papers(t.Context(), c, &papersInput{Printing: Printing{Paper: "a4"}}); err != nil || reading != 0 || left() != 1 {
		t.Fatalf("%v; %d read the store, %d files", err, reading, left())
	}
	for _, path := range []string{"/api/papers.zip", "/api/records"} {
		if res, body := h.ask(f, question{method: "GET", path: path, who: "boss"}); res.StatusCode != http.StatusOK || len(body) == 0 || left() != 1 {
			t.Errorf("%s: %d, %d bytes, %d files", path, res.StatusCode, len(body), left())
		}
	}
	broken := errors.New("disk full")
	if _, err := h.server.stored(t.Context(), "text/plain", "x", func(context.Context, io.Writer) error { return broken }); !errors.Is(err, broken) || left() != 1 {
		t.Errorf("%v, %d files", err, left())
	}
}
