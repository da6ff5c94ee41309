package sqlstore

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"time"

	"sapwell/entries"
	"sapwell/internal/daybook"
	"sapwell/journal"
	"sapwell/store"
)

// peak is the most memory this process ever had, in bytes.
func peak() int64 {
	var r syscall.Rusage
	_ = syscall.Getrusage(syscall.RUSAGE_SELF, &r)
	return r.Maxrss << 10
}

func TestMillion(t *testing.T) {
	path := os.Getenv("MILLION")
	if path == "" {
		t.Skip()
	}
	os.MkdirAll(path, 0o700)
	path = filepath.Join(path, "sapwell.db")
	keys := daybook.Unsigned(1, 8)
	if _, err := os.Stat(path); err != nil {
		s := openFile(t, path)
		begin := time.Now()
		var l *ledger
		var some []journal.Entry
		n := 0
		for e, err := range (daybook.Book{Seed: 1, Trees: 10000, Devices: keys, Start: start}).Entries() {
			if err != nil {
				t.Fatal(err)
			}
			some = append(some, e)
			if n++; len(some) < 2000 {
				continue
			}
			if l == nil {
				l = begun(t, s, some)
			} else if err := l.write(t.Context(), func(d *desk) error { return d.arrive(some, parallel(some, understand), start) }); err != nil {
				t.Fatal(err)
			}
			some = nil
			if n%100_000 == 0 {
				fmt.Println(n, time.Since(begin), peak()>>20, "MB")
			}
			if n == 1_000_000 {
				break
			}
		}
		s.Close()
		runtime.GC()
	}
	fi, _ := os.Stat(path)
	fmt.Println("size", fi.Size()>>20, "MB")
	timed := func(name string, do func() error) {
		if only := os.Getenv("ONLY"); only != "" && !strings.Contains("open ledger "+only, name) {
			return
		}
		begin, c := time.Now(), cpu()
		if err := do(); err != nil {
			t.Fatal(name, err)
		}
		fmt.Printf("%-20s %10v  cpu %10v  peak %d MB\n", name, time.Since(begin).Round(10*time.Microsecond), (cpu() - c).Round(10*time.Microsecond), peak()>>20)
	}
	var s *Store
	var l store.Ledger
	timed("open", func() (err error) { s = openFile(t, path); return nil })
	defer s.Close()
	timed("ledger", func() error {
		orgs, err := s.Orgs(t.Context())
		if err != nil {
			return err
		}
		l, err = s.Ledger(t.Context(), orgs[0])
		return err
	})
	timed("list open", func() error {
		return l.Read(t.Context(), func(r store.Reader) error {
			rows, err := r.List(entries.OfVisit, "open|", "open}", "", 100)
			fmt.Println(len(rows))
			return err
		})
	})
	timed("list trees 100", func() error {
		return l.Read(t.Context(), func(r store.Reader) error {
			rows, err := r.List(entries.OfTree, "", "", "", 100)
			fmt.Println(len(rows))
			return err
		})
	})
	var offer []journal.Known
	timed("offer", func() (err error) { offer, err = l.Offer(t.Context()); return err })
	timed("missing none", func() error { _, _, err := l.Missing(t.Context(), offer, 1<<20); return err })
	timed("missing all 1MB", func() error { _, _, err := l.Missing(t.Context(), nil, 1<<20); return err })
	timed("head", func() error { _, err := l.Head(t.Context(), daybook.Keys(1, 1)[0], start); return err })
	timed("consistency", func() error { _, err := l.Consistency(t.Context(), 333_333, 1_000_000); return err })
	timed("changed", func() error { _, _, err := l.Changed(t.Context(), 999_000, 1000); return err })
	timed("changed 100k", func() error { _, _, err := l.Changed(t.Context(), 0, 100_000); return err })
	timed("export", func() error { return l.Export(t.Context(), io.Discard) })
	timed("rebuild", func() error { return l.Rebuild(t.Context()) })
	timed("check", func() error {
		for _, f := range s.Check(t.Context()) {
			if f.Err != nil {
				return f.Err
			}
		}
		return nil
	})
}
