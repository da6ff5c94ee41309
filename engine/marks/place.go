package marks

import (
	"slices"
	"strconv"

	"sapwell/engine/bole"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// Place plans count marks on the ring. Where they do not fit, the plan has no
// positions and a finding that blocks it; an error means that the ring, the
// count or the rules cannot be read.
func (s *Solver) Place(ring bole.Ring, count int, rules Rules) (Plan, error) {
	g, in, plan, err := stage(ring, count, rules)
	if err != nil {
		return Plan{}, err
	}
	sol, err := s.Solve(in)
	if err != nil {
		return Plan{}, err
	}
	plan.Most, plan.Cost = sol.Most, sol.Cost
	plan.lay(g, sol.Positions, rules)
	share := s.blockedPercent(in)
	if !sol.Feasible {
		plan.find("marks.too_many", why.Block, "count",
			why.T("wanted", count), why.T("most", sol.Most),
			why.T("min_gap", rules.MinGap), why.T("blocked_percent", share))
	}
	plan.explain(g, rules, share)
	return plan, nil
}

// stage reads ring and rules and starts a plan.
func stage(ring bole.Ring, count int, rules Rules) (grid, Instance, Plan, error) {
	if err := rules.check(); err != nil {
		return grid{}, Instance{}, Plan{}, err
	}
	g, err := newGrid(ring, rules)
	if err != nil {
		return grid{}, Instance{}, Plan{}, err
	}
	if err := g.checkRing(ring); err != nil {
		return grid{}, Instance{}, Plan{}, err
	}
	arcs, blocked := g.blocked(ring, rules)
	in := g.instance(ring, count, rules, arcs)
	return g, in, Plan{Ring: ring, Tick: rules.Tick, Wanted: count, Blocked: blocked}, in.check()
}

// lay turns ticks into tape readings, gaps and heights.
func (p *Plan) lay(g grid, ticks []int, rules Rules) {
	n := len(ticks)
	p.Positions = make([]quantity.Length, n)
	p.Gaps = make([]quantity.Length, n)
	p.Raise = make([]quantity.Length, n)
	for i, x := range ticks {
		p.Positions[i] = g.at(x)
		if p.nearColumn(g, g.at(x), rules.ColumnNear) {
			p.Raise[i] = rules.RaiseBy
		}
	}
	for i, x := range p.Positions {
		if i+1 < n {
			p.Gaps[i] = p.Positions[i+1] - x
		} else {
			p.Gaps[i] = g.girth - x + p.Positions[0]
		}
	}
}

// nearColumn reports whether at lies within near of the column of wood above
// and below an old hole. Such a mark is set higher, so that two holes do not
// end the same files of conducting wood at one height [own convention].
func (p *Plan) nearColumn(g grid, at, near quantity.Length) bool {
	return slices.ContainsFunc(p.Ring.Wounds, func(w bole.Wound) bool {
		d := max(at-w.At, w.At-at)
		return min(d, g.girth-d) <= near
	})
}

// explain adds what there is to say about the plan.
func (p *Plan) explain(g grid, rules Rules, share int) {
	even := g.girth / quantity.Length(p.Wanted)
	p.Why = why.Reason{
		Rule:   "marks.spread",
		Result: why.T("gap", nil),
		Inputs: []why.Term{
			why.T("count", p.Wanted), why.T("girth", g.girth), why.T("even_gap", even),
			why.T("min_gap", rules.MinGap), why.T("clearance", rules.Clearance), why.T("tick", rules.Tick),
			why.T("arcs", len(p.Ring.Arcs)), why.T("old_holes", len(p.Ring.Wounds)), why.T("fissures", len(p.Ring.Fissures)),
			why.T("blocked_percent", share),
		},
		Source: why.Own,
	}
	if len(p.Positions) == 0 {
		p.nameBlocked()
		return
	}
	p.Why.Result.Value = even
	p.Why.Low, p.Why.High = slices.Min(p.Gaps), slices.Max(p.Gaps)
	p.wideGaps(even)
	if 3*share >= 100 {
		p.find("marks.little_live", why.Warn, "", why.T("blocked_percent", share))
	}
}

// nameBlocked says what stands in the way: a note for each of the three widest
// blocked stretches.
func (p *Plan) nameBlocked() {
	wide := slices.Clone(p.Blocked)
	slices.SortStableFunc(wide, func(a, b Blocked) int { return int(p.width(b) - p.width(a)) })
	for _, b := range wide[:min(3, len(wide))] {
		p.find("marks.blocked."+b.Kind, why.Note, b.place(), why.T("from", b.From), why.T("to", b.To))
	}
}

// width is how much of the tape b takes.
func (p *Plan) width(b Blocked) quantity.Length {
	if w := b.To - b.From; w >= 0 {
		return w
	}
	return b.To - b.From + p.Ring.Girth.Around
}

// wideGaps warns of gaps over one and a half times the even one: wood between
// them may get little, since it conducts in narrow sectors [own convention].
func (p *Plan) wideGaps(even quantity.Length) {
	for i, gap := range p.Gaps {
		if len(p.Gaps) > 1 && 2*gap > 3*even {
			next := p.Positions[(i+1)%len(p.Positions)]
			p.find("marks.wide_gap", why.Warn, place("marks", i), why.T("gap", gap),
				why.T("from", p.Positions[i]), why.T("to", next), why.T("even_gap", even))
		}
	}
}

// place is where b was entered.
func (b Blocked) place() string {
	if b.Kind == woundKind {
		return place("wounds", b.Of)
	}
	return place("arcs", b.Of)
}

func place(list string, i int) string { return list + "[" + strconv.Itoa(i) + "]" }

func (p *Plan) find(code string, sev why.Severity, place string, terms ...why.Term) {
	p.Findings = append(p.Findings, why.Finding{Code: code, Severity: sev, Place: place, Terms: terms, Source: why.Own})
}

// blockedPercent is the share of ticks on which no hole may go, rounded up.
func (s *Solver) blockedPercent(in Instance) int {
	if len(in.Forbidden) == 0 {
		return 0
	}
	shut := 0
	for _, ok := range s.open {
		shut += 1 - one(ok)
	}
	return (100*shut + in.N - 1) / in.N
}
