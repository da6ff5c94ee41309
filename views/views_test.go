package views

import (
	"testing"

	"sapwell/engine/quantity"
	"sapwell/entries"
	"sapwell/journal"
)

func id(n byte) journal.ID { return journal.ID{0, 1, 2, 3, 4, n, 0x70, 0, 0x80, 15: n} }

func item(n byte, b entries.Body) Item {
	e := entries.Entry{ID: id(n), Seq: int64(n), Time: 1000 * int64(n), Body: b}
	e.Hash[0] = n
	return Item{e, Place{Time: e.Time, Seq: e.Seq, Hash: e.Hash}}
}

func TestFoldsAVisit(t *testing.T) {
	s := entries.Subject{Kind: entries.OfVisit, ID: id(1).String()}
	all := []Item{
		item(1, entries.VisitOpened{Grounds: id(92), Day: quantity.NewDate(2026, 6, 9), Certified: id(93), Jobs: []entries.Job{{Tree: id(90), Plan: id(94)}}}),
		item(2, entries.Hole{Visit: id(1), Tree: id(90), Mark: 1}),
		item(3, entries.UnitSeated{Visit: id(1), Hole: id(2), Lot: id(91), Fill: 2_000_000}),
		item(4, entries.UnitLifted{Visit: id(1), Unit: id(3), Left: 5}),
	}
	row, err := Fold(s, all)
	if err != nil {
		t.Fatal(err)
	}
	part, err := Fold(s, all[:2])
	if err != nil {
		t.Fatal(err)
	}
	part, ok, err := Extend(part, all[2:])
	if err != nil || !ok || string(part.State) != string(row.State) || part.Key != row.Key || part.Last != row.Last {
		t.Errorf("%v %v\n%s\n%s", ok, err, part.State, row.State)
	}
	st, err := Read(row)
	if err != nil {
		t.Fatal(err)
	}
	if v := st.(*Visit); len(v.Units) != 1 || v.Units[0].Out() || len(v.Flags) != 0 || v.Units[0].Tree != id(90) {
		t.Errorf("%+v", v)
	}
}
