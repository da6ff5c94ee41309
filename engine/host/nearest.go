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
		if d := distance(asked, name, limit); d <= limit {
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
		if strings.HasPrefix(r.sci, genus+" ") && distance(asked, r.sci, slipEdits) <= slipEdits {
			names = append(names, r.sci)
		}
	}
	return names
}

// distance is the edit distance of Levenshtein, in bytes, between a tidy name
// and one of the table, or any number above limit when it is above.
func distance(tidied, listed string, limit int) int {
	if len(tidied)-len(listed) > limit || len(listed)-len(tidied) > limit {
		return limit + 1
	}
	var room [64]int // enough for all names but a few, so that this need not allocate
	row := append(room[:0], 0)
	for j := range len(listed) {
		row = append(row, j+1)
	}
	for i := range len(tidied) {
		diagonal, least := row[0], i+1
		row[0] = i + 1
		for j := range len(listed) {
			cost := diagonal
			if tidied[i] != lower(listed[j]) {
				cost++
			}
			diagonal = row[j+1]
			row[j+1] = min(cost, diagonal+1, row[j]+1)
			least = min(least, row[j+1])
		}
		if least > limit {
			return limit + 1
		}
	}
	return row[len(listed)]
}
