package actions

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"sapwell/engine/quantity"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

// What a crew sees of a tree with 16 units, counted by hand: 3 seen empty, 1 stuck,
// 2 lifted, 1 lost; so 13 are out, of which 2 empty, for one of those seen empty is
// lifted; 13 less 2 empty and 1 stuck are 10 that run.
func TestRound(t *testing.T) {
	d := newAshDay(t)
	d.install()
	d.on("unit.drain", 1, 3, "")
	d.on("unit.stick", 4, 4, `,"left":"1 mL"`)
	d.on("unit.lift", 1, 1, "")
	d.on("unit.lift", 5, 5, `,"left":"4 mL"`)
	d.on("unit.lose", 16, 16, `,"why":"gone","signed":"Bo Muster"`)
	round, err := Round(d, quantity.NewDate(2026, 6, 9))
	if err != nil {
		t.Fatal(err)
	}
	if len(round) != 1 || len(round[0].Trees) != 1 {
		t.Fatalf("%+v, want one visit with one tree", round)
	}
	v := d.view()
	o := round[0]
	if o.ID != d.visit || o.Name != "North Walk (invented)" || o.Day != v.Facts.Day || o.Certified != d.app || o.Opened != v.Opened || o.Flags != 0 {
		t.Errorf("%+v", o)
	}
	got := o.Trees[0]
	if got.P50 == nil || got.P90 == nil || *got.P50 <= 0 || *got.P90 <= *got.P50 {
		t.Errorf("no forecast: %v, %v", got.P50, got.P90)
	}
	plan, err := (&desk{Reader: d}).planEntry(v.Facts.Jobs[0].Plan, "plan")
	if err != nil {
		t.Fatal(err)
	}
	var full Plan
	if err := json.Unmarshal([]byte(plan.Full), &full); err != nil {
		t.Fatal(err)
	}
	if f := full.Stems[0].Unit.Forecast; f.P50 != *got.P50 || f.P90 != *got.P90 {
		t.Errorf("forecast %v, %v; the plan has %v, %v", *got.P50, *got.P90, f.P50, f.P90)
	}
	got.P50, got.P90 = nil, nil
	want := TreeOnRound{
		Tree: d.tree, Tag: "Q-01", Planned: 16, Holes: 16, Seated: 16,
		Drained: 2, Stuck: 1, Lifted: 2, Lost: 1, Out: 13, Oldest: v.Units[1].Seated,
		Running: 10, Since: v.Units[5].Seated,
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// A round shows the forecast of the stem that takes longest, and what a plan does
// not say it does not make up; whatever stands in the whole answer.
func TestGlance(t *testing.T) {
	ms := func(n int64) *quantity.Span { s := quantity.Span(n * 1_000_000); return &s }
	for _, c := range []struct {
		plan entries.Plan
		want TreeOnRound
	}{
		{entries.Plan{}, TreeOnRound{}},
		{entries.Plan{Stems: []entries.PlanStem{{Units: 3}, {Units: 4}}}, TreeOnRound{Planned: 7}},
		{entries.Plan{Stems: []entries.PlanStem{{Units: 3, P50: 9, P90: 10}, {Units: 4, P50: 8, P90: 20}, {Units: 1, P50: 2, P90: 3}}},
			TreeOnRound{Planned: 8, P50: ms(8), P90: ms(20)}},
		{entries.Plan{Full: `{"stems":[{"units":9,"p90_ms":99}],"x":",\"stems\":[{}]"}`, Stems: []entries.PlanStem{{Units: 1, P50: 1, P90: 2}}},
			TreeOnRound{Planned: 1, P50: ms(1), P90: ms(2)}},
	} {
		c.plan.Tree, c.plan.Label, c.plan.Measurement = mustID(journal.ID{}, 1), mustID(journal.ID{}, 2), mustID(journal.ID{}, 3)
		c.plan.Day, c.plan.Overall, c.plan.Engine = quantity.NewDate(2026, 6, 9), "ask", "1"
		body, err := entries.WriteBody(c.plan)
		if err != nil {
			t.Fatal(err)
		}
		var got TreeOnRound
		if got.glance(body); !cmp.Equal(got, c.want) {
			t.Errorf("%s: %+v, want %+v", body, got, c.want)
		}
	}
}

// Visits of later days are not of today's round, those left open on earlier days
// are; closed ones are of none.
func TestRoundOfADay(t *testing.T) {
	d := newAshDay(t)
	open := func(day string) journal.ID {
		return d.do(d.app, "visit.open", d.with(`{"grounds":"$grounds","day":"`+day+`","jobs":[{"tree":"$tree","plan":"$plan"}]}`))
	}
	before, after := open("2026-06-08"), open("2026-06-10")
	for _, c := range []struct {
		day  entries.Date
		want []journal.ID
	}{
		{quantity.NewDate(2026, 6, 7), nil},
		{quantity.NewDate(2026, 6, 9), []journal.ID{before, d.visit}},
		{entries.Date{}, []journal.ID{before, d.visit, after}},
	} {
		round, err := Round(d, c.day)
		if err != nil {
			t.Fatal(err)
		}
		var got []journal.ID
		for _, o := range round {
			got = append(got, o.ID)
		}
		if !cmp.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", c.day, got, c.want)
		}
	}
	d.install()
	d.finish()
	if round, err := Round(d, quantity.NewDate(2026, 6, 9)); err != nil || len(round) != 1 || round[0].ID != before {
		t.Errorf("after closing: %+v, %v", round, err)
	}
}

// A unit in a tree that is not among the jobs is on the round all the same: it is
// out, and somebody has to walk there.
func TestRoundShowsWhatIsNoJob(t *testing.T) {
	d := newAshDay(t)
	d.install()
	opened := d.entryOf("visit.opened", journal.ID{})
	d.done(d.app, "amend", amending(opened.ID, change(t, opened.Body, map[string]any{"jobs": []any{}}), "planned for another day"))
	round, err := Round(d, entries.Date{})
	if err != nil || len(round) != 1 || len(round[0].Trees) != 1 || round[0].Trees[0].Out != 16 || round[0].Trees[0].Tag != "Q-01" {
		t.Errorf("%+v, %v", round, err)
	}
}

// kept is a Reader of rows that are kept, as a store has them.
type kept struct {
	Reader
	rows  map[entries.Subject]views.Row
	open  []views.Row
	plans map[journal.ID]journal.Entry
}

func (k kept) View(s entries.Subject) (views.Row, bool, error) { r, ok := k.rows[s]; return r, ok, nil }
func (k kept) Entry(id journal.ID) (journal.Entry, bool, error) {
	e, ok := k.plans[id]
	return e, ok, nil
}
func (k kept) List(kind entries.SubjectKind, from, to, after string, limit int) ([]views.Row, error) {
	if after != "" {
		return nil, nil
	}
	return k.open, nil
}

// A round of 10 visits to 20 trees each, 16 units a tree, from kept rows.
func BenchmarkRound(b *testing.B) {
	d := newAshDay(b)
	d.install()
	v, one := d.view(), d.view()
	k := kept{Reader: d, rows: map[entries.Subject]views.Row{}, plans: map[journal.ID]journal.Entry{}}
	row := func(s entries.Subject) views.Row {
		r, _, err := d.View(s)
		if err != nil {
			b.Fatal(err)
		}
		k.rows[s] = r
		return r
	}
	row(entries.Subject{Kind: entries.OfGrounds, ID: v.Facts.Grounds.String()})
	tree := row(entries.Subject{Kind: entries.OfTree, ID: d.tree.String()})
	plan := v.Facts.Jobs[0].Plan
	k.plans[plan], _, _ = d.Entry(plan)
	for n := range 19 {
		id := mustID(journal.ID{}, int64(n+1))
		k.rows[entries.Subject{Kind: entries.OfTree, ID: id.String()}] = views.Row{
			Subject: entries.Subject{Kind: entries.OfTree, ID: id.String()},
			State:   json.RawMessage(strings.ReplaceAll(string(tree.State), d.tree.String(), id.String())),
		}
		v.Facts.Jobs = append(v.Facts.Jobs, entries.Job{Tree: id, Plan: plan})
		for i := range one.Units {
			h, u := one.Holes[i], one.Units[i]
			h.Facts.Tree, u.Tree = id, id
			v.Holes, v.Units = append(v.Holes, h), append(v.Units, u)
		}
	}
	state, err := json.Marshal(v)
	if err != nil {
		b.Fatal(err)
	}
	for range 10 {
		k.open = append(k.open, views.Row{Subject: entries.Subject{Kind: entries.OfVisit, ID: v.ID}, State: state})
	}
	for b.Loop() {
		round, err := Round(k, entries.Date{})
		if err != nil || len(round) != 10 || round[0].Trees[19].Out != 16 {
			b.Fatalf("%d visits, %v", len(round), err)
		}
	}
}
