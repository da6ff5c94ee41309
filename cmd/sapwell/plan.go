package main

import (
	"errors"
	"fmt"
	"io"
	"iter"
	"os"
	"runtime"
	"slices"
	"strconv"
	"strings"

	"sapwell/actions"
	"sapwell/documents"
	"sapwell/engine/quantity"
	"sapwell/engine/verdict"
)

type planCmd struct {
	Trees        string   `arg:"" help:"List of trees: .csv or .json."`
	Label        []string `required:"" short:"l" placeholder:"FILE" help:"Product label file; repeat it for more labels."`
	Lots         string   `placeholder:"FILE" help:"List of lots in stock (CSV)."`
	Date         string   `placeholder:"YYYY-MM-DD" help:"Day of the work; today if not given."`
	Jurisdiction string   `enum:"US,EU,UK" default:"US" help:"Whose law is asked: US, EU or UK."`
	Region       string   `help:"State or province, such as OR."`
	Certified    string   `enum:"yes,no,unknown" default:"unknown" help:"A certified applicator does or supervises the work: yes, no, unknown."`
	Also         string   `enum:"yes,no,unknown" default:"unknown" help:"What else the label demands (its lines under also) is seen to: yes, no, unknown."`
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
	if err = errors.Join(err, c.clash()); err != nil {
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

// clash refuses to write over what is read, and two papers into one file.
func (c planCmd) clash() error {
	taken := append([]string{c.Trees, c.Lots}, c.Label...)
	for _, out := range []struct{ flag, name string }{{"--out", c.Out}, {"--load-out", c.LoadOut}} {
		if out.name != "" && slices.ContainsFunc(taken, func(name string) bool { return sameFile(name, out.name) }) {
			return fmt.Errorf("%s: %q is in use by this plan already; name another file", out.flag, out.name)
		}
		taken = append(taken, out.name)
	}
	return nil
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
	if c.Also != "unknown" {
		s.facts.Also = verdict.Answer(c.Also)
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
