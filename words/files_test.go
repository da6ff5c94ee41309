package words

import (
	"os"
	"path"
	"slices"
	"strings"
	"testing"
)

// A phone, and an office's screen, has the words of every area but those that it never
// says.
func TestThePhoneHasItsWords(t *testing.T) {
	never := []string{"app", "documents", "door", "office", "papers", "pile", "server", "sheets", "tools"}
	embeds(t, "files_desk_js.go", never)
	embeds(t, "files_js.go", append(never, "trees"))
}

// embeds checks that a file embeds all areas but these.
func embeds(t *testing.T, file string, never []string) {
	t.Helper()
	source, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	_, list, ok := strings.Cut(string(source), "//go:embed ")
	list, _, _ = strings.Cut(list, "\n")
	if !ok {
		t.Fatalf("%s embeds nothing", file)
	}
	has := strings.Fields(list)
	entries, err := os.ReadDir("en")
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		area := strings.TrimSuffix(e.Name(), path.Ext(e.Name()))
		if slices.Contains(has, "*/"+area+".json") == slices.Contains(never, area) {
			t.Errorf("%s: is it said there? It stands in %s or in this test", area, file)
		}
	}
}
