package actions

import (
	"fmt"
	"slices"
	"testing"

	"sapwell/entries"
	"sapwell/views"
)

// another opens a second visit to the same tree, seats and lifts so many units in
// it, with the liquid left in each, and closes it.
func (d *ashDay) another(name string, lefts ...string) {
	d.t.Helper()
	id := d.do(d.app, "visit.open", d.with(`{"grounds":"$grounds","day":"2026-06-09","jobs":[{"tree":"$tree","plan":"$plan"}]}`))
	d.name(name, id)
	for i, left := range lefts {
		made := d.done(d.app, "tree.install", d.with(fmt.Sprintf(`{"visit":%q,"tree":"$tree","lot":"$lot","marks":[%d]}`, id, i+1))).Result.(treeInstalled)
		d.done(d.app, "unit.lift", fmt.Sprintf(`{"visit":%q,"unit":%q,"left":%q}`, id, made.Units[0], left))
	}
}

// The least and the most that can be in a bag, by hand: of units with 0, 1, 2 and
// 3 mL left, any two hold 0 + 1 to 2 + 3 mL.
func TestBagHoldsWhatWasLeft(t *testing.T) {
	d := newAshDay(t)
	d.another("v", "0 mL", "1 mL", "2 mL", "3 mL")
	sealed := func(more string) entries.BagSealed {
		return state[*views.Bag](d.firm, entries.OfBag, d.do(d.app, "bag.seal", d.with(`{"visits":["$v"],"mark":"W-1"`+more+`}`))).Facts
	}
	if b := sealed(`,"units":2`); b.LeftLow != 1_000_000 || b.LeftHigh != 5_000_000 {
		t.Errorf("%d to %d nL, want 1000000 to 5000000", b.LeftLow, b.LeftHigh)
	}
	if b := sealed(`,"units":1,"left_low":"0.5 mL","left_high":"0.6 mL","hazardous":"no"`); b.LeftLow != 500_000 || b.LeftHigh != 600_000 || b.Hazardous != "no" {
		t.Errorf("what was said does not stand: %+v", b)
	}
}

func TestBagRefuses(t *testing.T) {
	d := newAshDay(t)
	d.another("v", "0 mL", "0 mL", "0 mL")
	d.another("w", "0 mL", "0 mL")
	d.refuseAll(d.app, []refusal{
		{"bag.seal", `{"visits":[],"mark":"W-1","units":1}`, "bag.no_visit", "visits"},
		{"bag.seal", `{"visits":["$v","$v"],"mark":"W-1","units":1}`, "bag.visit_twice", "visits[1]"},
		{"bag.seal", `{"visits":["$v","$lot"],"mark":"W-1","units":1}`, "visit.unknown", "visits[1]"},
		{"bag.seal", `{"visits":["$v"],"mark":"W-1","units":0}`, "bag.no_unit", "units"},
		{"bag.seal", `{"visits":["$v"],"mark":"W-1","units":4}`, "bag.too_many", "units"},
		{"bag.seal", `{"visits":["$v"],"mark":"","units":1}`, "input.value", "mark"},
		{"bag.seal", `{"visits":["$v"],"mark":"W-1","units":1,"left_low":"2 mL","left_high":"1 mL"}`, "bag.left_range", "left_low"},
		{"bag.seal", `{"visits":["$v"],"mark":"W-1","units":1,"hazardous":"maybe"}`, "input.value", "hazardous"},
		{"bag.hand", `{"bag":"$lot","to":"Example Waste (fictional)"}`, "bag.unknown", "bag"},
	})
}

// Bags filled from several visits, by hand: v has 3 lifted and w has 2. Four from
// both leave one, whichever visit it is from.
func TestBagsShareVisits(t *testing.T) {
	d := newAshDay(t)
	d.another("v", "0 mL", "0 mL", "0 mL")
	d.another("w", "0 mL", "0 mL")
	d.done(d.app, "bag.seal", d.with(`{"visits":["$v","$w"],"mark":"W-1","units":4}`))
	r := d.refused(d.app, "bag.seal", d.with(`{"visits":["$v"],"mark":"W-2","units":2}`), "bag.too_many", "units")
	if want := 1; r.Terms[3].Value != want {
		t.Errorf("at most %v, want %d", r.Terms[3].Value, want)
	}
	d.refused(d.app, "bag.seal", d.with(`{"visits":["$w"],"mark":"W-2","units":3}`), "bag.too_many", "units")
	d.done(d.app, "bag.seal", d.with(`{"visits":["$v"],"mark":"W-2","units":1}`))
	d.refused(d.app, "bag.seal", d.with(`{"visits":["$v","$w"],"mark":"W-3","units":1}`), "bag.too_many", "units")
}

