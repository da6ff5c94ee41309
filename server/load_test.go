package server

import (
	"bytes"
	"context"
	"crypto"
	"crypto/ed25519"
	"encoding/json"
	"fmt"
	"io"
	"iter"
	"net/http"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"sapwell/accounts"
	"sapwell/internal/daybook"
	"sapwell/journal"
	"sapwell/store/sqlstore"
)

// fleet is an organisation with many phones, each with entries that it has not sent.
type fleet struct {
	firm   *firm
	people []journal.ID // whose the phones are
	unsent [][][]byte   // by phone
}

// newFleet invents one on a house's store: the office has the list of trees, and each
// phone at least so many entries of its own.
func newFleet(h *house, phones, each int) *fleet {
	h.t.Helper()
	book := daybook.Book{Seed: 7, Trees: 250, Devices: daybook.Keys(7, phones+1), Start: morning.UnixMilli()}
	next, stop := iter.Pull2(book.Entries())
	defer stop()
	fl := &fleet{firm: &firm{tokens: map[string]string{}}, unsent: make([][][]byte, phones)}
	at := map[journal.Hash]int{}
	for i, d := range book.Devices[1:] {
		at[must(journal.DeviceOf(d))] = i
	}
	var base [][]byte
	surveyed := 4*250 + 2 + 3*(phones+1) + 2 // those of package daybook's first two days
	for n, full := 0, 0; full < phones; n++ {
		e, err, ok := next()
		if !ok || err != nil {
			h.t.Fatal(err, ok)
		}
		if e.Kind == "person" {
			fl.people = append(fl.people, e.ID)
		}
		i, phone := at[e.Device]
		if !phone || n < surveyed {
			base = append(base, e.Line)
			continue
		}
		if fl.unsent[i] = append(fl.unsent[i], e.Line); len(fl.unsent[i]) == each {
			full++
		}
	}
	fl.people = fl.people[1:]
	fl.open(h, book.Devices, base)
	return fl
}

// open puts the office's part into the store and lets the phones in.
func (fl *fleet) open(h *house, devices []crypto.Signer, base [][]byte) {
	h.t.Helper()
	ctx := context.Background()
	first := must(journal.ReadEntry(base[0]))
	fl.firm.org = first.ID
	office, _ := devices[0].(ed25519.PrivateKey)
	h.must(h.store.PutKey(ctx, accounts.Key{Org: first.ID, Private: office}))
	must(h.store.Found(ctx, base[:1], morning.UnixMilli()))
	ledger := must(h.store.Ledger(ctx, first.ID))
	merged := must(ledger.Merge(ctx, base[1:], morning.UnixMilli(), nil))
	if len(merged.Refused) > 0 {
		h.t.Fatal(merged.Refused[0])
	}
	for i, d := range devices[1:] {
		token, sum := accounts.NewToken()
		h.must(h.store.PutSession(ctx, accounts.Session{Token: sum, Org: first.ID, Person: fl.people[i], Device: must(journal.DeviceOf(d)), Until: 1 << 50}))
		fl.firm.tokens[fmt.Sprintf("phone%d", i)] = token
	}
}

// gifted makes the body of a sync.
func gifted(offer []journal.Known, lines [][]byte) []byte {
	head := must(json.Marshal(map[string]any{"offer": append([]journal.Known{}, offer...)}))
	return append(append(head, '\n'), bytes.Join(lines, []byte("\n"))...)
}

// send syncs a phone and says how long it took.
func (fl *fleet) send(url string, client *http.Client, phone int, body []byte) (a SyncAnswer, took time.Duration, err error) {
	req, err := http.NewRequest("POST", url+"/api/sync", bytes.NewReader(body))
	if err != nil {
		return a, 0, err
	}
	req.Header.Set("Content-Type", ndjson)
	req.Header.Set("Accept", ndjson)
	fl.firm.sign(req, fmt.Sprintf("phone%d", phone))
	start := time.Now()
	res, err := client.Do(req)
	if err != nil {
		return a, 0, err
	}
	defer res.Body.Close()
	text, err := io.ReadAll(res.Body)
	took = time.Since(start)
	if err == nil && res.StatusCode != http.StatusOK {
		err = fmt.Errorf("%d %s", res.StatusCode, text)
	}
	if err != nil {
		return a, took, err
	}
	head, lines, _ := bytes.Cut(text, []byte("\n"))
	err = json.Unmarshal(head, &a)
	for line := range bytes.Lines(lines) {
		a.Lines = append(a.Lines, string(bytes.TrimSuffix(line, []byte("\n"))))
	}
	return a, took, err
}

func onDisk(t testing.TB) *house {
	t.Helper()
	s, err := sqlstore.OpenSQLite(context.Background(), filepath.Join(t.TempDir(), "load.db"), sqlstore.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = s.Close() })
	return newHouseOn(t, s)
}

