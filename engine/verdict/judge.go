package verdict

import (
	"reflect"
	"slices"

	"sapwell/engine/why"
)

// Rules lists every check, in the order in which findings are reported.
func Rules() []Rule {
	return slices.Concat(
		siteRules(), authorityRules(), demandRules(), pestRules(), doseRules(), intervalRules(), bloomRules(),
		foodRules(), peopleRules(), canopyRules(), weatherRules(), seasonRules(),
		lotRules(), resistanceRules(), answerRules(),
	)
}

// Judge runs every rule that holds where the case lies.
func Judge(c Case) Opinion {
	var o Opinion
	run := 0
	for _, r := range Rules() {
		if r.In != nil && !slices.Contains(r.In, c.law()) {
			continue
		}
		run++
		for _, f := range r.Check(c) {
			o.put(r, f)
		}
	}
	slices.SortStableFunc(o.Findings, func(a, b why.Finding) int { return grave(a) - grave(b) })
	o.Overall = overall(o.Findings)
	o.Why = reason(o, run)
	return o
}

// put files a finding of a rule: as a note, an open question or a finding. What
// two rules report in the same words is kept once.
func (o *Opinion) put(r Rule, f why.Finding) {
	if f.Code == "" {
		f.Code = r.Code
	}
	if f.Source == "" {
		f.Source = r.Source
	}
	list := &o.Findings
	switch {
	case f.Severity == why.Note:
		list = &o.Notes
	case r.Open:
		list = &o.Open
	}
	same := func(g why.Finding) bool { return reflect.DeepEqual(f, g) }
	if !slices.ContainsFunc(*list, same) {
		*list = append(*list, f)
	}
}

// grave orders severities, gravest first.
func grave(f why.Finding) int {
	return slices.Index([]why.Severity{why.Block, why.Ask, why.Warn, why.Note}, f.Severity)
}

// overall takes findings sorted gravest first.
func overall(fs []why.Finding) Overall {
	if len(fs) == 0 {
		return NothingFound
	}
	switch fs[0].Severity {
	case why.Block:
		return Stop
	case why.Ask:
		return AskFirst
	}
	return Caution
}

// reason names how many rules ran and what each finding rests on.
func reason(o Opinion, run int) why.Reason {
	r := why.Reason{
		Rule: "verdict.overall", Result: why.T("overall", string(o.Overall)), Source: why.Own,
		Inputs: []why.Term{why.T("checks", run), why.T("findings", len(o.Findings)), why.T("open_questions", len(o.Open))},
	}
	for _, f := range o.Findings {
		r.Because = append(r.Because, why.Reason{
			Rule: "verdict.check", Result: why.T("finding", f.Code), Inputs: f.Terms, Source: f.Source,
		})
	}
	return r
}

// from names another source than the rule's for findings.
func from(source why.Source, fs []why.Finding) []why.Finding {
	for i := range fs {
		fs[i].Source = source
	}
	return fs
}

// report is one finding with the rule's own code and source.
func report(s why.Severity, place string, terms ...why.Term) []why.Finding {
	return []why.Finding{{Severity: s, Place: place, Terms: terms}}
}
