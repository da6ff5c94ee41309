// Package actions answers: what does one deed do, from input to outcome?
//
// A Deed is looked at by who does it, reads its input strictly, looks at the
// present through a Reader, and says what is to be written, or why not. It keeps
// nothing and knows no clock, no chance and no store: these come in with the
// Moment and the Reader. doc/deeds.md lists the deeds. Admit says what a device
// may add to a journal; Planner puts the questions to the engine in the order of
// the work (dose, marks, bore, drain, verdict) and holds the answers together. It
// computes nothing itself.
package actions

import (
	"reflect"
	"slices"

	"sapwell/engine/bole"
	"sapwell/engine/bore"
	"sapwell/engine/dose"
	"sapwell/engine/drain"
	"sapwell/engine/label"
	"sapwell/engine/marks"
	"sapwell/engine/quantity"
	"sapwell/engine/verdict"
	"sapwell/engine/why"
)

// Settings hold for a whole list of trees.
type Settings struct {
	System   quantity.System // which tape and which drill stops the crew has
	Altitude quantity.Length // of the place, above sea level
	Bands    verdict.Bands   // cut points of canopy loss; zero: the default ones
	Timed    []drain.Timed   // the crew's own timed drains
	Size     quantity.Volume // unit size where a label counts units and sells several; 0: none chosen
}

// Job is one tree to plan.
type Job struct {
	Tree  bole.Tree
	Facts verdict.Circumstances
	Label label.Label
}

// Plan is what is known of a tree before anyone drills.
type Plan struct {
	Tag     string          `json:"tag"`
	Host    string          `json:"host"`
	Label   string          `json:"label"`
	Opinion verdict.Opinion `json:"opinion"`
	Stems   []StemPlan      `json:"stems"`
	// Equivalent is the diameter of one stem of the same basal area, for reports
	// on trees of several stems; nil unless each was measured at breast height.
	Equivalent *quantity.Length `json:"equivalent_diameter,omitempty"`
}

// Go reports whether nothing found forbids the work. It is no permission.
func (p Plan) Go() bool { return p.Opinion.Overall != verdict.Stop }

// Total is what the tree would be given.
func (p Plan) Total() (total quantity.Volume) {
	for _, s := range p.Stems {
		total += s.Dose.Total
	}
	return total
}

// Bare is the plan without its explanations.
func (p Plan) Bare() Plan {
	p.Opinion.Why = why.Reason{}
	p.Stems = slices.Clone(p.Stems)
	for i, s := range p.Stems {
		s.Dose.Why = why.Reason{}
		if s.Marks != nil {
			m := *s.Marks
			m.Why, s.Marks = why.Reason{}, &m
		}
		if s.Bore != nil {
			b := *s.Bore
			b.Why, s.Bore = why.Reason{}, &b
		}
		if s.Unit != nil {
			s.Unit = s.Unit.bare()
		}
		p.Stems[i] = s
	}
	return p
}

// StemPlan is the plan of one ring of holes. Marks, Bore and Unit are nil where
// an earlier answer leaves nothing to ask: no count, no marks.
type StemPlan struct {
	Name  string       `json:"stem,omitempty"`
	Girth bole.Girth   `json:"girth"`
	Zero  bole.Zero    `json:"zero"` // where the tape starts and which way it runs
	Dose  dose.Result  `json:"dose"`
	Marks *marks.Plan  `json:"marks,omitempty"`
	Bore  *bore.Result `json:"bore,omitempty"`
	Unit  *UnitOutlook `json:"unit,omitempty"`
}

// Planner plans trees, one after the other; each goroutine needs its own.
type Planner struct {
	settings Settings
	solver   marks.Solver
	outlooks map[outlookKey]UnitOutlook
}

// NewPlanner makes a Planner.
func NewPlanner(s Settings) *Planner {
	return &Planner{settings: s, outlooks: map[outlookKey]UnitOutlook{}}
}

