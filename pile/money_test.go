package pile

import (
	"strings"
	"testing"
	"time"

	"sapwell/engine/label"
	"sapwell/engine/price"
	"sapwell/entries"
	"sapwell/views"
)

// One tree with two products is one tree on the quote, with its units by product.
func TestOneTreeIsPricedOnce(t *testing.T) {
	oak := &views.Tree{Common: views.Common{ID: "oak"}, Facts: entries.Tree{Tag: "T-7"}}
	elm := &views.Tree{Common: views.Common{ID: "elm"}, Facts: entries.Tree{Tag: "T-7"}} // two may have one tag
	product := func(name string) label.Label { return label.Label{Product: label.Product{Name: name}} }
	o := &offered{grounds: &views.Grounds{}}
	o.add(oak, 12, product("Product A"))
	o.add(elm, 5, product("Product A"))
	o.add(oak, 4, product("Product B"))
	o.add(oak, 1, product("Product B"))
	o.add(elm, 2, product("Product A"))
	q, err := price.Compute(price.List{PerTree: 3500, PerUnit: 1000}, o.trees, nil)
	if err != nil {
		t.Fatal(err)
	}
	// By hand: two trees at 35.00 and 24 units at 10.00.
	if len(o.trees) != 2 || q.Net != 31_000 || o.told[0].Product != "Product A, Product B" || o.told[1].Product != "Product A" || len(o.trees[1].Shares) != 0 {
		t.Errorf("%+v, %+v: net %d, want 31000", o.trees, o.told, q.Net)
	}
	var of []string
	for _, l := range q.Lines {
		if l.Kind == price.ForUnits {
			of = append(of, l.Of)
		}
	}
	if got := strings.Join(of, "|"); got != "Product A|Product B|" {
		t.Errorf("lines of units: %q", got)
	}
}

// A tree that was treated by its plan gets no quote for it, though the plan was made
// for a later day than that of the work.
func TestWhatWasDoneIsNotOffered(t *testing.T) {
	h, l := storeOf(t, aDay+`
phone: h1 hole day oak 100 mark=1
phone: u1 seated day h1 lot
phone: l1 lifted day u1
phone: end closed day oak text 1
office: elm tree park
office: tape2 measured elm 1800
office: plan2 plan elm text tape2 2
`)
	at := time.UnixMilli(h.Now()).Add(time.Hour)
	err := beginning(t, l, at, func(p *pile) error {
		for name, want := range map[string]bool{"oak": true, "elm": false} {
			tree, err := gatherView[*views.Tree](p, entries.OfTree, h.ID(name))
			if err != nil {
				return err
			}
			if done, err := p.carriedOut(tree); err != nil || done != want {
				t.Errorf("%s: done %v, %v; want %v", name, done, err, want)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}
