package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"iter"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
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

type planCmd struct {
	Trees        string   `arg:"" help:"List of trees: .csv or .json."`
	Label        []string `required:"" short:"l" placeholder:"FILE" help:"Product label file; repeat it for more labels."`
	Lots         string   `placeholder:"FILE" help:"List of lots in stock (CSV)."`
	Date         string   `placeholder:"YYYY-MM-DD" help:"Day of the work; today if not given."`
	Jurisdiction string   `enum:"US,EU,UK" default:"US" help:"Whose law is asked: US, EU or UK."`
	Region       string   `help:"State or province, such as OR."`
	Certified    string   `enum:"yes,no,unknown" default:"unknown" help:"A certified applicator does or supervises the work: yes, no, unknown."`
	Altitude     string   `default:"0 m" help:"Height of the place above sea level."`
	Canopy       string   `default:"30,50" placeholder:"JUDGE,STOP" help:"Canopy loss in percent from which to judge, and above which not to treat (ash with emerald ash borer)."`
	Air          string   `placeholder:"TEMP" help:"Air temperature expected, such as 72F or 22C."`
	Format       string   `enum:"table,json,csv,pdf" default:"table" help:"What to write: table, json, csv, pdf (mark sheets)."`
	Out          string   `short:"o" placeholder:"FILE" help:"Where to write it; stdout if not given."`
	LoadOut      string   `placeholder:"FILE" help:"Also write the load-out list (PDF)."`
	Paper        string   `enum:"letter,a4" default:"letter" help:"Paper: letter or a4."`
	Size         string   `placeholder:"VOLUME" help:"Unit size to use, where a label counts units and sells several sizes."`
	Why          bool     `help:"Say how each number came to be."`
	Workers      int      `default:"0" help:"Cores to use; 0: all."`
}

// Run plans the list. Rows that cannot be used are reported and left out; the
// others are planned.
func (c planCmd) Run(w world) error {
	if c.Format == "pdf" && c.Out == "" && w.terminal {
		return usage{errors.New("plan: a PDF is not for the terminal; add --out FILE.pdf")}
	}
	d, set, err := c.prepare(w)
	if err != nil {
		return err
	}
	list, err := os.Open(c.Trees)
	if err != nil {
		return err
	}
	defer list.Close()
	if c.Out == "" && w.terminal {
		w.talkative = false // a bar would wipe the results, which show the progress too
	}
	trees, talk, done := w.progress(list)
	d.w.stderr = talk
	err = c.answer(d, d.plan(c.Trees, trees, set, c.workers()))
	done()
	if err != nil {
		return err
	}
	if c.LoadOut != "" {
		if err := writeFile(c.LoadOut, d.loadOut); err != nil {
			return err
		}
	}
	d.tally(w.stderr)
	return d.outcome()
}

// answer writes the plans where they are wanted: a file only if the list was
// read to its end and something could be planned.
func (c planCmd) answer(d *day, plans iter.Seq[planned]) error {
	if c.Out == "" {
		return errors.Join(c.write(d, d.w.stdout, plans), d.nothing())
	}
	d.w = d.w.plain()
	return writeFile(c.Out, func(out io.Writer) error {
		return errors.Join(c.write(d, out, plans), d.nothing())
	})
}

// prepare reads flags, labels and lots: all that must be sound before a tree is
// planned.
func (c planCmd) prepare(w world) (*day, settings, error) {
	set, err := c.settings(w)
	if err != nil {
		return nil, set, usage{err}
	}
	labels, err := w.readLabels(c.Label)
	if err != nil {
		return nil, set, err
	}
	d := &day{w: w, labels: labels, date: set.facts.Date, paper: documents.Paper(c.Paper), keep: c.Format == "pdf" || c.LoadOut != "", json: c.Format == "json", why: c.Why}
	if c.Lots != "" {
		if err := d.readLots(c.Lots); err != nil {
			return nil, set, err
		}
	}
	return d, set, nil
}