// Tree plans one tree. What is wrong with its measures or cannot be placed comes
// back as findings of the opinion, never as a plan that looks sound.
func (p *Planner) Tree(job Job) Plan {
	plan := Plan{Tag: job.Tree.Tag, Host: job.Tree.Species.Scientific, Label: job.Label.ID, Equivalent: equivalent(job.Tree.Stems)}
	doses := make([]dose.Result, len(job.Tree.Stems))
	for i, stem := range job.Tree.Stems {
		doses[i] = dose.Compute(dose.Input{Label: job.Label, Girths: stem.Girths(), Tape: p.tapeDoubt(), Size: p.size(job.Label)})
	}
	ofStems := make([][]why.Finding, len(job.Tree.Stems))
	for i, stem := range job.Tree.Stems {
		var s StemPlan
		s, ofStems[i] = p.stem(job, stem, doses[i])
		plan.Stems = append(plan.Stems, s)
	}
	plan.Opinion = verdict.Judge(verdict.Case{
		Circumstances: job.Facts, Species: job.Tree.Species, Stems: job.Tree.Stems,
		Label: job.Label, Doses: doses, Bands: p.settings.Bands, Found: named(ofStems, job.Tree.Stems),
	})
	return plan
}

func equivalent(stems []bole.Stem) *quantity.Length {
	var ds []quantity.Length
	for _, s := range stems {
		if s.Breast == nil || !s.Breast.AtBreastHeight() {
			return nil
		}
		ds = append(ds, s.Breast.Diameter())
	}
	if len(ds) < 2 {
		return nil
	}
	d := bole.EquivalentDiameter(ds)
	return &d
}

// named tells which stem each finding speaks of; what is found alike on all of
// them is said once, of the tree.
func named(ofStems [][]why.Finding, stems []bole.Stem) (all []why.Finding) {
	if len(ofStems) == 1 {
		return ofStems[0]
	}
	for i, fs := range ofStems {
		for _, f := range fs {
			onAll := !slices.ContainsFunc(ofStems, func(other []why.Finding) bool {
				return !slices.ContainsFunc(other, func(g why.Finding) bool { return reflect.DeepEqual(f, g) })
			})
			switch {
			case !onAll:
				all = append(all, bole.OfStem(f, stems, i))
			case i == 0:
				all = append(all, f)
			}
		}
	}
	return all
}

// stem plans the holes of one stem. A stem that gets no count gets no marks, but
// its drill is set all the same: it depends on bark and label alone.
func (p *Planner) stem(job Job, stem bole.Stem, d dose.Result) (StemPlan, []why.Finding) {
	s := StemPlan{Name: stem.Name, Girth: stem.Ring.Girth, Zero: stem.Ring.Zero, Dose: d}
	set := bore.Compute(bore.Input{
		Species: job.Tree.Species, Girth: stem.Ring.Girth, Bark: stem.Bark,
		Hole: job.Label.Hole, Holes: d.Holes, Step: p.stopStep(),
	})
	s.Bore = &set
	found := set.Findings
	if d.Holes == 0 {
		return s, found
	}
	placed, err := p.solver.Place(stem.Ring, d.Holes, p.rules(job, stem.Ring.Girth.Height))
	if err != nil { // the ring cannot be read at all: its own check says why as well
		return s, append(found, unreadable(err))
	}
	s.Marks = &placed
	unit := p.outlook(job, d)
	s.Unit = &unit
	return s, slices.Concat(found, placed.Findings, unit.Forecast.Findings)
}

// unreadable turns a ring that marks refuses into a finding that blocks.
func unreadable(err error) why.Finding {
	return why.Finding{
		Code: "plan.ring_unreadable", Severity: why.Block, Place: "ring", Source: why.Own,
		Terms: []why.Term{why.T("reason", err.Error())},
	}
}

// rules are the default ones, with the label's least spacing where it has one.
// A mark that is set higher stays below the label's highest hole.
func (p *Planner) rules(job Job, height quantity.Length) marks.Rules {
	r := marks.DefaultRules(p.settings.System, job.Facts.Date)
	if highest := job.Label.Hole.HeightMax; highest > 0 {
		r.RaiseBy = max(0, min(r.RaiseBy, highest-height))
	}
	if least := job.Label.Hole.MinSpacing; least > 0 {
		r.MinGap = least
	}
	return r
}

// size is the chosen unit size, if the label sells it.
func (p *Planner) size(l label.Label) quantity.Volume {
	if slices.Contains(l.Unit.Fills, p.settings.Size) {
		return p.settings.Size
	}
	return 0
}

// tapeDoubt is how far a tape reading may be off: common practice, no source.
func (p *Planner) tapeDoubt() quantity.Length {
	if p.settings.System == quantity.Imperial {
		return quantity.Inch / 2
	}
	return quantity.Centimetre
}

// stopStep is the step in which a crew sets a drill stop.
func (p *Planner) stopStep() quantity.Length {
	if p.settings.System == quantity.Imperial {
		return quantity.Inch / 16
	}
	return quantity.Millimetre
}
