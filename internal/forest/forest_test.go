package forest_test

import (
	"bytes"
	"io"
	"testing"

	"sapwell/internal/forest"
	"sapwell/treelist"
)

func TestSameSeedSameList(t *testing.T) {
	var a, b, c bytes.Buffer
	for w, seed := range map[*bytes.Buffer]uint64{&a: 7, &b: 7, &c: 8} {
		if err := forest.Write(w, 300, seed); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(a.Bytes(), b.Bytes()) {
		t.Error("one seed gave two lists")
	}
	if bytes.Equal(a.Bytes(), c.Bytes()) {
		t.Error("two seeds gave one list")
	}
}

// The list must be one that a user could have: it is read without a fault, and
// has what makes the work hard.
func TestListIsReadWhole(t *testing.T) {
	const n = 3000
	var list bytes.Buffer
	if err := forest.Write(&list, n, 1); err != nil {
		t.Fatal(err)
	}
	trees, kinds, several, wounded, fissured, unfit := 0, map[string]bool{}, 0, 0, 0, 0
	for row, err := range treelist.ReadCSV("forest.csv", &list, treelist.Options{}) {
		if err != nil {
			t.Fatal(err)
		}
		trees++
		kinds[row.Tree.Species.Scientific] = true
		ring := row.Tree.Stems[0].Ring
		several += count(len(row.Tree.Stems) > 1)
		wounded += count(len(ring.Wounds) > 0)
		fissured += count(len(ring.Fissures) > 0)
		unfit += count(len(ring.Arcs) > 0)
	}
	if trees != n || len(kinds) < 11 {
		t.Errorf("%d trees of %d kinds; want %d of 11", trees, len(kinds), n)
	}
	for what, got := range map[string]int{"several stems": several, "wounds": wounded, "fissures": fissured, "defects": unfit} {
		if got < n/50 {
			t.Errorf("%d of %d trees with %s", got, n, what)
		}
	}
}

func count(yes bool) int {
	if yes {
		return 1
	}
	return 0
}

func TestWriterFails(t *testing.T) {
	r, w := io.Pipe()
	r.Close()
	if err := forest.Write(w, 10_000, 1); err == nil {
		t.Error("a broken writer was not noticed")
	}
}

func BenchmarkWrite(b *testing.B) {
	for b.Loop() {
		if err := forest.Write(io.Discard, 1000, 1); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(1000*b.N)/b.Elapsed().Seconds(), "trees/s")
}
