package actions

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"sapwell/engine/bole"
	"sapwell/engine/host"
	"sapwell/engine/label"
	"sapwell/engine/marks"
	"sapwell/engine/quantity"
	"sapwell/engine/verdict"
	"sapwell/engine/why"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

type planAdjust struct {
	Plan  journal.ID        `json:"plan" doc:"the plan whose marks do not suit"`
	Stem  string            `json:"stem,omitempty" doc:"which stem of the plan, where it has several"`
	Pins  []quantity.Length `json:"pins,omitempty" doc:"tape readings where a mark is to be; the others are spread anew between them"`
	Skips []quantity.Length `json:"skips,omitempty" doc:"tape readings where none can be: a nail, a seam, a fence"`
	Why   string            `json:"why" doc:"what is there, or why the hand knows better"`
}

type planAdjusted struct {
	ID    journal.ID `json:"id"`
	Marks marks.Plan `json:"marks"`
}

// adjustPlan writes a new plan with the marks of one stem moved by hand: the engine
// spreads the others, as many as before, and says what speaks against the hand. Dose,
// depth and opinion stay those of the plan; so do the places of holes that were bored
// by it, with their numbers.
func adjustPlan(d *desk, in planAdjust) (planAdjusted, error) {
	if strings.TrimSpace(in.Why) == "" {
		return planAdjusted{}, refuse(BadInput, "plan.adjust_no_reason", "why", "why: empty; a plan is not altered without a reason")
	}
	a, err := d.adjustment(in)
	if err != nil {
		return planAdjusted{}, err
	}
	placed, err := a.spread(in)
	if err != nil {
		return planAdjusted{}, err
	}
	id, err := d.writeAdjusted(a, in, placed)
	d.note(placed.Findings...)
	return planAdjusted{id, placed}, err
}

// adjustment is a plan on the desk with all that its marks depend on.
type adjustment struct {
	plan  entries.Plan
	stem  int // of the plan
	ring  bole.Ring
	label label.Label
	tick  quantity.Length
	bored []entries.Hole // by this plan, at its marks
}

// adjustment looks up a plan that can still be adjusted.
func (d *desk) adjustment(in planAdjust) (a adjustment, err error) {
	if a.plan, err = d.planEntry(in.Plan, "plan"); err != nil {
		return a, err
	}
	stem, err := d.stemOf(a.plan, in.Stem)
	if err != nil {
		return a, err
	}
	a.stem = slices.IndexFunc(a.plan.Stems, func(s entries.PlanStem) bool { return s.Name == stem.Name })
	if len(stem.Marks) == 0 {
		return a, refuse(Conflict, "tree.no_marks", "plan",
			fmt.Sprintf("plan: the plan of tree %s has no marks", d.tag(a.plan.Tree)), why.T("tag", d.tag(a.plan.Tree)))
	}
	version, err := d.label(a.plan.Label, "plan")
	if err != nil {
		return a, err
	}
	if a.label, err = d.labelOf(version); err != nil {
		return a, err
	}
	if a.tick, err = tickOf(a.plan.Full, a.stem); err != nil {
		return a, err
	}
	return a, d.ringOfPlan(&a, in.Plan, stem.Name)
}

// ringOfPlan fills in the ring that the plan was made for, as it is known now. Holes
// bored by the plan itself are no old ones.
func (d *desk) ringOfPlan(a *adjustment, plan journal.ID, stem string) error {
	t, err := d.standing(a.plan.Tree, "plan")
	if err != nil {
		return err
	}
	if t.Measurement == nil || t.Measurement.Entry != a.plan.Measurement {
		return refuse(Conflict, "plan.adjust_measured", "plan",
			fmt.Sprintf("plan: tree %s was measured again since; plan it anew", t.Facts.Tag), why.T("tag", t.Facts.Tag))
	}
	before := *t
	open, err := openVisits(d, openEnd)
	if err != nil {
		return err
	}
	for _, v := range open {
		if job, ok := jobOf(v, a.plan.Tree); !ok || job.Plan != plan {
			continue
		}
		for _, h := range v.Holes {
			if h.Facts.Tree == a.plan.Tree && h.Facts.Stem == stem && h.Facts.Mark > 0 {
				a.bored = append(a.bored, h.Facts)
			}
		}
		before.Holes = keepIf(before.Holes, func(h views.OldHole) bool { return h.Visit.String() != v.ID })
	}
	p, err := d.past(a.plan.Tree)
	if err != nil {
		return err
	}
	i := stemNamed(t.Measurement.Facts.Stems, stem)
	if i < 0 {
		return fmt.Errorf("plan %s: its measurement has no stem %q", plan, stem)
	}
	a.ring = d.boleOf(&before, p, host.Species{}).Stems[i].Ring
	return nil
}

// tickOf is in what steps the marks of a plan were read off the tape.
func tickOf(full string, stem int) (quantity.Length, error) {
	var answer struct {
		Stems []struct {
			Marks struct {
				Tick quantity.Length `json:"tick"`
			} `json:"marks"`
		} `json:"stems"`
	}
	err := json.Unmarshal([]byte(full), &answer)
	if err != nil || stem >= len(answer.Stems) || answer.Stems[stem].Marks.Tick == 0 {
		return 0, refuse(Conflict, "plan.adjust_bare", "plan", "plan: it was kept without its whole answer; plan the tree anew")
	}
	return answer.Stems[stem].Marks.Tick, nil
}

