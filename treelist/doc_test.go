package treelist

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// The page must tell the truth: its examples are read without a fault, its
// table has every column with all its names, and it lists every fault.
func TestPage(t *testing.T) {
	raw, err := os.ReadFile(filepath.Join("..", "doc", "tree-list.md"))
	if err != nil {
		t.Fatal(err)
	}
	page := string(raw)
	blocks := regexp.MustCompile("(?s)```(csv|json)\n(.*?)```").FindAllStringSubmatch(page, -1)
	if len(blocks) != 3 {
		t.Fatalf("%d examples", len(blocks))
	}
	if rows, faults := gather(t, blocks[0][2]); len(rows) != 3 || len(faults) > 0 {
		t.Error(rows, faults)
	}
	if rows, faults := gatherJSON(t, blocks[1][2]); len(rows) != 1 || len(faults) > 0 {
		t.Error(rows, faults)
	}
	if lots, errs := ReadLots("lots.csv", strings.NewReader(blocks[2][2])); len(lots) != 2 || len(errs) > 0 {
		t.Error(lots, errs)
	}
	for _, h := range treeHeadings {
		row := "| " + h.name
		if h.required {
			row += "*"
		}
		if row += " | " + strings.Join(strings.Fields(h.also), ", ") + " |"; !strings.Contains(page, strings.ReplaceAll(row, "|  |", "| |")) {
			t.Errorf("no row %q", row)
		}
	}
	for code := range texts {
		if !regexp.MustCompile(`\b` + code + `\b`).MatchString(page) {
			t.Errorf("no fault %s", code)
		}
	}
	message := "trees.csv:7: girth: \"96\" has no unit"
	if f := newFault("trees.csv", 7, "girth", "96", "unit"); !strings.HasPrefix(f.Error(), message) || !strings.Contains(page, f.Error()) {
		t.Error(f)
	}
}
