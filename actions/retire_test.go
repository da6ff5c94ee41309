package actions

import (
	"strings"
	"testing"
	"time"

	"sapwell/engine/quantity"
	"sapwell/entries"
	"sapwell/views"
)

// Kept until: the day of treatment and the years after; of the place where they are
// more than the firm's own. 29 February rolls to 1 March, never shorter (common practice
// of retention rules, no source). New York keeps three years: ECL 33-1205.
func TestKeepUntil(t *testing.T) {
	for _, c := range []struct {
		day   string
		years int
		want  string
	}{
		{"2026-06-09", 3, "2029-06-09"},
		{"2024-02-29", 2, "2026-03-01"},
		{"2024-02-29", 3, "2027-03-01"},
		{"2024-02-29", 4, "2028-02-29"},
		{"2024-02-28", 3, "2027-02-28"},
		{"2096-02-29", 4, "2100-03-01"}, // 2100 is no leap year
		{"2026-12-31", 7, "2033-12-31"},
	} {
		day, err := quantity.ParseDate(c.day)
		if err != nil {
			t.Fatal(err)
		}
		if got := longest(day, c.years, nil).String(); got != c.want {
			t.Errorf("%s and %d years: %s, want %s", c.day, c.years, got, c.want)
		}
	}
	if got := longest(quantity.NewDate(2026, 5, 12), 1, []string{"us-ny"}).String(); got != "2029-05-12" {
		t.Errorf("one year of the firm's own in New York: %s, want 2029-05-12", got)
	}
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
