package actions

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

// ashDay is a firm with an ash of 96 in girth, a label of one 4 mL unit for every
// 6 in, 40 such units of lot B7, a plan, and a visit that is open.
type ashDay struct {
	*firm
	names []string // of things in inputs, each followed by its id
	visit journal.ID
	tree  journal.ID
	lot   journal.ID
	units []journal.ID
	holes []journal.ID
}

func newAshDay(t testing.TB) *ashDay {
	t.Helper()
	d := &ashDay{firm: newFirm(t)}
	grounds, tree, label := d.ashTree()
	d.tree = tree
	d.lot = d.do(d.boss, "lot.add", `{"label":"demo-a","number":"B7","size":"4 mL","expires":"2027-01-31","units":40}`)
	d.name("boss", d.boss, "app", d.app, "train", d.train, "look", d.look, "grounds", grounds, "tree", tree, "label", label, "lot", d.lot)
	d.do(d.boss, "person.certify", d.with(`{"person":"$app","sort":"certificate","number":"X-1","authority":"Example Board","from":"2025-01-01","until":"2027-12-31"}`))
	d.name("plan", d.do(d.app, "tree.plan", d.with(`{"tree":"$tree","day":"2026-06-09","label":"$label","certified":"yes"}`)))
	d.visit = d.do(d.app, "visit.open", d.with(`{"grounds":"$grounds","day":"2026-06-09","crew":["$train"],"jobs":[{"tree":"$tree","plan":"$plan"}]}`))
	d.name("visit", d.visit)
	return d
}

// name lets inputs speak of a thing as $name.
func (d *ashDay) name(pairs ...any) {
	for i := 0; i < len(pairs); i += 2 {
		d.names = append(d.names, "$"+pairs[i].(string), pairs[i+1].(journal.ID).String())
	}
}

// with puts ids in place of names. A longer name goes before a shorter one.
func (d *ashDay) with(input string) string { return strings.NewReplacer(d.names...).Replace(input) }

// install bores and seats the whole tree; the units are $u1 and on.
func (d *ashDay) install() {
	d.t.Helper()
	made := d.done(d.app, "tree.install", d.with(`{"visit":"$visit","tree":"$tree","lot":"$lot"}`)).Result.(treeInstalled)
	d.units, d.holes = made.Units, made.Holes
}

// list is a JSON list of units, from one number up to another, counted from 1.
func (d *ashDay) list(from, to int) string {
	text, err := json.Marshal(d.units[from-1 : to])
	if err != nil {
		d.t.Fatal(err)
	}
	return string(text)
}

// on does a deed on some units of the visit.
func (d *ashDay) on(deed string, from, to int, more string) Outcome {
	d.t.Helper()
	return d.done(d.app, deed, d.with(`{"visit":"$visit","units":`+d.list(from, to)+more+`}`))
}

func (d *ashDay) view() *views.Visit { return state[*views.Visit](d.firm, entries.OfVisit, d.visit) }

// finish lifts all units with nothing left, counts them and closes the visit.
func (d *ashDay) finish() {
	d.t.Helper()
	d.on("unit.lift", 1, 16, `,"left":"0 mL"`)
	d.done(d.app, "visit.tally", d.with(`{"visit":"$visit","lots":[{"lot":"$lot","taken":16,"seated":16,"lifted":16,"lost":0,"unused":0}]}`))
	d.done(d.app, "visit.close", d.with(closing))
}

const closing = `{"visit":"$visit","signature":{"name":"Bo Muster","meaning":"done as recorded"}}`

