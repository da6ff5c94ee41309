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

// stock writes the ledger of the store, and of every lot that went into trees where
// its units are.
func (p *pile) stock() error {
	from, to := p.days()
	ledger := documents.StockLedger{Firm: p.firm, From: from, To: to, Date: p.g.Today}
	err := rows(p, entries.OfLot, func(lot *views.Lot) error {
		l, err := p.ledgerLot(lot, from, to)
		if err != nil {
			return err
		}
		ledger.Lots = append(ledger.Lots, l)
		return p.recall(lot)
	})
	if err != nil || len(ledger.Lots) == 0 {
		return err
	}
	return p.put("stock-ledger.pdf", func(w io.Writer) error { return ledger.Print(w, p.Say, p.Paper) })
}

func (p *pile) ledgerLot(lot *views.Lot, from, to quantity.Date) (documents.LedgerLot, error) {
	label, err := p.labelNamed(lot.Facts.Label)
	if err != nil {
		return documents.LedgerLot{}, err
	}
	l := documents.LedgerLot{
		Product: cmp.Or(label.Product.Name, lot.Facts.Label), RegNo: label.Product.RegNo, Lot: lot.Facts.Number, Fictional: label.Fictional,
		Size: quantity.Volume(lot.Facts.Size), Expires: lot.Facts.Expires, Supplier: lot.Facts.Supplier,
	}
	l.Coldest, l.Warmest = temperature(lot.Facts.Coldest), temperature(lot.Facts.Warmest)
	es, err := p.from.Entries(entries.Subject{Kind: entries.OfLot, ID: lot.ID})
	if err != nil {
		return l, err
	}
	p.moves(&l, es, ownID(lot.ID), from, to)
	return l, nil
}

func temperature(mk *int64) *quantity.Temperature {
	if mk == nil {
		return nil
	}
	t := quantity.Temperature(float64(*mk) / 1000) // kelvin
	return &t
}

// moves folds the movements of a lot as its view does (the last tally of a visit
// replaces those before it, a count settles what came before it) and notes what falls
// into the days.
func (p *pile) moves(l *documents.LedgerLot, es []journal.Entry, lot journal.ID, from, to quantity.Date) {
	balance, drawn, counted := 0, map[journal.ID]int{}, map[journal.ID]bool{}
	for _, e := range es {
		read, err := entries.Read(e)
		if err != nil {
			continue // of a newer program: the view knows nothing of it either
		}
		m := documents.LedgerMove{Day: quantity.DateOf(timeOf(read.When(), "").In(p.g.Zone))}
		switch b := read.Body.(type) {
		case entries.Stock:
			m.Sort, m.Note = b.Sort, b.Note
			switch b.Sort {
			case "counted":
				m.Units = b.Units - balance
				for visit := range drawn { // what they took is in the count
					counted[visit] = true
				}
			case "discarded", "sold":
				m.Units = -max(b.Units, -b.Units)
			default:
				m.Units = b.Units
			}
			l.Store = cmp.Or(b.Store, l.Store)
		case entries.Tally:
			gone := 0
			for _, t := range b.Lots {
				if t.Lot == lot {
					gone += t.Taken - t.Unused
				}
			}
			m.Sort, m.Units = "visit", drawn[b.Visit]-gone
			drawn[b.Visit] = gone
			if counted[b.Visit] {
				m.Units = 0
			}
		default:
			continue
		}
		balance += m.Units
		m.Balance = balance
		switch {
		case m.Day.Before(from):
			l.Opening += m.Units
		case !m.Day.After(to):
			l.Moves = append(l.Moves, m)
			l.In, l.Out = l.In+max(m.Units, 0), l.Out+max(-m.Units, 0)
		}
	}
	l.Closing = l.Opening + l.In - l.Out
}

// recall lists where the units of a lot went. A lot that was never used has no list.
func (p *pile) recall(lot *views.Lot) error {
	if len(lot.Drawn) == 0 {
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
