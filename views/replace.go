package views

import (
	"slices"

	"sapwell/entries"
	"sapwell/journal"
)

// replace puts the entry e in the place of the one whose facts stood until now,
// and flags it where its writer had not seen them. by is then the id of e, or of
// its last amendment: what the next update has to name as Over. An update that
// names nothing says nothing about what was seen.
func (c *Common) replace(by *journal.ID, e entries.Entry, over journal.ID) {
	none := journal.ID{}
	if over != none && *by != none && over != *by {
		c.flag("facts.crossed", e)
	}
	*by = e.ID
}

// tell keeps a fact for the record in the place of the one before it.
func (c *Common) tell(e entries.Entry, b entries.RecordFact) {
	was := c.Told[b.Field].FactsBy
	c.replace(&was, e, b.Over)
	if c.Told == nil {
		c.Told = map[string]Told{}
	}
	c.Told[b.Field] = Told{Text: b.Text, By: b.By, At: e.When(), Why: b.Why, FactsBy: was}
}

// restate: facts that are amended stand by the amendment from then on.
func restate(st state, of, amendment journal.ID) {
	c := st.common()
	stands := func(by journal.ID) bool {
		isOf := func(m Mark) bool { return m.Entry == by && m.Of == of }
		return by == of || slices.ContainsFunc(c.Amended, isOf)
	}
	for _, by := range st.standing() {
		if stands(*by) {
			*by = amendment
		}
	}
	for field, t := range c.Told {
		if stands(t.FactsBy) {
			t.FactsBy = amendment
			c.Told[field] = t
		}
	}
}

// standing: most states have no facts that updates replace.
func (c *Common) standing() []*journal.ID { return nil }

func (o *Org) standing() []*journal.ID     { return []*journal.ID{&o.FactsBy} }
func (g *Grounds) standing() []*journal.ID { return []*journal.ID{&g.FactsBy} }
func (t *Tree) standing() []*journal.ID    { return []*journal.ID{&t.FactsBy} }
func (l *Lot) standing() []*journal.ID     { return []*journal.ID{&l.FactsBy} }
func (v *Visit) standing() []*journal.ID   { return []*journal.ID{&v.TallyBy} }

func (p *Person) standing() []*journal.ID {
	all := []*journal.ID{&p.FactsBy}
	for i := range p.Certificates {
		all = append(all, &p.Certificates[i].FactsBy)
	}
	return all
}
