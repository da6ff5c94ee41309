package actions

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"

	"sapwell/engine/quantity"
	"sapwell/engine/verdict"
	"sapwell/engine/why"
	"sapwell/entries"
	"sapwell/internal/outside"
	"sapwell/journal"
	"sapwell/views"
)

// planned does tree.plan and returns its result and the entry it wrote.
func (f *firm) planned(input string) (treePlanned, entries.Plan, []why.Finding) {
	f.t.Helper()
	out := f.done(f.app, "tree.plan", input)
	r := out.Result.(treePlanned)
	e, ok, err := f.Entry(r.ID)
	if err != nil || !ok {
		f.t.Fatalf("plan %s: %t, %v", r.ID, ok, err)
	}
	read, err := entries.Read(e)
	if err != nil {
		f.t.Fatal(err)
	}
	return r, read.Body.(entries.Plan), out.Findings
}

func findings(fs []why.Finding) []string {
	var codes []string
	for _, f := range fs {
		codes = append(codes, f.Code)
	}
	return codes
}

// Common practice, no source: 96 in of girth over 6 in is 16 units, evenly 6 in
// apart, bored 45° down and 1/4-3/8 in into the wood; here by way of what people
// do, from the tree on the list to the plan in the journal.
func TestThePlanOfCommonPracticeByDeeds(t *testing.T) {
	f := newFirm(t)
	_, tree, label := f.ashTree()
	r, p, found := f.planned(fmt.Sprintf(`{"tree":%q,"day":"2026-06-09","certified":"yes"}`, tree))
	if len(found) > 0 || p.Overall != "nothing_found" {
		t.Errorf("overall %s, findings %v", p.Overall, findings(found))
	}
	if p.Label != label || p.Tree != tree || p.Pest != "Agrilus planipennis" {
		t.Errorf("plan of tree %s by label %s against %s", p.Tree, p.Label, p.Pest)
	}
	if len(p.Stems) != 1 || p.Stems[0].Units != 16 || len(p.Stems[0].Marks) != 16 || p.Stems[0].Total != 64_000_000 {
		t.Fatalf("stems %+v", p.Stems)
	}
	const inch = 25_400_000
	s := p.Stems[0]
	for i := range s.Marks {
		next := s.Marks[(i+1)%16]
		if i == 15 {
			next += 96 * inch
		}
		if next-s.Marks[i] != 6*inch || s.Heights[i] != 12*inch {
			t.Errorf("mark %d: %d nm to the next, %d nm high", i+1, next-s.Marks[i], s.Heights[i])
		}
	}
	if s.DepthMin != inch/4 || s.DepthMax != inch*3/8 {
		t.Errorf("depth %d-%d nm", s.DepthMin, s.DepthMax)
	}
	if bored := r.Plan.Stems[0].Bore.Why; !hasAngle(bored) {
		t.Errorf("the drill is not set at 45°: %+v", bored)
	}
	var full Plan
	if err := json.Unmarshal([]byte(p.Full), &full); err != nil || full.Stems[0].Dose.Units != 16 {
		t.Errorf("the whole plan: %v", err)
	}
	if v := state[*views.Tree](f, entries.OfTree, tree); v.Plan != r.ID {
		t.Errorf("the tree's last plan is %s", v.Plan)
	}
	outside.Ran(t, "common practice, no source", "96 in at 6 in: 16 units, 6 in apart, 45°, 1/4-3/8 in, through the deeds")
}

// hasAngle looks for 45° among the inputs of a reason.
func hasAngle(r why.Reason) bool {
	is := func(t why.Term) bool {
		a, ok := t.Value.(quantity.Angle)
		return ok && a == 45*quantity.Degree
	}
	return slices.ContainsFunc(r.Inputs, is) || slices.ContainsFunc(r.Because, hasAngle)
}

// What a plan was made of stays what it was: a new measurement and a new label
// text change the next plan and not the last.
func TestAPlanStaysWhatItWas(t *testing.T) {
	f := newFirm(t)
	_, tree, label := f.ashTree()
	plan := fmt.Sprintf(`{"tree":%q,"day":"2026-06-09"}`, tree)
	first, before, _ := f.planned(plan)
	f.do(f.train, "tree.measure", fmt.Sprintf(`{"tree":%q,"stems":[{"ring":{"girth":{"around":"108 in","height":"12 in"}}}]}`, tree))
	newer := strings.Replace(demoLabel(t, "demo-a"), "version: 2026-02-01", "version: 2026-06-01", 1)
	newer = strings.Replace(newer, "per_application: 64 mL", "per_application: 80 mL", 1)
	second := f.do(f.boss, "label.add", `{"file":`+newer+`}`)
	_, after, _ := f.planned(plan)
	if after.Stems[0].Units != 18 || after.Label != second || after.Measurement == before.Measurement {
		t.Errorf("after: %d units by %s", after.Stems[0].Units, after.Label)
	}
	e, _, _ := f.Entry(first.ID)
	kept, err := entries.Read(e)
	if p := kept.Body.(entries.Plan); err != nil || p.Stems[0].Units != 16 || p.Label != label {
		t.Errorf("the first plan now says %d units by %s", p.Stems[0].Units, p.Label)
	}
}