func TestBagTells(t *testing.T) {
	d := newAshDay(t)
	d.another("v", "0 mL", "0 mL")
	d.name("bag", d.do(d.app, "bag.seal", d.with(`{"visits":["$v"],"mark":"W-1","units":1}`)))
	if o := d.done(d.app, "bag.seal", d.with(`{"visits":["$v"],"mark":"W-1","units":1}`)); !slices.Equal(findingCodes(o.Findings), []string{"bag.mark_again"}) {
		t.Errorf("two bags of one mark: told %v", findingCodes(o.Findings))
	}
	d.refused(d.app, "bag.hand", d.with(`{"bag":"$bag","to":"  "}`), "bag.nobody", "to")
	if o := d.done(d.boss, "bag.hand", d.with(`{"bag":"$bag","to":"Example Waste (fictional)"}`)); !slices.Equal(findingCodes(o.Findings), []string{"bag.no_proof"}) {
		t.Errorf("handed without a receipt: told %v", findingCodes(o.Findings))
	}
}

func TestFactsForTheRecord(t *testing.T) {
	d := newAshDay(t)
	ref := func(text string) string {
		return d.with(`{"on":{"kind":"visit","id":"$visit"},"field":"contract.ref"` + text + `}`)
	}
	d.done(d.train, "record.tell", ref(`,"text":"K-88"`))
	d.refused(d.train, "record.tell", ref(`,"text":"K-88"`), "record.nothing", "text")
	d.done(d.app, "record.tell", ref(`,"text":"K-89"`))
	if told := d.view().Told["contract.ref"]; told.Text != "K-89" || told.By != d.app {
		t.Errorf("told %+v, want K-89 by %s", told, d.app)
	}
	d.done(d.app, "record.tell", ref(""))
	if v := d.view(); v.Told["contract.ref"].Text != "" || len(v.Flags) > 0 {
		t.Errorf("taken back: told %+v, flags %v", v.Told, v.Flags)
	}
	d.refused(d.app, "record.tell", ref(""), "record.nothing", "text")
	profiles := `{"on":{"kind":"visit","id":"$visit"},"field":"profiles","text":"us-ny"`
	d.refused(d.app, "record.tell", d.with(profiles+`}`), "record.no_reason", "why")
	d.done(d.app, "record.tell", d.with(profiles+`,"why":"the county asks for it"}`))
	d.refuseAll(d.app, []refusal{
		{"record.tell", `{"on":{"kind":"visit","id":"$visit"},"field":"Contract Ref","text":"x"}`, "input.value", "field"},
		{"record.tell", `{"on":{"kind":"tree","id":"` + nobody + `"},"field":"x","text":"x"}`, "note.on_nothing", "on"},
	})
}

func TestNotesAndPhotos(t *testing.T) {
	d := newAshDay(t)
	d.done(d.train, "note.add", d.with(`{"on":{"kind":"tree","id":"$tree"},"text":"wasps at the flare"}`))
	photo := `{"on":{"kind":"visit","id":"$visit"},"sha256":"` + fmt.Sprintf("%064x", 7) + `","type":"image/jpeg","bytes":1000,"width":40,"height":30}`
	d.done(d.train, "photo.add", d.with(photo))
	if tree, v := state[*views.Tree](d.firm, entries.OfTree, d.tree), d.view(); tree.Notes != 1 || len(v.Photos) != 1 {
		t.Errorf("%d notes, photos %v", tree.Notes, v.Photos)
	}
	d.refuseAll(d.app, []refusal{
		{"note.add", `{"on":{"kind":"tree","id":"` + nobody + `"},"text":"x"}`, "note.on_nothing", "on"},
		{"note.add", `{"on":{"kind":"cloud","id":"$tree"},"text":"x"}`, "note.on_nothing", "on"},
		{"note.add", `{"on":{"kind":"tree","id":"$tree"},"text":" "}`, "note.empty", "text"},
		{"photo.add", `{"on":{"kind":"tree","id":"$tree"},"sha256":"` + fmt.Sprintf("%064x", 7) + `","type":"image/gif","bytes":1,"width":1,"height":1}`, "input.value", "type"},
		{"photo.add", `{"on":{"kind":"tree","id":"$tree"},"sha256":"` + fmt.Sprintf("%064x", 0) + `","type":"image/png","bytes":1,"width":1,"height":1}`, "input.value", "sha256"},
	})
}
