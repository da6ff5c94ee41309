package dose

import (
	"sapwell/engine/label"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// byClass: the row of the label's table in which the reading lies. Between two
// rows there is no dose.
func (j job) byClass() plan {
	row, fs := j.row()
	if fs != nil {
		return none(fs...)
	}
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
	case row.Units > 0 && row.Total > 0:
		return j.rowOfBoth(row, rule)
	case row.Units > 0:
		p := plan{units: row.Units, holes: row.Units, rule: rule}
		p.fills, p.findings = j.alike(row.Units)
		return p
	case row.Total > 0:
		rule.Result = why.T("stated", row.Total)
		return j.rowTotal(row, rule)
	}
	return none(block("dose.rate_missing", "rate.classes"))
}

// rowOfBoth fills a row that prints a count and a total: just so many units must
// come to just that.
func (j job) rowOfBoth(row label.Class, rule why.Reason) plan {
	p := plan{units: row.Units, holes: row.Units, stated: row.Total, rule: rule}
	var made int
	p.fills, _ = pick(windowOf(row.Total, 0, exactly), j.sizes(), row.Units, 0)
	for _, f := range p.fills {
		made += f.Units
	}
	if made != row.Units {
		return none(notFromUnits("rate.classes", row.Total))
	}
	return p
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
	return j.fill(row.Total, rule, how, 0)
}

// row finds the row of the reading, or says whether it lies in a gap or beyond
// the ends of the table. A bound that ends one row and starts another belongs
// to the upper one.
func (j job) row() (label.Class, []why.Finding) {
	x, fs := j.reading()
	if fs != nil {
		return label.Class{}, fs
	}
	var hit label.Class
	var under, over *label.Class // the nearest rows below and above the reading
	found := false
	for i := range j.l.Rate.Classes {
		c := &j.l.Rate.Classes[i]
		switch {
		case c.To < x:
			if under == nil || c.To > under.To {
				under = c
			}
		case c.From > x:
			if over == nil || c.From < over.From {
				over = c
			}
		case found && min(hit.To, c.To) != max(hit.From, c.From):
			return hit, []why.Finding{j.offTable("label.table_overlap", max(hit.From, c.From), min(hit.To, c.To))}
		case !found || c.From > hit.From:
			hit, found = *c, true
		}
	}
	switch {
	case found:
		return hit, nil
	case under != nil && over != nil:
		return hit, []why.Finding{j.offTable("label.table_gap", under.To, over.From)}
	}
	return hit, []why.Finding{block("dose.outside_table", "rate.classes", j.measure())}
}

// offTable is a reading where the table has no row, or two.
func (j job) offTable(code string, low, high quantity.Length) why.Finding {
	return block(code, "rate.classes", j.measure(), why.T("low", low), why.T("high", high))
}

// reading is what the label says to measure, girth or diameter, in the whole
// steps in which the label says to read it.
func (j job) reading() (quantity.Length, []why.Finding) {
	x := j.around
	if j.l.Rate.Measure.What != "girth" {
		x = j.diameter()
	}
	r := j.l.Rate.Readings
	switch {
	case r == nil:
		return x, nil
	case r.Step <= 0:
		return 0, []why.Finding{block("dose.rate_missing", "rate.readings.step")}
	case !rounds(r.Rounding):
		return 0, []why.Finding{block("label.rounding_unspecified", "rate.readings.rounding")}
	}
	return quantity.Length(count(x, r.Step, r.Rounding)) * r.Step, nil
}

func (j job) measure() why.Term {
	if j.l.Rate.Measure.What == "girth" {
		return why.T("girth", j.around)
	}
	return why.T("diameter", j.diameter())
}
