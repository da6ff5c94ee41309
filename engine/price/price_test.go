package price

import (
	"math/big"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/internal/outside"
)

const inch = quantity.Inch

// An invented list: 25.00 a tree, 9.50 a unit, 1.20 an inch of girth begun, at
// least 400.00, tax of 8.25 %.
func invented() List {
	return List{PerTree: 2500, PerUnit: 950, PerStep: 120, Step: inch, Steps: Up, Minimum: 40_000, Tax: 825}
}

func mustQuote(t testing.TB, l List, trees []Tree, options ...Option) Quote {
	t.Helper()
	q, err := Compute(l, trees, options)
	if err != nil {
		t.Fatal(err)
	}
	return q
}

// The example is worked by hand:
//
//	1 × 25.00 = 25.00; 16 × 9.50 = 152.00; 96 in: 96 × 1.20 = 115.20
//	1 × 25.00 = 25.00; 11 × 9.50 = 104.50; 61¼ in: 62 × 1.20 = 74.40
//	trees 25.00 + 152.00 + 115.20 + 25.00 + 104.50 + 74.40 = 496.10, above 400.00
//	option taken 60.00: net 556.10
//	tax 556.10 × 8.25 / 100 = 45.87825: 45.88
//	due 556.10 + 45.88 = 601.98
func TestWorkedExample(t *testing.T) {
	q := mustQuote(t, invented(), []Tree{{Name: "A-1", Units: 16, Girth: 96 * inch}, {Name: "A-2", Units: 11, Girth: 61*inch + inch/4}},
		Option{"look again in autumn", 6000, true}, Option{"prune dead wood", 12_000, false})
	want := []struct {
		kind   Kind
		name   string
		count  int64
		amount Cents
	}{
		{ForTree, "A-1", 1, 2500}, {ForUnits, "A-1", 16, 15_200}, {ForGirth, "A-1", 96, 11_520},
		{ForTree, "A-2", 1, 2500}, {ForUnits, "A-2", 11, 10_450}, {ForGirth, "A-2", 62, 7440},
		{ForOption, "look again in autumn", 1, 6000},
	}
	if len(q.Lines) != len(want) {
		t.Fatalf("%d lines: want %d", len(q.Lines), len(want))
	}
	for i, w := range want {
		if l := q.Lines[i]; l.Kind != w.kind || l.For != w.name || l.Count != w.count || l.Amount != w.amount {
			t.Errorf("line %d is %+v: want %+v", i, l, w)
		}
	}
	if q.Net != 55_610 || q.Tax != 4588 || q.Due != 60_198 {
		t.Errorf("net %d, tax %d, due %d: want 55610, 4588, 60198", q.Net, q.Tax, q.Due)
	}
	if len(q.Offered) != 1 || q.Offered[0].For != "prune dead wood" || q.Offered[0].Amount != 12_000 {
		t.Errorf("offered %+v: want the option that was not taken", q.Offered)
	}
	outside.Ran(t, "arithmetic by hand, shown beside the test", "a quote of two trees, seven lines, net, tax, due")
}

// By hand: a tree of 96 in that gets 12 units of one product and 4 of another is one
// tree: 25.00, 12 × 9.50 = 114.00, 4 × 9.50 = 38.00, 96 × 1.20 = 115.20; together
// 292.20, as with 16 units of one product.
func TestOneTreeOfTwoProducts(t *testing.T) {
	l := List{PerTree: 2500, PerUnit: 950, PerStep: 120, Step: inch, Steps: Up}
	tree := Tree{Name: "A-1", Units: 16, Girth: 96 * inch, Shares: []Share{{"Product A", 12}, {"Product B", 4}}}
	q := mustQuote(t, l, []Tree{tree})
	type said struct {
		kind   Kind
		of     string
		count  int64
		amount Cents
	}
	var got []said
	for _, l := range q.Lines {
		got = append(got, said{l.Kind, l.Of, l.Count, l.Amount})
	}
	want := []said{{ForTree, "", 1, 2500}, {ForUnits, "Product A", 12, 11_400}, {ForUnits, "Product B", 4, 3800}, {ForGirth, "", 96, 11_520}}
	if !reflect.DeepEqual(got, want) || q.Net != 29_220 {
		t.Errorf("%+v, net %d: want %+v, 29220", got, q.Net, want)
	}
	for text, shares := range map[string][]Share{
		`15 units together: want 16`: {{"Product A", 12}, {"Product B", 3}},
		`("Product B"): 0 units`:     {{"Product A", 16}, {"Product B", 0}},
	} {
		tree.Shares = shares
		if _, err := Compute(l, []Tree{tree}, nil); err == nil || !strings.Contains(err.Error(), text) {
			t.Errorf("%v: %v, want %q", shares, err, text)
		}
	}
	outside.Ran(t, "arithmetic by hand, shown beside the test", "one tree with two products is one tree")
}

