package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"iter"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"sapwell/actions"
	"sapwell/documents"
	"sapwell/engine/label"
	"sapwell/engine/quantity"
	"sapwell/engine/stock"
	"sapwell/engine/verdict"
	"sapwell/engine/why"
	"sapwell/treelist"
)

// planned is one tree of the list with its plan, in the order of the list.
type planned struct {
	actions.Plan
	row   treelist.Row
	label label.Label
	json  []byte // the plan, when it is to be written as JSON
	fault error  // the tree cannot be used; the rest is empty
	end   error  // nothing more can be planned: the list cannot be read on, or a fault of ours
}

// day gathers what papers and tally need while the plans stream by.
type day struct {
	w      world
	list   string // name of the list
	labels []label.Label
	lots   []stock.Lot
	date   quantity.Date
	paper  documents.Paper
	keep   bool // hold the plans for papers
	json   bool // encode the plans
	why    bool // with their explanations

	trees, stopped, asked, faults int
	units                         map[string]int // by label
	needs                         []stock.Need   // of all trees, where there is a list of lots
	kept                          []planned
	end                           error // why planning ended early
}

// readLots reads the stock; a fault in it refuses the day, for a lot that is
// not seen cannot be set aside.
func (d *day) readLots(name string) error {
	f, err := os.Open(name)
	if err != nil {
		return err
	}
	defer f.Close()
	lots, faults := treelist.ReadLots(name, f)
	for _, fault := range faults {
		if !is[*treelist.Fault](fault) {
			return fault
		}
		fmt.Fprintln(d.w.stderr, d.w.listFault(fault))
	}
	switch {
	case len(faults) > 0:
		return refused{errors.New(d.w.say.Say("plan.lots_refused", count("n", len(faults))))}
	case len(lots) == 0: // taken for no list at all, nothing would be called short
		return refused{errors.New(d.w.say.Say("plan.lots_empty"))}
	}
	d.lots = lots
	return nil
}

// plan reads, plans on all workers, and yields in the order of the list.
func (d *day) plan(name string, r io.Reader, set settings, workers int) iter.Seq[planned] {
	read := treelist.ReadCSV
	if strings.EqualFold(filepath.Ext(name), ".json") {
		read = treelist.ReadJSON
	}
	d.list = name
	rows := func(yield func(planned) bool) {
		for row, err := range read(name, r, treelist.Options{Defaults: set.facts}) {
			p := planned{row: row, fault: err}
			if err != nil && !is[*treelist.Fault](err) {
				p.fault, p.end = nil, err
			}
			if !yield(p) {
				return
			}
		}
	}
	all := ordered(workers, rows, func() func(planned) planned {
		planner := actions.NewPlanner(set.Settings)
		return func(p planned) planned { return d.one(planner, p) }
	})
	return func(yield func(planned) bool) {
		for p := range all {
			if d.end = p.end; d.end != nil || d.count(p) && !yield(p) {
				return
			}
		}
	}
}

func (d *day) one(planner *actions.Planner, p planned) planned {
	if p.fault != nil || p.end != nil {
		return p
	}
	if p.label, p.fault = d.choose(p.row); p.fault == nil {
		p.row.Facts.Lots = d.fitFor(p.label)
		p.Plan = planner.Tree(actions.Job{Tree: p.row.Tree, Facts: p.row.Facts, Label: p.label})
	}
	if p.fault == nil && d.json {
		p.json, p.end = encode(p.Plan, d.why)
	}
	return p
}

// encode writes a plan as JSON; explanations make up nine tenths of it, so they
// come only when asked for.
func encode(p actions.Plan, reasons bool) ([]byte, error) {
	if !reasons {
		p = p.Bare()
	}
	return json.Marshal(p)
}

// fitFor are the lots of a label that nothing sets aside: while there is one, the
// others are the load-out's affair. Where there is none, it is all of them, and
// the verdict says what is wrong with each.
func (d *day) fitFor(l label.Label) []stock.Lot {
	var all, fit []stock.Lot
	for _, lot := range d.lots {
		if lot.Label != l.ID {
			continue
		}
		all = append(all, lot)
		if !why.Blocks(stock.Check(lot, l.Storage, d.date)) {
			fit = append(fit, lot)
		}
	}
	if len(fit) > 0 {
		return fit
	}
	return all
}