// A whole day, reckoned by hand (common practice, no source): 96 in of girth at one
// unit for every 6 in are 16 units of 4 mL. 14 drain; one sticks with 1.5 mL left;
// one is carried off. So 14 × 4 + 2.5 = 58.5 mL are known to have gone in, of
// 16 × 4 = 64; 15 units come back with 1.5 mL in them; of 40 units in the store 20
// were taken, 1 broke and 3 came back: 40 - 20 + 3 = 23.
func TestWholeDay(t *testing.T) {
	d := newAshDay(t)
	d.install()
	if len(d.holes) != 16 || len(d.units) != 16 {
		t.Fatalf("%d holes and %d units, want 16 and 16", len(d.holes), len(d.units))
	}
	d.on("unit.pressurise", 1, 16, `,"gauge":"10 psi"`)
	d.on("unit.drain", 1, 14, "")
	d.on("unit.stick", 15, 15, `,"left":"2 mL","why":"sap in the hole"`)
	d.on("unit.lift", 1, 14, "")
	d.on("unit.lift", 15, 15, `,"left":"1.5 mL"`)
	d.on("unit.lose", 16, 16, `,"why":"carried off by a squirrel","signed":"Bo Muster"`)
	d.done(d.train, "visit.tally", d.with(`{"visit":"$visit","lots":[{"lot":"$lot","taken":20,"seated":16,"lifted":15,"lost":1,"broken":1,"unused":3}]}`))
	closed := d.done(d.app, "visit.close", d.with(closing))

	if codes := findingCodes(closed.Findings); !slices.Equal(codes, []string{"visit.lost_unknown"}) {
		t.Errorf("closing told %v, want visit.lost_unknown", codes)
	} else if more := closed.Findings[0].Terms[1].Value; more != 4*quantity.Millilitre {
		t.Errorf("the lost unit may have given %v, want 4 mL", more)
	}
	got := closed.Result.(visitIsClosed).Trees
	v := d.view()
	want := entries.Treated{
		Tree: d.tree, Label: got[0].Label, Holes: 16, Units: 16, Lifted: 15, Lost: 1, Given: 58_500_000,
		Start: v.Units[0].Seated, End: v.Units[15].Lost,
	}
	if len(got) != 1 || got[0] != want || d.with("$label") != want.Label.String() {
		t.Errorf("closed with %+v, want %+v", got, want)
	}
	if len(v.Flags) > 0 || v.Closed == nil || !slices.Equal(v.Closed.Trees, got) {
		t.Errorf("the view has the flags %v and closed %+v", v.Flags, v.Closed)
	}
	if v.Units[0].Gauge != 68948 { // 10 psi, NIST SP 811: 1 psi = 6894.757 Pa
		t.Errorf("gauge %d Pa, want 68948", v.Units[0].Gauge)
	}
	if lot := state[*views.Lot](d.firm, entries.OfLot, d.lot); lot.OnHand != 23 || lot.Used != 16 {
		t.Errorf("lot: %d on hand, %d used, want 23 and 16", lot.OnHand, lot.Used)
	}

	d.refused(d.app, "bag.seal", d.with(`{"visits":["$visit"],"mark":"W-1","units":16}`), "bag.too_many", "units")
	bag := d.do(d.train, "bag.seal", d.with(`{"visits":["$visit"],"mark":"W-1","units":15}`))
	b := state[*views.Bag](d.firm, entries.OfBag, bag)
	if b.Facts.LeftLow != 1_500_000 || b.Facts.LeftHigh != 1_500_000 {
		t.Errorf("left in the bag %d to %d nL, want 1500000", b.Facts.LeftLow, b.Facts.LeftHigh)
	}
	d.name("bag", bag)
	d.done(d.app, "bag.hand", d.with(`{"bag":"$bag","to":"Example Waste (fictional)","proof":"N-12"}`))
	d.refused(d.app, "bag.hand", d.with(`{"bag":"$bag","to":"Another (fictional)"}`), "bag.handed_already", "bag")
}

func findingCodes(fs []why.Finding) []string {
	var codes []string
	for _, f := range fs {
		codes = append(codes, f.Code)
	}
	return codes
}

// has reports whether a finding of that code was told.
func has(o Outcome, code string) bool { return slices.Contains(findingCodes(o.Findings), code) }

// Also where nothing was seated somebody says so in a count. A tree that was left alone is told
// and is not among those treated.
func TestCloseWithoutWork(t *testing.T) {
	d := newAshDay(t)
	d.refused(d.app, "visit.close", d.with(closing), "visit.tally_missing", "visit")
	d.done(d.app, "visit.tally", d.with(`{"visit":"$visit","lots":[]}`))
	closed := d.done(d.app, "visit.close", d.with(closing))
	if got := closed.Result.(visitIsClosed).Trees; len(got) != 0 || !has(closed, "visit.tree_untreated") {
		t.Errorf("closed with %+v and %v", got, findingCodes(closed.Findings))
	}
	if tree := state[*views.Tree](d.firm, entries.OfTree, d.tree); len(tree.Treatments) != 0 {
		t.Errorf("the tree was treated: %+v", tree.Treatments)
	}
}

