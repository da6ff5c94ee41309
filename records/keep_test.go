package records

import (
	"testing"

	"sapwell/engine/quantity"
)

// New York keeps three years (ECL 33-1205), and 29 February rolls to 1 March.
func TestKeepAt(t *testing.T) {
	for _, c := range []struct {
		day             string
		years           int
		country, region string
		want            string
	}{
		{"2026-05-12", 1, "US", "NY", "2029-05-12"},
		{"2026-05-12", 7, "US", "NY", "2033-05-12"},
		{"2024-02-29", 6, "US", "OH", "2030-03-01"},
	} {
		day, err := quantity.ParseDate(c.day)
		if err != nil {
			t.Fatal(err)
		}
		if got := KeepAt(day, c.years, c.country, c.region).String(); got != c.want {
			t.Errorf("%+v: %s", c, got)
		}
	}
}
