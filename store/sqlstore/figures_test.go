package sqlstore

import (
	"context"
	"crypto"
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"time"

	"sapwell/internal/daybook"
	"sapwell/journal"
	"sapwell/store"
)

const start = 1_780_000_000_000

// written is a number of entries of an invented journal.
func written(tb testing.TB, keys []crypto.Signer, n int) []journal.Entry {
	tb.Helper()
	var all []journal.Entry
	for e, err := range (daybook.Book{Seed: 1, Trees: 2000, Devices: keys, Start: start}).Entries() {
		if err != nil {
			tb.Fatal(err)
		}
		if all = append(all, e); len(all) == n {
			break
		}
	}
	return all
}

func lines(all []journal.Entry) [][]byte {
	lines := make([][]byte, len(all))
	for i, e := range all {
		lines[i] = e.Line
	}
	return lines
}

// begun is a ledger with the first n entries.
func begun(tb testing.TB, s *Store, all []journal.Entry) *ledger {
	tb.Helper()
	said := parallel(all, understand)
	org := all[0].ID
	err := s.write(tb.Context(), org, func(t *tx) error {
		d := &desk{t, s, org}
		if err := d.begin(); err != nil {
			return err
		}
		return d.arrive(all, said, start)
	})
	if err != nil {
		tb.Fatal(err)
	}
	return &ledger{s, org}
}

// perSecond runs do for a while and says how many things a second it did.
func perSecond(tb testing.TB, each int, do func(i int) error) float64 {
	tb.Helper()
	begin := time.Now()
	n := 0
	for ; time.Since(begin) < 5*time.Second; n++ {
		if err := do(n); err != nil {
			tb.Fatal(err)
		}
	}
	return float64(n*each) / time.Since(begin).Seconds()
}

func cpu() time.Duration {
	var r syscall.Rusage
	syscall.Getrusage(0, &r)
	return time.Duration(r.Utime.Nano() + r.Stime.Nano())
}

func syncRate(tb testing.TB) float64 {
	f, err := os.Create(filepath.Join(tb.TempDir(), "raw"))
	if err != nil {
		tb.Fatal(err)
	}
	defer f.Close()
	page := make([]byte, 4096)
	return perSecond(tb, 1, func(int) error {
		if _, err := f.Write(page); err != nil {
			return err
		}
		return f.Sync()
	})
}