// A tree that was bored and got no unit is on the record with its hole and nothing
// given; that is no treatment which the label's interval would count.
func TestCloseAfterBoringOnly(t *testing.T) {
	d := newAshDay(t)
	d.done(d.app, "hole.bore", d.with(`{"visit":"$visit","tree":"$tree","mark":1}`))
	d.done(d.app, "visit.tally", d.with(`{"visit":"$visit","lots":[{"lot":"$lot","taken":16,"seated":0,"lifted":0,"lost":0,"unused":16}]}`))
	closed := d.done(d.app, "visit.close", d.with(closing))
	got := closed.Result.(visitIsClosed).Trees
	if len(got) != 1 || got[0].Holes != 1 || got[0].Units != 0 || got[0].Given != 0 || !has(closed, "visit.tree_untreated") {
		t.Errorf("closed with %+v and %v", got, findingCodes(closed.Findings))
	}
	if v := d.view(); len(v.Flags) > 0 {
		t.Errorf("the view has the flags %v", v.Flags)
	}
	again := d.done(d.app, "tree.plan", d.with(`{"tree":"$tree","day":"2026-06-10","label":"$label","certified":"yes"}`))
	if p := again.Result.(treePlanned).Plan; !p.Go() {
		t.Errorf("the next plan says stop: %v", findingCodes(p.Opinion.Findings))
	}
}

// Of a lost unit counts what was last seen of it: 4 mL of one seen empty, 4 - 1 of
// one seen stuck, nothing of one not looked at again. What is not known is the
// rest: 0 + 1 + 4 mL.
func TestGivenByLostUnits(t *testing.T) {
	d := newAshDay(t)
	d.install()
	d.on("unit.drain", 1, 1, "")
	d.on("unit.stick", 2, 2, `,"left":"1 mL"`)
	d.on("unit.lose", 1, 3, `,"why":"gone in the morning","signed":"Bo Muster"`)
	d.on("unit.lift", 4, 16, `,"left":"4 mL"`)
	d.done(d.app, "visit.tally", d.with(`{"visit":"$visit","lots":[{"lot":"$lot","taken":16,"seated":16,"lifted":13,"lost":3,"unused":0}]}`))
	closed := d.done(d.app, "visit.close", d.with(closing))
	if got := closed.Result.(visitIsClosed).Trees[0].Given; got != 7_000_000 {
		t.Errorf("given %d nL, want 7000000", got)
	}
	if !has(closed, "visit.lost_unknown") || closed.Findings[0].Terms[1].Value != 5*quantity.Millilitre {
		t.Errorf("told %v", closed.Findings)
	}
}

// refusal is a deed that is not done.
type refusal struct{ deed, input, code, field string }

func (d *ashDay) refuseAll(by journal.ID, list []refusal) {
	d.t.Helper()
	for _, r := range list {
		d.refused(by, r.deed, d.with(r.input), r.code, r.field)
	}
}

// Nobody is let in who may not do the deed: the trainee opens and closes nothing,
// the inspector changes nothing, only the office retires.
func TestWhoMay(t *testing.T) {
	d := newAshDay(t)
	for _, deed := range visitDeeds() {
		d.refused(d.look, deed.Name, "{}", "person.not_entitled", "")
		if slices.Contains([]string{"visit.open", "visit.close", "amend", "bag.hand", "visit.retire"}, deed.Name) {
			d.refused(d.train, deed.Name, "{}", "person.not_entitled", "")
		}
	}
	d.refused(d.app, "visit.retire", "{}", "person.not_entitled", "")
	d.name("bore", d.do(d.train, "hole.bore", d.with(`{"visit":"$visit","tree":"$tree","mark":1}`)))
	d.done(d.train, "unit.seat", d.with(`{"visit":"$visit","hole":"$bore","lot":"$lot"}`))

	// Whoever was an applicator when the visit was opened and is none now does not
	// supervise himself.
	d.done(d.boss, "person.update", d.with(`{"person":"$app","roles":["trainee"],"supervisor":"$boss"}`))
	d.refused(d.app, "hole.bore", d.with(`{"visit":"$visit","tree":"$tree","mark":2}`), "visit.own_supervisor", "visit")
	d.done(d.train, "hole.bore", d.with(`{"visit":"$visit","tree":"$tree","mark":2}`))
}

