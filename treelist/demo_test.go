package treelist

import (
	"os"
	"path/filepath"
	"sapwell/engine/quantity"
	"testing"

	"sapwell/engine/stock"
	"sapwell/engine/verdict"
)

var demoDay = quantity.NewDate(2026, 6, 9)

// The demo must be read without a word of complaint.
func TestDemoTrees(t *testing.T) {
	f, err := os.Open(filepath.Join("..", "cmd", "sapwell", "demo", "trees.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	kinds := map[string]bool{}
	n := 0
	for row, err := range ReadCSV("trees.csv", f, Options{Defaults: verdict.Circumstances{Date: demoDay}}) {
		if err != nil {
			t.Error(err)
			continue
		}
		n++
		kinds[row.Tree.Species.Scientific] = true
	}
	if n < 40 || len(kinds) < 12 {
		t.Errorf("%d trees of %d kinds; want at least 40 of 12", n, len(kinds))
	}
}

func TestDemoLots(t *testing.T) {
	f, err := os.Open(filepath.Join("..", "cmd", "sapwell", "demo", "lots.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lots, errs := ReadLots("lots.csv", f)
	for _, err := range errs {
		t.Error(err)
	}
	expired := func(l stock.Lot) bool { return l.Expires.Before(demoDay) }
	frozen := func(l stock.Lot) bool { return l.Coldest != nil && l.Coldest.Celsius() < 0 }
	for name, is := range map[string]func(stock.Lot) bool{"expired": expired, "frozen": frozen} {
		count := 0
		for _, l := range lots {
			if is(l) {
				count++
			}
		}
		if count != 1 {
			t.Errorf("%d lots %s, want 1", count, name)
		}
	}
}
