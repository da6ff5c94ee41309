// Package museum answers, for tests: what do journals look like that are broken
// in a known way?
//
// Every exhibit is one small export in testdata, whole but for one thing; the
// table in testdata/README.md says what, at which line it shows and what a checker
// must say of it. Some look broken and are not: what a checker alone cannot see.
package museum

import (
	"embed"
	"fmt"
	"strconv"
	"strings"
)

//go:embed testdata/README.md testdata/*.jsonl
var files embed.FS

// Exhibit is one broken journal.
type Exhibit struct {
	Name   string
	Broken string // what is
	Line   int    // where it shows, from 1; 0 where a checker cannot see it
	Says   string // words that the reason must hold
	Export []byte
}

// Exhibits reads the whole collection, in the order of its table.
func Exhibits() ([]Exhibit, error) {
	table, err := files.ReadFile("testdata/README.md")
	if err != nil {
		return nil, err
	}
	var all []Exhibit
	for row := range strings.Lines(string(table)) {
		cells := strings.Split(strings.Trim(strings.TrimSpace(row), "| "), " | ")
		if len(cells) != 4 || cells[0] == "exhibit" {
			continue
		}
		e := Exhibit{Name: strings.Trim(cells[0], "`"), Broken: cells[1], Says: strings.Trim(cells[3], "`")}
		if cells[2] == "sound" {
			e.Says = ""
		} else if e.Line, err = strconv.Atoi(cells[2]); err != nil {
			return nil, fmt.Errorf("exhibit %s: line: %w", e.Name, err)
		}
		if e.Export, err = files.ReadFile("testdata/" + e.Name + ".jsonl"); err != nil {
			return nil, err
		}
		all = append(all, e)
	}
	return all, nil
}
