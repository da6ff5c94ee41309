//go:build !js || desk

package actions

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"sapwell/engine/bole"
	"sapwell/engine/verdict"
	"sapwell/engine/why"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/treelist"
	"sapwell/views"
)

// Deeds lists all deeds, in the order of the work.
func Deeds() []Deed {
	deeds := FieldDeeds()
	after := slices.IndexFunc(deeds, func(d Deed) bool { return d.Name == "tree.add" }) + 1
	return slices.Insert(deeds, after, importDeed())
}

func importDeed() Deed {
	return deed("tree.import", []entries.Role{entries.Office, entries.Applicator}, importTrees)
}

type treeImport struct {
	Grounds      journal.ID `json:"grounds" doc:"where they stand"`
	CSV          string     `json:"csv" doc:"the list of trees, whole"`
	DecimalComma bool       `json:"decimal_comma,omitempty" doc:"numbers in it have one"`
}

type treesImported struct {
	Trees []treeImported `json:"trees"`
}

type treeImported struct {
	Tag string     `json:"tag"`
	ID  journal.ID `json:"id"`
}

// importTrees writes every tree of a list with its measures, its condition and its
// old holes. One fault refuses the whole list: half a list would have to be taken
// apart before it could be sent again.
func importTrees(d *desk, in treeImport) (treesImported, error) {
	var done treesImported
	if _, err := d.grounds(in.Grounds, "grounds"); err != nil {
		return done, err
	}
	taken, err := d.tags(in.Grounds)
	if err != nil {
		return done, err
	}
	for row, err := range treelist.ReadCSV("csv", strings.NewReader(in.CSV), treelist.Options{DecimalComma: in.DecimalComma}) {
		if err != nil {
			return done, badRow(err)
		}
		if taken[row.Tree.Tag] {
			return done, refuse(Conflict, "tree.tag_taken", "csv",
				fmt.Sprintf("csv: line %d: tag: %q: another tree of these grounds has it", row.Line, row.Tree.Tag),
				why.T("tag", row.Tree.Tag), why.T("line", row.Line))
		}
		taken[row.Tree.Tag] = true
		id, err := d.writeRow(in.Grounds, row)
		if err != nil {
			return done, err
		}
		done.Trees = append(done.Trees, treeImported{row.Tree.Tag, id})
	}
	if len(done.Trees) == 0 {
		return done, refuse(BadInput, "tree.list_empty", "csv", "csv: the list names no tree")
	}
	return done, nil
}

// badRow refuses a list for the first thing that is wrong with it.
func badRow(err error) error {
	var f *treelist.Fault
	if !errors.As(err, &f) {
		return refuse(BadInput, "input.value", "csv", "csv: "+err.Error())
	}
	return refuse(BadInput, "tree.list_faulty", "csv", f.Error(), why.T("line", f.Line))
}

// tags are those of the trees on the grounds.
func (d *desk) tags(grounds journal.ID) (map[string]bool, error) {
	taken := map[string]bool{}
	key := grounds.String()
	err := each(d, entries.OfTree, key+"|", key+"}", func(t *views.Tree) error {
		taken[t.Facts.Tag] = true
		return nil
	})
	return taken, err
}

// writeRow writes one tree of a list.
func (d *desk) writeRow(grounds journal.ID, row treelist.Row) (journal.ID, error) {
	head := d.now()
	id, err := d.write(entries.Tree{
		Head: head, Grounds: grounds, Tag: row.Tree.Tag, Species: row.Tree.Species.Scientific, Where: row.Site, Note: d.noteOf(row),
	})
	if err != nil {
		return id, err
	}
	if _, err := d.write(entries.Measurement{Head: head, Tree: id, Stems: wireStems(row.Tree.Stems)}); err != nil {
		return id, err
	}
	for _, s := range row.Tree.Stems {
		if err := d.writeWounds(id, s); err != nil {
			return id, err
		}
	}
	if seen, anything := conditionOf(row.Facts); anything {
		seen.Head, seen.Tree = head, id
		_, err = d.write(seen)
	}
	return id, err
}

// noteOf is the note of a row with the treatments it tells of. No entry says what
// others gave a tree, so whoever plans it has to say it again.
func (d *desk) noteOf(row treelist.Row) string {
	lines := keepIf([]string{row.Note}, func(s string) bool { return s != "" })
	for _, a := range row.Facts.Earlier {
		lines = append(lines, strings.Join(append([]string{"last_treated", a.Date.String(), a.Label}, a.Active...), " "))
	}
	if n := len(row.Facts.Earlier); n > 0 {
		d.note(why.Finding{Code: "tree.earlier_in_note", Severity: why.Ask, Place: "csv", Source: why.Own,
			Terms: []why.Term{why.T("tag", row.Tree.Tag), why.T("applications", n)}})
	}
	return strings.Join(lines, "\n")
}

func (d *desk) writeWounds(tree journal.ID, s bole.Stem) error {
	for _, w := range s.Ring.Wounds {
		_, err := d.write(entries.Wound{
			Head: d.now(), Tree: tree, Stem: s.Name, Around: int64(w.At), Width: int64(w.Width), Height: int64(w.Height), Made: w.Made,
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// conditionOf is what a list says of how a tree is.
func conditionOf(f verdict.Circumstances) (c entries.Condition, anything bool) {
	c = entries.Condition{
		CanopyLoss: f.CanopyLoss, Pest: f.Pest, BBCH: f.BBCH, BloomOver: string(f.BloomOver), Eaten: string(f.Eaten),
		Tapped: string(f.Tapped), Drought: string(f.Drought), LiveWires: string(f.LiveWires),
	}
	anything = c.CanopyLoss != nil || c.BBCH != nil || c.Pest+c.BloomOver+c.Eaten+c.Tapped+c.Drought+c.LiveWires != ""
	return c, anything
}
