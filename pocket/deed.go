package pocket

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"

	"sapwell/actions"
	"sapwell/engine/why"
	"sapwell/journal"
	"sapwell/records"
	"sapwell/store"
	"sapwell/store/mem"
	"sapwell/words"
)

type deedInput struct {
	Name  string          `json:"name"`
	Input json.RawMessage `json:"input"`
	Now   int64           `json:"now"` // ms since 1970
}

type done struct {
	Result   any             `json:"result"`
	IDs      []journal.ID    `json:"ids"`
	Lines    []Kept          `json:"lines"` // to be kept by the caller before it shows the deed as done
	Findings []words.Finding `json:"findings"`
}

// deed does a deed and writes its entries. The caller has to keep the lines; if it
// cannot, it has to start anew and load what it did keep. Then the deed is not done,
// and nobody has seen its lines.
func (p *Pocket) deed(in deedInput) (done, error) {
	outcome, err := p.decide(in)
	if err != nil {
		return done{}, err
	}
	lines, err := p.write(outcome.Drafts)
	if err != nil {
		return done{}, err
	}
	return p.tell(outcome, lines), nil
}

// try does a deed and keeps nothing of it.
func (p *Pocket) try(in deedInput) (done, error) {
	outcome, err := p.decide(in)
	if err != nil {
		return done{}, err
	}
	return p.tell(outcome, []Kept{}), nil
}

func (p *Pocket) decide(in deedInput) (outcome actions.Outcome, err error) {
	if err := p.writes(); err != nil {
		return outcome, err
	}
	err = p.read(func(v store.Reader) (err error) {
		outcome, err = p.do(v, p.moment(in.Now), in)
		return err
	})
	return outcome, err
}

// do does a deed by what is known there.
func (p *Pocket) do(v actions.Reader, m actions.Moment, in deedInput) (actions.Outcome, error) {
	i := slices.IndexFunc(p.deeds, func(d actions.Deed) bool { return d.Name == in.Name })
	if i < 0 {
		return actions.Outcome{}, refuse("pocket.no_deed", "name", fmt.Sprintf("there is no deed %q", in.Name), why.T("name", in.Name))
	}
	return p.deeds[i].Do(m, v, in.Input)
}

func (p *Pocket) moment(now int64) actions.Moment {
	return actions.Moment{
		By: p.person, Device: p.device, Now: now, Zone: p.zone, KeepAt: records.KeepAt,
		NewID:  func() (journal.ID, error) { return p.ids.next(now) },
		Labels: p.labels,
	}
}

func (p *Pocket) tell(outcome actions.Outcome, lines []Kept) done {
	d := done{Result: outcome.Result, IDs: []journal.ID{}, Lines: lines, Findings: p.say.Findings(outcome.Findings)}
	for _, draft := range outcome.Drafts {
		d.IDs = append(d.IDs, draft.ID)
	}
	return d
}

// write signs drafts as the next entries of this device and folds them in: all or,
// with an error, none.
func (p *Pocket) write(drafts []journal.Draft) ([]Kept, error) {
	tip := p.ledger.Last(p.device)
	last, held := journal.Known{Device: tip.Device, Hash: tip.Hash(), Seq: tip.Seq}, tip.Held
	lines := make([]Kept, len(drafts))
	lent := make([]mem.Lent, len(drafts))
	for i, draft := range drafts {
		e, err := journal.Next(p.key, last, draft)
		if err == nil {
			err = e.SignedBy(p.public())
		}
		if err != nil {
			return nil, err
		}
		last, held = journal.Known{Device: e.Device, Hash: e.Hash(), Seq: e.Seq}, max(held, e.Time)
		lines[i], lent[i] = Kept{string(e.Line), held}, mem.Lent{Line: e.Line, Time: held}
	}
	refused, err := p.ledger.Lend(context.Background(), lent)
	if err == nil && len(refused) > 0 {
		err = refused[0]
	}
	return lines, err
}
