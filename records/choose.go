package records

import (
	"slices"
	"strings"

	"sapwell/engine/place"
)

// Choose lists the profiles that hold at a place: country, and state, province or
// nation, in codes of ISO 3166 or as people write them: "NY", "US-NY", "New York".
func Choose(country, region string) []string {
	country = place.Code(country)
	part, _ := place.Region(country, region)
	var ids []string
	for _, j := range all().jurisdictions {
		if slices.ContainsFunc(j.Places, func(p string) bool { return holdsAt(p, country, part) }) {
			ids = append(ids, j.ID)
		}
	}
	return ids
}

// unplaced is the fact of a place that is not known and on which the choice of its
// profiles hangs: the country, or its state where some profile holds in some states of
// it only. ok is false where the choice is sure, was told, or did not go by place.
func (r Record) unplaced() (f Field, ok bool) {
	if r.Has("profiles_why") || !r.Has("site.country") {
		return "", false
	}
	country, known := place.Country(r.Text("site.country"))
	if !known {
		return "site.country", len(r.Text("site.country")) != 2 // another country is one without a profile here
	}
	if _, known := place.Region(country, r.Text("site.region")); known {
		return "", false
	}
	for _, j := range all().jurisdictions {
		for _, p := range j.Places {
			if of, _, parted := strings.Cut(p, "-"); parted && of == country {
				return "site.region", true
			}
		}
	}
	return "", false
}

// holdsAt: "*" is everywhere, "US" a country, "US-NY" a part of one.
func holdsAt(where, country, part string) bool {
	of, within, parted := strings.Cut(where, "-")
	switch {
	case where == "*":
		return true
	case of != country:
		return false
	}
	return !parted || within == part
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
