package actions

import (
	"slices"

	"sapwell/engine/quantity"
	"sapwell/engine/verdict"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

// earlier lists what the tree was given before: in visits that were closed, in
// visits that were not (what is in the tree is in it), and what the input tells of.
func (d *desk) earlier(t *views.Tree, told []verdict.Application) ([]verdict.Application, error) {
	all := slices.Clone(told)
	done := map[journal.ID]bool{{}: true} // a wound that was found is of no visit
	for _, given := range t.Treatments {
		done[given.Visit] = true
		if given.Units == 0 { // only bored
			continue
		}
		a := verdict.Application{Date: d.dayOf(given.At), Total: quantity.Volume(given.Given)}
		v, ok, err := find[*views.Visit](d, entries.OfVisit, given.Visit.String())
		if err != nil {
			return nil, err
		}
		if ok {
			a.Date = v.Facts.Day
		}
		if err := d.nameLabel(&a, given.Label); err != nil {
			return nil, err
		}
		all = append(all, a)
	}
	for _, h := range t.Holes {
		if done[h.Visit] {
			continue
		}
		done[h.Visit] = true
		a, any, err := d.underWay(t, h.Visit)
		if err != nil {
			return nil, err
		}
		if any {
			all = append(all, a)
		}
	}
	return all, nil
}

// underWay is what the tree was given so far in a visit that is not closed; of a
// unit that is still out, all of it.
func (d *desk) underWay(t *views.Tree, visit journal.ID) (a verdict.Application, any bool, err error) {
	v, ok, err := find[*views.Visit](d, entries.OfVisit, visit.String())
	if err != nil || !ok {
		return a, false, err
	}
	tree, err := idOf(t.ID)
	if err != nil {
		return a, false, err
	}
	a.Date = v.Facts.Day
	for _, u := range v.Units {
		if u.Tree != tree {
			continue
		}
		any = true
		a.Total += quantity.Volume(u.Fill)
		if u.Left != nil && !u.Out() {
			a.Total -= quantity.Volume(*u.Left)
		}
	}
	job, ok := jobOf(v, tree)
	if !any || !ok {
		return a, any, nil
	}
	plan, err := d.planEntry(job.Plan, "tree")
	if isRefusal(err) { // it has not come in: the label is not known
		return a, any, nil
	}
	if err != nil {
		return a, any, err
	}
	return a, any, d.nameLabel(&a, plan.Label)
}

// nameLabel says by which label something was given, where that label is here.
func (d *desk) nameLabel(a *verdict.Application, id journal.ID) error {
	version, ok, err := find[*views.Label](d, entries.OfLabel, id.String())
	if err != nil || !ok {
		return err
	}
	a.Label = version.Facts.Name
	if l, err := d.labelOf(version); err == nil { // by the rules of today it may have a fault
		for _, i := range l.Class.Ingredients {
			a.Active = append(a.Active, i.Name)
		}
	}
	return nil
}
