package treelist_test

import (
	"bytes"
	"io"
	"runtime"
	"testing"

	"sapwell/internal/forest"
	"sapwell/treelist"
)

func list(tb testing.TB, n int) []byte {
	var b bytes.Buffer
	if err := forest.Write(&b, n, 1); err != nil {
		tb.Fatal(err)
	}
	return b.Bytes()
}

// BenchmarkReadCSV reads full rows: wounds, fissures, bark, defects.
func BenchmarkReadCSV(b *testing.B) {
	const n = 20_000
	text := list(b, n)
	rows := bytes.Count(text, []byte("\n")) - 1
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		read(b, bytes.NewReader(text), n)
	}
	b.ReportMetric(float64(rows*b.N)/b.Elapsed().Seconds(), "rows/s")
}

// BenchmarkReadCSVPlain reads the short rows of a first inventory.
func BenchmarkReadCSVPlain(b *testing.B) {
	const n = 20_000
	text := plainList(n)
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		read(b, bytes.NewReader(text), n)
	}
	b.ReportMetric(float64(n*b.N)/b.Elapsed().Seconds(), "rows/s")
}

func read(tb testing.TB, r io.Reader, want int) {
	n := 0
	for _, err := range treelist.ReadCSV("list.csv", r, treelist.Options{}) {
		if err != nil {
			tb.Fatal(err)
		}
		n++
	}
	if n != want {
		tb.Fatalf("%d trees, want %d", n, want)
	}
}

// TestMemory holds the promise of constant memory apart from the tags: 40 bytes
// of each at most, tables half empty included, and some megabytes for the rest.
func TestMemory(t *testing.T) {
	n := 200_000
	if testing.Short() {
		n = 20_000
	}
	r, w := io.Pipe()
	go func() { w.CloseWithError(writePlain(w, n)) }()
	var before, now runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	trees, most := 0, uint64(0)
	for _, err := range treelist.ReadCSV("list.csv", r, treelist.Options{}) {
		if err != nil {
			t.Fatal(err)
		}
		if trees++; trees%(n/4) == 0 {
			runtime.GC()
			runtime.ReadMemStats(&now)
			most = max(most, now.HeapAlloc-min(before.HeapAlloc, now.HeapAlloc))
		}
	}
	if trees != n {
		t.Errorf("%d trees, want %d", trees, n)
	}
	if limit := uint64(40*n + 6<<20); most > limit {
		t.Errorf("%d bytes held, want at most %d", most, limit)
	}
	t.Logf("%.1f MB held at most", float64(most)/(1<<20))
}
