package actions

import (
	"sapwell/engine/label"
)

// Candidates returns the labels that list the host and, where a pest is named
// and any of them lists it, the pest. It narrows a choice; the choice of a
// product stays with the person when more than one is left.
func Candidates(labels []label.Label, scientific, pest string) []label.Label {
	hosts := keep(labels, func(l label.Label) bool { _, ok := l.Lists(scientific); return ok })
	if pest == "" {
		return hosts
	}
	if both := keep(hosts, func(l label.Label) bool { return l.TargetsPest(pest) }); len(both) > 0 {
		return both
	}
	return hosts
}

func keep(labels []label.Label, ok func(label.Label) bool) []label.Label {
	var kept []label.Label
	for _, l := range labels {
		if ok(l) {
			kept = append(kept, l)
		}
	}
	return kept
}
