package records

import (
	"slices"

	"sapwell/engine/quantity"
)

// Result is what one profile finds in a record.
type Result struct {
	Profile  string
	Applies  bool
	Findings []Finding
}

// Finding is one thing a profile finds: "MISSING:client.name", "LATE:us-fed.record_14d".
type Finding struct {
	Kind  string // MISSING, INVALID, LATE
	What  string // a Field, or a duty
	Why   Said   // in which words the profile asks it
	Until string // of a duty: its last good day
}

// Code is the finding in one word.
func (f Finding) Code() string { return f.Kind + ":" + f.What }

// The kinds of findings.
const (
	Missing = "MISSING" // absent or empty
	Invalid = "INVALID" // there, but malformed or impossible
	Late    = "LATE"    // a duty done too late, or overdue
)

// Check holds a record against every profile, in the order of Profiles. Today is the
// record's "as_of".
func Check(r Record) []Result {
	b := all()
	every := b.shapes(r)
	work := r.worked()
	results := make([]Result, 0, len(b.jurisdictions))
	for _, j := range b.jurisdictions {
		result := Result{Profile: j.ID}
		if v := j.version(r, work); v != nil {
			result.Applies = true
			result.Findings = v.findings(r, work, every)
		}
		results = append(results, result)
	}
	return results
}

// Asked lists the fields a profile asks of this record, in the order they are
// printed; each is required of it, not merely allowed.
func Asked(profile string, r Record) []Field {
	v := find(profile, r)
	if v == nil {
		return nil
	}
	var fields []Field
	for _, a := range v.Asks {
		if holds(a.When, r) {
			fields = append(fields, a.Field)
		}
	}
	return fields
}

// find is the version of a profile that binds the record; nil where none does.
func find(profile string, r Record) *version {
	for _, j := range all().jurisdictions {
		if j.ID == profile {
			return j.version(r, r.worked())
		}
	}
	return nil
}

// worked is the day by which versions are chosen: that of the work or, where
// nobody wrote it down, the day it was recorded or today.
func (r Record) worked() quantity.Date {
	for _, f := range []Field{"date", "recorded_at", "as_of"} {
		if d, ok := r.day(f); ok {
			return d
		}
	}
	return quantity.Date{}
}

func (j jurisdiction) version(r Record, work quantity.Date) *version {
	for i, v := range j.Versions {
		if v.holds(work) && holds(v.When, r) {
			return &j.Versions[i]
		}
	}
	return nil
}

// shapes are the findings of formats and orders that every profile reports.
func (b book) shapes(r Record) []Finding { return shapes(r, b.formats, b.orders) }

func shapes(r Record, formats []format, orders []order) []Finding {
	var found []Finding
	for _, f := range formats {
		if f.broken(r) {
			found = append(found, Finding{Kind: Invalid, What: string(f.Field), Why: f.Says})
		}
	}
	for _, o := range orders {
		if o.broken(r) {
			found = append(found, Finding{Kind: Invalid, What: string(o.Report), Why: o.Says})
		}
	}
	return found
}

func (v *version) findings(r Record, work quantity.Date, every []Finding) []Finding {
	var found []Finding
	for _, a := range v.Asks {
		if holds(a.When, r) && !a.met(r) {
			found = append(found, Finding{Kind: Missing, What: string(a.Field), Why: a.Says})
		}
	}
	found = append(found, every...)
	found = append(found, shapes(r, v.Formats, v.Orders)...)
	for _, l := range v.Limits {
		if holds(l.When, r) && l.broken(r) {
			found = append(found, Finding{Kind: Invalid, What: string(l.Report), Why: l.Says})
		}
	}
	return v.overdue(r, work, found)
}

// met: what is only assumed is not told.
func (a ask) met(r Record) bool {
	if len(a.AnyOf) == 0 {
		return r.Has(a.Field) && r.fact(assumed+a.Field) != true
	}
	for _, f := range a.AnyOf {
		if r.Has(f) {
			return true
		}
	}
	return false
}

// overdue adds what is late, and which day of a duty cannot be read. It finds nothing
// in a record without a day of work: that has no last day.
func (v *version) overdue(r Record, work quantity.Date, found []Finding) []Finding {
	if _, dated := r.day("date"); !dated {
		return found
	}
	for _, d := range v.duties(r, work) {
		unread := Finding{Kind: Invalid, What: string(d.Done), Why: all().undone}
		_, readable := r.day(d.Done)
		known := slices.ContainsFunc(found, func(f Finding) bool { return f.Code() == unread.Code() })
		if r.Has(d.Done) && !readable && !known {
			found = append(found, unread)
		}
		if last := d.Due.after(r, work); d.late(r, last) {
			found = append(found, Finding{Kind: Late, What: d.ID, Why: d.Says, Until: last.String()})
		}
	}
	return found
}
