package sqlstore

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"runtime/debug"
	"strconv"
	"testing"
	"time"

	"sapwell/entries"
	"sapwell/internal/daybook"
	"sapwell/journal"
	"sapwell/store"
)

const (
	millionMemory = 256 << 20              // the most memory that anything may take, in bytes
	millionOpen   = 300 * time.Millisecond // to open the store and list the open visits
)

// A journal of a million entries (with SAPWELL_TORTURE=1; otherwise of 30,000) is
// opened at once, and read, checked and folded again within bounded memory.
func TestMillion(t *testing.T) {
	size := 30_000
	if os.Getenv("SAPWELL_TORTURE") == "1" {
		size = 1_000_000
	}
	path := filepath.Join(t.TempDir(), "sapwell.db")
	fillMillion(t, path, size)

	begin := time.Now()
	s := openFile(t, path)
	defer s.Close() //nolint:errcheck // a test
	orgs, err := s.Orgs(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	m := &million{T: t, l: &ledger{s, orgs[0]}, size: int64(size)}
	m.openVisits()
	took := time.Since(begin)
	if t.Logf("%-24s %10v", "opened, visits listed", took.Round(time.Millisecond)); took > millionOpen {
		t.Errorf("opened and listed in %v, want at most %v", took, millionOpen)
	}
	m.measure("offer, missing, changed", m.sync)
	m.measure("head, proofs", m.prove)
	m.measure("export", func() error { return m.l.Export(t.Context(), io.Discard) })
	m.measure("rebuild", func() error { return m.l.Rebuild(t.Context()) })
	m.measure("check", m.check)
}

// fillMillion makes a store whose entries are not signed, which nobody asks of
// lines that are kept.
func fillMillion(t *testing.T, path string, size int) {
	t.Helper()
	const each = 2000
	s := openFile(t, path)
	var l *ledger
	n := 0
	for some := range invented(t, daybook.Unsigned(1, 8), 10_000, each) {
		if l == nil {
			l = begun(t, s, some)
		} else {
			l.arrive(t, some)
		}
		if n += each; n >= size {
			break
		}
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
}

type million struct {
	*testing.T
	l    *ledger
	size int64
}

// measure runs do and holds the memory it took against the limit.
func (m *million) measure(name string, do func() error) {
	m.Helper()
	debug.FreeOSMemory()
	resetPeak()
	begin := time.Now()
	if err := do(); err != nil {
		m.Fatalf("%s: %v", name, err)
	}
	took, peak := time.Since(begin), peakMemory()
	m.Logf("%-24s %10v  %9.0f entries/s  at most %d MiB", name, took.Round(time.Millisecond), float64(m.size)/took.Seconds(), peak>>20)
	if peak > millionMemory {
		m.Errorf("%s took %d MiB, want at most %d", name, peak>>20, millionMemory>>20)
	}
}

func (m *million) openVisits() {
	err := m.l.Read(m.Context(), func(r store.Reader) error {
		rows, err := r.List(entries.OfVisit, "open|", "open}", "", 100)
		if err == nil && len(rows) == 0 {
			m.Log("no visit is open at the end of this journal")
		}
		return err
	})
	if err != nil {
		m.Fatal(err)
	}
}

func (m *million) sync() error {
	offer, err := m.l.Offer(m.Context())
	if err != nil {
		return err
	}
	if _, more, err := m.l.Missing(m.Context(), offer, 1<<20); err != nil || more {
		return fmt.Errorf("missing of all: more %v, %w", more, err)
	}
	if _, more, err := m.l.Missing(m.Context(), nil, 1<<20); err != nil || !more {
		return fmt.Errorf("missing of nothing: more %v, %w", more, err)
	}
	_, _, err = m.l.Changed(m.Context(), m.size-1000, 1000)
	return err
}

func (m *million) prove() error {
	if _, err := m.l.Head(m.Context(), daybook.Keys(1, 1)[0], start); err != nil {
		return err
	}
	for n := m.size; n > 0; n /= 3 {
		if _, err := m.l.Consistency(m.Context(), n, m.size); err != nil {
			return err
		}
	}
	return m.l.Read(m.Context(), func(r store.Reader) error {
		some, err := r.Since(m.size/2, 10)
		for _, h := range some {
			var p store.Proof
			if p, err = m.l.Proof(m.Context(), h.ID, 0); err == nil {
				err = journal.VerifyInclusion(p.Root, p.Size, p.N, journal.HashLine(p.Receipt), p.Inclusion)
			}
		}
		return err
	})
}

func (m *million) check() error {
	for _, f := range m.l.s.Check(m.Context()) {
		if f.Err != nil {
			return fmt.Errorf("%s: %w", f.What, f.Err)
		}
	}
	return nil
}

// resetPeak lets Linux forget the most memory this process ever had (proc(5),
// clear_refs); elsewhere nothing happens.
func resetPeak() { _ = os.WriteFile("/proc/self/clear_refs", []byte("5"), 0) }

var peakLine = regexp.MustCompile(`VmHWM:\s+(\d+) kB`)

// peakMemory is the most memory since then, in bytes; 0 where Linux does not say.
func peakMemory() int64 {
	status, _ := os.ReadFile("/proc/self/status") // not there elsewhere
	m := peakLine.FindSubmatch(status)
	if m == nil {
		return 0
	}
	kb, _ := strconv.ParseInt(string(m[1]), 10, 64) // digits
	return kb << 10
}
