package records

import (
	"cmp"
	"slices"
	"strings"

	"sapwell/engine/quantity"
)

// Duty is something to be done by a day, as a list or a calendar shows it.
type Duty struct {
	Profile string
	Name    string        // such as "us-ca.monthly_report"
	Says    Said          // in which words the profile asks it; empty: to keep the record
	Subject string        // the record's id; of a report its month or year, "2026-05"
	Records int           // that it covers
	Due     quantity.Date // the last good day
	Done    quantity.Date // zero: not yet
	Late    bool          // done after that day, or not yet and today is past it
	// UID names the duty for good in every calendar; Sequence counts its changes
	// (RFC 5545, 3.8.4.7 and 3.8.7.4), and never goes back while records only grow.
	UID      string
	Sequence int
}

// keeping names the duty to keep a record, which stands among the others with the last
// day of keeping as its day.
const keeping = "keep_until"

// Duties lists what is to be done for these records under the profiles chosen for
// each, by day; see Agenda.
func Duties(list []Record) []Duty {
	var a Agenda
	for _, r := range list {
		a.Add(r)
	}
	return a.Duties()
}

// Agenda is what is to be done for any number of records, of which it keeps nothing
// but that. The zero Agenda is empty.
type Agenda struct{ byUID map[string]*Duty }

// Add takes in the duties of a record under the profiles chosen for it. A report of a
// month or a year stands once for all its records; it is done when it is done for each.
func (a *Agenda) Add(r Record) {
	if a.byUID == nil {
		a.byUID = map[string]*Duty{}
	}
	for _, d := range r.duties() {
		if known, ok := a.byUID[d.UID]; ok {
			known.join(d)
		} else {
			a.byUID[d.UID] = &d
		}
	}
}

// Duties lists them by day.
func (a *Agenda) Duties() []Duty {
	var all []Duty
	for _, d := range a.byUID {
		all = append(all, *d)
	}
	slices.SortFunc(all, func(a, b Duty) int {
		return cmp.Or(a.Due.Compare(b.Due.Time), strings.Compare(a.UID, b.UID))
	})
	return all
}

// join takes in the same duty of another record.
func (d *Duty) join(other Duty) {
	d.Records += other.Records
	if other.Due.After(d.Due) { // of keeping: the longest of the day's records
		d.Due = other.Due
	}
	d.Sequence += other.Sequence + 1
	d.Late = d.Late || other.Late
	if other.Done.IsZero() || !d.Done.IsZero() && other.Done.After(d.Done) {
		d.Done = other.Done
	}
}

// duties are those of one record. One without a day of work has none: there is
// nothing to count from.
func (r Record) duties() []Duty {
	work, dated := r.day("date")
	if !dated {
		return nil
	}
	chosen, _ := r.Chosen()
	var list []Duty
	for _, j := range all().jurisdictions {
		v := j.version(r, work)
		if v == nil || !slices.Contains(chosen, j.ID) {
			continue
		}
		for _, d := range v.duties(r, work) {
			list = append(list, r.duty(j.ID, d, work))
		}
	}
	if last := KeepUntil(r); !last.IsZero() {
		list = append(list, Duty{Name: keeping, Subject: work.String(), Records: 1, Due: last, UID: r.uid(keeping, work.String()), Sequence: len(r.Amendments)})
	}
	return list
}

func (r Record) duty(profile string, d duty, work quantity.Date) Duty {
	last := d.Due.after(r, work)
	subject := cmp.Or(d.period(work), r.Text("record.id"), work.String())
	made := Duty{
		Profile: profile, Name: d.ID, Says: d.Says, Subject: subject, Records: 1,
		Due: last, Late: d.late(r, last), UID: r.uid(d.ID, subject), Sequence: len(r.Amendments),
	}
	if done, ok := r.day(d.Done); ok {
		made.Done = done
		made.Sequence++
	}
	return made
}

// uid names a duty of one firm: two firms may share a calendar.
func (r Record) uid(name, subject string) string {
	return name + "." + subject + "." + cmp.Or(r.Text("business.id"), "firm") + "@sapwell"
}
