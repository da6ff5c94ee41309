package words

import (
	"os"
	"path"
	"slices"
	"strings"
	"testing"
)

// A phone has the words of every area but those that it never says.
func TestThePhoneHasItsWords(t *testing.T) {
	source, err := os.ReadFile("files_js.go")
	if err != nil {
		t.Fatal(err)
	}
	_, list, ok := strings.Cut(string(source), "//go:embed ")
	list, _, _ = strings.Cut(list, "\n")
	if !ok {
		t.Fatal("files_js.go embeds nothing")
	}
	has := strings.Fields(list)
	never := []string{"app", "documents", "door", "office", "papers", "pile", "records", "server", "sheets", "tools"}
	entries, err := os.ReadDir("en")
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		area := strings.TrimSuffix(e.Name(), path.Ext(e.Name()))
		if slices.Contains(has, "*/"+area+".json") == slices.Contains(never, area) {
			t.Errorf("%s: is it said on a phone? It stands in files_js.go or in this test", area)
		}
	}
}
