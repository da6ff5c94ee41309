package actions

import (
	"slices"
	"strconv"
	"strings"
	"testing"

	"sapwell/engine/quantity"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

// nobody is an id that names nothing.
var nobody = mustID(journal.ID{}, 1).String()

func TestBoreTakesThePlan(t *testing.T) {
	d := newAshDay(t)
	id := d.do(d.app, "hole.bore", d.with(`{"visit":"$visit","tree":"$tree","mark":2}`))
	hole, ok := holeOf(d.view(), id)
	// Marks every 6 in from the tape's zero, 12 in above ground; the label wants
	// 1/4 to 3/8 in of wood and a bit of 11/64 in.
	want := entries.Hole{
		Head: hole.Head, Visit: d.visit, Tree: d.tree, Mark: 2, Around: 152_400_000, Height: 304_800_000,
		Depth: 7_937_500, Bit: 4_365_625,
	}
	if !ok || hole != want || hole.By != d.app {
		t.Errorf("%+v, want %+v", hole, want)
	}
	own := d.do(d.app, "hole.bore", d.with(`{"visit":"$visit","tree":"$tree","mark":3,"around":"12.5 in","height":"10 in","depth":"10 mm","bit":"5 mm"}`))
	hole, _ = holeOf(d.view(), own)
	if hole.Around != 317_500_000 || hole.Height != 254_000_000 || hole.Depth != 10_000_000 || hole.Bit != 5_000_000 {
		t.Errorf("what was said does not stand: %+v", hole)
	}
	free := d.done(d.app, "hole.bore", d.with(`{"visit":"$visit","tree":"$tree","around":"0 in","height":"12 in","depth":"15 mm"}`))
	if !has(free, "hole.deeper") {
		t.Errorf("15 mm of wood where the label has 3/8 in: told %v", findingCodes(free.Findings))
	}
}

func TestBoreRefuses(t *testing.T) {
	d := newAshDay(t)
	d.name("second", d.do(d.app, "tree.add", d.with(`{"grounds":"$grounds","tag":"Q-02","species":"green ash"}`)))
	d.done(d.app, "hole.bore", d.with(`{"visit":"$visit","tree":"$tree","mark":1}`))
	d.refuseAll(d.app, []refusal{
		{"hole.bore", `{"visit":"` + nobody + `","tree":"$tree","mark":1}`, "visit.unknown", "visit"},
		{"hole.bore", `{"visit":"$visit","tree":"$second","mark":1}`, "visit.tree_not_in", "tree"},
		{"hole.bore", `{"visit":"$visit","tree":"$tree","stem":"b","mark":1}`, "hole.stem_unknown", "stem"},
		{"hole.bore", `{"visit":"$visit","tree":"$tree","mark":17}`, "hole.no_such_mark", "mark"},
		{"hole.bore", `{"visit":"$visit","tree":"$tree","mark":-1}`, "hole.no_such_mark", "mark"},
		{"hole.bore", `{"visit":"$visit","tree":"$tree","mark":1}`, "hole.bored_already", "mark"},
		{"hole.bore", `{"visit":"$visit","tree":"$tree","height":"12 in"}`, "hole.place_missing", "around"},
		{"hole.bore", `{"visit":"$visit","tree":"$tree","around":"12 in"}`, "hole.place_missing", "height"},
		{"hole.bore", `{"visit":"$visit","tree":"$tree","mark":2,"depth":"3 m"}`, "input.value", "depth"},
		{"hole.bore", `{"visit":"$visit","tree":"$tree","mark":2,"at":1}`, "visit.before_open", "at"},
	})
	d.done(d.app, "hole.bore", d.with(`{"visit":"$visit","tree":"$tree","mark":1,"again":true}`))
}

func TestSeatRefuses(t *testing.T) {
	d := newAshDay(t)
	d.name("hole", d.do(d.app, "hole.bore", d.with(`{"visit":"$visit","tree":"$tree","mark":1}`)))
	other := strings.Replace(demoLabel(t, "demo-a"), "id: demo-a", "id: demo-x", 1)
	d.do(d.boss, "label.add", `{"file":`+other+`}`)
	d.name("foreign", d.do(d.boss, "lot.add", `{"label":"demo-x","number":"F1","size":"4 mL","expires":"2027-01-31"}`))
	d.name("old", d.do(d.boss, "lot.add", `{"label":"demo-a","number":"E1","size":"4 mL","expires":"2026-06-08"}`))
	d.name("lastday", d.do(d.boss, "lot.add", `{"label":"demo-a","number":"E2","size":"4 mL","expires":"2026-06-09"}`))
	d.name("frozen", d.do(d.boss, "lot.add", `{"label":"demo-a","number":"C1","size":"4 mL","expires":"2027-01-31","coldest":"-3 °C","warmest":"20 °C"}`))
	d.name("undated", d.do(d.boss, "lot.add", `{"label":"demo-a","number":"U1","size":"4 mL"}`))
	seat := func(lot, more string) string {
		return `{"visit":"$visit","hole":"$hole","lot":"` + lot + `"` + more + `}`
	}
	d.refuseAll(d.app, []refusal{
		{"unit.seat", strings.Replace(seat("$lot", ""), "$hole", nobody, 1), "hole.unknown", "hole"},
		{"unit.seat", seat(nobody, ""), "lot.unknown", "lot"},
		{"unit.seat", seat("$foreign", ""), "unit.other_label", "lot"},
		{"unit.seat", seat("$old", ""), "lot.expired", "lot"},
		{"unit.seat", seat("$frozen", ""), "lot.storage_out_of_range", "lot"},
		{"unit.seat", seat("$lot", `,"fill":"5 mL"`), "unit.over_size", "fill"},
		{"unit.seat", seat("$lot", `,"fill":"-1 mL"`), "input.value", "fill"},
		{"unit.seat", seat("$lot", `,"at":1`), "visit.before_open", "at"},
	})
	if r := d.refused(d.app, "unit.seat", d.with(seat("$old", "")), "lot.expired", "lot"); !strings.Contains(r.Text, "2026-06-08") {
		t.Errorf("%q does not say until when it was good", r.Text)
	}
	d.name("unit", d.do(d.app, "unit.seat", d.with(seat("$lastday", ""))))
	if u := d.view().Units[0]; u.Fill != 4_000_000 || u.Tree != d.tree {
		t.Errorf("seated %+v, want 4 mL in the tree", u)
	}
	d.refused(d.app, "unit.seat", d.with(seat("$lot", "")), "hole.has_unit", "hole")
	d.done(d.app, "unit.lift", d.with(`{"visit":"$visit","unit":"$unit","left":"4 mL"}`))
	again := d.done(d.app, "unit.seat", d.with(seat("$undated", `,"fill":"3 mL"`)))
	if want := []string{"hole.had_unit", "lot.expiry_unknown", "unit.other_fill"}; !slices.Equal(findingCodes(again.Findings), want) {
		t.Errorf("told %v, want %v", findingCodes(again.Findings), want)
	}
}

// 16 units of 4 mL are the plan. A seventeenth is more than the plan and is told;
// after one came back full it is not.
func TestSeatTellsWhatIsOverThePlan(t *testing.T) {
	d := newAshDay(t)
	d.install()
	bore := func() journal.ID {
		return d.do(d.app, "hole.bore", d.with(`{"visit":"$visit","tree":"$tree","around":"5 in","height":"12 in"}`))
	}
	d.name("a", bore())
	over := d.done(d.app, "unit.seat", d.with(`{"visit":"$visit","hole":"$a","lot":"$lot"}`))
	if !has(over, "unit.over_plan") || over.Findings[0].Terms[1].Value != 68*quantity.Millilitre {
		t.Errorf("a seventeenth unit: told %v", over.Findings)
	}
	d.on("unit.lift", 1, 2, `,"left":"4 mL"`)
	d.name("c", bore())
	if o := d.done(d.app, "unit.seat", d.with(`{"visit":"$visit","hole":"$c","lot":"$lot"}`)); len(o.Findings) > 0 {
		t.Errorf("in place of one that came back full: told %v", o.Findings)
	}
}

func TestInstallDoesTheRest(t *testing.T) {
	d := newAshDay(t)
	d.name("h1", d.do(d.app, "hole.bore", d.with(`{"visit":"$visit","tree":"$tree","mark":1}`)))
	d.done(d.app, "unit.seat", d.with(`{"visit":"$visit","hole":"$h1","lot":"$lot"}`))
	d.done(d.app, "hole.bore", d.with(`{"visit":"$visit","tree":"$tree","mark":2}`))
	some := d.done(d.train, "tree.install", d.with(`{"visit":"$visit","tree":"$tree","lot":"$lot","marks":[2,3]}`)).Result.(treeInstalled)
	if len(some.Holes) != 1 || len(some.Units) != 2 {
		t.Errorf("marks 2, bored already, and 3: %d holes and %d units, want 1 and 2", len(some.Holes), len(some.Units))
	}
	rest := d.done(d.app, "tree.install", d.with(`{"visit":"$visit","tree":"$tree","lot":"$lot"}`)).Result.(treeInstalled)
	if len(rest.Holes) != 13 || len(rest.Units) != 13 {
		t.Errorf("the rest: %d holes and %d units, want 13 and 13", len(rest.Holes), len(rest.Units))
	}
	v := d.view()
	if len(v.Holes) != 16 || len(v.Units) != 16 || len(v.Flags) > 0 {
		t.Errorf("%d holes, %d units, flags %v", len(v.Holes), len(v.Units), v.Flags)
	}
	d.refuseAll(d.app, []refusal{
		{"tree.install", `{"visit":"$visit","tree":"$tree","lot":"$lot"}`, "tree.installed_already", "tree"},
		{"tree.install", `{"visit":"$visit","tree":"$tree","lot":"$lot","marks":[5]}`, "tree.mark_has_unit", "marks[0]"},
		{"tree.install", `{"visit":"$visit","tree":"$tree","lot":"$lot","marks":[17]}`, "hole.no_such_mark", "marks[0]"},
		{"tree.install", `{"visit":"$visit","tree":"$tree","stem":"b","lot":"$lot"}`, "hole.stem_unknown", "stem"},
		{"tree.install", `{"visit":"$visit","tree":"$visit","lot":"$lot"}`, "visit.tree_not_in", "tree"},
	})
}

func TestInstallRefuses(t *testing.T) {
	d := newAshDay(t)
	d.name("old", d.do(d.boss, "lot.add", `{"label":"demo-a","number":"E1","size":"4 mL","expires":"2026-06-08"}`))
	d.refuseAll(d.app, []refusal{
		{"tree.install", `{"visit":"$visit","tree":"$tree","lot":"$old"}`, "lot.expired", "lot"},
		{"tree.install", `{"visit":"$visit","tree":"$tree","lot":"$lot","marks":[3,3]}`, "tree.mark_has_unit", "marks[1]"},
	})
}

// A tree of two stems is installed by one press, or stem by stem. Units of several
// sizes, or a stem without marks, want somebody to say which go where.
func TestInstallSeveralStems(t *testing.T) {
	d := newAshDay(t)
	two := []entries.PlanStem{
		{Name: "a", Units: 2, PerUnit: 4_000_000, Total: 8_000_000, Marks: []int64{0, 152_400_000}},
		{Name: "b", Units: 1, PerUnit: 4_000_000, Total: 4_000_000, Marks: []int64{0}},
	}
	open := func(stems []entries.PlanStem) {
		d.t.Helper()
		d.name("p"+nameOf(len(d.names)), d.plan(stems))
		p := d.names[len(d.names)-2]
		d.visit = d.do(d.app, "visit.open", d.with(`{"grounds":"$grounds","day":"2026-06-09","jobs":[{"tree":"$tree","plan":"`+p+`"}]}`))
	}
	install := func(more string) string {
		return d.with(`{"visit":"` + d.visit.String() + `","tree":"$tree","lot":"$lot"` + more + `}`)
	}
	open(two)
	d.refused(d.app, "tree.install", install(`,"marks":[1]`), "hole.stem_unknown", "stem")
	if b := d.done(d.app, "tree.install", install(`,"stem":"b"`)).Result.(treeInstalled); len(b.Units) != 1 {
		t.Errorf("stem b: %d units, want 1", len(b.Units))
	}
	if a := d.done(d.app, "tree.install", install("")).Result.(treeInstalled); len(a.Units) != 2 {
		t.Errorf("the rest: %d units, want 2", len(a.Units))
	}
	open([]entries.PlanStem{{Units: 2, Total: 7_000_000, Marks: []int64{0, 152_400_000}}})
	d.refused(d.app, "tree.install", install(""), "tree.mixed_sizes", "marks")
	d.done(d.app, "tree.install", install(`,"marks":[2]`))
	open([]entries.PlanStem{{Units: 2, PerUnit: 4_000_000, Total: 8_000_000}})
	d.refused(d.app, "tree.install", install(""), "tree.no_marks", "tree")
	open([]entries.PlanStem{{Units: 1, PerUnit: 3_000_000, Total: 3_000_000, Marks: []int64{0}}})
	d.refused(d.app, "tree.install", install(""), "unit.other_size", "lot")
	d.done(d.app, "tree.install", install(`,"fill":"3 mL"`))
}

// nameOf makes a name for $ that no other begins with.
func nameOf(n int) string { return string(rune('A' + n%26)) }

// plan writes a plan as it came from elsewhere.
func (d *ashDay) plan(stems []entries.PlanStem) journal.ID {
	d.t.Helper()
	old, _, err := current(d, state[*views.Tree](d.firm, entries.OfTree, d.tree).Plan)
	if err != nil {
		d.t.Fatal(err)
	}
	p := old.Body.(entries.Plan)
	p.Stems, p.Full = stems, ""
	return d.put(p)
}

// put writes an entry that no deed here writes.
func (d *ashDay) put(b entries.Body) journal.ID {
	d.t.Helper()
	m := d.moment(d.app)
	id, err := m.NewID()
	if err != nil {
		d.t.Fatal(err)
	}
	draft, err := entries.Draft(id, d.now, b)
	if err != nil {
		d.t.Fatal(err)
	}
	d.write(d.office, []journal.Draft{draft})
	return id
}

func TestUnitsRefuse(t *testing.T) {
	d := newAshDay(t)
	d.install()
	for i, u := range d.units[:9] {
		d.name("u"+nameOf(i), u)
	}
	d.on("unit.drain", 1, 1, "")
	d.on("unit.lift", 2, 2, `,"left":"0 mL"`)
	d.on("unit.lose", 3, 3, `,"why":"gone","signed":"Bo Muster"`)
	for _, deed := range []string{"unit.pressurise", "unit.drain", "unit.stick", "unit.lift", "unit.lose"} {
		more := map[string]string{"unit.stick": `,"left":"1 mL"`, "unit.lift": `,"left":"0 mL"`, "unit.lose": `,"why":"gone","signed":"Bo Muster"`}[deed]
		input := func(units string) string { return `{"visit":"$visit",` + units + more + `}` }
		d.refuseAll(d.app, []refusal{
			{deed, `{"visit":"$visit"` + more + `}`, "unit.none", "unit"},
			{deed, input(`"unit":"` + nobody + `"`), "unit.unknown", "unit"},
			{deed, input(`"units":["$uD","` + nobody + `"]`), "unit.unknown", "units[1]"},
			{deed, input(`"units":["$uD","$uE","$uD"]`), "unit.twice", "units[2]"},
			{deed, input(`"unit":"$uD","units":["$uD"]`), "unit.twice", "units[0]"},
			{deed, input(`"units":["$uD","$uB"]`), "unit.is_lifted", "units[1]"},
			{deed, input(`"unit":"$uD","at":1`), "visit.before_open", "at"},
		})
		if deed != "unit.lift" {
			d.refused(d.app, deed, d.with(input(`"unit":"$uC"`)), "unit.is_lost", "unit")
		}
	}
	r := d.refused(d.app, "unit.drain", d.with(`{"visit":"$visit","units":["$uD","$uB"]}`), "unit.is_lifted", "units[1]")
	if !strings.Contains(r.Text, "mark 2 of tree Q-01") {
		t.Errorf("%q does not say which unit", r.Text)
	}
	d.refuseAll(d.app, []refusal{
		{"unit.drain", `{"visit":"$visit","unit":"$uA"}`, "unit.is_drained", "unit"},
		{"unit.stick", `{"visit":"$visit","unit":"$uA","left":"1 mL"}`, "unit.is_drained", "unit"},
		{"unit.stick", `{"visit":"$visit","unit":"$uD","left":"4.1 mL"}`, "unit.left_range", "left"},
		{"unit.lift", `{"visit":"$visit","unit":"$uD","left":"4.1 mL"}`, "unit.left_range", "left"},
		{"unit.lift", `{"visit":"$visit","unit":"$uD","left":"-1 mL"}`, "input.value", "left"},
		{"unit.lift", `{"visit":"$visit","units":["$uA","$uD"]}`, "unit.left_missing", "left"},
		{"unit.lose", `{"visit":"$visit","unit":"$uD","why":" ","signed":"Bo Muster"}`, "unit.no_reason", "why"},
		{"unit.lose", `{"visit":"$visit","unit":"$uD","why":"gone","signed":""}`, "unit.not_signed", "signed"},
		{"unit.lose", `{"visit":"$visit","unit":"$uD","why":"gone"}`, "input.missing", "signed"},
	})
}

// A unit that was given up for lost may be found: it is lifted, and that is told.
func TestLostUnitIsFound(t *testing.T) {
	d := newAshDay(t)
	d.install()
	d.on("unit.lose", 1, 1, `,"why":"gone","signed":"Bo Muster"`)
	found := d.on("unit.lift", 1, 16, `,"left":"0 mL"`)
	if !slices.Equal(findingCodes(found.Findings), []string{"unit.was_lost"}) {
		t.Errorf("told %v", findingCodes(found.Findings))
	}
	d.done(d.app, "visit.tally", d.with(`{"visit":"$visit","lots":[{"lot":"$lot","taken":16,"seated":16,"lifted":16,"lost":0,"unused":0}]}`))
	got := d.done(d.app, "visit.close", d.with(closing)).Result.(visitIsClosed).Trees[0]
	if got.Lifted != 16 || got.Lost != 0 || got.Given != 64_000_000 {
		t.Errorf("closed with %+v, want 16 lifted and 64 mL given", got)
	}
}

// What is noted later than it was done says when it was done, but not before the
// unit was there.
func TestMomentsOfUnits(t *testing.T) {
	d := newAshDay(t)
	opened := d.now
	d.now += 60_000
	d.install()
	d.name("uA", d.units[0])
	d.refused(d.app, "unit.drain", d.with(`{"visit":"$visit","unit":"$uA","at":`+number(opened+1000)+`}`), "unit.before_seated", "at")
	d.now += 600_000
	d.done(d.app, "unit.drain", d.with(`{"visit":"$visit","unit":"$uA","at":`+number(d.now-300_000)+`}`))
	if u := d.view().Units[0]; u.Drained != d.now-1000-300_000 {
		t.Errorf("drained at %d, want %d", u.Drained, d.now-1000-300_000)
	}
}

func number(n int64) string { return strconv.FormatInt(n, 10) }
