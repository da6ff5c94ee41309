package actions

import (
	"fmt"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

type treeInstall struct {
	Visit journal.ID      `json:"visit" doc:"the visit"`
	Tree  journal.ID      `json:"tree" doc:"the tree"`
	Stem  string          `json:"stem,omitempty" doc:"which stem of the plan; left out: all of them"`
	Marks []int           `json:"marks,omitempty" doc:"numbers of the marks; left out: all that have no unit yet"`
	Lot   journal.ID      `json:"lot" doc:"the lot of the units"`
	Fill  quantity.Volume `json:"fill,omitempty" doc:"liquid in each; left out: that of the plan, which must be the lot's"`
	At    int64           `json:"at,omitempty" doc:"when, if not now; ms since 1970"`
}

type treeInstalled struct {
	Holes []journal.ID `json:"holes"` // bored now
	Units []journal.ID `json:"units"`
}

// installTree bores the marks of a tree and seats a unit in each. A mark that was
// bored but has no unit gets its unit; one that had a unit is left alone.
func installTree(d *desk, in treeInstall) (treeInstalled, error) {
	done := treeInstalled{Holes: []journal.ID{}, Units: []journal.ID{}}
	v, err := d.workable(in.Visit)
	if err != nil {
		return done, err
	}
	plan, err := d.planOfTree(v, in.Tree, "tree")
	if err != nil {
		return done, err
	}
	stems, err := d.stemsToInstall(plan, in)
	if err != nil {
		return done, err
	}
	h, err := d.headIn(v, in.At)
	if err != nil {
		return done, err
	}
	for _, stem := range stems {
		if err := d.installStem(&done, v, plan, stem, h, in); err != nil {
			return done, err
		}
	}
	if len(done.Units) == 0 {
		return done, refuse(Conflict, "tree.installed_already", "tree",
			fmt.Sprintf("tree: every mark of tree %s has its unit", d.tag(in.Tree)), why.T("tag", d.tag(in.Tree)))
	}
	return done, nil
}

// stemsToInstall are the stems that are meant.
func (d *desk) stemsToInstall(plan entries.Plan, in treeInstall) ([]entries.PlanStem, error) {
	stems := plan.Stems
	if in.Stem != "" || len(in.Marks) > 0 {
		stem, err := d.stemOf(plan, in.Stem)
		if err != nil {
			return nil, err
		}
		stems = []entries.PlanStem{stem}
	}
	for _, s := range stems {
		if len(s.Marks) == 0 {
			return nil, refuse(Conflict, "tree.no_marks", "tree",
				fmt.Sprintf("tree: the plan of tree %s has no marks", d.tag(plan.Tree)), why.T("tag", d.tag(plan.Tree)))
		}
		if s.PerUnit == 0 && len(in.Marks) == 0 {
			return nil, refuse(Conflict, "tree.mixed_sizes", "marks",
				fmt.Sprintf("marks: missing; the plan of tree %s has units of several sizes: say which marks get this lot", d.tag(plan.Tree)),
				why.T("tag", d.tag(plan.Tree)))
		}
	}
	return stems, nil
}

// installStem writes the holes and units of one stem.
func (d *desk) installStem(done *treeInstalled, v *views.Visit, plan entries.Plan, stem entries.PlanStem, h entries.Head, in treeInstall) error {
	marks, err := d.marksToInstall(v, in, stem)
	if err != nil || len(marks) == 0 {
		return err
	}
	fill, err := d.fitLot(v, plan, stem, in.Lot, in.Fill)
	if err != nil {
		return err
	}
	d.tellDose(v, in.Tree, stem, fill*int64(len(marks)))
	for _, mark := range marks {
		var hole journal.ID
		if old := v.LastAt(in.Tree, stem.Name, mark); old != nil {
			hole = old.ID
		} else if hole, err = d.write(markHole(entries.Hole{Head: h, Visit: in.Visit, Tree: in.Tree, Stem: stem.Name}, stem, mark)); err != nil {
			return err
		} else {
			done.Holes = append(done.Holes, hole)
		}
		unit, err := d.write(entries.UnitSeated{Head: h, Visit: in.Visit, Hole: hole, Lot: in.Lot, Fill: fill})
		if err != nil {
			return err
		}
		done.Units = append(done.Units, unit)
	}
	return nil
}

// marksToInstall are the marks that get a unit: those asked for, none of which may
// have had one, or else all that have had none.
func (d *desk) marksToInstall(v *views.Visit, in treeInstall, stem entries.PlanStem) ([]int, error) {
	had := map[int]bool{}
	for _, u := range v.Units {
		if hole, ok := holeOf(v, u.Hole); ok && hole.Tree == in.Tree && hole.Stem == stem.Name {
			had[hole.Mark] = true
		}
	}
	var marks []int
	for m := 1; len(in.Marks) == 0 && m <= len(stem.Marks); m++ {
		if !had[m] {
			marks = append(marks, m)
		}
	}
	for i, m := range in.Marks {
		field := fmt.Sprintf("marks[%d]", i)
		terms := []why.Term{why.T("mark", m), why.T("tag", d.tag(in.Tree))}
		switch {
		case m < 1 || m > len(stem.Marks):
			return nil, refuse(BadInput, "hole.no_such_mark", field,
				fmt.Sprintf("%s: %d: the plan of tree %s has the marks 1 to %d", field, m, d.tag(in.Tree), len(stem.Marks)),
				append(terms, why.T("most", len(stem.Marks)))...)
		case had[m]:
			return nil, refuse(Conflict, "tree.mark_has_unit", field,
				fmt.Sprintf("%s: mark %d of tree %s has a unit, or had one; seat another by itself", field, m, d.tag(in.Tree)), terms...)
		}
		had[m] = true
		marks = append(marks, m)
	}
	return marks, nil
}
