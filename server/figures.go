package server

import (
	"fmt"
	"io"
	"maps"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"
)

// bounds are those of the histogram of answers, in seconds.
var bounds = [...]float64{0.005, 0.02, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 10}

// figures counts what the server did, for Prometheus. They tell how much, and
// never who or where.
type figures struct {
	mu       sync.Mutex
	now      int // requests being answered
	requests map[asked]int64
	times    map[string]*histogram // by route
	merges   map[string]int64      // lines of gifts by what became of them
}

type asked struct {
	method, route string
	status        int
}

type histogram struct {
	counts [len(bounds)]int64 // each with those below it
	count  int64
	sum    float64
}

func newFigures() *figures {
	return &figures{requests: map[asked]int64{}, times: map[string]*histogram{}, merges: map[string]int64{"added": 0, "known": 0, "aside": 0, "refused": 0}}
}

func (f *figures) begin() {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.now++
}

// end counts a request. Streams are counted and not timed: they last as long as
// somebody looks.
func (f *figures) end(method, pattern string, status int, took time.Duration) {
	_, route, _ := strings.Cut(pattern, " ")
	f.mu.Lock()
	defer f.mu.Unlock()
	f.now--
	f.requests[asked{knownMethod(method), route, status}]++
	if route == "/api/live" {
		return
	}
	h, ok := f.times[route]
	if !ok {
		h = new(histogram)
		f.times[route] = h
	}
	h.add(took.Seconds())
}

func (h *histogram) add(seconds float64) {
	h.count++
	h.sum += seconds
	for i, b := range bounds {
		if seconds <= b {
			h.counts[i]++
		}
	}
}

// merged counts the lines of a gift.
func (f *figures) merged(a *SyncAnswer) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.merges["added"] += int64(a.Added)
	f.merges["known"] += int64(a.Known)
	f.merges["aside"] += int64(len(a.Aside))
	f.merges["refused"] += int64(len(a.Refused))
}

// write prints the figures in the text format of Prometheus, 0.0.4.
func (f *figures) write(w io.Writer, listeners int) error {
	var p printed
	f.mu.Lock()
	p.head("sapwell_requests_total", "counter", "Requests answered, by method, route and status.")
	for _, a := range slices.SortedFunc(maps.Keys(f.requests), compareAsked) {
		p.line("sapwell_requests_total", strconv.FormatInt(f.requests[a], 10), "method", a.method, "route", a.route, "status", strconv.Itoa(a.status))
	}
	p.head("sapwell_request_seconds", "histogram", "Time to answer, by route.")
	for _, route := range slices.Sorted(maps.Keys(f.times)) {
		p.histogram("sapwell_request_seconds", route, f.times[route])
	}
	p.head("sapwell_sync_lines_total", "counter", "Lines that devices gave, by what became of them.")
	for _, fate := range slices.Sorted(maps.Keys(f.merges)) {
		p.line("sapwell_sync_lines_total", strconv.FormatInt(f.merges[fate], 10), "fate", fate)
	}
	p.gauge("sapwell_requests_now", "Requests being answered.", uint64(f.now))
	f.mu.Unlock()
	p.gauge("sapwell_live_listeners", "Pages that listen for changes.", uint64(listeners))
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	p.gauge("sapwell_heap_bytes", "Memory in use.", m.HeapAlloc)
	p.gauge("sapwell_goroutines", "Goroutines.", uint64(runtime.NumGoroutine()))
	_, err := io.WriteString(w, p.String())
	return err
}

func compareAsked(a, b asked) int {
	return strings.Compare(fmt.Sprintf("%s %s %d", a.route, a.method, a.status), fmt.Sprintf("%s %s %d", b.route, b.method, b.status))
}

// printed is text in the format.
type printed struct{ strings.Builder }

func (p *printed) head(name, kind, help string) {
	fmt.Fprintf(p, "# HELP %s %s\n# TYPE %s %s\n", name, help, name, kind)
}

func (p *printed) gauge(name, help string, value uint64) {
	p.head(name, "gauge", help)
	p.line(name, strconv.FormatUint(value, 10))
}

// line prints one value; labels are names and values in turn.
func (p *printed) line(name, value string, labels ...string) {
	p.WriteString(name)
	for i := 0; i+1 < len(labels); i += 2 {
		p.WriteString(map[bool]string{true: "{", false: ","}[i == 0])
		fmt.Fprintf(p, `%s="%s"`, labels[i], escapeLabel.Replace(labels[i+1]))
	}
	if len(labels) > 0 {
		p.WriteString("}")
	}
	p.WriteString(" " + value + "\n")
}

var escapeLabel = strings.NewReplacer(`\`, `\\`, `"`, `\"`, "\n", `\n`)

func (p *printed) histogram(name, route string, h *histogram) {
	for i, b := range bounds {
		p.line(name+"_bucket", strconv.FormatInt(h.counts[i], 10), "route", route, "le", strconv.FormatFloat(b, 'g', -1, 64))
	}
	p.line(name+"_bucket", strconv.FormatInt(h.count, 10), "route", route, "le", "+Inf")
	p.line(name+"_sum", strconv.FormatFloat(h.sum, 'g', -1, 64), "route", route)
	p.line(name+"_count", strconv.FormatInt(h.count, 10), "route", route)
}
