package pocket

import (
	"encoding/json"

	"sapwell/actions"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/store"
	"sapwell/views"
)

type foreseeInput struct {
	Tree    journal.ID      `json:"tree"`
	Visit   journal.ID      `json:"visit,omitzero"`
	Stem    string          `json:"stem,omitempty"`
	Measure json.RawMessage `json:"measure"` // as tree.measure takes it
	Plan    json.RawMessage `json:"plan"`    // as tree.plan takes it
	Now     int64           `json:"now"`
}

// foreseen is what a measure would come to.
type foreseen struct {
	Overall string    `json:"overall"` // what the plan says: verdict.Overall
	Units   int       `json:"units"`   // of the stem
	Ring    ringShown `json:"ring"`
}

// foresee measures and plans a tree, and keeps nothing of it: while somebody types,
// the marks stand already where they would come.
func (p *Pocket) foresee(in foreseeInput) (out foreseen, err error) {
	out.Ring.Readings = []string{}
	if err := p.writes(); err != nil {
		return out, err
	}
	err = p.read(func(v store.Reader) error {
		over := overlay{Reader: v, tree: in.Tree}
		if err := p.suppose(&over, "tree.measure", in.Measure, in.Now); err != nil {
			return err
		}
		if err := p.suppose(&over, "tree.plan", in.Plan, in.Now); err != nil {
			return err
		}
		out.Overall = over.plan.Overall
		for _, s := range over.plan.Stems {
			if s.Name == in.Stem {
				out.Units = s.Units
			}
		}
		out.Ring.Ring, err = actions.RingOf(over, actions.RingAsked{
			Tree: in.Tree, Plan: over.entry.ID, Visit: in.Visit, Stem: in.Stem, Now: in.Now,
		})
		return err
	})
	for _, m := range out.Ring.Marks {
		out.Ring.Readings = append(out.Ring.Readings, m.At.Tape(p.style))
	}
	return out, err
}

// overlay is a moment of the journal in which one tree was measured and planned more.
type overlay struct {
	store.Reader
	tree  journal.ID
	row   *views.Row    // of the tree, as it is supposed to be measured
	entry journal.Entry // the last that is supposed
	plan  entries.Plan
}

// suppose does a deed on the overlay and notes what it writes there.
func (p *Pocket) suppose(over *overlay, name string, input json.RawMessage, now int64) error {
	m := p.moment(now)
	m.Supposed = true
	outcome, err := p.do(over, m, deedInput{Name: name, Input: input})
	if err != nil {
		return err
	}
	for _, draft := range outcome.Drafts {
		// No line is made and nothing signed: nobody else will ever see it.
		over.entry = journal.Entry{ID: draft.ID, Device: p.device, Time: draft.Time, Kind: draft.Kind, Body: draft.Body}
		read, err := entries.Read(over.entry)
		if err != nil {
			return err
		}
		switch body := read.Body.(type) {
		case entries.Measurement:
			if err := over.measure(&views.Measured{Entry: draft.ID, Facts: body}); err != nil {
				return err
			}
		case entries.Plan:
			over.plan = body
		}
	}
	return nil
}

// measure has the tree measured so from now on.
func (o *overlay) measure(m *views.Measured) error {
	row, ok, err := o.Reader.View(o.subject())
	if err != nil || !ok {
		return err
	}
	state, err := views.Read(row)
	if err != nil {
		return err
	}
	if t, is := state.(*views.Tree); is {
		t.Measurement = m
		row.State, err = json.Marshal(t)
		o.row = &row
	}
	return err
}

func (o overlay) subject() entries.Subject {
	return entries.Subject{Kind: entries.OfTree, ID: o.tree.String()}
}

// View is that of the moment, but for what is supposed of the tree.
func (o overlay) View(s entries.Subject) (views.Row, bool, error) {
	if o.row != nil && s == o.subject() {
		return *o.row, true, nil
	}
	return o.Reader.View(s)
}

// Entry is that of the moment, or the one that is supposed.
func (o overlay) Entry(id journal.ID) (journal.Entry, bool, error) {
	if id == o.entry.ID {
		return o.entry, true, nil
	}
	return o.Reader.Entry(id)
}
