package actions

import (
	"cmp"
	"fmt"
	"strings"

	"sapwell/engine/why"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

type visitRetire struct {
	Visit journal.ID `json:"visit" doc:"the visit"`
	Why   string     `json:"why" doc:"such as: kept as long as it has to be"`
}

// retireVisit takes a visit off the lists. Its entries stay in the journal, but
// even off the lists nobody may be able to take it before its time.
func retireVisit(d *desk, in visitRetire) (Made, error) {
	v, err := d.visit(in.Visit, "visit")
	if err != nil {
		return Made{}, err
	}
	switch {
	case v.Retired != nil:
		return Made{}, refuse(Conflict, "visit.is_retired", "visit", "visit: it was taken off the lists already")
	case v.Closed == nil:
		return Made{}, refuse(Conflict, "visit.is_open", "visit", "visit: it is still open; close it first")
	case strings.TrimSpace(in.Why) == "":
		return Made{}, refuse(BadInput, "visit.no_reason", "why", "why: empty; want a reason")
	}
	last, err := d.keptUntil(v)
	if err != nil {
		return Made{}, err
	}
	free := last.AddDate(0, 0, 1)
	if d.Now < free.UnixMilli()+lastZone {
		return Made{}, refuse(Conflict, "visit.keep_until", "visit",
			fmt.Sprintf("visit: its record is kept until %s; it can be taken off the lists from %s on", last, free),
			why.T("date", free))
	}
	return d.made(entries.Retired{Head: d.now(), Visit: in.Visit, Why: in.Why})
}

// keptUntil is the last day on which the record of a visit has to be kept: by the
// firm's own years, or by those of the place where these are more.
func (d *desk) keptUntil(v *views.Visit) (entries.Date, error) {
	org, err := d.org()
	if err != nil {
		return entries.Date{}, err
	}
	grounds, ok, err := find[*views.Grounds](d, entries.OfGrounds, v.Facts.Grounds.String())
	if err != nil {
		return entries.Date{}, err
	}
	country, region := org.Facts.Country, org.Facts.Region
	if ok && grounds.Facts.Country != "" {
		country, region = grounds.Facts.Country, grounds.Facts.Region
	}
	years := org.Facts.KeepYears
	if d.KeepAt != nil {
		return d.KeepAt(v.Facts.Day, years, country, cmp.Or(region, org.Facts.Region)), nil
	}
	return v.Facts.Day.AddDate(years, 0, 0), nil // 29 February rolls to 1 March where there is none
}

// lastZone is how long after its start at Greenwich a day has begun everywhere:
// the last time zone is twelve hours behind.
const lastZone = 12 * 60 * 60 * 1000
