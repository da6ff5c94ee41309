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

// TestMemoryOfAMillion holds the promise of constant memory apart from the tags.
func TestMemoryOfAMillion(t *testing.T) {
	if testing.Short() {
		t.Skip("a million rows take some seconds")
	}
	const n = 1_000_000
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
		if trees++; trees%100_000 == 0 {
			runtime.GC()
			runtime.ReadMemStats(&now)
			most = max(most, now.HeapAlloc-min(before.HeapAlloc, now.HeapAlloc))
		}
	}
	if trees != n {
		t.Errorf("%d trees, want %d", trees, n)
	}
	if most > 64<<20 {
		t.Errorf("%d MB held, want at most 64", most>>20)
	}
	t.Logf("%d MB held at most", most>>20)
}
