package actions

import (
	"cmp"
	"fmt"
	"slices"

	"sapwell/engine/why"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

// visitDeeds are those of the day's work, and what is done with its record later.
func visitDeeds() []Deed {
	certified := []entries.Role{entries.Applicator}
	field := []entries.Role{entries.Applicator, entries.Trainee}
	keeper := []entries.Role{entries.Office, entries.Applicator}
	all := []entries.Role{entries.Office, entries.Applicator, entries.Trainee}
	return []Deed{
		deed("visit.open", certified, openVisit),
		deed("hole.bore", field, boreHole),
		deed("unit.seat", field, seatUnit),
		deed("tree.install", field, installTree),
		deed("unit.pressurise", field, pressuriseUnits),
		deed("unit.drain", field, drainUnits),
		deed("unit.stick", field, stickUnits),
		deed("unit.lift", field, liftUnits),
		deed("unit.lose", field, loseUnits),
		deed("visit.tally", field, tallyVisit),
		deed("visit.close", certified, closeVisit),
		deed("bag.seal", all, sealBag),
		deed("bag.hand", keeper, handBag),
		deed("note.add", all, addNote),
		deed("record.tell", all, tellRecord),
		deed("photo.add", all, addPhoto),
		deed("amend", keeper, amend),
		deed("visit.retire", []entries.Role{entries.Office}, retireVisit),
	}
}

// workable is a visit in which the person may work: one that is open, and for a
// trainee one that somebody else answers for.
func (d *desk) workable(id journal.ID) (*views.Visit, error) {
	v, err := d.visit(id, "visit")
	if err != nil {
		return nil, err
	}
	if v.Retired != nil {
		return nil, refuse(Conflict, "visit.is_retired", "visit", "visit: it was taken off the lists; nothing can be done in it")
	}
	if v.Closed != nil {
		return nil, refuse(Conflict, "visit.is_closed", "visit",
			fmt.Sprintf("visit: it was closed on %s; what it says can only be amended", d.minute(v.ClosedAt)),
			why.T("moment", d.minute(v.ClosedAt)))
	}
	if !slices.Contains(d.actor.Facts.Roles, entries.Applicator) && v.Facts.Certified == d.By {
		return nil, refuse(Forbidden, "visit.own_supervisor", "visit",
			"visit: a trainee works under somebody else who is certified, and this visit names only the trainee")
	}
	return v, nil
}

// jobOf is the job of a tree in a visit.
func jobOf(v *views.Visit, tree journal.ID) (entries.Job, bool) {
	i := slices.IndexFunc(v.Facts.Jobs, func(j entries.Job) bool { return j.Tree == tree })
	if i < 0 {
		return entries.Job{}, false
	}
	return v.Facts.Jobs[i], true
}

// holeOf is a hole of a visit.
func holeOf(v *views.Visit, id journal.ID) (entries.Hole, bool) {
	i := slices.IndexFunc(v.Holes, func(b views.Bored) bool { return b.ID == id })
	if i < 0 {
		return entries.Hole{}, false
	}
	return v.Holes[i].Facts, true
}

// planOfTree is the plan by which a tree is worked in a visit.
func (d *desk) planOfTree(v *views.Visit, tree journal.ID, field string) (entries.Plan, error) {
	job, ok := jobOf(v, tree)
	if !ok {
		return entries.Plan{}, refuse(Conflict, "visit.tree_not_in", field,
			fmt.Sprintf("%s: tree %s is not among the trees of the visit", field, d.tag(tree)), why.T("tag", d.tag(tree)))
	}
	return d.planEntry(job.Plan, field)
}

// planEntry is a plan by the id of its entry.
func (d *desk) planEntry(id journal.ID, field string) (entries.Plan, error) {
	e, ok, err := current(d, id)
	if err != nil {
		return entries.Plan{}, err
	}
	plan, is := e.Body.(entries.Plan)
	if !ok || !is {
		return entries.Plan{}, refuse(NotFound, "plan.unknown", field, fmt.Sprintf("%s: there is no plan %s", field, id))
	}
	return plan, nil
}

// tell keeps a finding that no source but this project's own conventions bears.
func (d *desk) tell(code string, severity why.Severity, place string, terms ...why.Term) {
	d.note(why.Finding{Code: code, Severity: severity, Place: place, Source: why.Own, Terms: terms})
}

// tag is what people call a tree, or its id where that is all there is.
func (d *desk) tag(tree journal.ID) string {
	t, err := d.tree(tree, "tree")
	if err != nil {
		return tree.String()
	}
	return cmp.Or(t.Facts.Tag, tree.String())
}

// lotNumber is what stands on the pack of a lot.
func (d *desk) lotNumber(lot journal.ID) string {
	l, err := d.lot(lot, "lot")
	if err != nil {
		return lot.String()
	}
	return cmp.Or(l.Facts.Number, lot.String())
}
