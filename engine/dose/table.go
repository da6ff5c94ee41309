package dose

import (
	"sapwell/engine/label"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// byClass: the row of the label's table in which the reading lies. Between two
// rows there is no dose.
func (j job) byClass() plan {
	i, fs := j.row()
	if fs != nil {
		return none(fs...)
	}
	row := j.l.Rate.Classes[i]
	rule := why.Reason{
		Rule: "dose." + string(label.ByClass), Result: why.T("units", row.Units), Source: why.TheLabel,
		Inputs: append([]why.Term{j.measure(), why.T("class_from", row.From), why.T("class_to", row.To)}, ofLabel(j.l)...),
	}
	if r := j.l.Rate.Readings; r != nil {
		rule.Rounding = string(r.Rounding)
	}
	switch {
	case row.Units > maxUnits:
		return none(tooMany("rate.classes", int64(row.Units)))
	case row.Units > 0 && row.Total == 0:
		p := plan{units: row.Units, holes: row.Units, rule: rule}
		p.fills, p.findings = j.alike(row.Units)
		return p
	case row.Total > 0 && row.Units == 0:
		rule.Result = why.T("stated", row.Total)
		return j.rowTotal(row, rule)
	}
	return none(block("dose.rate_missing", "rate.classes"))
}

// rowTotal fills a row that prints a total: just that total if units make it,
// otherwise as the label rounds.
func (j job) rowTotal(row label.Class, rule why.Reason) plan {
	if p := j.fill(row.Total, rule, exactly, 0); p.units > 0 {
		return p
	}
	how, fs := j.rounding()
	if fs != nil {
		return none(fs...)
	}
	rule.Rounding = string(how)
	return j.fill(row.Total, rule, how, 0)
}

// row finds the row of the reading, or says whether it lies in a gap or beyond
// the ends of the table.
func (j job) row() (int, []why.Finding) {
	rate, x := j.l.Rate, j.reading()
	if r := rate.Readings; r != nil && (r.Step <= 0 || !rounds(r.Rounding)) {
		return 0, []why.Finding{block("label.rounding_unspecified", "rate.readings")}
	}
	if i, ok := rate.ClassOf(x); ok {
		return i, nil
	}
	if rate.Readings != nil {
		x = rate.Readings.Read(x)
	}
	below, above := false, false
	for _, c := range rate.Classes {
		below = below || c.To < x
		above = above || c.From > x
	}
	code := "dose.outside_table"
	if below && above {
		code = "label.table_gap"
	}
	return 0, []why.Finding{block(code, "rate.classes", j.measure())}
}

// reading is what the label says to measure: the girth, or its diameter.
func (j job) reading() quantity.Length {
	if j.l.Rate.Measure.What == "girth" {
		return j.around
	}
	return diameterOf(j.around)
}

func (j job) measure() why.Term {
	if j.l.Rate.Measure.What == "girth" {
		return why.T("girth", j.around)
	}
	return why.T("diameter", diameterOf(j.around))
}
