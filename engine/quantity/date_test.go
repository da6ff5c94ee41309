package quantity

import (
	"encoding/json"
	"testing"
	"time"

	"sapwell/internal/outside"
)

func TestParseDate(t *testing.T) {
	for text, want := range map[string]time.Time{
		"2026-06-09": time.Date(2026, 6, 9, 0, 0, 0, 0, time.UTC),
		"2024-02-29": time.Date(2024, 2, 29, 0, 0, 0, 0, time.UTC),
		"2000-02-29": time.Date(2000, 2, 29, 0, 0, 0, 0, time.UTC), // 2000 was a leap year
	} {
		if got, err := ParseDate(text); err != nil || !got.Equal(want) || got.String() != text {
			t.Errorf("%s: %v, %v, want %v", text, got, err, want)
		}
	}
	// 1900 was no leap year (Gregorian rule, ISO 8601).
	for _, text := range []string{"", "1900-02-29", "2026-6-9", "6/9/2026", "2026-13-01", "2026-06-31", "2026-06-09T10:00", " 2026-06-09"} {
		if got, err := ParseDate(text); err == nil || !got.IsZero() {
			t.Errorf("%q: %v, %v, want a refusal", text, got, err)
		}
	}
	outside.Ran(t, "ISO 8601", "leap years 1900, 2000 and 2024")
}

// The counts are those of datetime.date in Python 3.11.
func TestDaysTo(t *testing.T) {
	for _, c := range []struct {
		from, to string
		want     int
	}{{"2000-01-01", "2026-06-09", 9656}, {"2024-02-28", "2025-03-01", 367}, {"2026-06-09", "2026-06-08", -1}, {"2026-06-09", "2026-06-09", 0}} {
		from, err := ParseDate(c.from)
		fatal(t, err)
		to, err := ParseDate(c.to)
		fatal(t, err)
		if got := from.DaysTo(to); got != c.want {
			t.Errorf("%s to %s: %d days, want %d", c.from, c.to, got, c.want)
		}
	}
	outside.Ran(t, "Python 3.11 datetime.date", "four counts of days")
}

// The day is the one on the wall where t was read, whatever the zone.
func TestDateOf(t *testing.T) {
	west := time.FixedZone("", -8*3600)
	if got := DateOf(time.Date(2026, 6, 9, 23, 30, 0, 0, west)).String(); got != "2026-06-09" {
		t.Errorf("got %s, want 2026-06-09", got)
	}
}

func TestDateJSON(t *testing.T) {
	reads(t, `"2026-06-09"`, DateOf(time.Date(2026, 6, 9, 0, 0, 0, 0, time.UTC)))
	reads(t, `null`, Date{})
	reads(t, `""`, Date{})
	for _, text := range []string{`20260609`, `"2026-06-09 "`, `{}`, `"x"`, `[]`} {
		var d Date
		if err := json.Unmarshal([]byte(text), &d); err == nil {
			t.Errorf("%s: %v, want a refusal", text, d)
		}
	}
	for _, text := range []string{`"2026-06-09"`, `null`} {
		var d Date
		fatal(t, json.Unmarshal([]byte(text), &d))
		if b, err := json.Marshal(d); err != nil || string(b) != text {
			t.Errorf("%s came back as %s, %v", text, b, err)
		}
	}
}

func FuzzParseDate(f *testing.F) {
	f.Add("2026-06-09")
	f.Add("0000-01-01")
	f.Fuzz(func(t *testing.T, text string) {
		d, err := ParseDate(text)
		if err == nil && !d.IsZero() && d.String() != text {
			t.Fatalf("%q came back as %q", text, d.String())
		}
	})
}