// A tree that was treated within the label's interval stops, and the plan is kept
// with its stop.
func TestAStopIsWritten(t *testing.T) {
	f := newFirm(t)
	_, tree, _ := f.ashTree()
	_, p, found := f.planned(fmt.Sprintf(`{"tree":%q,"day":"2026-06-09",
		"earlier":[{"date":"2026-03-01","label":"demo-a","active":["emamectin benzoate"],"total":"64 mL"}]}`, tree))
	if p.Overall != "stop" || len(p.Findings) == 0 || !why.Blocks(found) {
		t.Errorf("overall %s, findings %v", p.Overall, p.Findings)
	}
}

// What was seen is used only while it may still hold.
func TestWhatWasSeenGoesStale(t *testing.T) {
	loss, stage := 40, 71
	seen := entries.Condition{CanopyLoss: &loss, BBCH: &stage, BloomOver: "yes", Drought: "no"}
	on := quantity.NewDate(2026, 6, 9)
	for _, c := range []struct {
		day                   quantity.Date
		canopy, season, stage bool
	}{
		{day: on, canopy: true, season: true, stage: true},
		{day: on.AddDate(0, 0, 1), canopy: true, season: true},
		{day: quantity.NewDate(2026, 12, 31), canopy: true, season: true},
		{day: quantity.NewDate(2027, 1, 1), canopy: true},
		{day: on.AddDate(0, 0, 365), canopy: true},
		{day: on.AddDate(0, 0, 366)},
		{day: on.AddDate(0, 0, -1)},
	} {
		facts := verdict.Circumstances{Date: c.day}
		stillTrue(&facts, seen, on)
		if got := facts.CanopyLoss != nil; got != c.canopy {
			t.Errorf("%s: canopy loss known: %t", c.day, got)
		}
		if got := facts.BloomOver == "yes" && facts.Drought == "no"; got != c.season {
			t.Errorf("%s: season known: %t", c.day, got)
		}
		if got := facts.BBCH != nil; got != c.stage {
			t.Errorf("%s: growth stage known: %t", c.day, got)
		}
	}
}

// Old holes keep their direction while the girth grows, and a tape that runs the
// other way is read the other way.
func TestWhereAnOldHoleLiesNow(t *testing.T) {
	stem := func(girth int64, face string, back bool) entries.Stem {
		return entries.Stem{Girth: entries.Girth{Around: girth, Height: 1}, ZeroFace: face, CounterClockwise: back}
	}
	then := stem(96_000, "N", false)
	for _, c := range []struct {
		now  entries.Stem
		at   quantity.Length
		sure bool
	}{
		{then, 24_000, true},
		{stem(100_000, "N", false), 25_000, true},
		{stem(96_000, "N", true), 72_000, true},
		{stem(96_000, "E", false), 24_000, false},
		{stem(96_000, "", false), 24_000, false},
	} {
		if at, sure := placeNow(24_000, then, c.now); at != c.at || sure != c.sure {
			t.Errorf("on %+v: %d, %t; want %d, %t", c.now, at, sure, c.at, c.sure)
		}
	}
	if at, _ := placeNow(0, then, stem(96_000, "N", true)); at != 0 {
		t.Errorf("the zero of the tape moved to %d", at)
	}
}

