package actions

import (
	"sapwell/engine/label"
)

// Candidates returns the labels that list the host and, where a pest is named
// and any of them lists it, the pest. It narrows a choice; the choice of a
// product stays with the person when more than one is left.
func Candidates(labels []label.Label, scientific, pest string) []label.Label {
	hosts := keepIf(labels, func(l label.Label) bool { _, ok := l.Lists(scientific); return ok })
	if pest == "" {
		return hosts
	}
	if both := keepIf(hosts, func(l label.Label) bool { return l.TargetsPest(pest) }); len(both) > 0 {
		return both
	}
	return hosts
}

func keepIf[T any](all []T, ok func(T) bool) []T {
	var kept []T
	for _, one := range all {
		if ok(one) {
			kept = append(kept, one)
		}
	}
	return kept
}
