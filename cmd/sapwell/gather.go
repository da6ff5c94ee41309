package main

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
	"sapwell/store"
	"sapwell/views"
)

// gatherer brings together what the records of visits are made of. What many visits
// share is read once; so one gatherer is good for one look at the store.
type gatherer struct {
	from   store.Reader
	today  time.Time // in whichever zone: the organisation's day is told
	org    *views.Org
	zone   *time.Location
	shared map[entries.Subject]views.State
	labels map[string]records.LabelVersion
}

func newGatherer(from store.Reader, org journal.ID, now time.Time) (*gatherer, error) {
	g := &gatherer{from: from, zone: time.UTC, shared: map[entries.Subject]views.State{}, labels: map[string]records.LabelVersion{}}
	var err error
	if g.org, err = view[*views.Org](g, entries.OfOrg, org); err != nil {
		return nil, err
	}
	if zone, err := time.LoadLocation(g.org.Facts.Zone); err == nil && g.org.Facts.Zone != "" {
		g.zone = zone
	}
	g.today = now.In(g.zone)
	return g, nil
}

// view reads the view of a subject; an empty one where nothing speaks of it.
func view[S views.State](g *gatherer, kind entries.SubjectKind, id journal.ID) (s S, err error) {
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

// visits lists the visits of some days that were closed, or with open true those
// that were not yet, by day.
func (g *gatherer) visits(from, to quantity.Date, open bool) iter.Seq2[*views.Visit, error] {
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

// facts are what the records of one visit are made of.
func (g *gatherer) facts(v *views.Visit) (records.Facts, error) {
	f := records.Facts{Today: quantity.DateOf(g.today), Zone: g.zone, Org: g.org, Visit: v, Plans: map[journal.ID]entries.Plan{}}
	var err error
	if f.Grounds, err = view[*views.Grounds](g, entries.OfGrounds, v.Facts.Grounds); err != nil {
		return f, err
	}
	if err := g.jobs(&f); err != nil {
		return f, err
	}
	if err := g.hands(&f); err != nil {
		return f, err
	}
	if err := g.goods(&f); err != nil {
		return f, err
	}
	return f, g.amended(&f)
}

// jobs reads trees, plans and labels.
func (g *gatherer) jobs(f *records.Facts) error {
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
		tree, err := view[*views.Tree](g, entries.OfTree, id)
		if err != nil {
			return err
		}
		if tree != nil {
			f.Trees = append(f.Trees, tree)
		}
	}
	for _, id := range labels {
		l, err := g.label(id)
		if err != nil {
			return err
		}
		if l.View != nil {
			f.Labels = append(f.Labels, l)
		}
	}
	return nil
}

// label reads a version of a label with its file. One whose file can no longer be
// read tells what its entry tells.
func (g *gatherer) label(id journal.ID) (records.LabelVersion, error) {
	if l, ok := g.labels[id.String()]; ok {
		return l, nil
	}
	v, err := view[*views.Label](g, entries.OfLabel, id)
	if err != nil || v == nil {
		return records.LabelVersion{}, err
	}
	l := records.LabelVersion{View: v}
	l.Label, _ = labelfile.Read(v.Facts.Name, strings.NewReader(v.Facts.File))
	g.labels[id.String()] = l
	return l, nil
}

// hands reads who worked.
func (g *gatherer) hands(f *records.Facts) error {
	who := ids{f.Visit.Facts.Certified}
	for _, id := range f.Visit.Facts.Crew {
		who.add(id)
	}
	for _, h := range f.Visit.Holes {
		who.add(h.Facts.By)
	}
	for _, id := range who {
		p, err := view[*views.Person](g, entries.OfPerson, id)
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
func (g *gatherer) goods(f *records.Facts) error {
	var lots ids
	for _, u := range f.Visit.Units {
		lots.add(u.Lot)
	}
	for _, id := range lots {
		l, err := view[*views.Lot](g, entries.OfLot, id)
		if err != nil {
			return err
		}
		if l != nil {
			f.Lots = append(f.Lots, l)
		}
	}
	for _, id := range f.Visit.Bags {
		b, err := view[*views.Bag](g, entries.OfBag, id)
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
func (g *gatherer) amended(f *records.Facts) error {
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
		p, err := view[*views.Person](g, entries.OfPerson, m.By)
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

func (l *ids) add(id journal.ID) {
	if !l.has(id) {
		*l = append(*l, id)
	}
}