func TestOpenRefuses(t *testing.T) {
	d := newAshDay(t)
	grounds := d.do(d.app, "grounds.add", `{"name":"South Walk (invented)","context":"amenity"}`)
	d.name("south", grounds)
	d.name("other", d.do(d.app, "tree.add", d.with(`{"grounds":"$grounds","tag":"Q-02","species":"green ash"}`)))
	d.name("felled", d.do(d.app, "tree.add", d.with(`{"grounds":"$grounds","tag":"Q-03","species":"green ash"}`)))
	d.done(d.app, "tree.update", d.with(`{"tree":"$felled","gone":true}`))
	sick := `{"tree":"$tree","day":"2026-06-09","label":"$label","certified":"no"}`
	stopped := d.done(d.app, "tree.plan", d.with(sick))
	if stopped.Result.(treePlanned).Plan.Go() {
		t.Fatal("a restricted product without a certified applicator is not stopped: the case is broken")
	}
	d.name("stop", stopped.Result.(treePlanned).ID)
	d.done(d.boss, "person.leave", d.with(`{"person":"$train"}`))
	open := func(grounds, more, jobs string) string {
		return `{"grounds":"` + grounds + `","day":"2026-06-09"` + more + `,"jobs":[` + jobs + `]}`
	}
	job := `{"tree":"$tree","plan":"$plan"}`
	nobody := mustID(journal.ID{}, 1).String()
	d.refuseAll(d.app, []refusal{
		{"visit.open", open(nobody, "", job), "grounds.unknown", "grounds"},
		{"visit.open", open("$grounds", `,"certified":"`+nobody+`"`, job), "person.unknown", "certified"},
		{"visit.open", open("$grounds", `,"certified":"$look"`, job), "visit.not_applicator", "certified"},
		{"visit.open", open("$grounds", `,"crew":["$app","`+nobody+`"]`, job), "person.unknown", "crew[1]"},
		{"visit.open", open("$grounds", `,"crew":["$train"]`, job), "visit.crew_left", "crew[0]"},
		{"visit.open", open("$grounds", "", ""), "visit.no_tree", "jobs"},
		{"visit.open", open("$grounds", "", `{"tree":"`+nobody+`","plan":"$plan"}`), "tree.unknown", "jobs[0].tree"},
		{"visit.open", open("$south", "", job), "visit.tree_elsewhere", "jobs[0].tree"},
		{"visit.open", open("$grounds", "", `{"tree":"$felled","plan":"$plan"}`), "tree.gone", "jobs[0].tree"},
		{"visit.open", open("$grounds", "", job+","+job), "visit.tree_twice", "jobs[1].tree"},
		{"visit.open", open("$grounds", "", `{"tree":"$tree","plan":"`+nobody+`"}`), "plan.unknown", "jobs[0].plan"},
		{"visit.open", open("$grounds", "", `{"tree":"$tree","plan":"$lot"}`), "plan.unknown", "jobs[0].plan"},
		{"visit.open", open("$grounds", "", `{"tree":"$other","plan":"$plan"}`), "visit.plan_other_tree", "jobs[0].plan"},
		{"visit.open", open("$grounds", "", `{"tree":"$tree","plan":"$stop"}`), "visit.plan_stop", "jobs[0].plan"},
		{"visit.open", open("$grounds", `,"at":99999999999999`, job), "input.moment", "at"},
	})
}

// What a person has to answer for is told, and does not stop them.
func TestOpenTells(t *testing.T) {
	d := newAshDay(t)
	open := func(more string) Outcome {
		return d.done(d.app, "visit.open", d.with(`{"grounds":"$grounds","jobs":[{"tree":"$tree","plan":"$plan"}],`+more+`}`))
	}
	if o := open(`"day":"2026-06-09"`); !slices.Equal(findingCodes(o.Findings), []string{"visit.tree_in_other"}) {
		t.Errorf("the same tree in a second visit: told %v", findingCodes(o.Findings))
	}
	for _, c := range []struct{ more, code string }{
		{`"day":"2026-06-10"`, "visit.plan_other_day"},
		{`"day":"2026-08-10"`, "visit.day_far"},
		{`"day":"2026-06-09","certified":"$boss"`, "visit.certificate_missing"},
		{`"day":"2028-01-01"`, "visit.certificate_expired"},
	} {
		if o := open(c.more); !has(o, c.code) {
			t.Errorf("%s: told %v, want %s", c.more, findingCodes(o.Findings), c.code)
		}
	}
	d.done(d.boss, "person.certify", d.with(`{"person":"$boss","sort":"training","authority":"Example Board","from":"2025-01-01"}`))
	if o := open(`"day":"2026-06-09","certified":"$boss"`); !has(o, "visit.certificate_missing") {
		t.Errorf("a training is no certificate, told %v", findingCodes(o.Findings))
	}
	d.done(d.boss, "person.certify", d.with(`{"person":"$boss","sort":"certificate","number":"X-1","authority":"Example Board","from":"2025-01-01"}`))
	if o := open(`"day":"2026-06-09","certified":"$boss"`); !has(o, "visit.certificate_endless") || has(o, "visit.certificate_missing") {
		t.Errorf("a certificate without a last day: told %v", findingCodes(o.Findings))
	}
	d.name("asks", d.do(d.app, "tree.plan", d.with(`{"tree":"$tree","day":"2026-06-09","label":"$label"}`)))
	o := d.done(d.app, "visit.open", d.with(`{"grounds":"$grounds","day":"2026-06-09","jobs":[{"tree":"$tree","plan":"$asks"}]}`))
	if !has(o, "visit.plan_asks") {
		t.Errorf("a plan with an open question: told %v", findingCodes(o.Findings))
	}
	d.do(d.app, "tree.measure", d.with(`{"tree":"$tree","stems":[{"ring":{"girth":{"around":"97 in","height":"12 in"},"zero":{"face":"N"}}}]}`))
	newer := strings.Replace(demoLabel(t, "demo-a"), "version: 2026-02-01", "version: 2026-05-01", 1)
	d.do(d.boss, "label.add", `{"file":`+newer+`}`)
	o = open(`"day":"2026-06-09"`)
	for _, code := range []string{"visit.measured_since", "visit.label_newer"} {
		if !has(o, code) {
			t.Errorf("told %v, want %s", findingCodes(o.Findings), code)
		}
	}
}

