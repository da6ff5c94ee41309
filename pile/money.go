package pile

import (
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"

	"sapwell/documents"
	"sapwell/engine/label"
	"sapwell/engine/price"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/records"
	"sapwell/views"
)

// ahead writes the papers of what is still to be done: work orders for the visits that
// are open, and quotes for what is planned and in no visit yet.
func (p *pile) ahead() error {
	begun := map[journal.ID]bool{} // plans
	for visit, err := range p.g.Visits(quantity.Date{}, quantity.Date{}, true) {
		if err != nil {
			return err
		}
		f, err := p.g.Facts(visit)
		if err != nil {
			return err
		}
		for _, j := range visit.Facts.Jobs {
			begun[j.Plan] = true
		}
		if err := p.order(f); err != nil {
			return err
		}
	}
	return p.quotes(begun)
}

// order sends a crew to the trees of a visit.
func (p *pile) order(f records.Facts) error {
	v := f.Visit
	o := documents.WorkOrder{
		Number: short(v.ID), Quote: told(&v.Common, "quote.ref"), Firm: p.firm, Date: v.Facts.Day, Grounds: f.Grounds.Facts.Name, Address: f.Grounds.Facts.Address,
		Client: client(f.Grounds), Access: f.Grounds.Facts.Note,
	}
	if who := find(f.People, v.Facts.Certified.String()); who != nil {
		o.Certified = who.Facts.Name
	}
	for _, id := range v.Facts.Crew {
		if who := find(f.People, id.String()); who != nil {
			o.Crew = append(o.Crew, who.Facts.Name)
		}
	}
	for _, l := range f.Labels {
		all := whole(l)
		o.Products = append(o.Products, documents.WorkProduct{
			Name: all.Product.Name, RegNo: all.Product.RegNo, Active: p.activesOf(all), LabelVersion: all.Version.String(), Fictional: all.Fictional,
			PPE: all.People.PPE, REI: all.People.REI,
		})
	}
	for _, j := range v.Facts.Jobs {
		t, err := gatherView[*views.Tree](p, entries.OfTree, j.Tree)
		if err != nil {
			return err
		}
		plan, by, ok, err := p.plan(j.Plan)
		if err != nil {
			return err
		}
		if t == nil || !ok {
			continue
		}
		w := documents.WorkTree{Tag: t.Facts.Tag, Species: t.Facts.Species, Where: t.Facts.Where, Product: whole(by).Product.Name, Open: p.asked(plan)}
		for _, s := range plan.Stems {
			w.Units += s.Units
			w.Total += quantity.Volume(s.Total)
		}
		o.Units += w.Units
		o.Trees = append(o.Trees, w)
	}
	if len(o.Trees) == 0 {
		return nil
	}
	return p.put(p.name("work-orders/", ".pdf", v.Facts.Day.String(), f.Grounds.Facts.Name), func(w io.Writer) error { return o.Print(w, p.Say, p.Paper) })
}

// asked are the questions that a plan leaves to whoever stands at the tree, and what
// speaks against it.
func (p *pile) asked(plan entries.Plan) (questions []string) {
	var full struct {
		Opinion struct{ Findings, Open []why.Finding } `json:"opinion"`
	}
	if json.Unmarshal([]byte(plan.Full), &full) != nil {
		return nil
	}
	for _, f := range append(full.Opinion.Findings, full.Opinion.Open...) {
		why.Revive(f.Terms)
		if f.Severity != why.Note {
			sentence, _ := p.Say.Finding(f)
			questions = append(questions, sentence)
		}
	}
	return questions
}

// short is how a paper is numbered that nobody numbered: the last digits of an id are
// chance, and the same every time.
func short(id string) string { return strings.ToUpper(id[max(0, len(id)-8):]) }

// activesOf are the active ingredients with how much of each is in the product, where
// the label file says so.
func (p *pile) activesOf(l label.Label) string {
	var names []string
	for _, a := range l.Class.Ingredients {
		name := a.Name
		if a.Content != (quantity.MassPerVolume{}) {
			name += " " + a.Content.Text(p.Say.Style)
		}
		names = append(names, name)
	}
	return strings.Join(names, ", ")
}

// offered is what may be done on one property.
type offered struct {
	grounds   *views.Grounds
	ids       []string // of the trees
	trees     []price.Tree
	told      []documents.OfferTree
	fictional bool
}

// quotes prices, property by property, the trees that have a plan and were neither
// treated since nor are in a visit.
func (p *pile) quotes(begun map[journal.ID]bool) error {
	if p.Prices == nil {
		return nil
	}
	var order []string
	by := map[string]*offered{}
	err := rows(p, entries.OfTree, func(t *views.Tree) error {
		if t.Facts.Gone || t.Plan == (journal.ID{}) || begun[t.Plan] {
			return nil
		}
		if done, err := p.carriedOut(t); err != nil || done {
			return err
		}
		plan, label, ok, err := p.plan(t.Plan)
		if err != nil || !ok || plan.Overall == "stop" {
			return err
		}
		key := t.Facts.Grounds.String()
		if by[key] == nil {
			g, err := gatherView[*views.Grounds](p, entries.OfGrounds, t.Facts.Grounds)
			if err != nil || g == nil {
				return err
			}
			by[key] = &offered{grounds: g}
			order = append(order, key)
		}
		units := 0
		for _, s := range plan.Stems {
			units += s.Units
		}
		by[key].add(t, units, whole(label))
		return nil
	})
	if err != nil {
		return err
	}
	for _, key := range order {
		if err := p.quote(by[key]); err != nil {
			return err
		}
	}
	return nil
}

