package pile

import (
	"io"

	"sapwell/documents"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

// season writes to each client which of their treated trees come up again in the year
// after the last day that is meant.
func (p *pile) season() error {
	_, to := p.days()
	until := to.AddDate(1, 0, 0)
	var order []string
	by := map[string]*documents.SeasonLetter{}
	err := rows(p, entries.OfTree, func(t *views.Tree) error {
		if t.Facts.Gone || len(t.Treatments) == 0 {
			return nil
		}
		last := t.Treatments[len(t.Treatments)-1]
		l, err := p.g.Label(last.Label)
		if err != nil || l.View == nil {
			return err
		}
		label := whole(l)
		tree := documents.SeasonTree{
			Tag: t.Facts.Tag, Species: t.Facts.Species, Product: label.Product.Name, Fictional: label.Fictional,
			Last: quantity.DateOf(timeOf(max(last.Start, last.At), "").In(p.g.Zone)),
		}
		if days := label.Ceilings.IntervalDays; days > 0 {
			tree.Next = tree.Last.AddDate(0, 0, days)
		}
		if tree.Next.After(until) && !p.All {
			return nil
		}
		if c := t.Condition; c != nil {
			tree.Seen = p.seenOn(c)
		}
		key := t.Facts.Grounds.String()
		if by[key] == nil {
			letter, err := p.letter(t.Facts.Grounds, to)
			if err != nil {
				return err
			}
			by[key] = letter
			order = append(order, key)
		}
		by[key].Trees = append(by[key].Trees, tree)
		return nil
	})
	if err != nil {
		return err
	}
	for _, key := range order {
		letter := by[key]
		err := p.put(p.name("letters/", ".pdf", letter.Season, letter.Grounds), func(w io.Writer) error { return letter.Print(w, p.Say, p.Paper) })
		if err != nil {
			return err
		}
	}
	return nil
}

func (p *pile) letter(grounds journal.ID, to quantity.Date) (*documents.SeasonLetter, error) {
	g, err := gatherView[*views.Grounds](p, entries.OfGrounds, grounds)
	if err != nil {
		return nil, err
	}
	if g == nil {
		g = &views.Grounds{}
	}
	return &documents.SeasonLetter{
		Firm: p.firm, To: client(g), Date: p.g.Today, Grounds: g.Facts.Name, Season: to.AddDate(1, 0, 0).String()[:4], Signed: p.firm.Name,
	}, nil
}

// seenOn is what was seen of a tree, in a few words.
func (p *pile) seenOn(c *entries.Condition) string {
	if c.CanopyLoss == nil {
		return ""
	}
	if *c.CanopyLoss == 0 {
		return p.Say.Say("pile.canopy_full")
	}
	return p.Say.Say("pile.canopy", why.T("n", *c.CanopyLoss))
}
