package actions

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"

	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

func TestLabels(t *testing.T) {
	f := newFirm(t)
	file := demoLabel(t, "demo-a")
	add := func(file string) string { return `{"file":` + file + `}` }
	first := f.done(f.boss, "label.add", add(file)).Result.(labelAdded)
	if first.Name != "demo-a" || first.Version.String() != "2026-02-01" || first.Known {
		t.Errorf("%+v", first)
	}
	v := state[*views.Label](f, entries.OfLabel, first.ID)
	var text string
	if err := json.Unmarshal([]byte(file), &text); err != nil || v.Facts.File != text || !v.Facts.Fictional || v.Facts.RegNo != "99999-1" {
		t.Errorf("kept %+v", v.Facts)
	}
	again := f.done(f.boss, "label.add", add(file))
	if r := again.Result.(labelAdded); !r.Known || r.ID != first.ID || len(again.Drafts) > 0 {
		t.Errorf("the same text again: %+v, %d entries", r, len(again.Drafts))
	}
	other := strings.Replace(file, "spacing: 6 in", "spacing: 8 in", 1)
	f.refused(f.boss, "label.add", add(other), "label.version_used", "file")
	newer := strings.Replace(other, "version: 2026-02-01", "version: 2026-03-01", 1)
	if r := f.done(f.boss, "label.add", add(newer)).Result.(labelAdded); r.ID == first.ID {
		t.Error("a new version is the old entry")
	}
	if v := state[*views.Label](f, entries.OfLabel, first.ID); v.Facts.File != text {
		t.Error("the old version has another text now")
	}
}

// A faulty label is refused with the line and what is wrong there. The lines are
// those that grep -n gives in the demo's file.
func TestFaultyLabels(t *testing.T) {
	f := newFirm(t)
	file := demoLabel(t, "demo-a")
	for _, c := range []struct{ old, new, want string }{
		{"spacing: 6 in", "spacing: 6", "line 51:"},
		{"rounding: up", "rounding: sideways", "line 50:"},
		{"format: sapwell-label-1", "format: other", "line 2:"},
	} {
		r := f.refused(f.boss, "label.add", `{"file":`+strings.Replace(file, c.old, c.new, 1)+`}`, "label.faulty", "file")
		if !strings.Contains(r.Text, c.want) {
			t.Errorf("%s: %q does not name %s", c.new, r.Text, c.want)
		}
	}
	f.refused(f.boss, "label.add", `{"file":""}`, "label.faulty", "file")
	f.refused(f.boss, "label.add", `{"file":"{"}`, "label.faulty", "file")
}

func TestLots(t *testing.T) {
	f := newFirm(t)
	f.ashTree()
	add := func(more string) string { return `{"label":"demo-a","number":"L-1","size":"4 mL"` + more + `}` }
	id := f.do(f.app, "lot.add", add(`,"expires":"2027-03-31","coldest":"7 °C","units":120`))
	l := state[*views.Lot](f, entries.OfLot, id)
	if l.OnHand != 120 || *l.Facts.Coldest != 280_150 || l.Facts.Size != 4_000_000 {
		t.Errorf("%+v", l)
	}
	f.refused(f.app, "lot.add", add(``), "lot.here", "number")
	f.refused(f.app, "lot.add", strings.Replace(add(``), "demo-a", "demo-z", 1), "label.unknown", "label")
	f.refused(f.app, "lot.add", strings.Replace(add(``), "4 mL", "5 mL", 1), "lot.size", "size")
	f.refused(f.app, "lot.add", strings.Replace(add(`,"units":-1`), "L-1", "L-2", 1), "input.value", "units")
	f.do(f.app, "lot.update", fmt.Sprintf(`{"lot":%q,"warmest":"41 °C","supplier":"Example Supply (fictional)"}`, id))
	l = state[*views.Lot](f, entries.OfLot, id)
	if *l.Facts.Warmest != 314_150 || *l.Facts.Coldest != 280_150 || l.Facts.Number != "L-1" || l.OnHand != 120 {
		t.Errorf("%+v", l.Facts)
	}
	f.refused(f.app, "lot.update", fmt.Sprintf(`{"lot":%q}`, f.org), "lot.unknown", "lot")
}

// What moves adds up, and where the book is wrong it says so and writes.
func TestMovingUnits(t *testing.T) {
	f := newFirm(t)
	f.ashTree()
	lot := f.do(f.app, "lot.add", `{"label":"demo-a","number":"L-1","size":"4 mL"}`)
	for _, c := range []struct {
		sort   string
		units  int
		onHand int
		found  []string
	}{
		{"received", 100, 100, nil},
		{"returned", 5, 105, nil},
		{"discarded", 4, 101, nil},
		{"sold", 1, 100, nil},
		{"counted", 100, 100, nil},
		{"counted", 96, 96, []string{"lot.counted_other"}},
		{"discarded", 97, -1, []string{"lot.more_than_there"}},
		{"counted", 0, 0, []string{"lot.counted_other"}},
	} {
		out := f.done(f.app, "lot.move", fmt.Sprintf(`{"lot":%q,"sort":%q,"units":%d}`, lot, c.sort, c.units))
		kept := state[*views.Lot](f, entries.OfLot, lot).OnHand
		if r := out.Result.(lotMoved); r.OnHand != c.onHand || kept != c.onHand {
			t.Errorf("%s %d: %d told, %d kept, want %d", c.sort, c.units, r.OnHand, kept, c.onHand)
		}
		if got := findings(out.Findings); !slices.Equal(got, c.found) {
			t.Errorf("%s %d: findings %v, want %v", c.sort, c.units, got, c.found)
		}
	}
	move := func(lot journal.ID, more string) string { return fmt.Sprintf(`{"lot":%q%s}`, lot, more) }
	f.refused(f.app, "lot.move", move(lot, `,"sort":"received","units":0`), "input.value", "units")
	f.refused(f.app, "lot.move", move(lot, `,"sort":"sold","units":-3`), "input.value", "units")
	f.refused(f.app, "lot.move", move(lot, `,"sort":"stolen","units":3`), "input.value", "sort")
	f.refused(f.app, "lot.move", move(lot, `,"sort":"received","units":3,"cents":995,"money":"dollars"`), "input.value", "money")
	f.refused(f.app, "lot.move", move(f.org, `,"sort":"received","units":3`), "lot.unknown", "lot")
}