// An old hole keeps new marks away where it lies today, and one on a tape begun
// elsewhere is asked about.
func TestOldHolesCountInThePlan(t *testing.T) {
	f := newFirm(t)
	_, tree, _ := f.ashTree()
	f.do(f.train, "wound.record", fmt.Sprintf(`{"tree":%q,"around":"24 in","width":"1/2 in","height":"12 in","made":"2024-06-01"}`, tree))
	measure := `{"tree":%q,"stems":[{"ring":{"girth":{"around":"%s","height":"12 in"},"zero":{"face":"%s"}}}]}`
	f.do(f.train, "tree.measure", fmt.Sprintf(measure, tree, "100 in", "N"))
	plan := fmt.Sprintf(`{"tree":%q,"day":"2026-06-09"}`, tree)
	_, p, found := f.planned(plan)
	const inch = 25_400_000
	for _, at := range p.Stems[0].Marks {
		if d := at - 25*inch; -inch/2 < d && d < inch/2 {
			t.Errorf("a mark at %d nm, on the old hole", at)
		}
	}
	if slices.Contains(findings(found), "plan.zero_moved") {
		t.Error("the zero did not move")
	}
	f.do(f.train, "tree.measure", fmt.Sprintf(measure, tree, "100 in", "E"))
	if _, _, found := f.planned(plan); !slices.Contains(findings(found), "plan.zero_moved") {
		t.Errorf("findings %v, want plan.zero_moved", findings(found))
	}
	two := `{"tree":%q,"stems":[{"name":"a","ring":{"girth":{"around":"60 in","height":"12 in"}}},{"name":"b","ring":{"girth":{"around":"60 in","height":"12 in"}}}]}`
	f.do(f.train, "tree.measure", fmt.Sprintf(two, tree))
	if _, _, found := f.planned(plan); !slices.Contains(findings(found), "plan.holes_lost") {
		t.Errorf("findings %v, want plan.holes_lost", findings(found))
	}
}

// A lot past its day stops a plan only where there is no other.
func TestLotsOnHand(t *testing.T) {
	f := newFirm(t)
	_, tree, _ := f.ashTree()
	plan := fmt.Sprintf(`{"tree":%q,"day":"2026-06-09"}`, tree)
	lot := `{"label":"demo-a","number":%q,"size":"4 mL","expires":%q,"units":20}`
	f.do(f.app, "lot.add", fmt.Sprintf(lot, "OLD-1", "2026-06-08"))
	if _, p, _ := f.planned(plan); p.Overall != "stop" || !slices.Contains(p.Findings, "lot.expired") {
		t.Errorf("with a lot past its day: %s %v", p.Overall, p.Findings)
	}
	f.do(f.app, "lot.add", fmt.Sprintf(lot, "NEW-1", "2027-06-08"))
	if _, p, _ := f.planned(plan); p.Overall == "stop" {
		t.Errorf("with a good lot beside it: %s %v", p.Overall, p.Findings)
	}
}

func TestPlansThatCannotBeMade(t *testing.T) {
	f := newFirm(t)
	grounds, tree, label := f.ashTree()
	plan := func(tree journal.ID, more string) string {
		return fmt.Sprintf(`{"tree":%q,"day":"2026-06-09"%s}`, tree, more)
	}
	bare := f.do(f.app, "tree.add", fmt.Sprintf(`{"grounds":%q,"tag":"Q-02","species":"Quercus rubra"}`, grounds))
	f.refused(f.app, "tree.plan", plan(bare, ""), "tree.not_measured", "tree")
	f.refused(f.app, "tree.plan", plan(grounds, ""), "tree.unknown", "tree")
	f.refused(f.app, "tree.plan", plan(tree, fmt.Sprintf(`,"label":%q`, tree)), "label.unknown", "label")
	f.refused(f.app, "tree.plan", plan(tree, `,"jurisdiction":"MARS"`), "input.value", "jurisdiction")
	f.refused(f.app, "tree.plan", fmt.Sprintf(`{"tree":%q}`, tree), "input.missing", "day")

	f.do(f.app, "tree.measure", fmt.Sprintf(`{"tree":%q,"stems":[{"ring":{"girth":{"around":"60 in","height":"12 in"}}}]}`, bare))
	f.do(f.boss, "label.add", `{"file":`+demoLabel(t, "demo-b")+`}`)
	if r := f.refused(f.app, "tree.plan", plan(bare, ""), "plan.label_open", "label"); !strings.Contains(r.Text, "demo-a, demo-b") {
		t.Errorf("%q does not name the labels", r.Text)
	}
	f.do(f.app, "tree.plan", plan(bare, `,"pest":"Phytophthora ramorum"`)) // only demo-b lists it
	f.do(f.app, "tree.plan", plan(bare, fmt.Sprintf(`,"label":%q`, label)))

	ginkgo := f.do(f.app, "tree.add", fmt.Sprintf(`{"grounds":%q,"tag":"Q-03","species":"Ginkgo biloba"}`, grounds))
	f.do(f.app, "tree.measure", fmt.Sprintf(`{"tree":%q,"stems":[{"ring":{"girth":{"around":"60 in","height":"12 in"}}}]}`, ginkgo))
	f.refused(f.app, "tree.plan", plan(ginkgo, ""), "plan.no_label", "label")
	f.do(f.app, "tree.update", fmt.Sprintf(`{"tree":%q,"gone":true}`, tree))
	f.refused(f.app, "tree.plan", plan(tree, ""), "tree.gone", "tree")
}

