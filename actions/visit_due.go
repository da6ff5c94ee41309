package actions

import (
	"cmp"
	"math"
	"slices"

	"sapwell/journal"
)

// Due is a tree with units that are still draining, and when to come back to it.
type Due struct {
	Visit   journal.ID `json:"visit"`
	Tree    journal.ID `json:"tree"`
	Tag     string     `json:"tag"`
	Running int        `json:"running"`          // units
	Since   int64      `json:"since"`            // ms since 1970, as all here
	Likely  int64      `json:"likely,omitempty"` // half of such units are empty by then; 0: no forecast
	Late    int64      `json:"late,omitempty"`   // nine in ten are
	Overdue bool       `json:"overdue,omitempty"`
}

// WhatIsDue lists where units are draining, what is late first; a tree without a
// forecast comes last, that which has waited longest first.
func WhatIsDue(round []OpenVisit, now int64) []Due {
	due := []Due{}
	for _, o := range round {
		for _, t := range o.Trees {
			if t.Running == 0 {
				continue
			}
			d := Due{Visit: o.ID, Tree: t.Tree, Tag: t.Tag, Running: t.Running, Since: t.Since}
			if t.P50 != nil && t.P90 != nil {
				d.Likely, d.Late = t.Since+millis(*t.P50), t.Since+millis(*t.P90)
				d.Overdue = now > d.Late
			}
			due = append(due, d)
		}
	}
	last := func(d Due) int64 { return cmp.Or(d.Late, math.MaxInt64) }
	slices.SortStableFunc(due, func(a, b Due) int {
		return cmp.Or(cmp.Compare(last(a), last(b)), cmp.Compare(a.Since, b.Since), cmp.Compare(a.Tag, b.Tag))
	})
	return due
}
