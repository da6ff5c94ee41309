package actions

import (
	"strings"
	"testing"
	"time"

	"sapwell/engine/quantity"
	"sapwell/entries"
	"sapwell/views"
)

// What a place asks beyond the firm's own years counts.
func TestRetireByThePlace(t *testing.T) {
	d := newAshDay(t)
	d.install()
	d.finish()
	d.keepAt = func(day entries.Date, years int, country, region string) entries.Date {
		if day != quantity.NewDate(2026, 6, 9) || years != 3 || country == "" {
			t.Errorf("asked for %s, %d years, %q %q", day, years, country, region)
		}
		return day.AddDate(7, 0, 0)
	}
	d.now = quantity.NewDate(2033, 6, 10).UnixMilli() // still the 9th in the last time zone
	retire := d.with(`{"visit":"$visit","why":"kept as long as it has to be"}`)
	d.refused(d.boss, "visit.retire", retire, "visit.keep_until", "visit")
	d.now += lastZone
	d.done(d.boss, "visit.retire", retire)
}

func TestRetire(t *testing.T) {
	d := newAshDay(t)
	retire := `{"visit":"$visit","why":"kept as long as it has to be"}`
	d.refused(d.boss, "visit.retire", d.with(retire), "visit.is_open", "visit")
	d.install()
	d.finish()
	r := d.refused(d.boss, "visit.retire", d.with(retire), "visit.keep_until", "visit")
	day := quantity.NewDate(2029, 6, 10) // the day after 9 June 2026 and three years
	if !strings.Contains(r.Text, "2029-06-10") || len(r.Terms) != 1 || r.Terms[0].Value != day {
		t.Errorf("%q with %v does not say from when on", r.Text, r.Terms)
	}
	// It is 10 June everywhere from noon at Greenwich on.
	d.now = day.Add(12*time.Hour).UnixMilli() - 2000
	d.refused(d.boss, "visit.retire", d.with(retire), "visit.keep_until", "visit")
	d.refused(d.boss, "visit.retire", d.with(`{"visit":"$visit","why":""}`), "visit.no_reason", "why")
	d.done(d.boss, "visit.retire", d.with(retire))
	d.refused(d.boss, "visit.retire", d.with(retire), "visit.is_retired", "visit")
	d.refused(d.app, "tree.install", d.with(`{"visit":"$visit","tree":"$tree","lot":"$lot"}`), "visit.is_retired", "visit")
	if v := state[*views.Visit](d.firm, entries.OfVisit, d.visit); v.Retired == nil || len(v.Units) != 16 {
		t.Error("what was recorded is not all there")
	}
}
