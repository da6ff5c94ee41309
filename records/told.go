package records

import (
	"cmp"
	"encoding/json"
	"maps"
	"slices"
	"strconv"
	"strings"

	"sapwell/engine/quantity"
	"sapwell/views"
)

// told puts in what somebody told for the record, the nearest to the work first.
func (w *work) told(s sheet) {
	near := []*views.Common{&w.Visit.Common, &w.tree.Common}
	for _, b := range w.bags {
		near = append(near, &b.Common)
	}
	for _, l := range w.lots {
		near = append(near, &l.Common)
	}
	w.reported(s, &w.Visit.Common, &w.Grounds.Common, &w.Org.Common)
	for _, c := range append(near, &w.version.View.Common, &w.Grounds.Common, &w.Org.Common) {
		for _, name := range slices.Sorted(maps.Keys(c.Told)) {
			if t := c.Told[name]; t.Text != "" && !periodic(Field(name)) {
				s.put(Field(name), reading(Field(name), t.Text))
				if name == profilesField {
					s.put("profiles_why", t.Why)
				}
			}
		}
	}
}

// profilesField is the field whose told fact overrules the choice by place.
const profilesField = "profiles"

// reported finds that the report of the work's own month or year was sent. It is
// told under the field with the period behind it, "reports.ca_monthly.2026-05"; a
// bare one counts where it was sent on or after the day of the work. What is no day
// stands there only where no day does: the check then says so.
func (w *work) reported(s sheet, from ...*views.Common) {
	for _, d := range all().reports() {
		unread := ""
		for _, name := range []string{string(d.Done) + "." + d.period(w.day), string(d.Done)} {
			for _, c := range from {
				text := c.Told[name].Text
				switch sent, ok := day(text); {
				case !ok:
					unread = cmp.Or(unread, text)
				case name != string(d.Done) || !sent.Before(w.day):
					s.put(d.Done, text)
				}
			}
		}
		s.put(d.Done, unread)
	}
}

// reports are the duties that cover a month or a year.
func (b book) reports() []duty {
	var list []duty
	for _, j := range b.jurisdictions {
		for _, v := range j.Versions {
			for _, d := range v.Duties {
				if d.Per == "month" || d.Per == "year" {
					list = append(list, d)
				}
			}
		}
	}
	return list
}

// periodic reports whether a told field is about a report.
func periodic(f Field) bool {
	for _, d := range all().reports() {
		if f == d.Done || strings.HasPrefix(string(f), string(d.Done)+".") {
			return true
		}
	}
	return false
}

// period is the month or year of the work that a report covers.
func (d duty) period(work quantity.Date) string {
	switch d.Per {
	case "day":
		return work.String()
	case "month":
		return work.Format("2006-01")
	case "year":
		return work.Format("2006")
	}
	return ""
}

// reading reads a told text as what the profiles want it to be. What cannot be read
// so stays a text: then the check finds it malformed.
func reading(f Field, text string) any {
	text = strings.TrimSpace(text)
	switch all().wants(f) {
	case "amount":
		value, unit, _ := strings.Cut(text, " ")
		if n, ok := numeral(value); ok && strings.TrimSpace(unit) != "" {
			return amount(n, strings.TrimSpace(unit))
		}
	case "number":
		if n, ok := numeral(text); ok {
			return n
		}
	case "truth":
		switch strings.ToLower(text) {
		case "yes", "true":
			return true
		case "no", "false":
			return false
		}
	}
	return text
}

// numeral is a number as JSON writes it.
func numeral(text string) (json.Number, bool) {
	if _, err := strconv.ParseFloat(text, 64); err != nil || !json.Valid([]byte(text)) {
		return "", false
	}
	return json.Number(text), true
}

// wants is the sort of value that the profiles look for in a field: "amount",
// "number", "truth", or "" for a text.
func (b book) wants(f Field) string {
	for _, form := range b.formats {
		if form.Field == f && form.Form == anAmount {
			return "amount"
		}
	}
	for _, j := range b.jurisdictions {
		for _, v := range j.Versions {
			if sort := v.wants(f); sort != "" {
				return sort
			}
		}
	}
	return ""
}

func (v version) wants(f Field) string {
	tests := slices.Clone(v.When)
	for _, a := range v.Asks {
		tests = append(tests, a.When...)
	}
	for _, l := range v.Limits {
		if slices.Contains(l.Fields, f) {
			return "number"
		}
		tests = append(tests, l.When...)
	}
	for _, o := range v.Orders {
		if slices.Contains(o.Same, f) {
			return "number"
		}
	}
	for _, d := range v.Duties {
		tests = append(tests, d.When...)
	}
	for _, t := range tests {
		if t.Field == f {
			return t.wants()
		}
	}
	return ""
}

func (t test) wants() string {
	if t.Below != nil {
		return "number"
	}
	_, is := t.Is.(bool)
	_, isNot := t.IsNot.(bool)
	if is || isNot {
		return "truth"
	}
	return ""
}

// split reads a list of names between commas or spaces.
func split(text string) []string {
	return strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == ' ' })
}