// By hand: one tree of 4 units at 9.50 is 38.00; to 400.00 are missing 362.00.
// The option of 60.00 comes on top: 460.00; tax 8.25 % is 37.95; due 497.95.
func TestMinimum(t *testing.T) {
	l := List{PerUnit: 950, Minimum: 40_000, Tax: 825}
	q := mustQuote(t, l, []Tree{{Name: "A-1", Units: 4}}, Option{"look again", 6000, true})
	if n := q.Lines[1]; n.Kind != ForMinimum || n.Count != 1 || n.Amount != 36_200 {
		t.Errorf("the second line is %+v: want 362.00 to the minimum", n)
	}
	if q.Net != 46_000 || q.Tax != 3795 || q.Due != 49_795 {
		t.Errorf("net %d, tax %d, due %d: want 46000, 3795, 49795", q.Net, q.Tax, q.Due)
	}
	if none := mustQuote(t, l, nil); len(none.Lines) != 0 || none.Due != 0 {
		t.Errorf("no tree costs %+v: want nothing", none)
	}
	exact := mustQuote(t, List{PerUnit: 10_000, Minimum: 40_000}, []Tree{{Units: 4}})
	if len(exact.Lines) != 1 {
		t.Errorf("at the minimum itself: %+v, want no line to it", exact.Lines)
	}
}

// Girths in centimetres and inches between two steps, by hand.
func TestSteps(t *testing.T) {
	const cm, mm = quantity.Centimetre, quantity.Millimetre
	for _, c := range []struct {
		girth, step       quantity.Length
		up, down, nearest int64
	}{
		{96 * inch, inch, 96, 96, 96},
		{96*inch + 1, inch, 97, 96, 96},
		{97*inch - 1, inch, 97, 96, 97},
		{96*inch + inch/2, inch, 97, 96, 97}, // a half counts for a whole
		{2438 * mm, cm, 244, 243, 244},
		{2434 * mm, cm, 244, 243, 243},
		{9 * mm, cm, 1, 0, 1},
	} {
		for how, want := range map[Rounding]int64{Up: c.up, Down: c.down, Nearest: c.nearest} {
			if got := how.count(c.girth, c.step); got != want {
				t.Errorf("%d nm in steps of %d, %s: %d, want %d", c.girth, c.step, how, got, want)
			}
		}
	}
}

// Half a cent of tax counts for a whole: 50 cents at 1 % is half a cent.
func TestTaxRoundsHalvesUp(t *testing.T) {
	for _, c := range []struct {
		net  Cents
		rate BasisPoints
		want Cents
	}{{50, 100, 1}, {49, 100, 0}, {150, 100, 2}, {0, 825, 0}, {10_000, 10_000, 10_000}, {1, 4999, 0}, {1, 5000, 1}} {
		if got := c.rate.of(c.net); got != c.want {
			t.Errorf("%d at %d basis points: %d, want %d", c.net, c.rate, got, c.want)
		}
	}
}

// The tax of any amount is what exact fractions come to.
func TestTaxAgainstBig(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		net := rapid.Int64Range(0, 1_200_000_000_000_000_000).Draw(t, "net")
		rate := rapid.Int64Range(0, 10_000).Draw(t, "rate")
		// floor(net × rate / 10000 + 1/2)
		n := new(big.Int).Mul(big.NewInt(net), big.NewInt(rate))
		n.Add(n, big.NewInt(5000)).Quo(n, big.NewInt(10_000))
		if got := BasisPoints(rate).of(Cents(net)); big.NewInt(int64(got)).Cmp(n) != 0 {
			t.Fatalf("%d at %d: %d, want %s", net, rate, got, n)
		}
	})
	outside.Ran(t, "Go math/big", "tax of any amount, halves upward")
}

func drawPrice(t *rapid.T, name string) Cents {
	return Cents(rapid.Int64Range(0, int64(mostPrice)).Draw(t, name))
}

func drawList(t *rapid.T) List {
	return List{
		PerTree: drawPrice(t, "tree"), PerUnit: drawPrice(t, "unit"), PerStep: drawPrice(t, "by girth"),
		Step:    quantity.Length(rapid.Int64Range(int64(leastStep), int64(quantity.Metre)).Draw(t, "step")),
		Steps:   rapid.SampledFrom([]Rounding{Up, Down, Nearest}).Draw(t, "steps"),
		Minimum: drawPrice(t, "minimum") + 1, Tax: BasisPoints(rapid.Int64Range(0, 10_000).Draw(t, "rate")),
	}
}