// carriedOut tells whether a tree was treated by its plan, or after the plan's day by
// another.
func (p *pile) carriedOut(t *views.Tree) (bool, error) {
	for _, tr := range t.Treatments {
		if day := quantity.DateOf(timeOf(max(tr.Start, tr.At), "").In(p.g.Zone)); !day.Before(t.PlanDay) {
			return true, nil
		}
	}
	if len(t.Treatments) == 0 {
		return false, nil
	}
	last := t.Treatments[len(t.Treatments)-1]
	v, err := gatherView[*views.Visit](p, entries.OfVisit, last.Visit)
	if err != nil || v == nil {
		return false, err
	}
	return slices.ContainsFunc(v.Facts.Jobs, func(j entries.Job) bool { return j.Plan == t.Plan }), nil
}

// add offers units of a label on a tree. A tree that has some already is one tree
// still: its units are told apart by product.
func (o *offered) add(t *views.Tree, units int, l label.Label) {
	product := l.Product.Name
	o.fictional = o.fictional || l.Fictional
	i := slices.Index(o.ids, t.ID)
	if i < 0 {
		girth := quantity.Length(0)
		if t.Measurement != nil {
			for _, s := range t.Measurement.Facts.Stems {
				girth += quantity.Length(s.Girth.Around)
			}
		}
		o.ids = append(o.ids, t.ID)
		o.trees = append(o.trees, price.Tree{Name: t.Facts.Tag, Units: units, Girth: girth})
		o.told = append(o.told, documents.OfferTree{Name: t.Facts.Tag, Species: t.Facts.Species, Where: t.Facts.Where, Product: product})
		return
	}
	tree, told := &o.trees[i], &o.told[i]
	if len(tree.Shares) == 0 {
		if told.Product == product {
			tree.Units += units
			return
		}
		tree.Shares = []price.Share{{Product: told.Product, Units: tree.Units}}
	}
	tree.Units += units
	if j := slices.IndexFunc(tree.Shares, func(s price.Share) bool { return s.Product == product }); j >= 0 {
		tree.Shares[j].Units += units
		return
	}
	tree.Shares = append(tree.Shares, price.Share{Product: product, Units: units})
	told.Product += ", " + product
}

// offer prices what is offered.
func (p *pile) offer(o *offered, number string, options []price.Option) (documents.Offer, error) {
	q, err := price.Compute(p.Prices.List, o.trees, options)
	if err != nil {
		return documents.Offer{}, fmt.Errorf("prices: %s: %w", o.grounds.Facts.Name, err)
	}
	out := documents.Offer{
		Number: number, Firm: p.firm, To: client(o.grounds), Date: p.g.Today, Grounds: o.grounds.Facts.Name, Address: o.grounds.Facts.Address,
		Currency: p.Prices.Currency, List: p.Prices.List, Quote: q, Trees: o.told, Remarks: p.Prices.Remarks, Fictional: o.fictional,
	}
	if p.Prices.HoldsDays > 0 {
		out.Until = p.g.Today.AddDate(0, 0, p.Prices.HoldsDays)
	}
	return out, nil
}

func (p *pile) quote(o *offered) error {
	offer, err := p.offer(o, short(o.grounds.ID), p.Prices.Options)
	if err != nil {
		p.skip("pile.no_price", why.T("name", o.grounds.Facts.Name), why.T("reason", err.Error()))
		return nil
	}
	return p.put(p.name("quotes/", ".pdf", p.g.Today.String(), o.grounds.Facts.Name), func(w io.Writer) error { return offer.Print(w, p.Say, p.Paper) })
}

// invoice writes the lines of a closed visit. Options are charged where somebody
// accepted them when the prices were written down.
func (p *pile) invoice(f records.Facts, rs []records.Record) error {
	if p.Prices == nil || f.Visit.Closed == nil {
		return nil
	}
	o := &offered{grounds: f.Grounds}
	for _, given := range f.Visit.Closed.Trees {
		t, err := gatherView[*views.Tree](p, entries.OfTree, given.Tree)
		if err != nil {
			return err
		}
		if t == nil || given.Units == 0 {
			continue
		}
		var l label.Label
		for _, v := range f.Labels {
			if v.View.ID == given.Label.String() {
				l = whole(v)
			}
		}
		o.add(t, given.Units, l)
	}
	if len(o.trees) == 0 {
		return nil
	}
	accepted := slices.DeleteFunc(slices.Clone(p.Prices.Options), func(o price.Option) bool { return !o.Accepted })
	number := cmp.Or(told(&f.Visit.Common, "invoice.ref"), short(f.Visit.ID))
	offer, err := p.offer(o, number, accepted)
	if err != nil {
		p.skip("pile.no_price", why.T("name", o.grounds.Facts.Name), why.T("reason", err.Error()))
		return nil
	}
	name := p.name("invoices/", ".csv", rs[0].Text("date"), f.Grounds.Facts.Name)
	visit := p.Say.Say("pile.visit", why.T("date", f.Visit.Facts.Day), why.T("name", f.Grounds.Facts.Name))
	return p.put(name, func(w io.Writer) error { return offer.InvoiceCSV(w, visit, p.Say) })
}