func TestCloseRefuses(t *testing.T) {
	d := newAshDay(t)
	d.install()
	r := d.refused(d.app, "visit.close", d.with(closing), "visit.unit_out", "visit")
	if !strings.Contains(r.Text, "16") || !strings.Contains(r.Text, "Q-01") {
		t.Errorf("%q names neither how many nor where", r.Text)
	}
	d.on("unit.lift", 1, 15, `,"left":"0 mL"`)
	d.refused(d.app, "visit.close", d.with(closing), "visit.unit_out", "visit")
	d.on("unit.lift", 16, 16, `,"left":"0 mL"`)
	d.refused(d.app, "visit.close", d.with(closing), "visit.tally_missing", "visit")
	d.done(d.app, "visit.tally", d.with(`{"visit":"$visit","lots":[{"lot":"$lot","taken":16,"seated":16,"lifted":16,"lost":0,"unused":0}]}`))
	d.refuseAll(d.app, []refusal{
		{"visit.close", `{"visit":"$visit","signature":{"name":" ","meaning":"done"}}`, "visit.not_signed", "signature.name"},
		{"visit.close", `{"visit":"$visit","signature":{"name":"Bo Muster","meaning":""}}`, "visit.not_signed", "signature.meaning"},
		{"visit.close", `{"visit":"$visit"}`, "input.missing", "signature"},
		{"visit.close", `{"visit":"$visit","signature":{"name":"Bo Muster","meaning":"done"},"at":5}`, "visit.before_open", "at"},
		{"visit.close", strings.Replace(closing, "$visit", "$lot", 1), "visit.unknown", "visit"},
	})

	// A unit seated after the count makes the count stale.
	d.name("more", d.do(d.app, "hole.bore", d.with(`{"visit":"$visit","tree":"$tree","around":"5 in","height":"12 in"}`)))
	d.name("late", d.do(d.app, "unit.seat", d.with(`{"visit":"$visit","hole":"$more","lot":"$lot"}`)))
	d.done(d.app, "unit.lift", d.with(`{"visit":"$visit","unit":"$late","left":"0 mL"}`))
	r = d.refused(d.app, "visit.close", d.with(closing), "visit.tally_stale", "visit")
	for _, part := range []string{"16 seated", "B7", "17"} {
		if !strings.Contains(r.Text, part) {
			t.Errorf("%q does not say %s", r.Text, part)
		}
	}
	d.done(d.app, "visit.tally", d.with(`{"visit":"$visit","lots":[{"lot":"$lot","taken":17,"seated":17,"lifted":17,"lost":0,"unused":0}]}`))
	d.done(d.app, "visit.close", d.with(closing))
	for _, deed := range visitDeeds()[1:11] { // from hole.bore to visit.close
		input := map[string]string{
			"hole.bore": `"tree":"$tree","mark":1`, "tree.install": `"tree":"$tree","lot":"$lot"`, "unit.seat": `"hole":"$more","lot":"$lot"`,
			"unit.stick": `"unit":"$late","left":"0 mL"`, "unit.lose": `"unit":"$late","why":"x","signed":"y"`,
			"visit.tally": `"lots":[]`, "visit.close": `"signature":{"name":"a","meaning":"b"}`,
		}[deed.Name]
		if input == "" {
			input = `"unit":"$late"`
		}
		d.refused(d.app, deed.Name, d.with(`{"visit":"$visit",`+input+`}`), "visit.is_closed", "visit")
	}
}

