package records

import (
	"slices"
	"testing"

	"sapwell/internal/outside"
)

func TestPhones(t *testing.T) {
	numbers := func(country string) (list []string) {
		for _, p := range Phones(country) {
			list = append(list, p.Number)
		}
		return list
	}
	for country, want := range map[string][]string{
		"US": {"911", "1-800-222-1222", "1-800-858-7378"}, // the third in ECL 33-1005, the others from memory
		"GB": {"999", "111"}, "DE": {"112"}, "JP": nil, "": nil,
	} {
		if got := numbers(country); !slices.Equal(got, want) {
			t.Errorf("%s: %v, want %v", country, got, want)
		}
	}
	for _, p := range allPhones() {
		if p.Name == "" || p.Mark != "confirmed" && p.Mark != "memory" || p.Mark == "confirmed" && p.Source == "" {
			t.Errorf("%+v", p)
		}
	}
	outside.Ran(t, "New York ECL 33-1005", "the number of the pesticide information centre")
}
