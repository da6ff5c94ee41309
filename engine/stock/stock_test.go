package stock_test

import (
	"encoding/json"
	"fmt"
	"os"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"sapwell/engine/label"
	"sapwell/engine/quantity"
	"sapwell/engine/stock"
	"sapwell/engine/why"
)

const four, six = 4 * quantity.Millilitre, 6 * quantity.Millilitre

func day(d int) quantity.Date { return quantity.NewDate(2026, 5, d) }

func degrees(c float64) *quantity.Temperature {
	t := quantity.Celsius(c)
	return &t
}

// kept is a label's storage range of 5 to 30 °C.
func kept() label.Storage { return label.Storage{Min: degrees(5), Max: degrees(30)} }

func lot(id string, units, expires int) stock.Lot {
	return stock.Lot{ID: id, Label: "A", Size: four, Units: units, Expires: day(expires)}
}

func need(tree string, units int) stock.Need {
	return stock.Need{For: tree, Label: "A", Size: four, Units: units}
}

func pick(tree, lot string, units int) stock.Pick {
	return stock.Pick{For: tree, Label: "A", Size: four, Lot: lot, Units: units}
}

func codes(fs []why.Finding) (out []string) {
	for _, f := range fs {
		out = append(out, f.Code)
	}
	return out
}

// Case G11 of the may-we cases: expired the day before and logged at -3 °C with
// storage 5-30 °C.
func TestG11(t *testing.T) {
	l := lot("B2", 20, 11)
	l.Coldest, l.Warmest = degrees(-3), degrees(20)
	fs := stock.Check(l, kept(), day(12))
	if want := []string{"lot.expired", "lot.storage_out_of_range"}; !slices.Equal(codes(fs), want) {
		t.Fatalf("%v, want %v", codes(fs), want)
	}
	for _, f := range fs {
		if f.Severity != why.Block || f.Place != "B2" {
			t.Errorf("%+v", f)
		}
	}
	a := stock.Allocate([]stock.Lot{l}, []stock.Need{need("oak", 3)}, map[string]label.Storage{"A": kept()}, day(12))
	if len(a.Picks) != 0 || len(a.Short) != 1 || a.Short[0].Units != 3 {
		t.Errorf("%+v", a)
	}
}

// The last good day is good; the day after is not.
func TestLastGoodDayIsGood(t *testing.T) {
	l := lot("B1", 1, 12)
	for at, want := range map[quantity.Date]int{
		day(12): 0, day(13): 1,
		quantity.NewDate(2027, 1, 1): 1, quantity.NewDate(2025, 12, 31): 0,
	} {
		if got := stock.Check(l, kept(), at); len(got) != want {
			t.Errorf("%v: %v", at, codes(got))
		}
	}
}

// On the limit is inside, also for a limit that was typed in Fahrenheit; beyond
// it by what a log can show is outside. What is not stated is not checked.
func TestStorageLimits(t *testing.T) {
	fahrenheit := func(f float64) *quantity.Temperature { return degrees((f - 32) * 5 / 9) }
	for _, c := range []struct {
		coldest, warmest *quantity.Temperature
		storage          label.Storage
		want             int
	}{
		{degrees(5), degrees(30), kept(), 0},
		{fahrenheit(41), fahrenheit(86), kept(), 0},
		{degrees(4.9), degrees(30), kept(), 1},
		{degrees(5), degrees(30.1), kept(), 1},
		{degrees(-3), degrees(45), kept(), 2},
		{nil, nil, kept(), 0},
		{degrees(-3), degrees(45), label.Storage{}, 0},
		{degrees(-3), degrees(45), label.Storage{Max: degrees(50)}, 0},
		{degrees(-3), degrees(45), label.Storage{Min: degrees(0)}, 1},
	} {
		l := lot("B1", 1, 20)
		l.Coldest, l.Warmest = c.coldest, c.warmest
		if got := stock.Check(l, c.storage, day(12)); len(got) != c.want {
			t.Errorf("%+v: %v", c, got)
		}
	}
}

func TestUnknownExpiryAsks(t *testing.T) {
	l := lot("B1", 1, 20)
	if fs := stock.Check(l, kept(), quantity.Date{}); !slices.Equal(codes(fs), []string{"lot.expiry_unknown"}) {
		t.Errorf("day not known: %v", codes(fs))
	}
	l.Expires = quantity.Date{}
	fs := stock.Check(l, kept(), day(12))
	if !slices.Equal(codes(fs), []string{"lot.expiry_unknown"}) || why.Blocks(fs) {
		t.Errorf("%+v", fs)
	}
}