func TestFigures(t *testing.T) {
	if os.Getenv("SAPWELL_FIGURES") == "" {
		t.Skip("set SAPWELL_FIGURES=1 to measure")
	}
	keys := daybook.Keys(1, 4)
	all := written(t, keys, 120_000)
	const first = 20_000
	open := map[string]func(testing.TB) *Store{"sqlite": openTemp, "postgres": openServer}[os.Getenv("SAPWELL_FIGURES")]
	only := os.Getenv("ONLY")
	show := func(name string, each int, do func(int) error) {
		if only != "" && !strings.Contains(name, only) {
			return
		}
		raw := syncRate(t)
		c0 := cpu()
		rate := perSecond(t, each, do)
		c := float64(cpu()-c0) / 5 / rate / 1000
		raw = (raw + syncRate(t)) / 2
		fmt.Printf("%-40s %9.0f/s  %6.2f x fsync %.0f  cpu %.0f us\n", name, rate, rate/raw, raw, c)
	}
	s := open(t)
	defer s.Close()
	l := begun(t, s, all[:first])
	ctx := context.Background()
	rest := all[first:]
	n := 0
	take := func(k int) []journal.Entry {
		n += k
		if n > len(rest) {
			t.Fatal("out of entries")
		}
		return rest[n-k : n]
	}
	arrive := func(es []journal.Entry) error {
		return l.write(ctx, func(d *desk) error { return d.arrive(es, parallel(es, understand), start) })
	}
	merge := func(es []journal.Entry) error {
		m, err := l.Merge(ctx, lines(es), start, nil)
		if len(m.Added) != len(es) {
			t.Fatal(len(m.Added), m.Refused)
		}
		return err
	}
	show("1 arrive", 1, func(int) error { return arrive(take(1)) })
	show("1 merge", 1, func(int) error { return merge(take(1)) })
	show("100 arrive", 100, func(int) error { return arrive(take(100)) })
	show("100 merge", 100, func(int) error { return merge(take(100)) })
	office := daybook.Keys(2, 1)[0]
	var last journal.ID
	draft := func(i int) journal.Draft {
		id, _ := journal.NewID(last, start, [10]byte{9: byte(i)})
		last = id
		return journal.Draft{ID: id, Time: start, Kind: "moon", Body: []byte(`{"v":1}`)}
	}
	show("1 write (unknown kind)", 1, func(int) error {
		_, err := l.Write(ctx, office, start, func(store.Reader) ([]journal.Draft, error) { return []journal.Draft{draft(1)}, nil })
		return err
	})
	show("100 write (unknown kind)", 100, func(int) error {
		_, err := l.Write(ctx, office, start, func(store.Reader) ([]journal.Draft, error) {
			var ds []journal.Draft
			for range 100 {
				ds = append(ds, draft(1))
			}
			return ds, nil
		})
		return err
	})
	bareRates(t, all, show)
	t0 := time.Now()
	if err := l.Rebuild(ctx); err != nil {
		t.Fatal(err)
	}
	size, _ := l.Size(ctx)
	fmt.Printf("rebuild %d in %v: %.0f/s\n", size, time.Since(t0), float64(size)/time.Since(t0).Seconds())
	runtime.KeepAlive(s)
}

func bareRates(t *testing.T, all []journal.Entry, show func(string, int, func(int) error)) {
	for _, c := range []struct{ name, table string }{
		{"rowid", `CREATE TABLE bare (n INTEGER PRIMARY KEY, line BLOB NOT NULL) STRICT`},
		{"entry columns", `CREATE TABLE bare (org BLOB NOT NULL, n INTEGER NOT NULL, device BLOB, seq INTEGER, hash BLOB, prev BLOB, id BLOB, held INTEGER, received INTEGER, line BLOB NOT NULL, PRIMARY KEY (org, n)) STRICT`},
		{"entry columns, indexes", `CREATE TABLE bare (org BLOB NOT NULL, n INTEGER NOT NULL, device BLOB, seq INTEGER, hash BLOB, prev BLOB, id BLOB, held INTEGER, received INTEGER, line BLOB NOT NULL, PRIMARY KEY (org, n)) STRICT; CREATE UNIQUE INDEX bare_chain ON bare (org, device, seq, hash);CREATE INDEX bare_id ON bare (org, id, n);`},
	} {
		db, err := sql.Open("sqlite", sqliteName(filepath.Join(t.TempDir(), "bare"), "rwc", true))
		if err != nil {
			t.Fatal(err)
		}
		db.SetMaxOpenConns(1)
		if _, err := db.Exec(c.table); err != nil {
			t.Fatal(err)
		}
		p := newSQLitePool(db)
		n := int64(0)
		org := make([]byte, 16)
		show("bare 100 "+c.name, 100, func(i int) error {
			tx, err := p.begin(context.Background(), nil)
			if err != nil {
				return err
			}
			var rows [][]any
			for range 100 {
				e := all[n%int64(len(all))]
				h := e.Hash()
				if c.name == "rowid" {
					rows = append(rows, []any{n, e.Line})
				} else {
					rows = append(rows, []any{org, n, e.Device[:], e.Seq, h[:], e.Prev[:], e.ID[:], e.Time, int64(start), e.Line})
				}
				n++
			}
			into := "bare (org, n, device, seq, hash, prev, id, held, received, line)"
			if c.name == "rowid" {
				into = "bare (n, line)"
			}
			if err := tx.insert(into, "", rows); err != nil {
				return err
			}
			return tx.Commit()
		})
		db.Close()
	}
}
