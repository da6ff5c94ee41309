package actions

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"testing"

	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

// second is another device that has all the firm has by now, and then no signal.
func (f *firm) second() *firm {
	p := *f
	p.office, p.log, p.heads = testKey(9), &journal.Journal{}, maps.Clone(f.heads)
	p.items, p.raw, p.wrote = slices.Clone(f.items), slices.Clone(f.raw), map[string][]string{}
	p.now += 500 // a little later in all it does
	return &p
}

// meet brings what the two wrote together, on both.
func meet(f, p *firm) {
	had := len(f.raw)
	for _, e := range p.raw {
		if _, there, _ := f.Entry(e.ID); !there {
			f.take(e)
		}
	}
	for _, e := range f.raw[:had] {
		if _, there, _ := p.Entry(e.ID); !there {
			p.take(e)
		}
	}
}

// crossings are the entries that the view of a subject flags with a code.
func (f *firm) crossings(s entries.Subject, code string) (crossed []journal.ID) {
	f.t.Helper()
	row, _, err := f.View(s)
	if err != nil {
		f.t.Fatal(err)
	}
	var common views.Common
	if err := json.Unmarshal(row.State, &common); err != nil {
		f.t.Fatal(err)
	}
	for _, flag := range common.Flags {
		if flag.Code == code {
			crossed = append(crossed, flag.Entry)
		}
	}
	return crossed
}

// Two phones without signal change the same facts, twice each: the later by the
// clocks stands, and both phones list each change that was made unseeing. What is
// changed after they met is no conflict.
func TestTwoPhonesChangeTheSameFacts(t *testing.T) {
	d := newAshDay(t)
	d.name("org", d.org, "app", d.app)
	d.name("licence", d.do(d.boss, "person.certify", d.with(`{"person":"$app","sort":"certificate","authority":"Example State","from":"2026-01-01"}`)))
	for _, c := range []struct{ deed, input, kind, named string }{
		{"org.update", `{"phone":"%d"}`, "org", "$org"},
		{"person.update", `{"person":"$app","phone":"%d"}`, "person", "$app"},
		{"person.certify", `{"person":"$app","certificate":"$licence","sort":"certificate","authority":"State","number":"%d","from":"2026-01-01"}`, "person", "$app"},
		{"grounds.update", `{"grounds":"$grounds","note":"%d"}`, "grounds", "$grounds"},
		{"tree.update", `{"tree":"$tree","note":"%d"}`, "tree", "$tree"},
		{"lot.update", `{"lot":"$lot","supplier":"%d"}`, "lot", "$lot"},
	} {
		s := entries.Subject{Kind: entries.SubjectKind(c.kind), ID: d.with(c.named)}
		n := len(d.crossings(s, "facts.crossed"))
		change := func(f *firm, n int) journal.ID { return f.do(d.boss, c.deed, d.with(fmt.Sprintf(c.input, n))) }
		change(d.firm, 1)
		p := d.firm.second()
		change(d.firm, 2)
		second := change(p, 3)
		third := change(d.firm, 4)
		fourth := change(p, 5)
		if got := len(d.crossings(s, "facts.crossed")); got != n {
			t.Errorf("%s: %d flags before they met", c.deed, got-n)
		}
		meet(d.firm, p)
		d.now = p.now
		change(d.firm, 6)
		for _, f := range []*firm{d.firm, p} {
			if got := f.crossings(s, "facts.crossed")[n:]; !slices.Equal(got, []journal.ID{second, third, fourth}) {
				t.Errorf("%s: flagged %v, want %v, %v and %v", c.deed, got, second, third, fourth)
			}
		}
	}
}

// An update by somebody who has not seen a correction takes it back: that is told
// as well. Amending keeps what the entry replaced.
func TestUpdateOverACorrection(t *testing.T) {
	d := newAshDay(t)
	tree := entries.Subject{Kind: entries.OfTree, ID: d.tree.String()}
	first := d.entryOf("tree", journal.ID{})
	update := d.with(`{"tree":"$tree","where":"by the gate"}`)
	p := d.firm.second()
	d.done(d.app, "amend", amending(first.ID, change(t, first.Body, map[string]any{"species": "Fraxinus americana"}), "seen from near by"))
	unseeing := p.do(d.app, "tree.update", update)
	d.do(d.app, "tree.update", d.with(`{"tree":"$tree","note":"seen"}`))
	if got := d.crossings(tree, "facts.crossed"); got != nil {
		t.Errorf("flagged %v, though the correction was seen", got)
	}
	meet(d.firm, p)
	if got := d.crossings(tree, "facts.crossed"); !slices.Contains(got, unseeing) {
		t.Errorf("flagged %v, not %v", got, unseeing)
	}
	wrong, _, _ := d.Entry(unseeing)
	var without map[string]any
	if err := json.Unmarshal(wrong.Body, &without); err != nil {
		t.Fatal(err)
	}
	delete(without, "over")
	after, err := json.Marshal(without)
	if err != nil {
		t.Fatal(err)
	}
	d.now = max(d.now, p.now)
	d.done(d.app, "amend", amending(unseeing, change(t, after, map[string]any{"where": "by the bridge"}), "misheard"))
	if got := d.crossings(tree, "facts.crossed"); !slices.Contains(got, unseeing) {
		t.Error("an amendment that leaves out over took the flag away")
	}
}

