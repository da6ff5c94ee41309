package views

import (
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sapwell/entries"
)

// The row of a subject depends on the set of entries alone: not on their order,
// nor on how many came at a time.
func checkOrder(t *rapid.T, s entries.Subject, items []Item) {
	want, err := Fold(s, items)
	if err != nil {
		t.Fatal(err)
	}
	mixed := rapid.Permutation(items).Draw(t, "order")
	if got, err := Fold(s, append(mixed, mixed[0])); err != nil || !equal(got, want) {
		t.Fatalf("%v; in another order, one twice, %s\n%s\n%s", err, s, got.State, want.State)
	}
	if _, err := Read(want); err != nil {
		t.Fatal(err)
	}
	checkSteps(t, mixed, want)
	inPlace := slices.Clone(items)
	slices.SortFunc(inPlace, func(a, b Item) int { return a.Place.Compare(b.Place) })
	checkSteps(t, inPlace, want)
}

// checkSteps lets the items come a few at a time.
func checkSteps(t *rapid.T, items []Item, want Row) {
	var have []Item
	var row Row
	inPlace := slices.IsSortedFunc(items, func(a, b Item) int { return a.Place.Compare(b.Place) })
	for len(items) > 0 {
		n := rapid.IntRange(1, len(items)).Draw(t, "some")
		some := items[:n]
		items, have = items[n:], append(have, some...)
		next, ok, err := row, false, error(nil)
		if len(have) > n {
			next, ok, err = Extend(row, some)
			if !ok && inPlace && !slices.ContainsFunc(some, func(it Item) bool { return oddOne(want, it) }) {
				t.Fatal("what stands after the last entry was refused")
			}
		}
		if !ok && err == nil {
			next, err = Fold(want.Subject, have)
		}
		if err != nil {
			t.Fatal(err)
		}
		row = next
	}
	if !equal(row, want) {
		t.Fatalf("step by step\n%+v %s\n%+v %s", row.Last, row.State, want.Last, want.State)
	}
}

// oddOne tells of what Extend may refuse though it stands last: amendments, what
// was amended before it came, what began the subject.
func oddOne(want Row, it Item) bool {
	return it.Body.Kind() == "amendment" || it.ID.String() == want.Subject.ID ||
		strings.Contains(string(want.State), `{"of":"`+it.ID.String())
}

func equal(a, b Row) bool {
	return a.Subject == b.Subject && a.Key == b.Key && a.Last == b.Last && string(a.State) == string(b.State)
}

func TestHistoriesInAnyOrder(t *testing.T) {
	all := histories(t)
	for _, title := range slices.Sorted(maps.Keys(all)) {
		h := newTold()
		for _, line := range all[title] {
			if !strings.Contains(line, " = ") {
				if err := h.tell(line); err != nil {
					t.Fatal(err)
				}
			}
		}
		t.Run(title, rapid.MakeCheck(func(t *rapid.T) {
			s := rapid.SampledFrom(subjects(h.items)).Draw(t, "subject")
			checkOrder(t, s, about(h.items, s))
		}))
	}
}

// acts are lines of which a wild history is made. One letter names one of two or
// three things; what begins a thing is told with its name, once or twice, soon,
// late or never.
var acts = []string{
	"v: visit.opened jobs=T", "w: visit.opened jobs=T", "T: tree", "L: lot", "paper: label",
	"H: hole visit=V tree=T mark=1", "U: unit.seated visit=V hole=H lot=L fill_nl=5", "bag: bag.sealed visits=v,w",
	"* tree tree=T tag=again", "* lot lot=L number=again", "* tree tree=T over=T", "* tree tree=T over=X", "* lot lot=L over=L",
	"* tally visit=V lots=L:N/N/1/1 over=X", "H: hole visit=V tree=T mark=1 again=H", "U: unit.seated visit=V hole=H lot=L fill_nl=5 again=U",
	"* person person=boss over=X", "* certificate person=boss certificate=x3 over=X", "* grounds grounds=park over=X", "* org org=o over=X", "* measurement tree=T", "* condition tree=T",
	"* wound tree=T", "* closure tree=T hole=H width_nm=N", "* plan tree=T measurement=m",
	"* stock lot=L units=N", "* stock lot=L units=N sort=counted", "* stock lot=L units=N sort=sold",
	"* unit.pressurised visit=V unit=U gauge_pa=N", "* unit.drained visit=V unit=U", "* unit.stuck visit=V unit=U left_nl=N",
	"* unit.lifted visit=V unit=U left_nl=N", "* unit.lost visit=V unit=U",
	"* tally visit=V lots=L:N/N/1/1", "* visit.closed visit=V trees=T:1/1/1/0", "* retired visit=V",
	"* bag.handed", "* note on=visit:V", "* record.fact on=visit:V text=N", "* record.fact on=tree:T over=X", "* record.fact on=visit:V over=X text=N field=sign", "* photo on=tree:T", "* device.enrolled", "* device.revoked through=N",
	"* certificate person=boss", "* certificate person=boss certificate=x3", "* org org=o", "* person person=boss", "* grounds grounds=park",
	"* amends X tree=T", "* amends X visit=V", "* amends/first X lot=L", "* amends X left_nl=N", "* amends/first X units=N", "* amends X on=tree:T",
}

var (
	letter = regexp.MustCompile(`(^|[=:/ ])[VTHULN](\W|$)`)
	things = map[byte]string{'V': "v w", 'T': "oak elm", 'H': "h k", 'U': "u y", 'L': "lot other", 'N': "0 1 2 9"}
)

// wild draws a history that makes little sense.
func wild(t *rapid.T) *told {
	h := newTold()
	for i := range rapid.IntRange(1, 40).Draw(t, "lines") {
		act := strings.Replace(rapid.SampledFrom(acts).Draw(t, "act"), "*", fmt.Sprintf("x%d:", i), 1)
		for at := letter.FindStringIndex(act); at != nil; at = letter.FindStringIndex(act) {
			n := at[0] + strings.IndexAny(act[at[0]:], "VTHULN")
			act = act[:n] + pick(t, things[act[n]]) + act[n+1:]
		}
		who := pick(t, "ann ann ben ben office")
		if rapid.IntRange(0, 7).Draw(t, "clock") == 0 {
			_ = h.tell("clock " + who + " " + pick(t, "-24h -1h 0s 3m"))
		}
		if len(h.entries) > 0 {
			x := pick(t, strings.Join(slices.Sorted(maps.Keys(h.entries)), " "))
			act = strings.Replace(act, " X ", " "+x+" ", 1)
			act = strings.Replace(act, "over=X", "over="+x, 1)
			if by := h.names[h.entries[x].item.Device.String()]; rapid.IntRange(0, 9).Draw(t, "restored") == 0 {
				who = by + "/" + x
			}
		}
		if !strings.Contains(act, " X ") && !strings.Contains(act, "=X") {
			_ = h.tell(who + " " + act) // what entries refuses is not told
		}
	}
	if len(h.items) > 1 && rapid.Bool().Draw(t, "lacks one") {
		i := rapid.IntRange(0, len(h.items)-1).Draw(t, "lacking")
		h.items = slices.Delete(h.items, i, i+1)
	}
	return h
}

func pick(t *rapid.T, from string) string {
	return rapid.SampledFrom(strings.Fields(from)).Draw(t, "pick")
}

func TestWildHistoriesInAnyOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := wild(t)
		for _, s := range subjects(h.items) {
			checkOrder(t, s, about(h.items, s))
		}
	})
}
