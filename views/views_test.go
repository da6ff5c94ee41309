package views

import (
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// histories reads testdata: every told history by its title, with its lines.
func histories(t testing.TB) map[string][]string {
	t.Helper()
	files, err := filepath.Glob(filepath.Join("testdata", "*.txt"))
	if err != nil || len(files) < 3 {
		t.Fatal(files, err)
	}
	all := map[string][]string{}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		for _, one := range strings.Split(string(text), "\n## ")[1:] {
			title, rest, _ := strings.Cut(one, "\n")
			all[title] = strings.FieldsFunc(rest, func(r rune) bool { return r == '\n' })
		}
	}
	return all
}

// What was told looks as the lines say, each worked out by hand.
func TestHistories(t *testing.T) {
	all := histories(t)
	for _, title := range slices.Sorted(maps.Keys(all)) {
		h := newTold()
		for _, line := range all[title] {
			if err := h.tell(line); err != nil {
				t.Errorf("%s: %s; %v", title, line, err)
			}
		}
	}
}
