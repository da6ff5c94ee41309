package server

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"testing"
)

// registered reads the answer of GET /api/register.
func registered(t *testing.T, body []byte) (trees []map[string]any, next int64) {
	t.Helper()
	lines := bytes.Split(bytes.TrimSpace(body), []byte("\n"))
	var head struct{ Columns []string }
	var end struct {
		Register struct {
			Next  int64
			Trees int
		}
	}
	if err := json.Unmarshal(lines[0], &head); err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(lines[len(lines)-1], &end); err != nil {
		t.Fatal(err)
	}
	for _, line := range lines[1 : len(lines)-1] {
		var cells []any
		if err := json.Unmarshal(line, &cells); err != nil || len(cells) != len(head.Columns) {
			t.Fatalf("%v: %d columns: %s", err, len(head.Columns), line)
		}
		tree := map[string]any{}
		for i, name := range head.Columns {
			tree[name] = cells[i]
		}
		trees = append(trees, tree)
	}
	if end.Register.Trees != len(trees) {
		t.Errorf("the end says %d trees, there are %d", end.Register.Trees, len(trees))
	}
	return trees, end.Register.Next
}

// The register says of a tree what its view says, and afterwards only what changed.
func TestRegister(t *testing.T) {
	h := newHouse(t)
	f := h.firm
	h.day(f)
	ask := func(path string) []byte {
		t.Helper()
		res, body := h.ask(f, question{method: "GET", path: path, who: "boss"})
		if res.StatusCode != 200 {
			t.Fatalf("%s: %d %s", path, res.StatusCode, body)
		}
		return body
	}
	trees, next := registered(t, ask("/api/register"))
	i := slices.IndexFunc(trees, func(tree map[string]any) bool { return tree["id"] == f.with("$tree") })
	if i < 0 {
		t.Fatal(trees)
	}
	var view struct {
		Facts struct{ Grounds, Tag, Species string }
		Plan  string
	}
	h.must(json.Unmarshal(ask("/api/trees/$tree"), &view))
	want := fmt.Sprint(view.Facts.Grounds, view.Facts.Tag, view.Facts.Species, view.Plan)
	if got := fmt.Sprint(trees[i]["grounds"], trees[i]["tag"], trees[i]["species"], trees[i]["plan"]); got != want {
		t.Errorf("%s, want %s", got, want)
	}

	since := fmt.Sprintf("/api/register?since=%d", next)
	if trees, _ := registered(t, ask(since)); len(trees) > 0 {
		t.Error("nothing was said, and of this the register tells:", trees)
	}
	h.do(f, "app", "tree.inspect", `{"tree":"$tree","canopy_loss":15,"pest":"AGRLPL"}`)
	trees, later := registered(t, ask(since))
	if len(trees) != 1 || trees[0]["canopy_loss_percent"] != 15.0 || later != next+1 {
		t.Error(trees, next, later)
	}
}

// The journal is listed as it came in, page by page, each entry once.
func TestStream(t *testing.T) {
	h := newHouse(t)
	f := h.firm
	h.day(f)
	var seen []int64
	for all := int64(1); int64(len(seen)) < all; {
		res, body := h.ask(f, question{method: "GET", path: fmt.Sprintf("/api/entries?limit=3&from=%d", len(seen)), who: "boss"})
		var page struct {
			Entries []struct {
				N    int64
				ID   string
				Kind string
			}
			All int64
		}
		if err := json.Unmarshal(body, &page); err != nil || res.StatusCode != 200 || len(page.Entries) == 0 {
			t.Fatal(err, res.StatusCode, string(body))
		}
		for _, e := range page.Entries {
			seen = append(seen, e.N)
		}
		all = page.All
	}
	for i, n := range seen {
		if n != int64(i) {
			t.Fatal(seen)
		}
	}
}
