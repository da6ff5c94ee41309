package records

import (
	"slices"
	"strings"
)

// Choose lists the profiles that hold at a place, by ISO 3166-1 country and the
// state, province or nation as people write it: "NY", "US-NY" or "New York".
func Choose(country, region string) []string {
	country = strings.ToUpper(strings.TrimSpace(country))
	region = strings.TrimSpace(region)
	var ids []string
	for _, j := range all().jurisdictions {
		if slices.ContainsFunc(j.Places, func(p string) bool { return holdsAt(p, country, region) }) {
			ids = append(ids, j.ID)
		}
	}
	return ids
}

// holdsAt: "*" is everywhere, "US" a country, "US-NY" a part of one.
func holdsAt(place, country, region string) bool {
	if place == "*" || place == country {
		return true
	}
	of, part, ok := strings.Cut(place, "-")
	if !ok || of != country {
		return false
	}
	if before, after, ok := strings.Cut(region, "-"); ok && strings.EqualFold(before, country) {
		region = after
	}
	return strings.EqualFold(part, region)
}

// Chosen are the profiles that were chosen for a record, and in which words their
// choice by place was overruled; all profiles where the record does not say.
func (r Record) Chosen() (ids []string, overruled string) {
	if listed, ok := r.fact(profilesField).([]any); ok {
		for _, id := range listed {
			ids = append(ids, line(id))
		}
		return ids, r.Text("profiles_why")
	}
	if told := split(r.Text(profilesField)); len(told) > 0 {
		return told, r.Text("profiles_why")
	}
	for _, p := range Profiles() {
		ids = append(ids, p.ID)
	}
	return ids, ""
}
