package actions

import (
	"errors"
	"fmt"
	"slices"

	"sapwell/engine/host"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

// treeDeeds are what is written of a tree before anybody drills. Whoever stands
// before it may say what they see.
func treeDeeds() []Deed {
	list := []entries.Role{entries.Office, entries.Applicator}
	field := append(slices.Clone(list), entries.Trainee)
	return []Deed{
		deed("tree.add", list, addTree),
		deed("tree.update", list, updateTree),
		deed("tree.measure", field, measureTree),
		deed("tree.inspect", field, inspectTree),
		deed("wound.record", field, recordWound),
		deed("closure.record", field, recordClosure),
	}
}

type treeAdd struct {
	Grounds journal.ID     `json:"grounds" doc:"where it stands"`
	Tag     string         `json:"tag" doc:"its name on these grounds"`
	Species string         `json:"species" doc:"scientific name, English common name or EPPO code"`
	Place   *entries.Place `json:"place,omitempty" doc:"WGS 84, in 1e-7 degrees"`
	Where   string         `json:"where,omitempty" doc:"in words"`
	Note    string         `json:"note,omitempty" doc:"anything else"`
}

func addTree(d *desk, in treeAdd) (Made, error) {
	if _, err := d.grounds(in.Grounds, "grounds"); err != nil {
		return Made{}, err
	}
	species, err := kindOfTree(in.Species)
	if err != nil {
		return Made{}, err
	}
	if err := d.freeTag(in.Grounds, in.Tag, journal.ID{}); err != nil {
		return Made{}, err
	}
	return d.made(entries.Tree{
		Head: d.now(), Grounds: in.Grounds, Tag: in.Tag, Species: species.Scientific,
		Place: in.Place, Where: in.Where, Note: in.Note,
	})
}

// kindOfTree looks a kind up however people call it.
func kindOfTree(name string) (host.Species, error) {
	species, err := host.Lookup(name)
	var many *host.AmbiguousError
	switch {
	case errors.As(err, &many):
		return species, refuse(BadInput, "tree.species_ambiguous", "species", "species: "+err.Error(), why.T("host", name))
	case err != nil:
		return species, refuse(BadInput, "tree.species_unknown", "species", "species: "+err.Error(), why.T("host", name))
	}
	return species, nil
}

// freeTag refuses a tag that another tree of the grounds has.
func (d *desk) freeTag(grounds journal.ID, tag string, self journal.ID) error {
	key := grounds.String() + "|" + tag
	return each(d, entries.OfTree, key, key+"\x00", func(t *views.Tree) error {
		if t.ID == self.String() {
			return nil
		}
		return refuse(Conflict, "tree.tag_taken", "tag",
			fmt.Sprintf("tag: %q: another tree of these grounds has it; want one of its own", tag), why.T("tag", tag))
	})
}

type treeUpdate struct {
	Tree    journal.ID     `json:"tree" doc:"which"`
	Grounds *journal.ID    `json:"grounds,omitempty" doc:"where it stands"`
	Tag     *string        `json:"tag,omitempty" doc:"its name on these grounds"`
	Species *string        `json:"species,omitempty" doc:"scientific name, English common name or EPPO code"`
	Place   *entries.Place `json:"place,omitempty" doc:"WGS 84, in 1e-7 degrees"`
	Where   *string        `json:"where,omitempty" doc:"in words"`
	Note    *string        `json:"note,omitempty" doc:"anything else"`
	Gone    *bool          `json:"gone,omitempty" doc:"felled or dead"`
}

func updateTree(d *desk, in treeUpdate) (Made, error) {
	t, err := d.tree(in.Tree, "tree")
	if err != nil {
		return Made{}, err
	}
	b := t.Facts
	b.Head, b.Tree, b.Over = d.now(), in.Tree, t.FactsBy
	if in.Grounds != nil {
		if _, err := d.grounds(*in.Grounds, "grounds"); err != nil {
			return Made{}, err
		}
	}
	if in.Species != nil {
		species, err := kindOfTree(*in.Species)
		if err != nil {
			return Made{}, err
		}
		b.Species = species.Scientific
	}
	set(&b.Grounds, in.Grounds)
	set(&b.Tag, in.Tag)
	set(&b.Where, in.Where)
	set(&b.Note, in.Note)
	set(&b.Gone, in.Gone)
	if in.Place != nil {
		b.Place = in.Place
	}
	if err := d.freeTag(b.Grounds, b.Tag, in.Tree); err != nil {
		return Made{}, err
	}
	return d.made(b)
}

// standing is a tree that can be worked on.
func (d *desk) standing(id journal.ID, field string) (*views.Tree, error) {
	t, err := d.tree(id, field)
	if err == nil && t.Facts.Gone {
		return nil, refuse(Conflict, "tree.gone", field, fmt.Sprintf("%s: tree %s is felled or dead", field, t.Facts.Tag), why.T("tag", t.Facts.Tag))
	}
	return t, err
}

type treeInspect struct {
	Tree       journal.ID `json:"tree" doc:"which"`
	At         int64      `json:"at,omitempty" doc:"when it was seen, where not now; ms since 1970"`
	CanopyLoss *int       `json:"canopy_loss,omitempty" doc:"dieback and thinning together, percent of a full crown"`
	Pest       string     `json:"pest,omitempty" doc:"name or EPPO code"`
	Signs      []string   `json:"signs,omitempty" doc:"what was seen"`
	BBCH       *int       `json:"bbch,omitempty" doc:"growth stage"`
	BloomOver  string     `json:"bloom_over,omitempty" enum:"yes,no" doc:"its bloom of this year is over"`
	Eaten      string     `json:"eaten,omitempty" enum:"yes,no" doc:"some part of it is eaten"`
	Tapped     string     `json:"tapped,omitempty" enum:"yes,no" doc:"it is tapped for sap"`
	Drought    string     `json:"drought,omitempty" enum:"yes,no" doc:"it suffers from drought"`
	LiveWires  string     `json:"live_wires,omitempty" enum:"yes,no" doc:"live wires are near"`
	Advice     string     `json:"advice,omitempty" enum:"treat,wait,do-not-treat,fell" doc:"what whoever saw it would do"`
	Note       string     `json:"note,omitempty" doc:"anything else"`
}

func inspectTree(d *desk, in treeInspect) (Made, error) {
	if _, err := d.standing(in.Tree, "tree"); err != nil {
		return Made{}, err
	}
	head, err := d.head(in.At)
	if err != nil {
		return Made{}, err
	}
	return d.made(entries.Condition{
		Head: head, Tree: in.Tree, CanopyLoss: in.CanopyLoss, Pest: in.Pest, Signs: in.Signs, BBCH: in.BBCH,
		BloomOver: in.BloomOver, Eaten: in.Eaten, Tapped: in.Tapped, Drought: in.Drought, LiveWires: in.LiveWires,
		Advice: in.Advice, Note: in.Note,
	})
}

type woundRecord struct {
	Tree   journal.ID      `json:"tree" doc:"which"`
	At     int64           `json:"at,omitempty" doc:"when it was seen, where not now; ms since 1970"`
	Stem   string          `json:"stem,omitempty" doc:"name of the stem, where there are several"`
	Around quantity.Length `json:"around" doc:"its middle on the tape, from the zero"`
	Width  quantity.Length `json:"width,omitempty" doc:"across the stem"`
	Height quantity.Length `json:"height,omitempty" doc:"above ground"`
	Made   quantity.Date   `json:"made,omitzero" doc:"day it was bored, where known"`
}

func recordWound(d *desk, in woundRecord) (Made, error) {
	t, err := d.standing(in.Tree, "tree")
	if err != nil {
		return Made{}, err
	}
	head, err := d.head(in.At)
	if err != nil {
		return Made{}, err
	}
	if err := onStem(t, in); err != nil {
		return Made{}, err
	}
	return d.made(entries.Wound{
		Head: head, Tree: in.Tree, Stem: in.Stem, Around: int64(in.Around), Width: int64(in.Width), Height: int64(in.Height), Made: in.Made,
	})
}

// onStem refuses a wound beside the tree as it was measured last.
func onStem(t *views.Tree, in woundRecord) error {
	if t.Measurement == nil {
		return nil
	}
	stems := t.Measurement.Facts.Stems
	i := slices.IndexFunc(stems, func(s entries.Stem) bool { return s.Name == in.Stem })
	if i < 0 {
		return refuse(BadInput, "wound.no_stem", "stem", fmt.Sprintf("stem: %q: want one of the stems as measured: %s", in.Stem, stemNames(stems)),
			why.T("stem", in.Stem))
	}
	girth := quantity.Length(stems[i].Girth.Around)
	if in.Around < 0 || in.Around > girth {
		return refuse(BadInput, "wound.off_ring", "around",
			fmt.Sprintf("around: want a place on the tape from 0 to the girth, %v mm", girth.Millimetres()), why.T("position", in.Around), why.T("girth", girth))
	}
	return nil
}

func stemNames(stems []entries.Stem) string {
	var all []string
	for _, s := range stems {
		all = append(all, fmt.Sprintf("%q", s.Name))
	}
	return fmt.Sprint(all)
}

type closureRecord struct {
	Tree   journal.ID      `json:"tree" doc:"which"`
	Hole   journal.ID      `json:"hole" doc:"the entry of the hole or wound"`
	At     int64           `json:"at,omitempty" doc:"when it was seen, where not now; ms since 1970"`
	State  string          `json:"state" enum:"open,closing,closed" doc:"how far it has closed"`
	Width  quantity.Length `json:"width,omitempty" doc:"what is open, across the stem"`
	Length quantity.Length `json:"length,omitempty" doc:"what is open, along the stem"`
	Signs  []string        `json:"signs,omitempty" doc:"such as bleeding, cracked bark, decay, callus"`
}

func recordClosure(d *desk, in closureRecord) (Made, error) {
	t, err := d.tree(in.Tree, "tree")
	if err != nil {
		return Made{}, err
	}
	if !slices.ContainsFunc(t.Holes, func(h views.OldHole) bool { return h.ID == in.Hole }) {
		return Made{}, refuse(NotFound, "closure.no_hole", "hole", fmt.Sprintf("hole: tree %s has no hole or wound %s", t.Facts.Tag, in.Hole), why.T("tag", t.Facts.Tag))
	}
	head, err := d.head(in.At)
	if err != nil {
		return Made{}, err
	}
	return d.made(entries.Closure{
		Head: head, Tree: in.Tree, Hole: in.Hole, State: in.State, Width: int64(in.Width), Length: int64(in.Length), Signs: in.Signs,
	})
}