// gather plans the whole list and keeps every plan.
func (c planCmd) gather(w world) (*day, error) {
	d, set, err := c.prepare(w)
	if err != nil {
		return nil, err
	}
	list, err := os.Open(c.Trees)
	if err != nil {
		return nil, err
	}
	defer list.Close()
	d.keep, d.json, d.why = true, true, true
	for range d.plan(c.Trees, list, set, c.workers()) { // kept in d
	}
	return d, d.outcome()
}

func (c planCmd) workers() int {
	if c.Workers > 0 {
		return c.Workers
	}
	return runtime.GOMAXPROCS(0)
}

func (c planCmd) write(d *day, out io.Writer, plans iter.Seq[planned]) error {
	switch c.Format {
	case "json":
		return writeJSON(out, plans)
	case "csv":
		return writeCSV(out, plans, d.w.say.Style)
	case "pdf":
		for range plans { // d keeps what the sheets need
		}
		if len(d.kept) == 0 {
			return nil
		}
		return d.markSheets(out)
	}
	return writeTable(out, plans, d.w, c.Why)
}

// settings are what the flags say of every tree.
type settings struct {
	actions.Settings
	facts verdict.Circumstances
}

func (c planCmd) settings(w world) (settings, error) {
	s := settings{facts: verdict.Circumstances{Jurisdiction: verdict.Jurisdiction(c.Jurisdiction), Region: strings.ToUpper(c.Region)}}
	s.System = w.say.Style.System
	if c.Certified != "unknown" {
		s.facts.Certified = verdict.Answer(c.Certified)
	}
	s.facts.Date = quantity.DateOf(w.now())
	if c.Date != "" {
		date, err := quantity.ParseDate(c.Date)
		if err != nil {
			return s, fmt.Errorf("--date: %w", err)
		}
		s.facts.Date = date
	}
	var err error
	if s.Altitude, err = quantity.ParseLength(c.Altitude, quantity.Reading{}); err != nil {
		return s, fmt.Errorf("--altitude: %w", err)
	}
	if low, high := -500*quantity.Metre, 9000*quantity.Metre; s.Altitude < low || s.Altitude > high {
		return s, fmt.Errorf("--altitude: %q: want -500 m to 9000 m", c.Altitude)
	}
	if c.Size != "" {
		if s.Size, err = quantity.ParseVolume(c.Size, quantity.Reading{}); err != nil {
			return s, fmt.Errorf("--size: %w", err)
		}
	}
	if s.Bands, err = bands(c.Canopy); err != nil {
		return s, err
	}
	if c.Air != "" {
		air, err := quantity.ParseTemperature(c.Air, quantity.Reading{})
		if err != nil {
			return s, fmt.Errorf("--air: %w", err)
		}
		s.facts.Air = &air
	}
	return s, nil
}

func bands(text string) (b verdict.Bands, err error) {
	judge, stop, _ := strings.Cut(text, ",")
	if b.Judge, err = strconv.Atoi(judge); err == nil {
		b.Stop, err = strconv.Atoi(stop)
	}
	if err != nil || b.Judge < 1 || b.Stop < b.Judge || b.Stop > 100 {
		return b, fmt.Errorf("--canopy: %q: want two whole percentages, such as 30,50", text)
	}
	return b, nil
}

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
		fmt.Fprintln(d.w.stderr, d.w.listFault(fault))
	}
	if len(faults) > 0 {
		return refused{errors.New(d.w.say.Say("plan.lots_refused", count("n", len(faults))))}
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

// fitFor are the lots of a label that nothing sets aside. The verdict of a tree
// hangs on there being one; lots that are set aside are the load-out's affair.
func (d *day) fitFor(l label.Label) (fit []stock.Lot) {
	for _, lot := range d.lots {
		if lot.Label == l.ID && !why.Blocks(stock.Check(lot, l.Storage, d.date)) {
			fit = append(fit, lot)
		}
	}
	return fit
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
	return partly{d.faults}
}

func count(name string, n int) why.Term { return why.T(name, n) }

// all yields the kept plans.
func (d *day) all() iter.Seq[planned] { return slices.Values(d.kept) }
