package records

import (
	"slices"
	"strings"

	"sapwell/engine/quantity"
)

// keep is how long a record is kept, counted from the day of the work.
type keep struct {
	Years   int  `json:"years,omitempty"`
	Longest bool `json:"longest,omitempty"` // as long as the longest of the others
}

// Kept is the last day before a profile lets a record's deletion be offered.
type Kept struct {
	Profile string
	Until   quantity.Date
}

// Retention tells of each profile that applies until when it has the record kept.
// Where the year of the end has no 29 February the day is 1 March, never a day
// less. What the firm itself keeps longer ("business.keep_years") counts in the
// longest. A record without a day of work is kept without end: no day is offered.
func Retention(r Record) []Kept {
	work, dated := r.day("date")
	if !dated {
		return nil
	}
	longest := 0
	if own, ok := number(r.fact("business.keep_years")); ok {
		longest = int(own)
	}
	var list []Kept
	var rest []int
	for _, j := range all().jurisdictions {
		v := j.version(r, work)
		if v == nil {
			continue
		}
		if v.Keep.Longest {
			rest = append(rest, len(list))
		}
		longest = max(longest, v.Keep.Years)
		list = append(list, Kept{j.ID, work.AddDate(v.Keep.Years, 0, 0)})
	}
	for _, i := range rest {
		list[i].Until = work.AddDate(longest, 0, 0)
	}
	return list
}

// KeepUntil is the last of these days among the profiles that were chosen for the
// record; the zero Date where it has no day of work.
func KeepUntil(r Record) (last quantity.Date) {
	ids, _ := r.Chosen()
	for _, k := range Retention(r) {
		if slices.Contains(ids, k.Profile) && k.Until.After(last) {
			last = k.Until
		}
	}
	return last
}

// KeepAt is the last day of keeping the record of work on a day at a place: by the
// firm's own years, or by the profiles that hold there where these ask for more.
func KeepAt(day quantity.Date, years int, country, region string) quantity.Date {
	r := Record{}.With("date", day.String()).With(profilesField, strings.Join(Choose(country, region), " "))
	own := day.AddDate(years, 0, 0)
	if by := KeepUntil(r.With("business.keep_years", years)); by.After(own) {
		return by
	}
	return own
}
