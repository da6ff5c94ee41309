package actions

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

type holeBore struct {
	Visit  journal.ID       `json:"visit" doc:"the visit"`
	Tree   journal.ID       `json:"tree" doc:"the tree"`
	Stem   string           `json:"stem,omitempty" doc:"which stem of the plan, where it has several"`
	Mark   int              `json:"mark,omitempty" doc:"number of the mark of the plan, from 1; left out: a hole that is not of the plan"`
	Around *quantity.Length `json:"around,omitempty" doc:"its middle on the tape, from the zero; left out: that of the mark"`
	Height *quantity.Length `json:"height,omitempty" doc:"above ground; left out: that of the mark"`
	Depth  quantity.Length  `json:"depth,omitempty" doc:"into the wood; left out: what the plan aims at"`
	Bit    quantity.Length  `json:"bit,omitempty" doc:"diameter of the bit; left out: that of the plan"`
	Again  bool             `json:"again,omitempty" doc:"a second hole at a mark that was bored already"`
	At     int64            `json:"at,omitempty" doc:"when, if not now; ms since 1970"`
}

// boreHole notes one hole. What the input leaves out is taken from the plan.
func boreHole(d *desk, in holeBore) (Made, error) {
	v, err := d.workable(in.Visit)
	if err != nil {
		return Made{}, err
	}
	plan, err := d.planOfTree(v, in.Tree, "tree")
	if err != nil {
		return Made{}, err
	}
	stem, err := d.stemOf(plan, in.Stem)
	if err != nil {
		return Made{}, err
	}
	h, err := d.headIn(v, in.At)
	if err != nil {
		return Made{}, err
	}
	b := entries.Hole{Head: h, Visit: in.Visit, Tree: in.Tree, Stem: stem.Name, Mark: in.Mark}
	if err := d.place(&b, in, stem); err != nil {
		return Made{}, err
	}
	if last := v.LastAt(in.Tree, stem.Name, in.Mark); last != nil && in.Again {
		b.Again = last.ID
	} else if last != nil {
		return Made{}, refuse(Conflict, "hole.bored_already", "mark",
			fmt.Sprintf("mark: %d of tree %s was bored in this visit already; say again for a second hole there", in.Mark, d.tag(in.Tree)),
			why.T("mark", in.Mark), why.T("tag", d.tag(in.Tree)))
	}
	d.tellDepth(b, stem)
	return d.made(b)
}

// headIn begins a body of something done in a visit, which is not before it was
// opened.
func (d *desk) headIn(v *views.Visit, at int64) (entries.Head, error) {
	if at != 0 && at < v.Opened {
		return entries.Head{}, refuse(BadInput, "visit.before_open", "at",
			fmt.Sprintf("at: %s: the visit was opened at %s; want a moment from then on", d.minute(at), d.minute(v.Opened)),
			why.T("moment", d.minute(v.Opened)))
	}
	return d.head(at)
}

// stemOf is the stem of a plan by its name; a plan of one stem needs none.
func (d *desk) stemOf(p entries.Plan, name string) (entries.PlanStem, error) {
	if name == "" && len(p.Stems) == 1 {
		return p.Stems[0], nil
	}
	i := slices.IndexFunc(p.Stems, func(s entries.PlanStem) bool { return s.Name == name })
	if i < 0 {
		var known []string
		for _, s := range p.Stems {
			known = append(known, s.Name)
		}
		return entries.PlanStem{}, refuse(BadInput, "hole.stem_unknown", "stem",
			fmt.Sprintf("stem: %q: the plan of tree %s has %s", name, d.tag(p.Tree), cmp.Or(strings.Join(known, ", "), "no stem")),
			why.T("tag", d.tag(p.Tree)), why.T("accepted", strings.Join(known, ", ")))
	}
	return p.Stems[i], nil
}

// place fills in where and how the hole goes.
func (d *desk) place(b *entries.Hole, in holeBore, stem entries.PlanStem) error {
	marked := in.Mark != 0
	switch {
	case marked && (in.Mark < 0 || in.Mark > len(stem.Marks)):
		return refuse(BadInput, "hole.no_such_mark", "mark",
			fmt.Sprintf("mark: %d: the plan of tree %s has the marks 1 to %d", in.Mark, d.tag(b.Tree), len(stem.Marks)),
			why.T("mark", in.Mark), why.T("tag", d.tag(b.Tree)), why.T("most", len(stem.Marks)))
	case !marked && in.Around == nil:
		return placeMissing("around")
	case !marked && in.Height == nil:
		return placeMissing("height")
	case marked:
		*b = markHole(*b, stem, in.Mark)
	}
	set(&b.Around, (*int64)(in.Around))
	set(&b.Height, (*int64)(in.Height))
	b.Depth = cmp.Or(int64(in.Depth), b.Depth)
	b.Bit = cmp.Or(int64(in.Bit), b.Bit, stem.Bit)
	return nil
}

func placeMissing(field string) error {
	return refuse(BadInput, "hole.place_missing", field, field+": missing; a hole that is not of the plan says where it is")
}

// markHole is the hole at a mark as it was planned. The depth is half-way between
// the plan's least and most: that is what the stop is set to reach.
func markHole(b entries.Hole, stem entries.PlanStem, mark int) entries.Hole {
	b.Mark, b.Around, b.Bit = mark, stem.Marks[mark-1], stem.Bit
	if mark <= len(stem.Heights) {
		b.Height = stem.Heights[mark-1]
	}
	b.Depth = stem.DepthMin + (stem.DepthMax-stem.DepthMin)/2
	return b
}

// tellDepth warns of a hole deeper than the plan has it: the wound is larger and
// the liquid goes past the wood that carries it.
func (d *desk) tellDepth(b entries.Hole, stem entries.PlanStem) {
	if stem.DepthMax > 0 && b.Depth > stem.DepthMax {
		d.note(why.Finding{Code: "hole.deeper", Severity: why.Warn, Place: "depth", Source: why.TheLabel,
			Terms: []why.Term{why.T("depth", quantity.Length(b.Depth)), why.T("depth_max", quantity.Length(stem.DepthMax))}})
	}
}
