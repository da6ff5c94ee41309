package entries

import "testing"

func BenchmarkReadUnitSeated(b *testing.B) {
	body, err := WriteBody(UnitSeated{
		Head:  Head{By: id(1), At: 1780000000000},
		Visit: id(2), Hole: id(3), Lot: id(4), Fill: 4_000_000,
	})
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := ReadBody("unit.seated", body); err != nil {
			b.Fatal(err)
		}
	}
}

func TestAmendmentKeepsWhatBothSpeakOf(t *testing.T) {
	before, err := WriteBody(Note{On: Subject{OfTree, id(1).String()}, Text: "leans"})
	if err != nil {
		t.Fatal(err)
	}
	after, err := WriteBody(Note{On: Subject{OfTree, id(2).String()}, Text: "leans"})
	if err != nil {
		t.Fatal(err)
	}
	draft, err := Draft(id(9), 1, Amendment{Of: id(3), OfKind: "note", Why: "the other tree", Before: before, After: after})
	if err != nil {
		t.Fatal(err)
	}
	b, err := ReadBody(draft.Kind, draft.Body)
	if err != nil {
		t.Fatal(err)
	}
	if got := b.About(id(9)); len(got) != 2 || got[0].ID != id(1).String() || got[1].ID != id(2).String() {
		t.Errorf("it speaks of %v, want both trees", got)
	}
}
