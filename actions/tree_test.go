package actions

import (
	"encoding/json"
	"fmt"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sapwell/engine/bole"
	"sapwell/engine/quantity"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

func TestGrounds(t *testing.T) {
	f := newFirm(t)
	id := f.do(f.app, "grounds.add", `{"name":"North Walk (invented)","context":"amenity","place":{"lat_e7":440000000,"lon_e7":-1230000000},"note":"gate code 1"}`)
	f.done(f.app, "grounds.update", fmt.Sprintf(`{"grounds":%q,"context":"residential","note":""}`, id))
	g := state[*views.Grounds](f, entries.OfGrounds, id)
	if g.Facts.Context != "residential" || g.Facts.Note != "" || g.Facts.Name != "North Walk (invented)" || g.Facts.Place == nil {
		t.Errorf("%+v", g.Facts)
	}
	f.refused(f.app, "grounds.add", `{"name":"x","context":"garden"}`, "input.value", "context")
	f.refused(f.app, "grounds.update", fmt.Sprintf(`{"grounds":%q}`, f.org), "grounds.unknown", "grounds")
	f.refused(f.app, "grounds.update", fmt.Sprintf(`{"grounds":%q,"place":{"lat_e7":0,"lon_e7":1800000001}}`, id), "input.value", "place.lon_e7")
}

func TestTreesOnTheList(t *testing.T) {
	f := newFirm(t)
	grounds, tree, _ := f.ashTree()
	if got := state[*views.Tree](f, entries.OfTree, tree).Facts.Species; got != "Fraxinus pennsylvanica" {
		t.Errorf("green ash is kept as %q", got)
	}
	add := func(tag, species string) string {
		return fmt.Sprintf(`{"grounds":%q,"tag":%q,"species":%q}`, grounds, tag, species)
	}
	f.refused(f.app, "tree.add", add("Q-01", "green ash"), "tree.tag_taken", "tag")
	f.refused(f.app, "tree.add", add("Q-02", "Fraxinus pennsylvanika"), "tree.species_unknown", "species")
	f.refused(f.app, "tree.add", add("Q-02", "red oak"), "tree.species_ambiguous", "species")
	f.refused(f.app, "tree.add", fmt.Sprintf(`{"grounds":%q,"tag":"1","species":"green ash"}`, tree), "grounds.unknown", "grounds")
	second := f.do(f.app, "tree.add", add("Q-02", "Quercus rubra"))
	f.refused(f.app, "tree.update", fmt.Sprintf(`{"tree":%q,"tag":"Q-01"}`, second), "tree.tag_taken", "tag")
	f.refused(f.app, "tree.update", fmt.Sprintf(`{"tree":%q,"grounds":%q}`, second, f.org), "grounds.unknown", "grounds")
	other := f.do(f.app, "grounds.add", `{"name":"South Walk (invented)","context":"amenity"}`)
	f.done(f.app, "tree.update", fmt.Sprintf(`{"tree":%q,"grounds":%q,"tag":"Q-01","species":"QUERU"}`, second, other))
	f.done(f.app, "tree.update", fmt.Sprintf(`{"tree":%q,"gone":true}`, second))
	v := state[*views.Tree](f, entries.OfTree, second)
	if !v.Facts.Gone || v.Facts.Tag != "Q-01" || v.Facts.Grounds != other {
		t.Errorf("%+v", v.Facts)
	}
	f.refused(f.app, "tree.inspect", fmt.Sprintf(`{"tree":%q}`, second), "tree.gone", "tree")
}

// A tree measured again keeps what was not read anew, and each place its direction
// from the middle: at half the girth, half the reading (the geometry of a circle).
func TestMeasuredAgain(t *testing.T) {
	f := newFirm(t)
	_, tree, _ := f.ashTree()
	first := `{"tree":%q,"stems":[{"ring":{"girth":{"around":"96 in","height":"12 in"},"zero":{"face":"N"},"arcs":[{"from":"80 in","to":"8 in","kind":"canker"}],
		"fissures":["60 in"]},"bark":[{"at":"48 in","thickness":"1 in"}]},{"name":"b","ring":{"girth":{"around":"30 in","height":"12 in"}}}]}`
	f.do(f.train, "tree.measure", fmt.Sprintf(first, tree))
	again := `{"tree":%q,"again":true,"stems":[{"ring":{"girth":{"around":"48 in","height":"12 in"},"zero":%s}}]}`
	stems := func() []entries.Stem { return state[*views.Tree](f, entries.OfTree, tree).Measurement.Facts.Stems }
	const inch = 25_400_000
	f.do(f.train, "tree.measure", fmt.Sprintf(again, tree, `{}`))
	want := entries.Stem{
		Girth: entries.Girth{Around: 48 * inch, Height: 12 * inch}, ZeroFace: "N", Arcs: []entries.Arc{{From: 40 * inch, To: 4 * inch, Sort: "canker"}},
		Fissures: []int64{30 * inch}, Bark: []entries.Bark{{At: 24 * inch, Thick: inch}},
	}
	if got := stems(); len(got) != 2 || !reflect.DeepEqual(got[0], want) || got[1].Girth.Around != 30*inch {
		t.Errorf("%+v\nwant %+v, and stem b as it was", got, want)
	}
	f.do(f.train, "tree.measure", fmt.Sprintf(again, tree, `{"face":"N","counter_clockwise":true}`))
	if got := stems()[0].Arcs[0]; got.From != 44*inch || got.To != 8*inch {
		t.Errorf("an arc from 40 to 4 in is %+v on a tape the other way round, want 44 to 8 in", got)
	}
	if found := f.done(f.train, "tree.measure", fmt.Sprintf(again, tree, `{"face":"E","counter_clockwise":true}`)).Findings; !slices.Contains(findings(found), "tree.zero_moved") {
		t.Errorf("findings %v, want tree.zero_moved", findings(found))
	}
}

// What a tape cannot have said is refused with the place of it; what is unlikely
// is written and told.
func TestMeasuring(t *testing.T) {
	f := newFirm(t)
	_, tree, _ := f.ashTree()
	measure := func(stems string) string { return fmt.Sprintf(`{"tree":%q,"stems":[%s]}`, tree, stems) }
	ring := func(more string) string {
		return `{"ring":{"girth":{"around":"96 in","height":"12 in"}` + more + `}}`
	}
	for _, c := range []struct{ stems, code, field string }{
		{``, "tree.measure_impossible", "stems"},
		{`{"ring":{"girth":{"around":"0 in","height":"12 in"}}}`, "tree.measure_impossible", "stems[0].ring.girth.around"},
		{ring(`,"arcs":[{"from":"90 in","to":"97 in","kind":"canker"}]`), "tree.measure_impossible", "stems[0].ring.arcs[0].to"},
		{ring(`,"arcs":[{"from":"9 in","to":"10 in","kind":"scratch"}]`), "tree.measure_impossible", "stems[0].ring.arcs[0].kind"},
		{ring(`,"fissures":["97 in"]`), "tree.measure_impossible", "stems[0].ring.fissures[0]"},
		{ring(``) + `,` + ring(``), "tree.measure_impossible", "stems[1].name"},
		{ring(`,"wounds":[{"at":"3 in","made":null}]`), "input.missing", "stems[0].ring.wounds[0].made"},
		{ring(`,"wounds":[{"at":"3 in","made":"2024-01-01"}]`), "tree.wounds_apart", "stems[0].ring.wounds"},
		{`{"ring":{"girth":{"around":"96","height":"12 in"}}}`, "input.value", "stems[0].ring.girth.around"},
		{`{"ring":{"girth":{"around":"96 in"}}}`, "input.missing", "stems[0].ring.girth.height"},
	} {
		f.refused(f.train, "tree.measure", measure(c.stems), c.code, c.field)
	}
	out := f.done(f.train, "tree.measure", measure(`{"ring":{"girth":{"around":"3 in","height":"12 in"}}}`))
	if codes := findings(out.Findings); !slices.Equal(codes, []string{"bole.girth_unlikely"}) {
		t.Errorf("findings %v", codes)
	}
}

// Stems go to the wire and come back as they were, to the nanometre.
func TestStemsGoThereAndBack(t *testing.T) {
	length := func(most int64) *rapid.Generator[quantity.Length] {
		return rapid.Map(rapid.Int64Range(0, most), func(n int64) quantity.Length { return quantity.Length(n) })
	}
	girth := rapid.Custom(func(t *rapid.T) bole.Girth {
		return bole.Girth{
			Around: length(15e9).Draw(t, "around"), Height: length(3e9).Draw(t, "height"),
			Ground: rapid.SampledFrom([]bole.Ground{"", bole.Level, bole.Uphill, bole.MidSlope}).Draw(t, "ground"),
		}
	})
	rapid.Check(t, func(t *rapid.T) {
		s := bole.Stem{Name: rapid.StringMatching(`[a-z0-9]{0,3}`).Draw(t, "name")}
		s.Ring.Girth = girth.Draw(t, "girth")
		s.Ring.Zero = bole.Zero{Face: rapid.SampledFrom([]string{"", "N"}).Draw(t, "face"), CounterClockwise: rapid.Bool().Draw(t, "back")}
		if rapid.Bool().Draw(t, "breast?") {
			b := girth.Draw(t, "breast")
			s.Breast = &b
		}
		for range rapid.IntRange(0, 3).Draw(t, "n") {
			s.Ring.Arcs = append(s.Ring.Arcs, bole.Arc{From: length(9e9).Draw(t, "from"), To: length(9e9).Draw(t, "to"), Kind: bole.Canker})
			s.Ring.Fissures = append(s.Ring.Fissures, length(9e9).Draw(t, "fissure"))
			s.Bark = append(s.Bark, bole.BarkReading{At: length(9e9).Draw(t, "at"), Thickness: length(1e8).Draw(t, "thick")})
		}
		back := engineStem(wireStems([]bole.Stem{s})[0])
		if a, b := jsonOf(s), jsonOf(back); a != b {
			t.Errorf("%s\n%s", a, b)
		}
	})
}

func jsonOf(v any) string {
	text, err := json.Marshal(v)
	if err != nil {
		panic(err)
	}
	return string(text)
}

func TestInspecting(t *testing.T) {
	f := newFirm(t)
	_, tree, _ := f.ashTree()
	f.do(f.train, "tree.inspect", fmt.Sprintf(`{"tree":%q,"canopy_loss":35,"signs":["exit holes"],"advice":"wait","bbch":71}`, tree))
	c := state[*views.Tree](f, entries.OfTree, tree).Condition
	if c == nil || *c.CanopyLoss != 35 || c.Advice != "wait" || *c.BBCH != 71 {
		t.Errorf("%+v", c)
	}
	f.refused(f.train, "tree.inspect", fmt.Sprintf(`{"tree":%q,"canopy_loss":101}`, tree), "input.value", "canopy_loss")
	f.refused(f.train, "tree.inspect", fmt.Sprintf(`{"tree":%q,"bbch":100}`, tree), "input.value", "bbch")
	f.refused(f.train, "tree.inspect", fmt.Sprintf(`{"tree":%q,"advice":"hope"}`, tree), "input.value", "advice")
	f.refused(f.train, "tree.inspect", fmt.Sprintf(`{"tree":%q}`, f.org), "tree.unknown", "tree")
}

func TestWoundsAndHowTheyClose(t *testing.T) {
	f := newFirm(t)
	_, tree, _ := f.ashTree()
	record := func(more string) string { return fmt.Sprintf(`{"tree":%q%s}`, tree, more) }
	hole := f.do(f.train, "wound.record", record(`,"around":"24 in","width":"3/8 in","height":"8 in","made":"2023-05-04"`))
	f.do(f.train, "closure.record", record(fmt.Sprintf(`,"hole":%q,"state":"closing","width":"1/8 in","signs":["callus"]`, hole)))
	h := state[*views.Tree](f, entries.OfTree, tree).Holes
	if len(h) != 1 || h[0].ID != hole || h[0].Around != 24*25_400_000 || h[0].Closure == nil || h[0].Closure.State != "closing" {
		t.Errorf("%+v", h)
	}
	f.refused(f.train, "wound.record", record(`,"around":"97 in"`), "wound.off_ring", "around")
	f.refused(f.train, "wound.record", record(`,"around":"-1 in"`), "wound.off_ring", "around")
	f.refused(f.train, "wound.record", record(`,"around":"9 in","stem":"b"`), "wound.no_stem", "stem")
	f.refused(f.train, "closure.record", record(fmt.Sprintf(`,"hole":%q,"state":"closed"`, tree)), "closure.no_hole", "hole")
	f.refused(f.train, "closure.record", record(fmt.Sprintf(`,"hole":%q,"state":"gone"`, hole)), "input.value", "state")
}

// The demo's own list goes in whole: what it says of each tree is there.
func TestImportingTheDemoList(t *testing.T) {
	text, err := os.ReadFile("../cmd/sapwell/demo/trees.csv")
	if err != nil {
		t.Fatal(err)
	}
	f := newFirm(t)
	grounds := f.do(f.app, "grounds.add", `{"name":"North Walk (invented)","context":"amenity"}`)
	in := fmt.Sprintf(`{"grounds":%q,"csv":%s}`, grounds, jsonOf(string(text)))
	done := f.done(f.app, "tree.import", in).Result.(treesImported)
	if len(done.Trees) < 5 || done.Trees[0].Tag != "Q-01" {
		t.Fatalf("%d trees", len(done.Trees))
	}
	v := state[*views.Tree](f, entries.OfTree, done.Trees[0].ID)
	const inch = 25_400_000
	if v.Facts.Species != "Fraxinus pennsylvanica" || v.Measurement.Facts.Stems[0].Girth.Around != 96*inch ||
		len(v.Measurement.Facts.Stems[0].Bark) != 3 || *v.Condition.CanopyLoss != 10 || v.Facts.Where != "North Walk" {
		t.Errorf("%+v %+v", v.Facts, v.Measurement)
	}
	f.refused(f.app, "tree.import", in, "tree.tag_taken", "csv")
	f.refused(f.app, "tree.import", fmt.Sprintf(`{"grounds":%q,"csv":"tag,species,girth,girth_height\n"}`, grounds), "tree.list_empty", "csv")
	f.refused(f.app, "tree.import", fmt.Sprintf(`{"grounds":%q,"csv":""}`, grounds), "tree.list_faulty", "csv")
	f.refused(f.app, "tree.import", fmt.Sprintf(`{"grounds":%q,"csv":"x"}`, f.org), "grounds.unknown", "grounds")
}

// What others gave a tree before is in no entry, so it stands in the note and is
// asked for.
func TestImportKeepsEarlierTreatmentsInTheNote(t *testing.T) {
	f := newFirm(t)
	grounds := f.do(f.app, "grounds.add", `{"name":"North Walk (invented)","context":"amenity"}`)
	csv := "tag,species,girth,girth_height,wounds,last_treated,note\nA-1,green ash,96 in,12 in,24 in,2025-05-04,by the gate\n"
	out := f.done(f.app, "tree.import", fmt.Sprintf(`{"grounds":%q,"csv":%s}`, grounds, jsonOf(csv)))
	v := state[*views.Tree](f, entries.OfTree, out.Result.(treesImported).Trees[0].ID)
	if v.Facts.Note != "by the gate\nlast_treated 2025-05-04" && !strings.HasPrefix(v.Facts.Note, "by the gate\nlast_treated 2025-05-04") {
		t.Errorf("note %q", v.Facts.Note)
	}
	if codes := findings(out.Findings); !slices.Equal(codes, []string{"tree.earlier_in_note"}) || len(v.Holes) != 1 {
		t.Errorf("findings %v, %d old holes", codes, len(v.Holes))
	}
}

// An entry of a tree that came in before the tree itself is no tree yet.
func TestAThingThatHasNotBegunIsUnknown(t *testing.T) {
	f := newFirm(t)
	tree := mustID(f.last, f.now+1)
	f.last = tree
	draft, err := entries.Draft(mustID(f.last, f.now+2), f.now, entries.Condition{Head: entries.Head{By: f.app}, Tree: tree})
	if err != nil {
		t.Fatal(err)
	}
	f.last = draft.ID
	f.write(f.office, []journal.Draft{draft})
	f.refused(f.app, "tree.measure", fmt.Sprintf(`{"tree":%q,"stems":[]}`, tree), "tree.unknown", "tree")
}

// One list of a thousand trees.
func BenchmarkImport(b *testing.B) {
	f := newFirm(b)
	grounds := f.do(f.app, "grounds.add", `{"name":"North Walk (invented)","context":"forest"}`)
	csv := "tag,species,girth,girth_height,canopy_loss\n"
	for i := range 1000 {
		csv += fmt.Sprintf("T-%d,Fraxinus pennsylvanica,96 in,12 in,10\n", i)
	}
	input := json.RawMessage(fmt.Sprintf(`{"grounds":%q,"csv":%s}`, grounds, jsonOf(csv)))
	i := slices.IndexFunc(Deeds(), func(d Deed) bool { return d.Name == "tree.import" })
	d := Deeds()[i]
	for b.Loop() {
		if out, err := d.Do(f.moment(f.app), f, input); err != nil || len(out.Drafts) != 3000 {
			b.Fatal(len(out.Drafts), err)
		}
	}
}