// spread places the marks anew: with those that were bored and those set by hand where
// they are, and none where there is to be none.
func (a adjustment) spread(in planAdjust) (marks.Plan, error) {
	set := Settings{System: quantity.Metric}
	if a.tick == marks.DefaultRules(quantity.Imperial, a.plan.Day).Tick {
		set.System = quantity.Imperial
	}
	planner := NewPlanner(set)
	job := Job{Label: a.label, Facts: verdict.Circumstances{Date: a.plan.Day}}
	ring := a.ring
	ring.Arcs = slices.Clone(ring.Arcs)
	for i, at := range in.Skips {
		if at < 0 || at > ring.Girth.Around {
			return marks.Plan{}, badValue("input.value", fmt.Sprintf("skips[%d]", i), plainly(at), "want a reading from 0 to "+plainly(ring.Girth.Around))
		}
		ring.Arcs = append(ring.Arcs, a.around(at))
	}
	var pins []marks.Pin
	for _, h := range a.bored {
		pins = append(pins, marks.Pin{At: quantity.Length(h.Around)})
	}
	for _, at := range in.Pins {
		pins = append(pins, marks.Pin{At: at})
	}
	stem := a.plan.Stems[a.stem]
	placed, err := planner.solver.Spread(ring, len(stem.Marks), pins, planner.rules(job, ring.Girth.Height))
	if err != nil {
		return marks.Plan{}, refuse(BadInput, "plan.adjust_unreadable", "plan", "plan: "+err.Error(), why.T("reason", err.Error()))
	}
	if i := slices.IndexFunc(placed.Findings, func(f why.Finding) bool { return f.Severity == why.Block }); i >= 0 {
		return marks.Plan{}, impossibleMarks(placed.Findings[i])
	}
	return placed, a.keepsNumbers(placed)
}

// around is the stretch that a spot to be skipped takes: a tick to each side, beside
// the clearance that every stretch gets (own convention).
func (a adjustment) around(at quantity.Length) bole.Arc {
	girth := a.ring.Girth.Around
	return bole.Arc{From: (at - a.tick + girth) % girth, To: (at + a.tick) % girth, Kind: bole.Defect}
}

func impossibleMarks(f why.Finding) *Refusal {
	return refuse(BadInput, "plan.adjust_impossible", f.Place,
		fmt.Sprintf("%s: %s: the marks cannot be spread so (%s)", f.Place, f.Code, termList(f.Terms)),
		append([]why.Term{why.T("finding", f.Code)}, f.Terms...)...)
}

// keepsNumbers refuses marks among which a hole that was bored would have another
// number than it was noted with.
func (a adjustment) keepsNumbers(placed marks.Plan) error {
	for _, h := range a.bored {
		if h.Mark <= len(placed.Positions) && apart(placed.Positions[h.Mark-1], quantity.Length(h.Around), a.ring.Girth.Around) <= a.tick {
			continue
		}
		return refuse(Conflict, "plan.adjust_bored", "plan",
			fmt.Sprintf("plan: mark %d was bored already and would be another one", h.Mark), why.T("mark", h.Mark))
	}
	return nil
}

// apart is how far two places on a ring are from each other, the shorter way.
func apart(a, b, girth quantity.Length) quantity.Length {
	d := max(a-b, b-a)
	return min(d, girth-d)
}

// writeAdjusted keeps the plan with its new marks.
func (d *desk) writeAdjusted(a adjustment, in planAdjust, placed marks.Plan) (journal.ID, error) {
	body := a.plan
	body.Head = d.now()
	body.Stems = slices.Clone(body.Stems)
	stem := &body.Stems[a.stem]
	stem.Marks, stem.Heights = nil, nil
	for i, at := range placed.Positions {
		stem.Marks = append(stem.Marks, int64(at))
		stem.Heights = append(stem.Heights, int64(a.ring.Girth.Height+placed.Raise[i]))
	}
	body.Findings = slices.Clone(body.Findings)
	for _, f := range placed.Findings {
		if !slices.Contains(body.Findings, f.Code) {
			body.Findings = append(body.Findings, f.Code)
		}
		if f.Severity == why.Warn && body.Overall == string(verdict.NothingFound) {
			body.Overall = string(verdict.Caution)
		}
	}
	var err error
	if body.Full, err = adjustedFull(a, in, placed); err != nil {
		return journal.ID{}, err
	}
	return d.write(body)
}

// adjustedFull is the whole answer of the plan with the marks of the stem replaced, and
// what was asked for by hand.
func adjustedFull(a adjustment, in planAdjust, placed marks.Plan) (string, error) {
	var answer map[string]json.RawMessage
	var stems []map[string]json.RawMessage
	err := json.Unmarshal([]byte(a.plan.Full), &answer)
	if err == nil {
		err = json.Unmarshal(answer["stems"], &stems)
	}
	if err == nil {
		stems[a.stem]["marks"], err = json.Marshal(placed)
	}
	if err == nil {
		answer["stems"], err = json.Marshal(stems)
	}
	if err == nil {
		answer["adjusted"], err = json.Marshal(in)
	}
	if err != nil {
		return "", fmt.Errorf("the whole answer of plan %s: %w", in.Plan, err)
	}
	full, err := json.Marshal(answer)
	return string(full), err
}
