// Package gather answers: what is the record of a visit made of, as a store has it?
//
// It reads the views and entries that records.Of wants, each that many visits share
// once. It looks at one moment of one organisation.
package gather

import (
	"fmt"
	"iter"
	"slices"
	"strings"
	"time"

	"sapwell/engine/quantity"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/labelfile"
	"sapwell/records"
	"sapwell/views"
)

// Reader is what it may look at: one moment of one organisation.
type Reader interface {
	View(s entries.Subject) (row views.Row, ok bool, err error)
	List(kind entries.SubjectKind, from, to, after string, limit int) ([]views.Row, error)
	Entry(id journal.ID) (journal.Entry, bool, error)
}

// Gatherer brings together what the records of visits are made of. It is good for
// one look at the store.
type Gatherer struct {
	Org   *views.Org
	Zone  *time.Location // of the organisation
	Today quantity.Date  // there

	from   Reader
	shared map[entries.Subject]views.State
	labels map[string]records.LabelVersion
}

// New is a gatherer for an organisation, at a moment by its own clock.
func New(from Reader, org journal.ID, now time.Time) (*Gatherer, error) {
	g, err := At(from, org, now.UTC())
	if err != nil {
		return nil, err
	}
	if zone, err := time.LoadLocation(g.Org.Facts.Zone); err == nil && g.Org.Facts.Zone != "" {
		g.Zone, g.Today = zone, quantity.DateOf(now.In(zone))
	}
	return g, nil
}

// At is a gatherer for an organisation, at a moment by the clock of whoever asks.
func At(from Reader, org journal.ID, now time.Time) (*Gatherer, error) {
	g := &Gatherer{
		Zone: now.Location(), Today: quantity.DateOf(now),
		from: from, shared: map[entries.Subject]views.State{}, labels: map[string]records.LabelVersion{},
	}
	var err error
	if g.Org, err = View[*views.Org](g, entries.OfOrg, org); err != nil {
		return nil, err
	}
	if g.Org == nil {
		return nil, fmt.Errorf("organisation %s: no entry speaks of it", org)
	}
	return g, nil
}

// View reads the view of a subject; nil where nothing speaks of it.
func View[S views.State](g *Gatherer, kind entries.SubjectKind, id journal.ID) (s S, err error) {
	subject := entries.Subject{Kind: kind, ID: id.String()}
	if known, ok := g.shared[subject].(S); ok {
		return known, nil
	}
	row, ok, err := g.from.View(subject)
	if err != nil || !ok {
		return s, err
	}
	state, err := views.Read(row)
	if err != nil {
		return s, err
	}
	s, ok = state.(S)
	if !ok {
		return s, fmt.Errorf("%s %s has a view of another kind", kind, id)
	}
	if kind != entries.OfTree && kind != entries.OfVisit { // of these there may be any number
		g.shared[subject] = s
	}
	return s, nil
}

// Visits lists the visits of some days that were closed, or with open true those
// that were not yet, by day.
func (g *Gatherer) Visits(from, to quantity.Date, open bool) iter.Seq2[*views.Visit, error] {
	status := "closed|"
	if open {
		status = "open|"
	}
	return func(yield func(*views.Visit, error) bool) {
		start, after, end := status+from.String(), "", status+"9"
		if !to.IsZero() {
			end = status + to.AddDate(0, 0, 1).String()
		}
		for {
			rows, err := g.from.List(entries.OfVisit, start, end, after, 100)
			for _, row := range rows {
				state, err := views.Read(row)
				visit, _ := state.(*views.Visit)
				if !yield(visit, err) || err != nil {
					return
				}
				start, after = row.Key, row.Subject.ID
			}
			if err != nil {
				yield(nil, err)
				return
			}
			if len(rows) == 0 {
				return
			}
		}
	}
}

// Facts are what the records of one visit are made of.
func (g *Gatherer) Facts(v *views.Visit) (records.Facts, error) {
	f, err := g.Present(v)
	if err != nil {
		return f, err
	}
	return f, g.amended(&f)
}

// Present is Facts without what was corrected: how it stands now.
func (g *Gatherer) Present(v *views.Visit) (records.Facts, error) {
	f := records.Facts{Today: g.Today, Zone: g.Zone, Org: g.Org, Visit: v, Plans: map[journal.ID]entries.Plan{}}
	var err error
	if f.Grounds, err = View[*views.Grounds](g, entries.OfGrounds, v.Facts.Grounds); err != nil {
		return f, err
	}
	if f.Grounds == nil { // it has not come in yet
		f.Grounds = &views.Grounds{}
	}
	if err := g.jobs(&f); err != nil {
		return f, err
	}
	if err := g.goods(&f); err != nil {
		return f, err
	}
	return f, g.hands(&f)
}

