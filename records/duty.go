package records

import (
	"errors"
	"fmt"
	"time"

	"sapwell/engine/quantity"
)

// duty is something to be done by a day. Of several entries with one id the first
// that fits the record counts.
type duty struct {
	span
	ID   string `json:"id"` // such as "us-ca.monthly_report"
	Says Said   `json:"says"`
	When []test `json:"when,omitempty"`
	None bool   `json:"none,omitempty"` // no such duty for what fits here
	// Per is what one such duty covers: a record, or all work of a "day", "month" or
	// "year".
	Per  string `json:"per,omitempty"`
	Done Field  `json:"done,omitempty"` // when it was done
	Due  due    `json:"due,omitzero"`
	// Told marks a duty that is judged only once it was done: nothing is said of
	// one that is open.
	Told bool `json:"told,omitempty"`
}

func (d duty) check() error {
	counted := 0
	for _, given := range []bool{d.Due.Days > 0, d.Due.NextMonth > 0, d.Due.NextYear.day > 0} {
		if given {
			counted++
		}
	}
	switch {
	case d.ID == "" || !d.Says.whole():
		return errors.New("duties: want id, and says in en and es")
	case d.None:
		return nil
	case d.Done == "" || counted != 1 || d.Due.Days > 36500 || d.Due.NextMonth > 28:
		return fmt.Errorf("duties: %s: want done, and due as one of days, next_month (1 to 28) and next_year", d.ID)
	case d.Per != "" && d.Per != "day" && d.Per != "month" && d.Per != "year":
		return fmt.Errorf("duties: %s: per is %q, want day, month or year, or nothing for a record", d.ID, d.Per)
	}
	return nil
}

// due is a last good day, counted from the day of the work.
type due struct {
	Told      Field     `json:"told,omitempty"`       // the day told there, else as the rest says
	Days      int       `json:"days,omitempty"`       // so many days after it
	NextMonth int       `json:"next_month,omitempty"` // that day of the month after
	NextYear  dayOfYear `json:"next_year,omitzero"`   // that day of the year after
}

// dayOfYear is a day of any year, "02-01".
type dayOfYear struct {
	month time.Month
	day   int
}

func (d *dayOfYear) UnmarshalText(b []byte) error {
	t, err := time.Parse("01-02", string(b))
	if err != nil {
		return fmt.Errorf("%q: want a day of the year as 02-01", b)
	}
	d.month, d.day = t.Month(), t.Day()
	return nil
}

func (d due) after(r Record, work quantity.Date) quantity.Date {
	if d.Told != "" {
		if told, ok := r.day(d.Told); ok {
			return told
		}
	}
	switch {
	case d.NextMonth > 0:
		return quantity.NewDate(work.Year(), work.Month()+1, d.NextMonth)
	case d.NextYear.day > 0:
		return quantity.NewDate(work.Year()+1, d.NextYear.month, d.NextYear.day)
	}
	return work.AddDate(0, 0, d.Days)
}

// duties are those entries that bind the record, each id once.
func (v version) duties(r Record, work quantity.Date) []duty {
	var list []duty
	seen := ""
	for _, d := range v.Duties { // entries of one id stand together
		if d.ID == seen || !d.holds(work) || !holds(d.When, r) {
			continue
		}
		seen = d.ID
		if !d.None {
			list = append(list, d)
		}
	}
	return list
}

// late reports whether the duty was done too late or is overdue today. One of which
// it cannot be read when it was done stays open.
func (d duty) late(r Record, last quantity.Date) bool {
	if done, ok := r.day(d.Done); ok {
		return done.After(last)
	}
	today, ok := r.day("as_of")
	return !d.Told && ok && today.After(last)
}
