package views

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"sapwell/entries"
)

// items makes items of told lines, of one subject.
func items(t testing.TB, of string, lines ...string) (entries.Subject, []Item) {
	t.Helper()
	h := newTold()
	for _, line := range lines {
		if err := h.tell(line); err != nil {
			t.Fatalf("%s: %v", line, err)
		}
	}
	for _, s := range subjects(h.items) {
		if h.names[s.ID] == of {
			return s, about(h.items, s)
		}
	}
	t.Fatalf("nothing speaks of %s", of)
	return entries.Subject{}, nil
}

// An amendment whose texts cannot be read is flagged, marked, and moves nothing.
func TestUnreadableAmendment(t *testing.T) {
	s, all := items(t, "oak", "ann oak: tree tag=1", "ann a: amends oak tag=2")
	a := all[1].Body.(entries.Amendment)
	a.After = json.RawMessage(`{"v":2}`)
	all[1].Body = a
	row, err := Fold(s, all)
	if err != nil {
		t.Fatal(err)
	}
	st, _ := Read(row)
	if o := st.(*Tree); o.Facts.Tag != "1" || len(o.Amended) != 1 || len(o.Flags) != 1 || o.Flags[0].Code != "amendment.unreadable" {
		t.Errorf("%+v", o.Common)
	}
}

// Every kind of entry is folded by the views of all it speaks of: it leaves
// something there beside the count.
func TestEveryKindIsFolded(t *testing.T) {
	for _, kind := range entries.Kinds() {
		if kind == "amendment" {
			continue
		}
		h := newTold()
		extra := map[string]string{"tally": " lots=lot:2/2/2/0", "visit.closed": " trees=oak:1/1/1/0"}[kind]
		if err := h.tell("ann x: " + kind + extra); err != nil {
			t.Errorf("%s: %v", kind, err)
			continue
		}
		for _, s := range subjects(h.items) {
			row, err := Fold(s, h.items)
			if err != nil {
				t.Fatal(err)
			}
			common := slices.ContainsFunc([]string{`"notes":1`, `"photos":[`, `"told":{`}, func(part string) bool { return strings.Contains(string(row.State), part) })
			if !common {
				st, _ := blank(s)
				before, _ := json.Marshal(st)
				st.take(h.items[0].Entry)
				if after, _ := json.Marshal(st); string(after) == string(before) {
					t.Errorf("%s leaves nothing in the view of a %s", kind, s.Kind)
				}
			}
		}
	}
}

// What is no row, and what nobody speaks of, is an error and no empty view.
func TestErrors(t *testing.T) {
	if _, err := Fold(entries.Subject{Kind: "moon", ID: "x"}, make([]Item, 1)); err == nil || !strings.Contains(err.Error(), `"moon"`) {
		t.Error(err)
	}
	s, all := items(t, "oak", "ann oak: tree", "ann n: note")
	if _, err := Fold(s, nil); err == nil || !strings.Contains(err.Error(), "no entry") {
		t.Error(err)
	}
	row, err := Fold(s, all[:1])
	if err != nil {
		t.Fatal(err)
	}
	if next, ok, err := Extend(row, nil); err != nil || !ok || !equal(next, row) {
		t.Error(ok, err)
	}
	for _, text := range []string{``, `{`, `[]`, `{"id":"other"}`, string(row.State) + "x"} {
		bad := row
		bad.State = []byte(text)
		if _, err := Read(bad); err == nil || !strings.Contains(err.Error(), "tree") {
			t.Errorf("%q: %v", text, err)
		}
		if _, ok, err := Extend(bad, all[1:]); ok || err == nil {
			t.Errorf("%q was extended", text)
		}
	}
}

// A label edited after the treatment does not change the old record: neither a
// new version nor a correction of the old text touches what was planned and done
// by it.
func TestLabelEditedAfterTreatment(t *testing.T) {
	h := newTold()
	tell := func(lines ...string) {
		for _, line := range lines {
			if err := h.tell(line); err != nil {
				t.Fatalf("%s: %v", line, err)
			}
		}
	}
	rows := func() (all []Row) {
		for _, s := range subjects(h.items) {
			if s.Kind == entries.OfTree || s.Kind == entries.OfVisit || s.Kind == entries.OfLot {
				row, err := Fold(s, about(h.items, s))
				if err != nil {
					t.Fatal(err)
				}
				all = append(all, row)
			}
		}
		return all
	}
	tell("office paper: label name=demo file=old", "office oak: tree", "office m: measurement", "office plan: plan",
		"office lot: lot label=demo", "ann v: visit.opened", "ann h: hole", "ann u: unit.seated", "ann l: unit.lifted",
		"ann t: tally lots=lot:1/1/1/0", "ann c: visit.closed trees=oak:1/1/1/0")
	before := rows()
	tell("office paper2: label name=demo version=2026-10-01 file=new", "office a: amends paper file=corrected",
		"paper.facts.file = corrected", "paper.amended = paper<a", "paper2.facts.file = new", "paper2.amended = nothing")
	if after := rows(); len(before) != 3 || !slices.EqualFunc(before, after, equal) {
		t.Errorf("before %+v\nafter %+v", before, after)
	}
}
