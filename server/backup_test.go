package server

import (
	"archive/tar"
	"bytes"
	"compress/gzip"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"strings"
	"testing"

	"sapwell/backup"
	"sapwell/store"
	"sapwell/store/mem"
)

// A backup by HTTP holds the journal and the pictures of one's own organisation, and
// no secret of anybody; it can be brought back elsewhere.
func TestBackupOfOnesOwn(t *testing.T) {
	h := furnished(t)
	f := h.firm
	h.day(h.other)
	res, file := h.ask(f, question{method: "GET", path: "/api/backup", who: "boss"})
	if res.StatusCode != http.StatusOK || res.Header.Get("Content-Type") != "application/gzip" {
		t.Fatalf("%d %v", res.StatusCode, res.Header)
	}
	members := tar.NewReader(must(gzip.NewReader(bytes.NewReader(file))))
	for {
		m, err := members.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		h.must(err)
		text := must(io.ReadAll(members))
		if strings.Contains(m.Name, h.other.org.String()) || strings.Contains(m.Name, "key") || strings.Contains(m.Name, "accounts") || bytes.Contains(text, f.key.Seed()) {
			t.Errorf("the backup holds %s", m.Name)
		}
	}
	elsewhere := mem.New()
	if _, err := backup.Restore(t.Context(), elsewhere, bytes.NewReader(file), morning); err != nil {
		t.Fatal(err)
	}
	var a, b bytes.Buffer
	h.must(must(h.store.Ledger(t.Context(), f.org)).Export(t.Context(), &a))
	h.must(must(elsewhere.Ledger(t.Context(), f.org)).Export(t.Context(), &b))
	if !bytes.Equal(a.Bytes(), b.Bytes()) {
		t.Error("what comes back is not what was there")
	}
	if data, err := must(elsewhere.Ledger(t.Context(), f.org)).Blob(t.Context(), sum([]byte(picture))); err != nil || string(data) != picture {
		t.Errorf("the photo: %v", err)
	}
}

// Brought back, a backup changes nothing that is here. One of another organisation,
// a damaged one and one with entries of a stranger's device are not taken for ours.
func TestRestoreOfOnesOwn(t *testing.T) {
	h := newHouse(t)
	f := h.firm
	h.day(f)
	_, file := h.ask(f, question{method: "GET", path: "/api/backup", who: "boss"})
	_, foreign := h.ask(h.other, question{method: "GET", path: "/api/backup", who: "boss"})
	restore := func(sent []byte) (*http.Response, []byte) {
		return h.ask(f, question{method: "POST", path: "/api/restore", sent: sent, who: "boss", header: http.Header{"Content-Type": {"application/gzip"}}})
	}
	ledger := must(h.store.Ledger(t.Context(), f.org))
	before := must(ledger.Size(t.Context()))
	res, body := restore(file)
	var report struct{ Entries, Added, Aside int64 }
	h.must(json.Unmarshal(body, &report))
	if res.StatusCode != http.StatusOK || report.Entries != before || report.Added != 0 {
		t.Errorf("%d %s", res.StatusCode, body)
	}
	res, body = restore(foreign)
	h.problem("another organisation", res, body, http.StatusUnprocessableEntity, "restore.other_org")
	for name, sent := range map[string][]byte{"cut": file[:len(file)/2], "none": []byte("x"), "bomb": zipped(make([]byte, 32<<20))} {
		res, body = restore(sent)
		h.problem(name, res, body, http.StatusUnprocessableEntity, "restore.damaged")
	}
	res, body = restore(make([]byte, mostRestore+1))
	h.problem("large", res, body, http.StatusRequestEntityTooLarge, "request.too_large")

	// The store elsewhere let in what a device that nobody enrolled wrote.
	elsewhere := mem.New()
	must(backup.Restore(t.Context(), elsewhere, bytes.NewReader(file), morning))
	there := must(elsewhere.Ledger(t.Context(), f.org))
	stranger := newHandset(h, f, "", "app", must(newKey()))
	must(stranger.ledger.Merge(t.Context(), linesOf(t, there), 1, nil))
	stranger.do("note.add", `{"on":{"kind":"tree","id":"$tree"},"text":"from nowhere"}`)
	must(there.Merge(t.Context(), linesOf(t, stranger.ledger), 1, nil))
	var forged bytes.Buffer
	h.must(backup.Write(t.Context(), elsewhere, &forged, morning))
	_, body = restore(forged.Bytes())
	h.must(json.Unmarshal(body, &report))
	if report.Added != 0 || must(ledger.Size(t.Context())) != before || len(must(ledger.Aside(t.Context()))) != 1 {
		t.Errorf("%s", body)
	}
	var _ store.Ledger = admitting{}
}
