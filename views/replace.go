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

// restate: facts that are amended stand by the amendment from then on.
func restate(st state, of, amendment journal.ID) {
	for _, by := range st.standing() {
		isOf := func(m Mark) bool { return m.Entry == *by && m.Of == of }
		if *by == of || slices.ContainsFunc(st.common().Amended, isOf) {
			*by = amendment
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
