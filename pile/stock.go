package pile

import (
	"cmp"
	"io"
	"slices"

	"sapwell/documents"
	"sapwell/engine/quantity"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

// stock writes the ledger of what was in the store in these days, and of lots that went
// into trees where their units are.
func (p *pile) stock() error {
	from, to := p.days()
	ledger := documents.StockLedger{Firm: p.firm, From: from, To: to, Date: p.g.Today}
	err := rows(p, entries.OfLot, func(lot *views.Lot) error {
		l, err := p.ledgerLot(lot, from, to)
		if err != nil {
			return err
		}
		if l.Opening != 0 || len(l.Moves) > 0 { // else it was not there in these days
			ledger.Lots = append(ledger.Lots, l)
		}
		return p.recall(lot)
	})
	if err != nil || len(ledger.Lots) == 0 {
		return err
	}
	return p.put("stock-ledger.pdf", func(w io.Writer) error { return ledger.Print(w, p.Say, p.Paper) })
}

// recall lists where the units of a lot went, all of them, if one of the visits of
// these days used it or somebody noted why it is recalled.
func (p *pile) recall(lot *views.Lot) error {
	ours := slices.ContainsFunc(lot.Drawn, func(d views.Draw) bool { return p.visited[d.Visit] })
	if len(lot.Drawn) == 0 || !ours && told(&lot.Common, "lot.recall_reason") == "" {
		return nil
	}
	label, err := p.labelNamed(lot.Facts.Label)
	if err != nil {
		return err
	}
	r := documents.LotRecall{
		Firm: p.firm, Date: p.g.Today, Product: cmp.Or(label.Product.Name, lot.Facts.Label), RegNo: label.Product.RegNo, Lot: lot.Facts.Number,
		Fictional: label.Fictional, Size: quantity.Volume(lot.Facts.Size), Expires: lot.Facts.Expires, Supplier: lot.Facts.Supplier,
		Units: lot.Used, InStore: max(lot.OnHand, 0), Reason: told(&lot.Common, "lot.recall_reason"),
	}
	clients := map[string]bool{}
	for _, d := range lot.Drawn {
		v, err := gatherView[*views.Visit](p, entries.OfVisit, d.Visit)
		if err != nil {
			return err
		}
		if v == nil {
			continue
		}
		g, err := gatherView[*views.Grounds](p, entries.OfGrounds, v.Facts.Grounds)
		if err != nil {
			return err
		}
		if g == nil {
			g = &views.Grounds{}
		}
		at, err := p.recallTrees(v, lot.ID)
		if err != nil {
			return err
		}
		clients[g.Facts.Client] = true
		r.At = joined(r.At, documents.RecallPlace{Grounds: g.Facts.Name, Address: g.Facts.Address, Client: client(g), Trees: at})
		r.Trees += len(at)
	}
	r.Places, r.Clients = len(r.At), len(clients)
	return p.put(p.name("recall/", ".pdf", lot.Facts.Label, lot.Facts.Number), func(w io.Writer) error { return r.Print(w, p.Say, p.Paper) })
}

// joined puts the trees of a place with those it has already.
func joined(all []documents.RecallPlace, more documents.RecallPlace) []documents.RecallPlace {
	i := slices.IndexFunc(all, func(o documents.RecallPlace) bool { return o.Grounds == more.Grounds && o.Address == more.Address })
	if i < 0 {
		return append(all, more)
	}
	all[i].Trees = append(all[i].Trees, more.Trees...)
	return all
}

// recallTrees are the trees of a visit that got units of a lot.
func (p *pile) recallTrees(v *views.Visit, lot string) (list []documents.RecallTree, err error) {
	by := ""
	who, err := gatherView[*views.Person](p, entries.OfPerson, v.Facts.Certified)
	if err != nil {
		return nil, err
	}
	if who != nil {
		by = who.Facts.Name
	}
	at := map[journal.ID]int{}
	for _, u := range v.Units {
		if u.Lot.String() != lot {
			continue
		}
		i, ok := at[u.Tree]
		if !ok {
			t, err := gatherView[*views.Tree](p, entries.OfTree, u.Tree)
			if err != nil {
				return nil, err
			}
			if t == nil {
				t = &views.Tree{}
			}
			i = len(list)
			at[u.Tree] = i
			list = append(list, documents.RecallTree{Tag: t.Facts.Tag, Species: t.Facts.Species, Where: t.Facts.Where, Day: v.Facts.Day, By: by})
		}
		list[i].Units++
		if u.Lost != 0 {
			list[i].Lost++
		}
		if u.Left != nil {
			list[i].Given += quantity.Volume(u.Fill - *u.Left)
		}
	}
	return list, nil
}