// The order of lots, worked by hand from the stated rule.
func TestAllocate(t *testing.T) {
	other, large, none := lot("O1", 50, 14), lot("L1", 50, 14), lot("N1", 50, 14)
	other.Label, large.Size, none.Expires = "B", six, quantity.Date{}
	for name, c := range map[string]struct {
		lots  []stock.Lot
		needs []stock.Need
		want  []stock.Pick
		short []stock.Need
	}{
		"first expired first out": {
			[]stock.Lot{lot("new", 9, 30), lot("old", 9, 14)}, []stock.Need{need("oak", 4)},
			[]stock.Pick{pick("oak", "old", 4)}, nil,
		},
		"the older lot is used up even if one tree then gets two lots": {
			[]stock.Lot{lot("new", 9, 30), lot("old", 3, 14)}, []stock.Need{need("oak", 4)},
			[]stock.Pick{pick("oak", "old", 3), pick("oak", "new", 1)}, nil,
		},
		"same day: the smallest lot that covers the tree": {
			[]stock.Lot{lot("a", 3, 14), lot("b", 9, 14), lot("c", 5, 14)}, []stock.Need{need("oak", 4)},
			[]stock.Pick{pick("oak", "c", 4)}, nil,
		},
		"same day, none covers it: the largest, then the smallest that ends it": {
			[]stock.Lot{lot("a", 3, 14), lot("b", 6, 14), lot("c", 5, 14)}, []stock.Need{need("oak", 9)},
			[]stock.Pick{pick("oak", "b", 6), pick("oak", "a", 3)}, nil,
		},
		"equal lots by their name": {
			[]stock.Lot{lot("b", 5, 14), lot("a", 5, 14)}, []stock.Need{need("oak", 5)},
			[]stock.Pick{pick("oak", "a", 5)}, nil,
		},
		"other label and other size do not stand in, and what is missing is said": {
			[]stock.Lot{other, large, lot("a", 2, 14)}, []stock.Need{need("oak", 3), need("elm", 1)},
			[]stock.Pick{pick("oak", "a", 2)}, []stock.Need{need("oak", 1), need("elm", 1)},
		},
		"unknown expiry last": {
			[]stock.Lot{none, lot("a", 2, 30)}, []stock.Need{need("oak", 3)},
			[]stock.Pick{pick("oak", "a", 2), pick("oak", "N1", 1)}, nil,
		},
		"counts below zero are none": {
			[]stock.Lot{lot("a", -2, 14)}, []stock.Need{need("oak", -1), need("elm", 1)},
			nil, []stock.Need{need("elm", 1)},
		},
	} {
		t.Run(name, func(t *testing.T) {
			a := stock.Allocate(c.lots, c.needs, nil, day(12))
			if d := cmp.Diff(c.want, a.Picks); d != "" {
				t.Errorf("picks (-want +got):\n%s", d)
			}
			if d := cmp.Diff(c.short, a.Short); d != "" {
				t.Errorf("short (-want +got):\n%s", d)
			}
		})
	}
}

func TestShortIsFound(t *testing.T) {
	a := stock.Allocate(nil, []stock.Need{need("oak", 3)}, nil, day(12))
	if !slices.Equal(codes(a.Findings), []string{"stock.short"}) || a.Findings[0].Place != "oak" {
		t.Errorf("%+v", a.Findings)
	}
}

// draw makes lots, good and bad, and needs over two labels and two sizes.
func draw(t *rapid.T) ([]stock.Lot, []stock.Need) {
	labels, sizes := rapid.SampledFrom([]string{"A", "B"}), rapid.SampledFrom([]quantity.Volume{four, six})
	var lots []stock.Lot
	for i := range rapid.IntRange(0, 8).Draw(t, "lots") {
		l := stock.Lot{
			ID: fmt.Sprint("lot", i), Label: labels.Draw(t, "label"), Size: sizes.Draw(t, "size"),
			Units: rapid.IntRange(-1, 12).Draw(t, "units"), Expires: day(rapid.IntRange(10, 16).Draw(t, "expires")),
		}
		if rapid.Bool().Draw(t, "logged") {
			l.Coldest, l.Warmest = degrees(rapid.Float64Range(-5, 20).Draw(t, "coldest")), degrees(25)
		}
		lots = append(lots, l)
	}
	var needs []stock.Need
	for i := range rapid.IntRange(0, 8).Draw(t, "needs") {
		needs = append(needs, stock.Need{
			For: fmt.Sprint("tree", i), Label: labels.Draw(t, "label"), Size: sizes.Draw(t, "size"),
			Units: rapid.IntRange(0, 9).Draw(t, "units"),
		})
	}
	return lots, needs
}