// choose finds the label of a tree: the one its row names, the only one there
// is, or the only one that fits.
func (d *day) choose(row treelist.Row) (label.Label, error) {
	if row.Label != "" {
		if i := slices.IndexFunc(d.labels, func(l label.Label) bool { return l.ID == row.Label }); i >= 0 {
			return d.labels[i], nil
		}
		return label.Label{}, d.labelFault(row, "plan.label_unknown")
	}
	if len(d.labels) == 1 {
		return d.labels[0], nil
	}
	fit := actions.Candidates(d.labels, row.Tree.Species.Scientific, row.Facts.Pest)
	if len(fit) == 1 {
		return fit[0], nil
	}
	return label.Label{}, d.labelFault(row, "plan.label_open")
}

func (d *day) labelFault(row treelist.Row, key string) error {
	var ids []string
	for _, l := range d.labels {
		ids = append(ids, l.ID)
	}
	return fmt.Errorf("%s:%d: label: %s", d.list, row.Line, d.w.say.Say(key, why.T("tag", row.Tree.Tag),
		why.T("label", row.Label), why.T("labels", strings.Join(ids, ", "))))
}

// count keeps the tally and reports faults; it says whether p is a plan.
func (d *day) count(p planned) bool {
	if p.fault != nil {
		d.faults++
		fmt.Fprintln(d.w.stderr, d.w.listFault(p.fault))
		return false
	}
	d.trees++
	switch p.Opinion.Overall {
	case verdict.Stop:
		d.stopped++
	case verdict.AskFirst:
		d.asked++
	}
	if d.units == nil {
		d.units = map[string]int{}
	}
	for _, n := range p.Needs() {
		d.units[n.Label] += n.Units
		if len(d.lots) > 0 {
			d.needs = append(d.needs, n)
		}
	}
	if d.keep {
		d.kept = append(d.kept, p)
	}
	return true
}

// tally says what the day comes to.
func (d *day) tally(out io.Writer) {
	wrapTo(out, "", d.w.say.Say("plan.tally", count("n", d.trees), count("stopped", d.stopped), count("asked", d.asked)))
	for _, l := range d.labels {
		if n := d.units[l.ID]; n > 0 {
			wrapTo(out, "  ", d.w.say.Say("plan.tally_label", count("n", n), why.T("product", l.Product.Name), why.T("label", l.ID)))
		}
	}
	for _, n := range short(d.allocate()) {
		wrapTo(out, "  ", d.w.say.Say("plan.tally_short", count("n", n.Units), why.T("size", n.Size), why.T("label", n.Label)))
	}
}

// short sums what the lots do not cover by label and size, in the order of the
// trees.
func short(a stock.Allocation) (sums []stock.Need) {
	for _, n := range a.Short {
		i := slices.IndexFunc(sums, func(s stock.Need) bool { return s.Label == n.Label && s.Size == n.Size })
		if i < 0 {
			sums = append(sums, stock.Need{Label: n.Label, Size: n.Size})
			i = len(sums) - 1
		}
		sums[i].Units += n.Units
	}
	return sums
}

// nothing is the error of a day for which nothing was planned, or not all that
// could have been.
func (d *day) nothing() error {
	switch {
	case d.end != nil:
		return d.end
	case d.faults > 0 && d.trees == 0:
		return refused{errors.New(d.w.say.Say("plan.nothing", count("n", d.faults)))}
	case d.trees == 0:
		return refused{errors.New(d.w.say.Say("plan.empty"))}
	}
	return nil
}

func (d *day) outcome() error {
	if err := d.nothing(); err != nil || d.faults == 0 {
		return err
	}
	return partly{d.faults, "plan.partly"}
}

func count(name string, n int) why.Term { return why.T(name, n) }

// all yields the kept plans.
func (d *day) all() iter.Seq[planned] { return slices.Values(d.kept) }