// jobs reads trees, plans and labels.
func (g *Gatherer) jobs(f *records.Facts) error {
	var labels, trees ids
	for _, j := range f.Visit.Facts.Jobs {
		trees.add(j.Tree)
		e, ok, err := g.from.Entry(j.Plan)
		if err != nil {
			return err
		}
		if read, err := entries.Read(e); ok && err == nil {
			if p, ok := read.Body.(entries.Plan); ok {
				f.Plans[j.Plan] = p
				labels.add(p.Label)
			}
		}
	}
	if c := f.Visit.Closed; c != nil {
		for _, t := range c.Trees {
			trees.add(t.Tree)
			labels.add(t.Label)
		}
	}
	for _, id := range trees {
		tree, err := View[*views.Tree](g, entries.OfTree, id)
		if err != nil {
			return err
		}
		if tree != nil {
			f.Trees = append(f.Trees, tree)
		}
	}
	for _, id := range labels {
		l, err := g.Label(id)
		if err != nil {
			return err
		}
		if l.View != nil {
			f.Labels = append(f.Labels, l)
		}
	}
	return nil
}

// Label reads a version of a label with its file. One whose file can no longer be
// read tells what its entry tells.
func (g *Gatherer) Label(id journal.ID) (records.LabelVersion, error) {
	if l, ok := g.labels[id.String()]; ok {
		return l, nil
	}
	v, err := View[*views.Label](g, entries.OfLabel, id)
	if err != nil || v == nil {
		return records.LabelVersion{}, err
	}
	l := records.LabelVersion{View: v}
	l.Label, _ = labelfile.Read(v.Facts.Name, strings.NewReader(v.Facts.File))
	g.labels[id.String()] = l
	return l, nil
}

// hands reads who worked; after goods, for who sealed the bags had them in hand.
func (g *Gatherer) hands(f *records.Facts) error {
	who := ids{f.Visit.Facts.Certified}
	who.add(f.Visit.Facts.Crew...)
	for _, h := range f.Visit.Holes {
		who.add(h.Facts.By)
	}
	for _, u := range f.Visit.Units {
		who.add(u.Hands...)
	}
	for _, b := range f.Bags {
		who.add(b.Facts.By)
	}
	for _, id := range who {
		p, err := View[*views.Person](g, entries.OfPerson, id)
		if err != nil {
			return err
		}
		if p != nil {
			f.People = append(f.People, p)
		}
	}
	return nil
}

// goods reads lots and bags.
func (g *Gatherer) goods(f *records.Facts) error {
	var lots ids
	for _, u := range f.Visit.Units {
		lots.add(u.Lot)
	}
	for _, id := range lots {
		l, err := View[*views.Lot](g, entries.OfLot, id)
		if err != nil {
			return err
		}
		if l != nil {
			f.Lots = append(f.Lots, l)
		}
	}
	for _, id := range f.Visit.Bags {
		b, err := View[*views.Bag](g, entries.OfBag, id)
		if err != nil {
			return err
		}
		if b != nil {
			f.Bags = append(f.Bags, b)
		}
	}
	return nil
}

// amended reads the corrections of all these, and who made them.
func (g *Gatherer) amended(f *records.Facts) error {
	var seen ids
	for _, m := range marks(f) {
		if seen.has(m.Entry) {
			continue
		}
		seen.add(m.Entry)
		e, ok, err := g.from.Entry(m.Entry)
		if err != nil {
			return err
		}
		if read, err := entries.Read(e); ok && err == nil {
			f.Amended = append(f.Amended, read)
		}
		p, err := View[*views.Person](g, entries.OfPerson, m.By)
		if err != nil {
			return err
		}
		if p != nil && !slices.Contains(f.People, p) {
			f.People = append(f.People, p)
		}
	}
	return nil
}

// marks lists what was amended in any of these views.
func marks(f *records.Facts) []views.Mark {
	all := slices.Concat(f.Org.Amended, f.Visit.Amended)
	if f.Grounds != nil {
		all = append(all, f.Grounds.Amended...)
	}
	for _, t := range f.Trees {
		all = append(all, t.Amended...)
	}
	for _, l := range f.Lots {
		all = append(all, l.Amended...)
	}
	for _, b := range f.Bags {
		all = append(all, b.Amended...)
	}
	for _, p := range f.People {
		all = append(all, p.Amended...)
	}
	return all
}

// ids are some ids, each once, in the order in which they came.
type ids []journal.ID

func (l ids) has(id journal.ID) bool { return slices.Contains(l, id) }

func (l *ids) add(ids ...journal.ID) {
	for _, id := range ids {
		if !l.has(id) {
			*l = append(*l, id)
		}
	}
}