func drawTrees(t *rapid.T) []Tree {
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Tree {
		return Tree{
			Name: "T", Units: rapid.IntRange(1, mostUnits).Draw(t, "units"),
			Girth: quantity.Length(rapid.Int64Range(1, int64(mostGirth)).Draw(t, "girth")),
		}
	}), 0, 12).Draw(t, "trees")
}

func drawOptions(t *rapid.T) []Option {
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Option {
		return Option{"O", drawPrice(t, "price"), rapid.Bool().Draw(t, "accepted")}
	}), 0, 6).Draw(t, "options")
}

// In big integers: a line is its count times its price, the lines add up to the
// net, net and tax to what is due; no tree goes below the minimum; nothing that
// was not accepted is in a sum.
func TestLinesAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, trees, options := drawList(t), drawTrees(t), drawOptions(t)
		if l.Minimum > mostPrice {
			l.Minimum = mostPrice
		}
		q, err := Compute(l, trees, options)
		if err != nil {
			t.Fatal(err)
		}
		sum, treesOnly := new(big.Int), new(big.Int)
		for _, line := range q.Lines {
			product := new(big.Int).Mul(big.NewInt(line.Count), big.NewInt(int64(line.Each)))
			if product.Cmp(big.NewInt(int64(line.Amount))) != 0 || line.Amount < 0 {
				t.Fatalf("%+v: want %s", line, product)
			}
			sum.Add(sum, product)
			if line.Kind != ForOption {
				treesOnly.Add(treesOnly, product)
			}
		}
		if sum.Cmp(big.NewInt(int64(q.Net))) != 0 || q.Due != q.Net+q.Tax || q.Due < q.Net {
			t.Fatalf("lines %s, net %d, tax %d, due %d", sum, q.Net, q.Tax, q.Due)
		}
		if len(trees) > 0 && treesOnly.Cmp(big.NewInt(int64(l.Minimum))) < 0 {
			t.Fatalf("the trees cost %s: the minimum is %d", treesOnly, l.Minimum)
		}
		if n := len(q.Offered); n != countNotTaken(options) {
			t.Fatalf("%d options offered: want %d", n, countNotTaken(options))
		}
	})
}

func countNotTaken(options []Option) (n int) {
	for _, o := range options {
		if !o.Accepted {
			n++
		}
	}
	return n
}

// The dearest quote that is accepted stays within an int64.
func TestDearest(t *testing.T) {
	l := List{PerTree: mostPrice, PerUnit: mostPrice, PerStep: mostPrice, Step: leastStep, Steps: Up, Minimum: mostPrice, Tax: mostTax}
	trees := make([]Tree, mostTrees)
	for i := range trees {
		trees[i] = Tree{Units: mostUnits, Girth: mostGirth}
	}
	q := mustQuote(t, l, trees)
	// By hand: 1e5 × (1e8 + 1e8 × 1e4 + 1e8 × 1e5) = 1e13 + 1e17 + 1e18.
	const net = Cents(1_100_010_000_000_000_000)
	if q.Net != net || q.Tax != net || q.Due != 2*net {
		t.Errorf("net %d, tax %d, due %d: want %d, %d, %d", q.Net, q.Tax, q.Due, net, net, 2*net)
	}
}

func TestRefusals(t *testing.T) {
	tree := []Tree{{Name: "A-1", Units: 16, Girth: 96 * inch}}
	change := func(f func(*List)) List { l := invented(); f(&l); return l }
	for _, c := range []struct {
		l     List
		trees []Tree
		opts  []Option
		want  string
	}{
		{List{}, tree, nil, "no price"},
		{List{Tax: 825}, tree, nil, "no price"},
		{change(func(l *List) { l.PerUnit = -1 }), tree, nil, "per_unit: -1 cents: want 0 to 100000000"},
		{change(func(l *List) { l.Minimum = mostPrice + 1 }), tree, nil, "minimum: 100000001 cents"},
		{change(func(l *List) { l.Tax = 10_001 }), tree, nil, "tax: 10001 basis points: want 0 to 10000"},
		{change(func(l *List) { l.Step = 0 }), tree, nil, "step: 0 nm"},
		{change(func(l *List) { l.Steps = "" }), tree, nil, `steps: "" does not say`},
		{invented(), []Tree{{Name: "A-1", Units: 0, Girth: 96 * inch}}, nil, `trees[0] ("A-1"): 0 units`},
		{invented(), []Tree{{Name: "A-1", Units: 10_001, Girth: 96 * inch}}, nil, "want 1 to 10000"},
		{invented(), []Tree{{Name: "A-1", Units: 3, Girth: 0}}, nil, "girth of 0 nm"},
		{invented(), []Tree{{Name: "A-1", Units: 3, Girth: mostGirth + 1}}, nil, "up to 100 m"},
		{invented(), tree, []Option{{"prune", -5, false}}, `options[0] ("prune"): price of -5 cents`},
		{invented(), make([]Tree, mostTrees+1), nil, "100001 trees"},
	} {
		_, err := Compute(c.l, c.trees, c.opts)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%+v: got %v, want an error with %q", c.l, err, c.want)
		}
	}
	// What a list does not ask need not be known.
	if _, err := Compute(List{PerTree: 100}, []Tree{{Name: "A-1"}}, nil); err != nil {
		t.Errorf("a price per tree asks for more: %v", err)
	}
}

