package words

import (
	"strings"

	"sapwell/engine/why"
)

// maxDepth is deeper than any chain of reasons; it ends one that holds itself.
const maxDepth = 20

// Reason prints a reason and the reasons below it, one line each, indented two
// spaces a level: result, rule, inputs, rounding, source.
func (p *Printer) Reason(r why.Reason) []string { return p.reason(r, 0) }

func (p *Printer) reason(r why.Reason, depth int) []string {
	lines := []string{strings.Repeat("  ", depth) + p.line(r)}
	if depth == maxDepth {
		return lines
	}
	for _, b := range r.Because {
		lines = append(lines, p.reason(b, depth+1)...)
	}
	return lines
}

// line prints one reason: "Units: 17 - one for each 6 in of girth; girth 97 in,
// spacing 6 in; rounded up; source: the product label".
func (p *Printer) line(r why.Reason) string {
	parts := []string{p.Say("rule."+r.Rule, append([]why.Term{r.Result}, r.Inputs...)...)}
	if len(r.Inputs) > 0 {
		parts = append(parts, p.terms(r.Inputs))
	}
	if r.Rounding != "" {
		parts = append(parts, p.Say("rounding."+r.Rounding))
	}
	if r.Low != nil || r.High != nil {
		parts = append(parts, p.Say("reason.range", why.T("low", r.Low), why.T("high", r.High)))
	}
	if r.Source != "" {
		parts = append(parts, p.Say("reason.source", why.T("source", p.Source(r.Source))))
	}
	result := p.Say("reason.result", why.T("name", p.Say("term."+r.Result.Name)), why.T("value", p.Value(r.Result.Value)))
	return result + strings.Join(parts, "; ")
}

// terms prints "girth 97 in, spacing 6 in".
func (p *Printer) terms(ts []why.Term) string {
	var list []string
	for _, t := range ts {
		list = append(list, p.Say("term."+t.Name)+" "+p.Value(t.Value))
	}
	mark := ", "
	if p.Style.DecimalComma {
		mark = "; "
	}
	return strings.Join(list, mark)
}
