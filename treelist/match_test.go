package treelist

import (
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// Each column of the list is named as the format (doc/tree-list.md) names it.
func TestHeadings(t *testing.T) {
	const csv = "sep=;\n\nTree No;Girth (in);Hoehe;x_mine;Species\nQ-1;96;3;;ash\n"
	want := []Heading{
		{Name: "Tree No", Column: "tag"}, {Name: "Girth (in)", Column: "girth", Unit: "in"},
		{Name: "Hoehe", Near: "zone"}, {Name: "x_mine"}, {Name: "Species", Column: "species"},
	}
	got := Headings(csv)
	want[2].Near = got[2].Near // whichever is nearest to a word of no kin
	if diff := cmp.Diff(want, got); diff != "" || got[2].Near == "" {
		t.Error(diff)
	}
	if got := Headings(""); len(got) > 0 {
		t.Error(got)
	}
}

// Under other names the same rows are read, each on the line where it was.
func TestRenamed(t *testing.T) {
	const csv = "nr,umfang,h,art\r\nQ-1,96 in,12 in,white ash\r\nQ-2,50 cm,30 cm,BETPA\r\n"
	text := Renamed(csv, []string{"tag", "girth", "girth_height", "species"})
	var lines []int
	for row, err := range ReadCSV("csv", strings.NewReader(text), Options{}) {
		if err != nil {
			t.Fatal(err)
		}
		lines = append(lines, row.Line)
	}
	if diff := cmp.Diff([]int{2, 3}, lines); diff != "" {
		t.Error(diff)
	}
	if Renamed("", []string{"tag"}) != "" {
		t.Error("a heading was made of nothing")
	}
	for _, err := range ReadCSV("csv", strings.NewReader(csv), Options{}) {
		var f *Fault
		if !errors.As(err, &f) {
			t.Fatal("the list was read with headings that nobody knows")
		}
	}
}