// Every line, the tax and the sum say how they came to be.
func TestWhy(t *testing.T) {
	q := mustQuote(t, invented(), []Tree{{Name: "A-1", Units: 1, Girth: 7 * inch}}, Option{"look again", 6000, true})
	rules := map[string]bool{}
	var walk func(why.Reason)
	walk = func(r why.Reason) {
		rules[r.Rule] = true
		for _, b := range r.Because {
			walk(b)
		}
	}
	for _, l := range q.Lines {
		walk(l.Why)
		if l.Why.Result.Value != l.Amount {
			t.Errorf("%s gives %v as its reason's result: want %d", l.Kind, l.Why.Result.Value, l.Amount)
		}
	}
	walk(q.Why)
	for _, want := range []string{"price.tree", "price.units", "price.girth", "price.steps", "price.minimum", "price.option", "price.tax", "price.due"} {
		if !rules[want] {
			t.Errorf("no reason by the rule %s in %v", want, rules)
		}
	}
}

// What is computed does not depend on what was computed before, and the input
// stays as it was.
func TestPure(t *testing.T) {
	trees, options := []Tree{{Name: "A-1", Units: 16, Girth: 96 * inch}}, []Option{{"x", 1, true}}
	a := mustQuote(t, invented(), trees, options...)
	b := mustQuote(t, invented(), trees, options...)
	if !reflect.DeepEqual(a, b) || !reflect.DeepEqual(trees[0], Tree{Name: "A-1", Units: 16, Girth: 96 * inch}) || options[0] != (Option{"x", 1, true}) {
		t.Error("two runs differ, or the input was changed")
	}
}

func TestMoneyAsText(t *testing.T) {
	point, comma := quantity.Style{}, quantity.Style{DecimalComma: true}
	for _, c := range []struct {
		cents               Cents
		point, comma, plain string
	}{
		{0, "0.00", "0,00", "0.00"}, {5, "0.05", "0,05", "0.05"}, {99_999, "999.99", "999,99", "999.99"},
		{100_000, "1,000.00", "1.000,00", "1000.00"}, {123_456_789_01, "123,456,789.01", "123.456.789,01", "123456789.01"},
		{-150, "-1.50", "-1,50", "-1.50"}, {-1 << 63, "-92,233,720,368,547,758.08", "-92.233.720.368.547.758,08", "-92233720368547758.08"},
	} {
		if c.cents.Text(point) != c.point || c.cents.Text(comma) != c.comma || c.cents.Plain() != c.plain {
			t.Errorf("%d cents: %q, %q, %q", int64(c.cents), c.cents.Text(point), c.cents.Text(comma), c.cents.Plain())
		}
	}
	for bp, want := range map[BasisPoints]string{0: "0 %", 825: "8.25 %", 700: "7 %", 1950: "19.5 %", 10_000: "100 %", 1000: "10 %"} {
		if got := bp.Text(point); got != want {
			t.Errorf("%d basis points: %q, want %q", int64(bp), got, want)
		}
	}
	if got := BasisPoints(825).Text(comma); got != "8,25 %" {
		t.Errorf("825 basis points with a comma: %q", got)
	}
}

func BenchmarkQuoteOfTenThousandTrees(b *testing.B) {
	trees := make([]Tree, 10_000)
	for i := range trees {
		trees[i] = Tree{Name: "T", Units: 1 + i%40, Girth: quantity.Length(20+i%200) * inch}
	}
	for b.Loop() {
		if _, err := Compute(invented(), trees, nil); err != nil {
			b.Fatal(err)
		}
	}
}