// A recount is ordinary work, and names every lot that was counted before. Two
// counts by people who did not see each other's are told.
func TestRecounts(t *testing.T) {
	d := newAshDay(t)
	d.name("spare", d.do(d.boss, "lot.add", `{"label":"demo-a","number":"B8","size":"4 mL","expires":"2027-01-31","units":9}`))
	d.install()
	d.on("unit.lift", 1, 16, `,"left":"0 mL"`)
	const used, spare, none = `{"lot":"$lot","taken":16,"seated":16,"lifted":16,"lost":0,"unused":0}`,
		`{"lot":"$spare","taken":2,"seated":0,"lifted":0,"lost":0,"broken":1,"unused":1}`, `{"lot":"$spare","taken":0,"seated":0,"lifted":0,"lost":0,"unused":0}`
	tally := func(lots string) string { return d.with(`{"visit":"$visit","lots":[` + lots + `]}`) }
	visit := entries.Subject{Kind: entries.OfVisit, ID: d.visit.String()}
	onHand := func() int {
		id, err := idOf(d.with("$spare"))
		if err != nil {
			t.Fatal(err)
		}
		return state[*views.Lot](d.firm, entries.OfLot, id).OnHand
	}

	d.done(d.app, "visit.tally", tally(used+","+spare))
	if n := onHand(); n != 8 { // one broke
		t.Errorf("%d on hand, want 8", n)
	}
	d.refused(d.app, "visit.tally", tally(used), "tally.lot_missing", "lots")
	d.done(d.app, "visit.tally", tally(used+","+none))
	if n := onHand(); n != 9 {
		t.Errorf("%d on hand, want 9: it was not of that lot", n)
	}
	p := d.firm.second()
	p.done(d.app, "visit.tally", tally(used+","+none))
	d.done(d.app, "visit.tally", tally(used+","+none))
	if got := d.view().Flags; got != nil {
		t.Errorf("recounts are flagged: %v", got)
	}
	meet(d.firm, p)
	if got := d.crossings(visit, "tally.again"); len(got) != 1 {
		t.Errorf("two unseeing counts: flagged %v", got)
	}
	d.now = p.now
	d.refused(d.app, "visit.tally", tally(used), "tally.lot_missing", "lots")
	d.done(d.app, "visit.tally", tally(used+","+none))
	if got := d.view().Flags; len(got) != 1 {
		t.Errorf("flags %v, want the one", got)
	}
}

// A second bore at a mark and a second unit in a hole, done knowingly, are no
// contradictions; done by two who did not know of each other they are.
func TestAgain(t *testing.T) {
	d := newAshDay(t)
	bore := func(f *firm, more string) journal.ID {
		return f.do(d.app, "hole.bore", d.with(`{"visit":"$visit","tree":"$tree","mark":1`+more+`}`))
	}
	d.name("hole", bore(d.firm, ""))
	bore(d.firm, `,"again":true`)
	seat := func(f *firm) journal.ID {
		return f.do(d.app, "unit.seat", d.with(`{"visit":"$visit","hole":"$hole","lot":"$lot"}`))
	}
	p := d.firm.second()
	d.name("unit", seat(d.firm))
	d.done(d.app, "unit.lift", d.with(`{"visit":"$visit","unit":"$unit","left":"4 mL"}`))
	d.name("other", seat(d.firm))
	d.done(d.app, "unit.lose", d.with(`{"visit":"$visit","units":["$other"],"why":"burst","signed":"Bo Muster"}`))
	seat(d.firm)
	if got := d.view().Flags; got != nil {
		t.Errorf("flags %v", got)
	}
	bore(d.firm, `,"again":true`)
	p.now = d.now + 500
	hole, unit := bore(p, `,"again":true`), seat(p)
	meet(d.firm, p)
	visit := entries.Subject{Kind: entries.OfVisit, ID: d.visit.String()}
	if got := d.crossings(visit, "hole.mark_twice"); !slices.Equal(got, []journal.ID{hole}) {
		t.Errorf("bored unseeing: flagged %v, want %v", got, hole)
	}
	if got := d.crossings(visit, "hole.two_units"); !slices.Equal(got, []journal.ID{unit}) {
		t.Errorf("seated unseeing: flagged %v, want %v", got, unit)
	}
}
