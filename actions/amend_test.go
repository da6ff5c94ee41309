package actions

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

// entryOf finds the entry of a kind that speaks of a unit, or the last of the kind.
func (d *ashDay) entryOf(kind string, unit journal.ID) journal.Entry {
	d.t.Helper()
	for _, e := range slices.Backward(d.raw) {
		if e.Kind == kind && (unit == journal.ID{} || strings.Contains(string(e.Body), unit.String())) {
			return e
		}
	}
	d.t.Fatalf("no entry of kind %s", kind)
	return journal.Entry{}
}

// change is the body of an entry with some members changed; nil takes one out.
func change(t testing.TB, body []byte, to map[string]any) string {
	t.Helper()
	var m map[string]any
	dec := json.NewDecoder(strings.NewReader(string(body)))
	dec.UseNumber()
	if err := dec.Decode(&m); err != nil {
		t.Fatal(err)
	}
	for k, v := range to {
		if m[k] = v; v == nil {
			delete(m, k)
		}
	}
	text, err := json.Marshal(m)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

func amending(of journal.ID, after, reason string) string {
	text, err := json.Marshal(map[string]any{"of": of, "after": json.RawMessage(after), "why": reason})
	if err != nil {
		panic(err)
	}
	return string(text)
}

// The laws of amendments: the entry stays byte for byte as it was; the amendment is
// a new entry that says who, when, why, what before and what after; whoever looks
// sees the new value with a mark; and it can be corrected again.
func TestAmendmentStandsBesideTheEntry(t *testing.T) {
	d := newAshDay(t)
	d.install()
	d.on("unit.lift", 1, 1, `,"left":"1 mL"`)
	lifted := d.entryOf("unit.lifted", d.units[0])
	line := slices.Clone(lifted.Line)

	amend := func(left int, reason string) journal.ID {
		return d.do(d.app, "amend", amending(lifted.ID, change(t, lifted.Body, map[string]any{"left_nl": left, "v": nil, "by": nil}), reason))
	}
	first := amend(2_000_000, "read the scale upside down")
	e := d.entryOf("amendment", journal.ID{})
	read, err := entries.Read(e)
	if err != nil {
		t.Fatal(err)
	}
	a := read.Body.(entries.Amendment)
	if e.ID != first || a.By != d.app || e.Time != d.now || a.Why != "read the scale upside down" || a.Of != lifted.ID || a.OfKind != "unit.lifted" {
		t.Errorf("%+v does not say who, when, why and what", a)
	}
	if string(a.Before) != string(lifted.Body) || string(a.After) != change(t, lifted.Body, map[string]any{"left_nl": 2_000_000}) {
		t.Errorf("before %s after %s", a.Before, a.After)
	}
	second := amend(3_000_000, "and in another unit")
	again, _, err := current(d, second)
	if b := again.Body.(entries.Amendment); err != nil || string(b.Before) != string(a.After) {
		t.Errorf("the second amendment begins from %s, want what was understood until then (%v)", b.Before, err)
	}
	v := d.view()
	if *v.Units[0].Left != 3_000_000 || len(v.Amended) != 2 || v.Amended[1].Why != "and in another unit" || len(v.Flags) > 0 {
		t.Errorf("left %d, marks %+v, flags %v", *v.Units[0].Left, v.Amended, v.Flags)
	}
	if now, _, _ := d.Entry(lifted.ID); string(now.Line) != string(line) {
		t.Error("the entry itself was changed")
	}
	if s, _, err := current(d, lifted.ID); err != nil || s.Body.(entries.UnitLifted).Left != 3_000_000 {
		t.Errorf("as it is understood now: %+v, %v", s, err)
	}
}

func TestAmendRefuses(t *testing.T) {
	d := newAshDay(t)
	d.install()
	d.on("unit.lift", 1, 1, `,"left":"1 mL"`)
	lifted := d.entryOf("unit.lifted", d.units[0])
	better := change(t, lifted.Body, map[string]any{"left_nl": 0})
	d.refuseAll(d.app, []refusal{
		{"amend", amending(lifted.ID, better, " \t"), "amend.no_reason", "why"},
		{"amend", amending(mustID(journal.ID{}, 1), better, "x"), "amend.unknown", "of"},
		{"amend", amending(lifted.ID, string(lifted.Body), "x"), "amend.nothing", "after"},
		{"amend", amending(lifted.ID, change(t, lifted.Body, map[string]any{"v": nil}), "x"), "amend.nothing", "after"},
		{"amend", amending(lifted.ID, change(t, lifted.Body, map[string]any{"left_nl": -1}), "x"), "amend.after", "after"},
		{"amend", amending(lifted.ID, change(t, lifted.Body, map[string]any{"colour": "red"}), "x"), "amend.after", "after"},
		{"amend", amending(lifted.ID, change(t, lifted.Body, map[string]any{"v": 2}), "x"), "amend.after", "after"},
		{"amend", amending(lifted.ID, `{"left_nl":0}`, "x"), "amend.after", "after"},
		{"amend", amending(lifted.ID, `[]`, "x"), "amend.after", "after"},
		{"amend", amending(lifted.ID, change(t, lifted.Body, map[string]any{"by": d.boss}), "x"), "amend.by", "after.by"},
		{"amend", `{"of":"` + lifted.ID.String() + `","after":` + better + `}`, "input.missing", "why"},
	})
	r := d.refused(d.app, "amend", amending(lifted.ID, change(t, lifted.Body, map[string]any{"left_nl": "none"}), "x"), "amend.after", "after")
	if !strings.Contains(r.Text, "left_nl") {
		t.Errorf("%q does not name the member", r.Text)
	}
	d.done(d.app, "amend", amending(lifted.ID, better, "read wrongly"))
	d.refused(d.app, "amend", amending(d.entryOf("amendment", journal.ID{}).ID, better, "x"), "amend.of_amendment", "of")
	d.refused(d.app, "amend", amending(lifted.ID, better, "x"), "amend.nothing", "after")
}

// What decides who may do what is the office's to amend; what others rest on is
// nobody's; and a thing that has a name is not made another.
func TestAmendKeepsRights(t *testing.T) {
	d := newAshDay(t)
	i := slices.IndexFunc(d.raw, func(e journal.Entry) bool { return e.ID == d.app })
	me := d.raw[i]
	more := change(t, me.Body, map[string]any{"roles": []string{"office"}})
	d.refused(d.app, "amend", amending(me.ID, more, "I would like to"), "amend.office_only", "of")
	d.done(d.boss, "amend", amending(me.ID, change(t, me.Body, map[string]any{"name": "Bo Exemple"}), "misspelt"))
	d.refused(d.boss, "amend", amending(me.ID, change(t, me.Body, map[string]any{"person": d.look}), "x"), "amend.other_thing", "after")
	for _, kind := range []string{"label", "plan", "device.enrolled"} {
		e := d.entryOf(kind, journal.ID{})
		d.refused(d.boss, "amend", amending(e.ID, string(e.Body), "x"), "amend.never", "of")
	}
	tree := d.entryOf("tree", journal.ID{})
	d.refused(d.app, "amend", amending(tree.ID, change(t, tree.Body, map[string]any{"tree": d.lot}), "x"), "amend.other_thing", "after")
	measured := d.entryOf("measurement", journal.ID{})
	other := d.do(d.app, "tree.add", d.with(`{"grounds":"$grounds","tag":"Q-02","species":"green ash"}`))
	d.done(d.app, "amend", amending(measured.ID, change(t, measured.Body, map[string]any{"tree": other}), "that was the tree beside it"))
	if tree := state[*views.Tree](d.firm, entries.OfTree, d.tree); tree.Measurement != nil {
		t.Error("the measurement is still the first tree's")
	}
	if tree := state[*views.Tree](d.firm, entries.OfTree, other); tree.Measurement == nil {
		t.Error("the measurement is not the other tree's")
	}
}

// An amendment may say that a unit was not lifted after all, also when the visit is
// closed: that is told, the view carries the flag, and the figures that were signed
// stay until somebody amends them.
func TestAmendUnitOut(t *testing.T) {
	d := newAshDay(t)
	d.install()
	d.finish()
	lifted := d.entryOf("unit.lifted", d.units[4])
	o := d.done(d.app, "amend", amending(lifted.ID, change(t, lifted.Body, map[string]any{"unit": d.units[5]}), "it was another"))
	want := []string{"amend.unit_out", "amend.tally_differs", "amend.closing_differs"}
	if !slices.Equal(findingCodes(o.Findings), want) {
		t.Errorf("told %v, want %v", findingCodes(o.Findings), want)
	}
	v := d.view()
	flagged := slices.ContainsFunc(v.Flags, func(f views.Flag) bool { return f.Code == "visit.units_out" })
	if !v.Units[4].Out() || !flagged || v.Closed.Trees[0].Lifted != 16 {
		t.Errorf("out %t, flags %v, closing %+v", v.Units[4].Out(), v.Flags, v.Closed.Trees)
	}
}

// 16 units emptied 64 mL. That one had 1 mL left leaves 63, and the closing says 64
// until it is amended too.
func TestAmendAfterClosing(t *testing.T) {
	d := newAshDay(t)
	d.install()
	d.finish()
	lifted := d.entryOf("unit.lifted", d.units[0])
	after := change(t, lifted.Body, map[string]any{"left_nl": 1_000_000})
	o := d.done(d.app, "amend", amending(lifted.ID, after, "seen in the bag"))
	if !slices.Equal(findingCodes(o.Findings), []string{"amend.closing_differs"}) {
		t.Errorf("told %v, want amend.closing_differs", findingCodes(o.Findings))
	}
	closed := d.entryOf("visit.closed", journal.ID{})
	fixed := strings.Replace(string(closed.Body), `"given_nl":64000000`, `"given_nl":63000000`, 1)
	o = d.done(d.app, "amend", amending(closed.ID, fixed, "one unit had 1 mL left"))
	if len(o.Findings) > 0 {
		t.Errorf("now it fits, but told %v", findingCodes(o.Findings))
	}
	tree := state[*views.Tree](d.firm, entries.OfTree, d.tree)
	if len(tree.Treatments) != 1 || tree.Treatments[0].Given != 63_000_000 || len(tree.Amended) != 1 {
		t.Errorf("the tree has %+v with the marks %+v", tree.Treatments, tree.Amended)
	}
}

// An amendment that speaks of another kind than the entry it names, as a faulty
// device may send it, changes nothing: the one before it still counts.
func TestAmendmentOfAnotherKindIsPassedOver(t *testing.T) {
	d := newAshDay(t)
	d.install()
	d.on("unit.lift", 1, 1, `,"left":"1 mL"`)
	lifted := d.entryOf("unit.lifted", d.units[0])
	d.done(d.app, "amend", amending(lifted.ID, change(t, lifted.Body, map[string]any{"left_nl": 2_000_000}), "read wrongly"))
	drained := change(t, lifted.Body, map[string]any{"left_nl": nil})
	d.put(entries.Amendment{
		Head: entries.Head{By: d.app}, Of: lifted.ID, OfKind: "unit.drained", Why: "x",
		Before: json.RawMessage(drained), After: json.RawMessage(change(t, []byte(drained), map[string]any{"at": 5})),
	})
	if s, ok, err := current(d, lifted.ID); err != nil || !ok || s.Body.(entries.UnitLifted).Left != 2_000_000 {
		t.Errorf("%+v, %t, %v", s.Body, ok, err)
	}
}

// Whatever is sent as the body that should be read: it is refused, or stands as a
// body of the kind by the same person.
func FuzzAmend(f *testing.F) {
	d := newAshDay(f)
	d.install()
	d.on("unit.lift", 1, 1, `,"left":"1 mL"`)
	lifted := d.entryOf("unit.lifted", d.units[0])
	was, _, err := current(d, lifted.ID)
	if err != nil {
		f.Fatal(err)
	}
	f.Add(string(lifted.Body))
	f.Add(change(f, lifted.Body, map[string]any{"v": nil, "by": nil}))
	f.Add(`{"left_nl":0,"left_nl":1}`)
	f.Add(`null`)
	f.Add(`{"v":1,"v":2,"unit":"` + nobody + `"}`)
	f.Fuzz(func(t *testing.T, after string) {
		raw, body, err := (&desk{Reader: d}).after(was, json.RawMessage(after))
		if err != nil {
			if !isRefusal(err) {
				t.Errorf("%q: %v, want a refusal", after, err)
			}
			return
		}
		again, err := entries.ReadBody(was.Kind, raw)
		if err != nil || again != body || body.Said().By != d.app {
			t.Errorf("%q became %s, which reads as %+v, %v", after, raw, again, err)
		}
	})
}