func BenchmarkPlanDeed(b *testing.B) {
	f := newFirm(b)
	_, tree, _ := f.ashTree()
	input := json.RawMessage(fmt.Sprintf(`{"tree":%q,"day":"2026-06-09"}`, tree))
	i := slices.IndexFunc(Deeds(), func(d Deed) bool { return d.Name == "tree.plan" })
	d := Deeds()[i]
	for b.Loop() {
		out, err := d.Do(f.moment(f.app), f, input)
		if err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(float64(len(out.Drafts[0].Body)), "bytes/plan")
	}
}

// A tree that was treated is planned again: the label's interval (730 days, as the
// demo's file has it) counts from the visit, and no mark lies on an old hole.
func TestATreatedTreeIsPlannedAgain(t *testing.T) {
	d := newAshDay(t)
	d.install()
	d.finish()
	d.do(d.boss, "lot.add", `{"label":"demo-a","number":"B9","size":"4 mL","expires":"2029-01-31","units":40}`)
	later := `{"tree":"$tree","day":"%s","certified":"yes","canopy_loss":10,"bloom_over":"yes"}`
	_, before, _ := d.planned(d.with(fmt.Sprintf(later, "2028-06-07"))) // 729 days after 2026-06-09
	_, after, _ := d.planned(d.with(fmt.Sprintf(later, "2028-06-08")))
	if before.Overall != "stop" || !slices.Contains(before.Findings, "interval.too_short") {
		t.Errorf("after 729 days: %s %v", before.Overall, before.Findings)
	}
	if after.Overall == "stop" || !slices.Contains(after.Findings, "resistance.same_group") {
		t.Errorf("after 730 days: %s %v", after.Overall, after.Findings)
	}
	const inch = 25_400_000
	old := state[*views.Tree](d.firm, entries.OfTree, d.tree).Holes
	if len(old) != 16 || len(after.Stems[0].Marks) != 16 {
		t.Fatalf("%d old holes, %d marks", len(old), len(after.Stems[0].Marks))
	}
	for _, at := range after.Stems[0].Marks {
		for _, h := range old {
			if d := max(at-h.Around, h.Around-at); d < inch/2 {
				t.Errorf("a mark %d nm from an old hole", d)
			}
		}
	}
}

// What is in a tree is in it, though its visit is not closed: 3 units of 4 mL, of
// which one came back with 1 mL, are 11 mL given.
func TestAVisitUnderWayCounts(t *testing.T) {
	d := newAshDay(t)
	made := d.done(d.app, "tree.install", d.with(`{"visit":"$visit","tree":"$tree","lot":"$lot","marks":[1,2,3]}`)).Result.(treeInstalled)
	d.units = made.Units
	d.on("unit.lift", 1, 1, `,"left":"1 mL"`)
	desk := &desk{Moment: d.moment(d.app), Reader: d}
	got, err := desk.earlier(state[*views.Tree](d.firm, entries.OfTree, d.tree), nil)
	want := []verdict.Application{{Date: quantity.NewDate(2026, 6, 9), Label: "demo-a", Active: []string{"emamectin benzoate"}, Total: 11 * quantity.Millilitre}}
	if err != nil || fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("%v, %v; want %v", got, err, want)
	}
	if _, p, _ := d.planned(d.with(`{"tree":"$tree","day":"2026-06-20"}`)); !slices.Contains(p.Findings, "interval.too_short") {
		t.Errorf("eleven days later: %s %v", p.Overall, p.Findings)
	}
}

// The law asked is that of the grounds' country, else of the organisation's.
func TestWhoseLaw(t *testing.T) {
	f := newFirm(t)
	abroad := f.do(f.app, "grounds.add", `{"name":"Quinta (invented)","context":"orchard","country":"ES"}`)
	tree := f.do(f.app, "tree.add", fmt.Sprintf(`{"grounds":%q,"tag":"1","species":"green ash"}`, abroad))
	d := &desk{Moment: f.moment(f.app), Reader: f}
	v, err := d.tree(tree, "tree")
	if err != nil {
		t.Fatal(err)
	}
	facts, set, err := d.circumstances(v, past{}, treePlan{})
	if err != nil || facts.Jurisdiction != verdict.EU || facts.Region != "" || set.System != quantity.Metric || !facts.Crop {
		t.Errorf("%+v %+v %v", facts, set, err)
	}
}

