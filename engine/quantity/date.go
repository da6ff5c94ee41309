package quantity

import (
	"fmt"
	"time"
)

// Date is a calendar day, kept as midnight UTC so that no clock and no time zone
// moves it; the zero Date is "not known". On the wire it is "2026-06-09".
type Date struct{ time.Time }

// DateOf is the calendar day that t shows in its own time zone.
func DateOf(t time.Time) Date { return NewDate(t.Date()) }

// NewDate is that day of the calendar; 31 June is 1 July, as in the time package.
func NewDate(year int, month time.Month, day int) Date {
	return Date{time.Date(year, month, day, 0, 0, 0, 0, time.UTC)}
}

// ParseDate reads YYYY-MM-DD and nothing else: 6/9 is June in one country and
// September in another.
func ParseDate(s string) (Date, error) {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		return Date{}, fmt.Errorf("%q: want a day as YYYY-MM-DD, such as 2026-06-09", s)
	}
	return Date{t}, nil
}

// DaysTo counts the days from d to later; negative when later comes first.
func (d Date) DaysTo(later Date) int {
	return int(later.Sub(d.Time) / (24 * time.Hour))
}

// AddDate moves the day as time.Time.AddDate does.
func (d Date) AddDate(years, months, days int) Date {
	return Date{d.Time.AddDate(years, months, days)}
}

// After reports whether d comes after other.
func (d Date) After(other Date) bool { return d.Time.After(other.Time) }

// Before reports whether d comes before other.
func (d Date) Before(other Date) bool { return d.Time.Before(other.Time) }

// String is the day as ISO 8601 writes it; "" for the zero Date.
func (d Date) String() string {
	if d.IsZero() {
		return ""
	}
	return d.Format(time.DateOnly)
}

// MarshalJSON writes "2026-06-09", or null for the zero Date.
func (d Date) MarshalJSON() ([]byte, error) {
	if d.IsZero() {
		return []byte("null"), nil
	}
	return []byte(`"` + d.String() + `"`), nil
}

// UnmarshalJSON reads what MarshalJSON writes.
func (d *Date) UnmarshalJSON(b []byte) error {
	s := string(b)
	if s == "null" || s == `""` {
		*d = Date{}
		return nil
	}
	if len(s) < 2 || s[0] != '"' || s[len(s)-1] != '"' {
		return fmt.Errorf("%s: want a day as \"YYYY-MM-DD\"", s)
	}
	parsed, err := ParseDate(s[1 : len(s)-1])
	*d = parsed
	return err
}
