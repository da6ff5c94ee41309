package sqlstore

import (
	"context"
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"sapwell/entries"
	"sapwell/internal/daybook"
	"sapwell/journal"
	"sapwell/store"
)

// rates measures in one run what a disk does and what a store does on it.
type rates struct {
	testing.TB
	long time.Duration // of each measurement
	next func(n int) []journal.Entry
	last journal.ID // of a note
}

// of does something again and again and returns how many things a second it did.
func (r *rates) of(each int, do func()) float64 {
	begin, n := time.Now(), 0
	for ; time.Since(begin) < r.long; n++ {
		do()
	}
	return float64(n*each) / time.Since(begin).Seconds()
}

// syncs is how often a second 4 KiB can be appended to a file and synced.
func (r *rates) syncs() float64 {
	f, err := os.Create(filepath.Join(r.TempDir(), "raw"))
	if err != nil {
		r.Fatal(err)
	}
	defer f.Close() //nolint:errcheck // only its syncs count
	page := make([]byte, 4096)
	return r.of(1, func() {
		_, err := f.Write(page)
		if err == nil {
			err = f.Sync()
		}
		if err != nil {
			r.Fatal(err)
		}
	})
}

// show measures between two measurements of the disk, which others use too.
func (r *rates) show(name string, each int, do func()) {
	before := r.syncs()
	rate := r.of(each, do)
	disk := (before + r.syncs()) / 2
	r.Logf("%-46s %8.0f/s %7.2f x the syncs (%.0f/s)", name, rate, rate/disk, disk)
}

// TestFigures prints what the store does in a second beside what the disk does.
// Only with SAPWELL_FIGURES=1: it takes a minute and a machine with nothing else
// to do.
func TestFigures(t *testing.T) {
	if os.Getenv("SAPWELL_FIGURES") != "1" {
		t.Skip("measures only with SAPWELL_FIGURES=1")
	}
	keys := daybook.Keys(1, 4)
	for _, engine := range []struct {
		name string
		open func(testing.TB) *Store
	}{{"SQLite", openTemp}, {"PostgreSQL (its syncs are off)", openServer}} {
		t.Run(engine.name, func(t *testing.T) {
			all := written(t, keys, 150_000)
			r := &rates{TB: t, long: 2 * time.Second, next: func(n int) []journal.Entry {
				if len(all) < n {
					t.Fatal("too few entries for this machine")
				}
				some := all[:n]
				all = all[n:]
				return some
			}}
			s := engine.open(t)
			defer s.Close() //nolint:errcheck // a test
			r.store(s)
			if s.dialect.name == "SQLite" {
				r.bare("bare rows like entries, one index", `, PRIMARY KEY (org, n)`)
				r.bare("bare rows like entries, three indexes", `, PRIMARY KEY (org, n), UNIQUE (org, device, seq, hash), UNIQUE (org, id, n)`)
			}
		})
	}
}

func (r *rates) store(s *Store) {
	l := begun(r, s, r.next(10_000))
	r.show("one entry, signature not asked for", 1, func() { l.arrive(r, r.next(1)) })
	r.show("one entry merged", 1, func() { r.merge(l, 1) })
	r.show("one entry written and signed here", 1, func() { r.write(l, 1) })
	r.show("100 entries, signatures not asked for", 100, func() { l.arrive(r, r.next(100)) })
	r.show("100 entries merged", 100, func() { r.merge(l, 100) })
	r.show("100 entries written and signed here", 100, func() { r.write(l, 100) })
	size, err := l.Size(context.Background())
	begin := time.Now()
	if err == nil {
		err = l.Rebuild(context.Background())
	}
	if err != nil {
		r.Fatal(err)
	}
	r.Logf("%-46s %8.0f/s", "views made again, entries", float64(size)/time.Since(begin).Seconds())
}

func (r *rates) merge(l *ledger, n int) {
	m, err := l.Merge(context.Background(), lines(r.next(n)), start, nil)
	if err != nil || len(m.Added) != n {
		r.Fatal(m.Refused, err)
	}
}

// write lets a device of its own write notes on a tree.
func (r *rates) write(l *ledger, n int) {
	_, err := l.Write(context.Background(), daybook.Keys(2, 1)[0], start, func(look store.Reader) ([]journal.Draft, error) {
		trees, err := look.List(entries.OfTree, "", "", "", 1)
		if err != nil {
			return nil, err
		}
		drafts := make([]journal.Draft, n)
		for i := range drafts {
			if r.last, err = journal.NewID(r.last, start, [10]byte{9: byte(i)}); err != nil {
				return nil, err
			}
			note := entries.Note{Head: entries.Head{By: l.org}, On: trees[0].Subject, Text: "leaves small at the top, none on the west side"}
			if drafts[i], err = entries.Draft(r.last, start, note); err != nil {
				return nil, err
			}
		}
		return drafts, nil
	})
	if err != nil {
		r.Fatal(err)
	}
}

// bare inserts rows like those of the entry table by the same driver with the same
// settings, 100 in a transaction, and does nothing else.
func (r *rates) bare(name, indexes string) {
	db, err := sql.Open("sqlite", sqliteName(filepath.Join(r.TempDir(), "bare.db"), "rwc", true))
	if err != nil {
		r.Fatal(err)
	}
	defer db.Close() //nolint:errcheck // only its speed counts
	db.SetMaxOpenConns(1)
	p := newSQLitePool(db)
	if _, err := db.Exec(`CREATE TABLE bare (org BLOB NOT NULL, n INTEGER NOT NULL, device BLOB NOT NULL, seq INTEGER NOT NULL, hash BLOB NOT NULL,
		prev BLOB NOT NULL, id BLOB NOT NULL, held INTEGER NOT NULL, received INTEGER NOT NULL, line BLOB NOT NULL` + indexes + `) STRICT`); err != nil {
		r.Fatal(err)
	}
	org, n := make([]byte, 16), 0
	sample := r.next(5000)
	r.show(name, 100, func() {
		t, err := p.begin(context.Background(), nil)
		if err != nil {
			r.Fatal(err)
		}
		rows := make([][]any, 100)
		for i := range rows {
			e := sample[n%len(sample)]
			rows[i] = []any{org, n, e.Device[:], e.Seq + int64(n), bytesOf(e.Hash()), e.Prev[:], e.ID[:], e.Time, int64(start), e.Line}
			n++
		}
		if err = t.insert(`bare (org, n, device, seq, hash, prev, id, held, received, line)`, ``, rows); err == nil {
			err = t.Commit()
		}
		if err != nil {
			r.Fatal(err)
		}
	})
}

func BenchmarkArrive(b *testing.B) {
	for _, size := range []int{1, 100} {
		b.Run(fmt.Sprint(size), func(b *testing.B) {
			s := openTemp(b)
			defer s.Close() //nolint:errcheck // a test
			keys := daybook.Unsigned(1, 4)
			all := written(b, keys, 10_000+size*b.N)
			l := begun(b, s, all[:10_000])
			for n := 10_000; b.Loop(); n += size {
				l.arrive(b, all[n:n+size])
			}
		})
	}
}

func BenchmarkRebuild(b *testing.B) {
	const size = 20_000
	s := openTemp(b)
	defer s.Close() //nolint:errcheck // a test
	l := begun(b, s, written(b, daybook.Unsigned(1, 4), size))
	for b.Loop() {
		if err := l.Rebuild(b.Context()); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(size*float64(b.N)/b.Elapsed().Seconds(), "entries/s")
}
