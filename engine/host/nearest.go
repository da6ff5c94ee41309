package host

import (
	"slices"
	"strings"
)

// How near a misspelling must be to be worth suggesting, in edits: one for
// every so many letters, but never over the most. Own conventions.
const (
	lettersPerEdit = 5
	mostEdits      = 3
	suggestions    = 3
	slipEdits      = 2 // within one genus a name so near to a listed one is taken for a slip
)

// nearest lists the names of the table that are spelt most like the asked one.
func nearest(asked string) []string {
	limit := min(1+len(asked)/lettersPerEdit, mostEdits)
	type hit struct {
		name  string
		edits int
	}
	var hits []hit
	try := func(name string) {
		if d := distance(asked, tidy(name), limit); d <= limit {
			hits = append(hits, hit{name, d})
		}
	}
	for _, r := range table {
		try(r.sci)
		try(r.common)
		for _, n := range r.also {
			try(n)
		}
	}
	slices.SortStableFunc(hits, func(a, b hit) int {
		if a.edits != b.edits {
			return a.edits - b.edits
		}
		return strings.Compare(a.name, b.name)
	})
	var names []string
	for _, h := range hits {
		if len(names) < suggestions && !slices.Contains(names, h.name) {
			names = append(names, h.name)
		}
	}
	return names
}

// slips lists the listed species of a genus from which the asked name differs
// by a slip of the pen.
func slips(asked, genus string) (names []string) {
	for _, r := range table {
		if strings.HasPrefix(r.sci, genus+" ") && distance(asked, tidy(r.sci), slipEdits) <= slipEdits {
			names = append(names, r.sci)
		}
	}
	return names
}

// distance is the edit distance of Levenshtein between a and b, in bytes, or
// any number above limit when it is above.
func distance(a, b string, limit int) int {
	if len(a)-len(b) > limit || len(b)-len(a) > limit {
		return limit + 1
	}
	prev := make([]int, len(b)+1)
	for j := range prev {
		prev[j] = j
	}
	for i := range len(a) {
		diagonal, least := prev[0], i+1
		prev[0] = i + 1
		for j := range len(b) {
			cost := diagonal
			if a[i] != b[j] {
				cost++
			}
			diagonal = prev[j+1]
			prev[j+1] = min(cost, diagonal+1, prev[j]+1)
			least = min(least, prev[j+1])
		}
		if least > limit {
			return limit + 1
		}
	}
	return prev[len(b)]
}
