package pile

import (
	"cmp"
	"io"
	"slices"
	"strings"

	"sapwell/documents"
	"sapwell/engine/quantity"
	"sapwell/engine/stock"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

// waste writes for each bag of these days its sheet, and the slip that goes with it.
// A bag is of the days in which it was sealed or handed over, and of those of each of
// its visits.
func (p *pile) waste() error {
	return rows(p, entries.OfBag, func(bag *views.Bag) error {
		sealed, handed, err := p.bagDays(bag)
		if err != nil || !p.ofTheseDays(bag, sealed, handed) {
			return err
		}
		b, err := p.batch(bag, sealed, handed)
		if err != nil {
			return err
		}
		err = p.put(p.name("waste/", ".pdf", "bag", bag.Facts.Mark), func(w io.Writer) error { return b.Sheet(w, p.Say, p.Paper) })
		if err != nil {
			return err
		}
		return p.put(p.name("waste/", ".pdf", "hand-over", bag.Facts.Mark), func(w io.Writer) error { return b.Slip(w, p.Say, p.Paper) })
	})
}

func (p *pile) ofTheseDays(bag *views.Bag, sealed, handed quantity.Date) bool {
	in := func(day quantity.Date) bool {
		return !day.IsZero() && !day.Before(p.From) && (p.To.IsZero() || !day.After(p.To))
	}
	return in(sealed) || in(handed) || slices.ContainsFunc(bag.Facts.Visits, func(id journal.ID) bool { return p.visited[id] })
}

// bagDays are the days on which a bag was sealed and handed over; zero: it was not, as
// far as has come in.
func (p *pile) bagDays(bag *views.Bag) (sealed, handed quantity.Date, err error) {
	s := entries.Subject{Kind: entries.OfBag, ID: bag.ID}
	es, err := p.from.Entries(s)
	if err != nil {
		return sealed, handed, err
	}
	for _, e := range views.Spoken(s, inPlace(es)) {
		day := quantity.DateOf(timeOf(e.When(), "").In(p.g.Zone))
		switch e.Body.(type) {
		case entries.BagSealed:
			sealed = day
		case entries.BagHanded:
			handed = day
		}
	}
	return sealed, handed, nil
}

// inBag is what the units of a bag's visits were.
type inBag struct {
	units []views.Unit
	lots  []*views.Lot
	names []string // of the grounds
}

func (p *pile) batch(bag *views.Bag, sealed, handed quantity.Date) (documents.WasteBatch, error) {
	in, err := p.inBag(bag)
	if err != nil {
		return documents.WasteBatch{}, err
	}
	facts := bag.Facts
	by := ""
	who, err := gatherView[*views.Person](p, entries.OfPerson, facts.By)
	if err != nil {
		return documents.WasteBatch{}, err
	}
	if who != nil {
		by = who.Facts.Name
	}
	low, high := quantity.Volume(facts.LeftLow), quantity.Volume(facts.LeftHigh)
	b := documents.WasteBatch{
		ID: facts.Mark, Firm: p.firm, Date: p.g.Today, Units: facts.Units, LeftLow: low, LeftHigh: high,
		Hazardous: facts.Hazardous, Code: facts.Code, Began: sealed, Store: told(&bag.Common, "waste.store"),
		Bags: []documents.WasteBag{{
			Mark: facts.Mark, By: by, Sealed: sealed, From: strings.Join(in.names, ", "), Units: facts.Units, LeftLow: low, LeftHigh: high,
			Test: string(in.emptiness(facts)), Basis: p.Say.Say("pile.basis"),
		}},
	}
	b.Until, _ = quantity.ParseDate(told(&bag.Common, "waste.until"))
	if bag.Handed != nil {
		b.To.Name, b.Proof = bag.Handed.To, bag.Handed.Proof
		b.Handed = handed
	}
	b.Contents, err = p.contents(in)
	return b, err
}

// inBag reads the visits of a bag.
func (p *pile) inBag(bag *views.Bag) (in inBag, err error) {
	for _, id := range bag.Facts.Visits {
		v, err := gatherView[*views.Visit](p, entries.OfVisit, id)
		if err != nil || v == nil {
			return in, err
		}
		in.units = append(in.units, v.Units...)
		g, err := gatherView[*views.Grounds](p, entries.OfGrounds, v.Facts.Grounds)
		if err != nil {
			return in, err
		}
		if g != nil && !slices.Contains(in.names, g.Facts.Name) {
			in.names = append(in.names, g.Facts.Name)
		}
	}
	for _, u := range in.units {
		lot, err := gatherView[*views.Lot](p, entries.OfLot, u.Lot)
		if err != nil {
			return in, err
		}
		if lot != nil && !slices.Contains(in.lots, lot) {
			in.lots = append(in.lots, lot)
		}
	}
	return in, nil
}

// emptiness is the test of every unit by what was seen left in it, and the worst of
// the answers: one that is full does not hide among the others. Whether all that
// common practice takes out was out nobody said, so a little that is left is not held
// against it. Where the bag does not hold just the units of its visits, nothing is known.
func (in inBag) emptiness(bag entries.BagSealed) stock.Emptiness {
	worst, lifted := stock.NotApplicable, 0
	rank := []stock.Emptiness{stock.NotApplicable, stock.Meets, stock.Undetermined, stock.DoesNotMeet}
	for _, u := range in.units {
		if u.Lifted == 0 {
			continue
		}
		lifted++
		unit := stock.Unit{}
		if u.Left != nil {
			residue := stock.Drained(quantity.Volume(*u.Left), quantity.Volume(*u.Left), quantity.Volume(u.Fill))
			unit.Residue = &residue
		}
		switch bag.Hazardous {
		case "yes":
			unit.Hazardous = ptr(true)
		case "no":
			unit.Hazardous = ptr(false)
		}
		if e := unit.Empty(); slices.Index(rank, e) > slices.Index(rank, worst) {
			worst = e
		}
	}
	if lifted != bag.Units || lifted == 0 {
		return stock.Undetermined
	}
	return worst
}

func ptr[T any](v T) *T { return &v }

// contents are the products that were in the units, each with its lots.
func (p *pile) contents(in inBag) ([]documents.WasteContent, error) {
	var list []documents.WasteContent
	for _, lot := range in.lots {
		l, err := p.labelNamed(lot.Facts.Label)
		if err != nil {
			return nil, err
		}
		i := slices.IndexFunc(list, func(c documents.WasteContent) bool { return c.Product == l.Product.Name })
		if i < 0 {
			i = len(list)
			list = append(list, documents.WasteContent{
				Product: cmp.Or(l.Product.Name, lot.Facts.Label), RegNo: l.Product.RegNo, Active: p.activesOf(l), Fictional: l.Fictional,
			})
		}
		list[i].Lots = append(list[i].Lots, lot.Facts.Number)
		for _, u := range in.units {
			if u.Lot.String() == lot.ID && u.Lifted != 0 {
				list[i].Units++
			}
		}
	}
	return list, nil
}
