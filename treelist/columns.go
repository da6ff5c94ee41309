package treelist

import (
	"fmt"
	"strings"
)

// column is a place in a table row. The tree list and the list of lots have a
// set of columns each.
type column int

// The columns of a tree list. Those before firstOfTree are read stem by stem;
// the rest belong to the tree and need to stand in one of its rows only.
const (
	cTag column = iota
	cStem
	cGirth
	cGirthHeight
	cGirth2
	cGirth2Height
	cDBH
	cDBHHeight
	cGround
	cZero
	cDirection
	cDefects
	cWounds
	cFissures
	cBark
	cSpecies
	cCanopyLoss
	cPest
	cLabel
	cBloomOver
	cBBCH
	cEaten
	cTapped
	cCrop
	cDrought
	cLiveWires
	cLastTreated
	cSite
	cNote
	cRegion
	cJurisdiction
	cDate
	numColumns

	firstOfTree = cSpecies
)

// heading is how a column is called.
type heading struct {
	name     string            // ours, in lower case with underscores
	also     string            // other names taken for it, separated by spaces
	ends     map[string]string // units the name may end in, for cells that bear none
	required bool
}

// treeHeadings are the columns of a tree list, in the order of the constants.
// "height" alone is left out on purpose: in most lists it is that of the tree.
var treeHeadings = []heading{
	cTag:          {name: "tag", also: "id tree tree_id tree_no tree_tag tag_no", required: true},
	cStem:         {name: "stem", also: "stem_no stem_id"},
	cGirth:        {name: "girth", also: "circumference", ends: lengthEnds, required: true},
	cGirthHeight:  {name: "girth_height", also: "girth_at height_of_girth circumference_height", ends: lengthEnds, required: true},
	cGirth2:       {name: "girth2", also: "girth_2 second_girth", ends: lengthEnds},
	cGirth2Height: {name: "girth2_height", also: "girth_2_height second_girth_height", ends: lengthEnds},
	cDBH:          {name: "dbh", also: "", ends: lengthEnds},
	cDBHHeight:    {name: "dbh_height", also: "dbh_at", ends: lengthEnds},
	cGround:       {name: "ground", also: "slope slope_side"},
	cZero:         {name: "zero", also: "zero_face tape_zero"},
	cDirection:    {name: "direction", also: "tape_direction"},
	cDefects:      {name: "defects", also: "defect", ends: lengthEnds},
	cWounds:       {name: "wounds", also: "old_holes old_wounds", ends: lengthEnds},
	cFissures:     {name: "fissures", also: "fissure", ends: lengthEnds},
	cBark:         {name: "bark", also: "bark_thickness", ends: lengthEnds},
	cSpecies:      {name: "species", also: "host tree_species scientific_name", required: true},
	cCanopyLoss:   {name: "canopy_loss", also: "canopy_loss_percent canopy_loss_pct"},
	cPest:         {name: "pest", also: "target target_pest"},
	cLabel:        {name: "label", also: "label_id"},
	cBloomOver:    {name: "bloom_over", also: "bloom_ended"},
	cBBCH:         {name: "bbch", also: "growth_stage"},
	cEaten:        {name: "eaten", also: "food"},
	cTapped:       {name: "tapped", also: "sap_tapped"},
	cCrop:         {name: "crop", also: ""},
	cDrought:      {name: "drought", also: ""},
	cLiveWires:    {name: "live_wires", also: "wires power_lines"},
	cLastTreated:  {name: "last_treated", also: "earlier earlier_treatments"},
	cSite:         {name: "site", also: "location place"},
	cNote:         {name: "note", also: "notes comment comments remarks"},
	cRegion:       {name: "region", also: "state province"},
	cJurisdiction: {name: "jurisdiction", also: ""},
	cDate:         {name: "date", also: "work_date"},
}

// place is where a heading of the file leads to.
type place struct {
	col  column
	unit string // that the heading ends in; empty: none
}

// The endings a heading may have, and the units they stand for.
var (
	lengthEnds = map[string]string{
		"in": "in", "inch": "in", "inches": "in", "ft": "ft", "feet": "ft",
		"mm": "mm", "cm": "cm", "m": "m",
	}
	volumeEnds      = map[string]string{"ml": "mL", "l": "L"}
	temperatureEnds = map[string]string{"c": "°C", "°c": "°C", "f": "°F", "°f": "°F"}
)

// headings finds columns by name.
type headings struct {
	list  []heading
	index map[string]column
}

func newHeadings(list []heading) headings {
	h := headings{list, make(map[string]column, 3*len(list))}
	for i, one := range list {
		h.index[one.name] = column(i)
		for _, name := range strings.Fields(one.also) {
			h.index[name] = column(i)
		}
	}
	return h
}

// plain brings a heading into the form of ours: lower case, words joined by
// single underscores, "%" written out, brackets dropped: "Girth (in)" is girth_in.
func plain(s string) string {
	s = strings.ToLower(strings.ReplaceAll(s, "%", " percent "))
	return strings.Join(strings.FieldsFunc(s, func(r rune) bool {
		return strings.ContainsRune(" \t\u00a0_-.()[]:/", r)
	}), "_")
}

// find returns where a heading leads to.
func (h headings) find(name string) (place, bool) {
	name = plain(name)
	if c, ok := h.index[name]; ok {
		return place{col: c}, true
	}
	i := strings.LastIndexByte(name, '_')
	if i < 0 {
		return place{}, false
	}
	c, ok := h.index[name[:i]]
	if !ok {
		return place{}, false
	}
	unit, ok := h.list[c].ends[name[i+1:]]
	return place{c, unit}, ok
}

// nearest returns the column whose name is least far from the one given.
func (h headings) nearest(name string) string {
	name = plain(name)
	best, least := "", 1<<30
	for _, one := range h.list {
		for _, n := range append([]string{one.name}, strings.Fields(one.also)...) {
			if d := distance(name, n); d < least {
				best, least = one.name, d
			}
		}
	}
	return best
}

// distance is the number of runes to add, drop or change to get from a to b
// (Levenshtein 1966).
func distance(a, b string) int {
	x, y := []rune(a), []rune(b)
	if len(x) > maxShown {
		x = x[:maxShown]
	}
	row := make([]int, len(y)+1)
	for j := range row {
		row[j] = j
	}
	for i := range x {
		diagonal := row[0]
		row[0] = i + 1
		for j := range y {
			cost := 1
			if x[i] == y[j] {
				cost = 0
			}
			diagonal, row[j+1] = row[j+1], min(diagonal+cost, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(y)]
}

// required lists the names of the columns no list can do without.
func (h headings) required() []column {
	var out []column
	for i, one := range h.list {
		if one.required {
			out = append(out, column(i))
		}
	}
	return out
}

// numbered names a column that has no heading.
func numbered(i int) string { return fmt.Sprintf("#%d", i+1) }
