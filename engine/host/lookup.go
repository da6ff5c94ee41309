package host

import (
	"fmt"
	"slices"
	"strings"
	"unicode"
)

// UnknownError says that the table has no such kind, and what is spelt nearly so.
type UnknownError struct {
	Name string
	Near []string // nearest first; may be empty
}

func (e *UnknownError) Error() string {
	msg := fmt.Sprintf("species %q is not in the table", e.Name)
	if len(e.Near) > 0 {
		return msg + "; did you mean " + strings.Join(e.Near, ", ") + "?"
	}
	return msg + "; give a scientific name, an English common name or an EPPO code"
}

// AmbiguousError says that a name stands for several kinds.
type AmbiguousError struct {
	Name    string
	Matches []string // scientific names
}

func (e *AmbiguousError) Error() string {
	return fmt.Sprintf("species %q is ambiguous: %s; give one scientific name", e.Name, strings.Join(e.Matches, ", "))
}

// All returns every row, by scientific name.
func All() []Species {
	all := make([]Species, len(table))
	for i := range table {
		all[i] = table[i].species()
	}
	return all
}

// Lookup finds a kind by scientific name ("Fraxinus pennsylvanica", also with
// author, variety or cultivar behind it, or as "F. pennsylvanica" where only
// one row fits), by English common name ("green ash", "ash, green") or by EPPO
// code. Case, hyphens and spacing do not matter.
//
// A species that is not listed, of a genus that is, comes back under the asked
// name with the facts of the genus and GenusOnly set; one that differs by a slip
// of the pen from a listed species is refused with that species as suggestion.
// Errors are *UnknownError and *AmbiguousError.
func Lookup(name string) (Species, error) {
	asked := tidy(name)
	for _, find := range []func(string) []int{exact, inverted, treeless, abbreviated, longest} {
		switch hits := find(asked); {
		case len(hits) == 1:
			return table[hits[0]].species(), nil
		case len(hits) > 1:
			return Species{}, &AmbiguousError{name, scientific(hits)}
		}
	}
	genus, rest, _ := strings.Cut(asked, " ")
	i := slices.IndexFunc(table[:], func(r row) bool { return same(genus, r.sci) })
	if i < 0 {
		return Species{}, &UnknownError{name, nearest(asked)}
	}
	sp := table[i].species()
	if !anySpecies(rest) {
		if near := slips(asked, sp.Scientific); len(near) > 0 {
			return Species{}, &UnknownError{name, near}
		}
		sp.Scientific += " " + rest
	}
	return sp, nil
}

// anySpecies tells whether the rest of a name only says "some species of".
func anySpecies(rest string) bool {
	switch rest {
	case "", "sp", "sp.", "spp", "spp.", "species":
		return true
	}
	return false
}

// exact finds the rows that carry the name.
func exact(asked string) (hits []int) {
	for i, r := range table {
		if same(asked, r.sci) || same(asked, r.common) || r.code.EPPO != "" && same(asked, r.code.EPPO) ||
			slices.ContainsFunc(r.also, func(n string) bool { return same(asked, n) }) {
			hits = append(hits, i)
		}
	}
	return hits
}

// inverted finds "ash, green" as "green ash".
func inverted(asked string) []int {
	head, tail, ok := strings.Cut(asked, ", ")
	if !ok {
		return nil
	}
	return exact(tail + " " + head)
}

// treeless finds "maple tree" as "maple".
func treeless(asked string) []int {
	name, ok := strings.CutSuffix(asked, " tree")
	if !ok {
		return nil
	}
	return exact(name)
}

// abbreviated finds "f. pennsylvanica" and "f pennsylvanica", "x" of hybrids
// aside. "Only one row fits" is said of this table, not of all trees: kinds that
// people eat and whose abbreviation would lead to another row are therefore
// listed even where little else is known of them (C. sinensis, S. nigra).
func abbreviated(asked string) (hits []int) {
	initial, epithet, ok := strings.Cut(asked, " ")
	if !ok || len(strings.TrimSuffix(initial, ".")) != 1 {
		return nil
	}
	for i, r := range table {
		_, e, _ := strings.Cut(r.sci, " ")
		if lower(r.sci[0]) == initial[0] && same(strings.TrimPrefix(epithet, "x "), strings.TrimPrefix(e, "x ")) {
			hits = append(hits, i)
		}
	}
	return hits
}

// longest finds the species whose name begins the asked one, behind which an
// author, a variety or a cultivar may stand.
func longest(asked string) []int {
	best := -1
	for i, r := range table {
		n := len(r.sci)
		if strings.Contains(r.sci, " ") && len(asked) > n && asked[n] == ' ' && same(asked[:n], r.sci) &&
			(best < 0 || n > len(table[best].sci)) {
			best = i
		}
	}
	if best < 0 {
		return nil
	}
	return []int{best}
}

// scientific names the rows.
func scientific(rows []int) []string {
	names := make([]string, len(rows))
	for k, i := range rows {
		names[k] = table[i].sci
	}
	return names
}

// species unfolds a row.
func (r row) species() Species {
	genus, _, isSpecies := strings.Cut(r.sci, " ")
	wood, exceptional := exceptionalWood(r.sci)
	if !exceptional {
		wood = anatomyOf(genus)
	}
	return Species{
		Scientific: r.sci, Common: r.common, GenusOnly: !isSpecies, Code: r.code,
		Anatomy: wood, Bark: barkOf(r.sci, genus), Uptake: uptakeOf(r.sci, genus),
		Food: r.food.fact(), Tapped: r.tapped.fact(), Bees: r.bees.fact(),
	}
}

// tidy writes a name as same wants it: lower case, single spaces, no hyphens,
// the multiplication sign of hybrids as x.
func tidy(name string) string {
	name = strings.Map(func(r rune) rune {
		switch r {
		case '-', '_':
			return ' '
		case '’':
			return '\''
		}
		return unicode.ToLower(r)
	}, name)
	return strings.Join(strings.Fields(strings.ReplaceAll(name, "×", " x ")), " ")
}

// same compares a tidy name with one of the table, byte by byte: the table is
// ASCII (a test sees to it), and lookups of long lists must not allocate.
func same(tidied, listed string) bool {
	if len(tidied) != len(listed) {
		return false
	}
	for i := range len(tidied) {
		if tidied[i] != lower(listed[i]) {
			return false
		}
	}
	return true
}

// lower folds one byte of the table as tidy does.
func lower(c byte) byte {
	switch {
	case c == '-':
		return ' '
	case 'A' <= c && c <= 'Z':
		return c + 'a' - 'A'
	}
	return c
}
