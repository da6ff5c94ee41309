package actions

import (
	"fmt"
	"strings"

	"sapwell/engine/why"
	"sapwell/entries"
	"sapwell/journal"
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
	org, err := d.org()
	if err != nil {
		return Made{}, err
	}
	until := keepUntil(v.Facts.Day, org.Facts.KeepYears)
	if d.Now < until.UnixMilli()+lastZone {
		return Made{}, refuse(Conflict, "visit.keep_until", "visit",
			fmt.Sprintf("visit: its record is kept for %d years; it can be taken off the lists from %s on", org.Facts.KeepYears, until),
			why.T("date", until))
	}
	return d.made(entries.Retired{Head: d.now(), Visit: in.Visit, Why: in.Why})
}

// keepUntil is the first day on which the record of a treatment on a day need not
// be kept any more. 29 February rolls to 1 March where there is none: never
// shorter.
func keepUntil(day entries.Date, years int) entries.Date { return day.AddDate(years, 0, 0) }

// lastZone is how long after its start at Greenwich a day has begun everywhere:
// the last time zone is twelve hours behind.
const lastZone = 12 * 60 * 60 * 1000
