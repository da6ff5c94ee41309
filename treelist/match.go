package treelist

import (
	"maps"
	"slices"
	"strings"
)

// Column is one that a tree list can have.
type Column struct {
	Name   string   `json:"name"`
	Needed bool     `json:"needed,omitempty"`
	Units  []string `json:"units,omitempty"` // one of which its heading may end in
}

// Columns lists the columns of a tree list.
func Columns() []Column {
	all := make([]Column, len(treeHeadings))
	for i, h := range treeHeadings {
		all[i] = Column{h.name, h.required, slices.Sorted(maps.Keys(h.ends))}
	}
	return all
}

// Heading is a column as a list names it, and what it is taken for.
type Heading struct {
	Name   string `json:"name"`
	Column string `json:"column,omitempty"` // empty: it is not read
	Unit   string `json:"unit,omitempty"`   // that the heading ends in
	Near   string `json:"near,omitempty"`   // where it is not known: the column with the nearest name
}

// Headings reads the heading of a list, and nothing below it. There is none where
// the list has no heading that can be read.
func Headings(csv string) []Heading {
	t, err := openTable("csv", strings.NewReader(csv), treeHeadings)
	if err != nil {
		return nil
	}
	all := make([]Heading, len(t.names))
	for i, name := range t.names {
		all[i].Name = name
		p, ok := t.heads.find(name)
		switch {
		case ok:
			all[i].Column, all[i].Unit = t.heads.list[p.col].name, p.unit
		case name != "" && !strings.HasPrefix(plain(name), "x_"):
			all[i].Near = t.heads.nearest(name)
		}
	}
	return all
}

// Renamed is the list with other names in its heading; lines stay where they are.
func Renamed(csv string, names []string) string {
	t, err := openTable("csv", strings.NewReader(csv), treeHeadings)
	if err != nil || len(t.names) == 0 {
		return csv
	}
	lines := Lines(csv)
	cells := make([]string, len(t.names))
	for i := range cells {
		if i < len(names) {
			cells[i] = `"` + strings.ReplaceAll(names[i], `"`, `""`) + `"`
		}
	}
	lines[t.lines.n-1] = strings.Join(cells, string(t.sep))
	return strings.Join(lines, "\n")
}

// Lines are the physical lines of a list, as faults and rows count them.
func Lines(csv string) []string {
	return strings.Split(strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(csv), "\n")
}