// Picked and short make what was needed; no lot gives more than it holds, nor to
// another label or size, nor when something blocks it; no tree is short while a
// fit lot has units left; the order of the lots does not matter; the input stays.
func TestConservation(t *testing.T) {
	storage := map[string]label.Storage{"A": kept()}
	rapid.Check(t, func(t *rapid.T) {
		lots, needs := draw(t)
		before := slices.Clone(lots)
		a := stock.Allocate(lots, needs, storage, day(12))
		if d := cmp.Diff(before, lots); d != "" {
			t.Fatalf("the lots were changed: %s", d)
		}
		byID, left := map[string]stock.Lot{}, map[string]int{}
		for _, l := range lots {
			byID[l.ID], left[l.ID] = l, max(l.Units, 0)
		}
		given := map[string]int{}
		for _, p := range a.Picks {
			given[p.For] += p.Units
			if left[p.Lot] -= p.Units; p.Units <= 0 || left[p.Lot] < 0 {
				t.Fatalf("%+v of a lot with %d left", p, left[p.Lot]+p.Units)
			}
			n := needs[slices.IndexFunc(needs, func(n stock.Need) bool { return n.For == p.For })]
			l := byID[p.Lot]
			if l.Label != n.Label || l.Size != n.Size || why.Blocks(stock.Check(l, storage[l.Label], day(12))) {
				t.Fatalf("%+v is not fit for %+v", l, n)
			}
		}
		for _, s := range a.Short {
			given[s.For] += s.Units
			for _, l := range lots {
				if l.Label == s.Label && l.Size == s.Size && left[l.ID] > 0 && !why.Blocks(stock.Check(l, storage[l.Label], day(12))) {
					t.Fatalf("%+v while %s has %d left", s, l.ID, left[l.ID])
				}
			}
		}
		for _, n := range needs {
			if given[n.For] != n.Units {
				t.Fatalf("%+v: picked and short make %d", n, given[n.For])
			}
		}
		slices.Reverse(lots)
		b := stock.Allocate(lots, needs, storage, day(12))
		if d := cmp.Diff(a.Picks, b.Picks); d != "" {
			t.Fatalf("lots in another order: %s", d)
		}
	})
}

// First expired first out: no pick leaves units of an earlier day on the shelf.
func TestEarlierDaysEmptyFirst(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lots, needs := draw(t)
		a := stock.Allocate(lots, needs, nil, day(12))
		left := map[string]int{}
		for _, l := range lots {
			left[l.ID] = l.Units
		}
		for _, p := range a.Picks {
			from := lots[slices.IndexFunc(lots, func(l stock.Lot) bool { return l.ID == p.Lot })]
			for _, l := range lots {
				same := l.Label == from.Label && l.Size == from.Size
				if same && left[l.ID] > 0 && l.Expires.Before(from.Expires) && !l.Expires.Before(day(12)) {
					t.Fatalf("%+v while %s of %v has %d", p, l.ID, l.Expires, left[l.ID])
				}
			}
			left[p.Lot] -= p.Units
		}
	})
}

// Every code this package can give has its words in both languages.
func TestWords(t *testing.T) {
	for _, lang := range []string{"en", "es"} {
		raw, err := os.ReadFile("../../words/" + lang + "/stock.json")
		if err != nil {
			t.Fatal(err)
		}
		var words map[string]any
		if err := json.Unmarshal(raw, &words); err != nil {
			t.Fatalf("%s: %v", lang, err)
		}
		for _, code := range []string{"lot.expired", "lot.expiry_unknown", "lot.storage_out_of_range", "stock.short"} {
			for _, kind := range []string{"finding.", "remedy."} {
				if words[kind+code] == nil {
					t.Errorf("%s: no %s", lang, kind+code)
				}
			}
		}
	}
}

// 10,000 trees out of 500 lots.
func BenchmarkAllocate(b *testing.B) {
	var lots []stock.Lot
	for i := range 500 {
		lots = append(lots, lot(fmt.Sprintf("lot%03d", i), 300, 12+i%9))
	}
	var needs []stock.Need
	for i := range 10_000 {
		needs = append(needs, need(fmt.Sprint("tree", i), 4+i%17))
	}
	for b.Loop() {
		stock.Allocate(lots, needs, nil, day(12))
	}
}