// Two hundred devices sync at once, each again as soon as it is done: no error,
// nothing lost, memory within bounds. 5 s, or two minutes with SAPWELL_TORTURE=1.
func TestTwoHundredDevices(t *testing.T) {
	const phones, part = 200, 10
	span, each := 5*time.Second, 40
	if os.Getenv("SAPWELL_TORTURE") == "1" {
		span, each = 2*time.Minute, 400
	}
	h := onDisk(t)
	fl := newFleet(h, phones, each)
	client := &http.Client{Transport: &http.Transport{MaxIdleConnsPerHost: phones}, Timeout: 2 * patience}
	peak, done := watchMemory(t.Context())
	base := memory()
	morning := must(must(h.store.Ledger(t.Context(), fl.firm.org)).Offer(t.Context())) // all have synced before
	var sent, received atomic.Int64
	times := make([][]time.Duration, phones)
	end := time.Now().Add(span)
	var all sync.WaitGroup
	for i := range phones {
		all.Go(func() {
			offer := morning
			for unsent := fl.unsent[i]; time.Now().Before(end); {
				n := min(part, len(unsent))
				a, took, err := fl.send(h.web.URL, client, i, gifted(offer, unsent[:n]))
				if err != nil || a.Added != n || len(a.Aside)+len(a.Refused) > 0 {
					t.Errorf("phone %d: %v, added %d of %d, aside %v, refused %v", i, err, a.Added, n, a.Aside, a.Refused)
					return
				}
				times[i] = append(times[i], took)
				sent.Add(int64(n))
				received.Add(int64(len(a.Lines)))
				// Whoever has all that it was given has all that the office has.
				if unsent = unsent[n:]; !a.More {
					offer = a.Offer
				}
			}
		})
	}
	all.Wait()
	done()
	sorted := slices.Sorted(slices.Values(slices.Concat(times...)))
	ledger := must(h.store.Ledger(t.Context(), fl.firm.org))
	t.Logf("%d devices, %v: %d syncs, %d entries given, %d taken back, p50 %v, p99 %v, heap at most %d MiB above %d MiB; %d entries in the log",
		phones, span, len(sorted), sent.Load(), received.Load(), sorted[len(sorted)/2], sorted[len(sorted)*99/100],
		(peak.Load()-base)>>20, base>>20, must(ledger.Size(t.Context())))
	if grown := peak.Load() - base; grown > 512<<20 {
		t.Errorf("the heap grew by %d MiB, want at most 512", grown>>20)
	}
}

// watchMemory keeps the greatest size of the heap that it sees.
func watchMemory(ctx context.Context) (peak *atomic.Uint64, stop func()) {
	peak = new(atomic.Uint64)
	ctx, cancel := context.WithCancel(ctx)
	var gone sync.WaitGroup
	gone.Go(func() {
		for tick := time.NewTicker(50 * time.Millisecond); ; {
			select {
			case <-ctx.Done():
				tick.Stop()
				return
			case <-tick.C:
				peak.Store(max(peak.Load(), memory()))
			}
		}
	})
	return peak, func() { cancel(); gone.Wait() }
}

func memory() uint64 {
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return m.HeapInuse + m.StackInuse
}

// A phone's day of 500 entries in one request, on SQLite with full synchronous
// writing. The bar is 250 ms.
func BenchmarkSyncOfADay(b *testing.B) {
	const phones, day = 40, 500
	h := onDisk(b)
	fl := newFleet(h, phones, day)
	i := 0
	for b.Loop() {
		if i == phones {
			b.StopTimer()
			h = onDisk(b)
			fl, i = newFleet(h, phones, day), 0
			b.StartTimer()
		}
		known := must(must(h.store.Ledger(b.Context(), fl.firm.org)).Offer(b.Context()))
		a, _, err := fl.send(h.web.URL, h.web.Client(), i, gifted(known, fl.unsent[i][:day]))
		if err != nil || a.Added != day {
			b.Fatal(err, a.Added, a.Aside, a.Refused)
		}
		i++
	}
	b.ReportMetric(float64(day)*float64(b.N)/b.Elapsed().Seconds(), "entries/s")
}

// The start page and a list of a hundred trees, of 10,000.
func BenchmarkPages(b *testing.B) {
	h := onDisk(b)
	h.day(h.firm)
	list := "tag,species,girth,girth_height\n"
	var csv strings.Builder
	csv.WriteString(list)
	for i := range 10_000 {
		fmt.Fprintf(&csv, "T-%05d,Fraxinus americana,60 in,12 in\n", i)
	}
	h.do(h.firm, "boss", "tree.import", string(must(json.Marshal(map[string]string{"grounds": h.firm.with("$grounds"), "csv": csv.String()}))))
	for name, path := range map[string]string{"start": "/plain", "trees": "/api/trees?limit=100"} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				req := must(http.NewRequest("GET", h.web.URL+path, nil))
				h.firm.sign(req, "boss")
				res := must(h.web.Client().Do(req))
				must(io.Copy(io.Discard, res.Body))
				res.Body.Close()
				if res.StatusCode != http.StatusOK {
					b.Fatal(res.StatusCode)
				}
			}
		})
	}
}