func TestTallyRefuses(t *testing.T) {
	d := newAshDay(t)
	d.name("empty", d.do(d.boss, "lot.add", `{"label":"demo-a","number":"B8","size":"4 mL","expires":"2027-01-31"}`))
	d.install()
	tally := func(lots ...string) string { return `{"visit":"$visit","lots":[` + strings.Join(lots, ",") + `]}` }
	lot := func(name string, taken, seated, lifted, lost, unused int) string {
		return fmt.Sprintf(`{"lot":"$%s","taken":%d,"seated":%d,"lifted":%d,"lost":%d,"unused":%d}`, name, taken, seated, lifted, lost, unused)
	}
	d.refused(d.app, "visit.tally", d.with(tally(lot("lot", 16, 16, 0, 0, 0))), "visit.unit_out", "visit")
	d.on("unit.lift", 1, 15, `,"left":"0 mL"`)
	d.on("unit.lose", 16, 16, `,"why":"fell into the drain","signed":"Bo Muster"`)
	d.refuseAll(d.app, []refusal{
		{"visit.tally", tally(), "tally.lot_missing", "lots"},
		{"visit.tally", tally(lot("lot", 17, 17, 15, 1, 0)), "tally.contradicts", "lots[0].seated"},
		{"visit.tally", tally(lot("lot", 16, 16, 16, 1, 0)), "tally.contradicts", "lots[0].lifted"},
		{"visit.tally", tally(lot("lot", 16, 16, 15, 0, 0)), "tally.contradicts", "lots[0].lost"},
		{"visit.tally", tally(lot("lot", 20, 16, 15, 1, 3)), "tally.not_even", "lots[0].taken"},
		{"visit.tally", tally(lot("lot", 16, 16, 15, 1, 0), lot("lot", 0, 0, 0, 0, 0)), "tally.lot_twice", "lots[1].lot"},
		{"visit.tally", tally(lot("lot", 16, 16, 15, 1, 0), lot("empty", 1, 1, 1, 0, 0)), "tally.contradicts", "lots[1].seated"},
		{"visit.tally", tally(lot("visit", 1, 1, 1, 0, 0)), "lot.unknown", "lots[0].lot"},
		{"visit.tally", tally(lot("lot", 16, 16, 15, 1, 0), lot("empty", -1, 0, 0, 0, -1)), "input.value", "lots[1].taken"},
	})
	r := d.refused(d.app, "visit.tally", d.with(tally(lot("lot", 16, 16, 14, 2, 0))), "tally.contradicts", "lots[0].lifted")
	for _, part := range []string{"14 of lot B7", "the journal says 15"} {
		if !strings.Contains(r.Text, part) {
			t.Errorf("%q does not say %s", r.Text, part)
		}
	}
	d.done(d.app, "visit.tally", d.with(tally(lot("lot", 16, 16, 15, 1, 0), lot("empty", 5, 0, 0, 0, 5))))
}

// A clock that was a day ahead and is set right must not keep a visit open for
// ever: it closes, the times are told, and the view has the flags.
func TestCloseWithClocksCrossed(t *testing.T) {
	d := newAshDay(t)
	d.now += 24 * 3600 * 1000
	d.install()
	d.now -= 24 * 3600 * 1000
	d.on("unit.lift", 1, 16, `,"left":"0 mL"`)
	d.done(d.app, "visit.tally", d.with(`{"visit":"$visit","lots":[{"lot":"$lot","taken":16,"seated":16,"lifted":16,"lost":0,"unused":0}]}`))
	closed := d.done(d.app, "visit.close", d.with(closing))
	got := closed.Result.(visitIsClosed).Trees[0]
	if !has(closed, "visit.clocks") || got.End != got.Start || got.Given != 64_000_000 {
		t.Errorf("told %v, closed with %+v", findingCodes(closed.Findings), got)
	}
	if flags := d.view().Flags; !slices.ContainsFunc(flags, func(f views.Flag) bool { return f.Code == "unit.before_seat" }) {
		t.Errorf("flags %v", flags)
	}
}