// Whether livestock grazes is told of the tree or of its grounds, the tree first; what
// no one can read is not known, and what is said now goes before.
func TestGrazedIsTold(t *testing.T) {
	f := newFirm(t)
	grounds := f.do(f.app, "grounds.add", `{"name":"Orchard (invented)","context":"orchard"}`)
	tree := f.do(f.app, "tree.add", fmt.Sprintf(`{"grounds":%q,"tag":"1","species":"green ash"}`, grounds))
	grazed := func(in treePlan) verdict.Answer {
		d := &desk{Moment: f.moment(f.app), Reader: f}
		v, err := d.tree(tree, "tree")
		if err != nil {
			t.Fatal(err)
		}
		facts, _, err := d.circumstances(v, past{}, in)
		if err != nil || facts.Context != "orchard" {
			t.Errorf("%+v %v", facts, err)
		}
		return facts.Grazed
	}
	tell := func(kind string, id journal.ID, text string) {
		f.do(f.app, "record.tell", fmt.Sprintf(`{"on":{"kind":%q,"id":%q},"field":"site.grazed","text":%q}`, kind, id, text))
	}
	if got := grazed(treePlan{}); got != verdict.Unknown {
		t.Errorf("nobody told: %q", got)
	}
	tell("grounds", grounds, "Yes")
	if got := grazed(treePlan{}); got != verdict.Yes {
		t.Errorf("told of the grounds: %q", got)
	}
	if got := grazed(treePlan{Grazed: verdict.No}); got != verdict.No {
		t.Errorf("said now: %q", got)
	}
	tell("tree", tree, "sometimes")
	if got := grazed(treePlan{}); got != verdict.Unknown {
		t.Errorf("told of the tree, in words: %q", got)
	}
	tell("tree", tree, "no")
	if got := grazed(treePlan{}); got != verdict.No {
		t.Errorf("told of the tree: %q", got)
	}
}

// What a gate asks and the trunk does not show comes from whoever plans, or from what
// was told of the tree: how far water is (the label's own buffer), and who helps and
// when they were trained (40 CFR 171.201: within twelve months, 18 years).
func TestWhatGatesAskIsTold(t *testing.T) {
	f := newFirm(t)
	_, tree, _ := f.ashTree()
	file := strings.Replace(demoLabel(t, "demo-a"), `id: demo-a`, `id: demo-water`, 1)
	file = strings.Replace(file, `\nfood:`, `\nsite:\n  water_buffer: 10 m\n\nfood:`, 1)
	label := f.do(f.boss, "label.add", `{"file":`+file+`}`)
	helper := f.do(f.boss, "person.add", `{"name":"Rowan Pike (invented)","roles":["trainee"],"supervisor":"`+f.app.String()+`"}`)
	plan := func(more string) []string {
		_, _, found := f.planned(fmt.Sprintf(`{"tree":%q,"label":%q,"day":"2026-06-09","certified":"yes"%s}`, tree, label, more))
		return findings(found)
	}
	for _, c := range []struct {
		more string
		want []string
	}{
		{``, []string{"site.water_unknown"}},
		{`,"water":"4 m"`, []string{"site.water_near"}},
		{`,"water":"12 m"`, nil},
		{`,"water":"12 m","helper":"` + helper.String() + `"`, []string{"people.operator_age_unknown", "people.training_unknown"}},
		{`,"water":"12 m","helper":"` + helper.String() + `","helper_age":17`, []string{"people.operator_young", "people.training_unknown"}},
	} {
		if got := plan(c.more); !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", c.more, got, c.want)
		}
	}
	f.do(f.boss, "person.certify", `{"person":"`+helper.String()+`","sort":"training","authority":"the firm","from":"2025-07-01"}`)
	f.do(f.app, "record.tell", `{"on":{"kind":"tree","id":"`+tree.String()+`"},"field":"site.water","text":"30 m"}`)
	if got := plan(`,"helper":"` + helper.String() + `","helper_age":19`); len(got) > 0 {
		t.Errorf("trained within the year, water told of: %v", got)
	}
	f.refused(f.app, "tree.plan", fmt.Sprintf(`{"tree":%q,"day":"2026-06-09","helper":%q}`, tree, tree), "person.unknown", "helper")
}
