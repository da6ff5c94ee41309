package daybook

import (
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"time"

	"sapwell/engine/quantity"
	"sapwell/entries"
	"sapwell/journal"
)

const (
	second, hour = 1000, 3_600_000 // ms
	perSurvey    = 250             // trees seen on a day, and trees of one property
	perLot       = 500             // units
	millimetre   = 1_000_000       // nm
	fill         = 3_000_000       // nL
	labelFile    = "label: 1\nid: demo\nfictional: true\n"
)

// known is what later entries speak of.
type known struct {
	people  []journal.ID // by device
	label   journal.ID
	lot     journal.ID
	left    int // units of the lot
	grounds journal.ID
	trees   []tree
	next    int // tree to be treated
	bag     journal.ID
}

type tree struct {
	id, grounds, measurement, plan journal.ID
	old                            journal.ID // a hole of an earlier visit
	units                          int
}

func (w *writer) head(by int) entries.Head { return entries.Head{V: 1, By: w.people[by]} }

func (w *writer) date(by int) entries.Date {
	return quantity.DateOf(time.UnixMilli(w.pens[by].now).UTC())
}

// found begins the journal.
func (w *writer) found() {
	bare := entries.Head{V: 1}
	w.say(0, entries.Org{Head: bare, Name: "Invented Tree Care", Country: "US", Region: "OH", Zone: "America/New_York", KeepYears: 3})
	for i, p := range w.pens {
		role := entries.Applicator
		if i == 0 {
			role = entries.Office
		}
		w.people = append(w.people, w.say(0, entries.Person{Head: bare, Name: fmt.Sprintf("Invented Person %d", i), Roles: []entries.Role{role}}))
		w.say(0, entries.DeviceEnrolled{Head: w.head(0), Device: p.device, Name: fmt.Sprintf("Device %d", i), Person: w.people[i]})
		w.say(0, entries.Certificate{Head: w.head(0), Person: w.people[i], Sort: "certificate", Authority: "State (invented)", From: w.date(0)})
	}
	w.label = w.say(0, entries.Label{
		Head: w.head(0), Name: "demo", Version: w.date(0), Product: "Invented Mix (fictional)", RegNo: "0-0", Fictional: true, File: labelFile,
	})
}

// survey lists some trees of a new property, measures them and looks at them.
func (w *writer) survey() {
	place := len(w.trees) / perSurvey
	w.grounds = w.say(0, entries.Grounds{Head: w.head(0), Name: fmt.Sprintf("Invented Park %d", place+1), Context: "amenity"})
	w.pens[1].now = w.pens[0].now // the phone hears of it
	for range min(perSurvey, w.Trees-len(w.trees)) {
		t := tree{grounds: w.grounds, units: 4 + w.r.IntN(8)}
		t.id = w.say(1, entries.Tree{Head: w.head(1), Grounds: w.grounds, Tag: fmt.Sprintf("%06d", len(w.trees)+1), Species: "Fraxinus americana"})
		girth := entries.Girth{Around: int64(t.units) * 150 * millimetre, Height: 300 * millimetre}
		t.measurement = w.say(1, entries.Measurement{Head: w.head(1), Tree: t.id, Stems: []entries.Stem{{Girth: girth}}})
		loss := 5 * w.r.IntN(8)
		w.say(1, entries.Condition{Head: w.head(1), Tree: t.id, CanopyLoss: &loss, Eaten: "no", Advice: "treat"})
		w.trees = append(w.trees, t)
	}
}

// work is a day on which every phone has its visit.
func (w *writer) work(day int) {
	if w.bag != (journal.ID{}) {
		w.say(0, entries.BagHanded{Head: w.head(0), Bag: w.bag, To: "Invented Depot", Proof: fmt.Sprint(day)})
	}
	for by := 1; by < len(w.pens); by++ {
		jobs, need := w.plan()
		if w.left < need {
			w.buy()
		}
		w.left -= need
		w.pens[by].now = w.pens[0].now
		w.visit(by, jobs)
	}
}

// plan takes the next few trees of one property.
func (w *writer) plan() (jobs []*tree, need int) {
	for range min(4+w.r.IntN(4), len(w.trees)) {
		t := &w.trees[w.next]
		if len(jobs) > 0 && t.grounds != jobs[0].grounds {
			break
		}
		w.next = (w.next + 1) % len(w.trees)
		stem := entries.PlanStem{Units: t.units, PerUnit: fill, Total: int64(t.units) * fill, Stop: 20 * millimetre, Bit: 5 * millimetre}
		for i := range t.units {
			stem.Marks = append(stem.Marks, int64(i)*150*millimetre)
		}
		t.plan = w.say(0, entries.Plan{
			Head: w.head(0), Tree: t.id, Label: w.label, Measurement: t.measurement, Pest: "AGRLPL", Day: w.date(0),
			Overall: "nothing_found", Stems: []entries.PlanStem{stem}, Engine: "1",
		})
		jobs, need = append(jobs, t), need+t.units
	}
	return jobs, need
}

func (w *writer) buy() {
	w.left = perLot
	expires := w.date(0).AddDate(1, 0, 0)
	number := fmt.Sprintf("L%06d", w.r.IntN(1e6))
	w.lot = w.say(0, entries.Lot{Head: w.head(0), Label: "demo", Number: number, Size: fill, Expires: expires})
	w.say(0, entries.Stock{Head: w.head(0), Lot: w.lot, Units: perLot, Sort: "received"})
}

func (w *writer) visit(by int, jobs []*tree) {
	h := w.head(by)
	opened := entries.VisitOpened{Head: h, Grounds: jobs[0].grounds, Day: w.date(by), Certified: w.people[by], Checks: []string{"ppe", "wires", "label-on-site"}}
	for _, t := range jobs {
		opened.Jobs = append(opened.Jobs, entries.Job{Tree: t.id, Plan: t.plan})
	}
	visit := w.say(by, opened)
	lot := entries.TallyLot{Lot: w.lot}
	closed := entries.VisitClosed{Head: h, Visit: visit, Signature: entries.Signature{Name: "Invented Person", Meaning: "done as written"}}
	for _, t := range jobs {
		given := w.treat(by, visit, t)
		closed.Trees = append(closed.Trees, given)
		lot.Seated, lot.Lifted, lot.Lost = lot.Seated+given.Units, lot.Lifted+given.Lifted, lot.Lost+given.Lost
	}
	lot.Taken = lot.Seated
	w.say(by, entries.Tally{Head: h, Visit: visit, Lots: []entries.TallyLot{lot}})
	w.say(by, closed)
	w.bag = w.say(by, entries.BagSealed{Head: h, Visits: []journal.ID{visit}, Mark: "used units", Units: lot.Lifted, LeftHigh: fill})
	if w.r.IntN(10) == 0 {
		on := entries.Subject{Kind: entries.OfVisit, ID: visit.String()}
		w.say(by, entries.Note{Head: h, On: on, Text: "The gate was locked; came in by the north side."})
		w.say(by, entries.Photo{Head: h, On: on, SHA256: sha256.Sum256(visit[:]), Type: "image/jpeg", Bytes: 90_000, Width: 1600, Height: 1200})
	}
}

// treat bores and seats all of a tree, then watches and lifts.
func (w *writer) treat(by int, visit journal.ID, t *tree) entries.Treated {
	h := w.head(by)
	if t.old != (journal.ID{}) {
		w.say(by, entries.Closure{Head: h, Tree: t.id, Hole: t.old, State: "closing", Width: 2 * millimetre})
	}
	given := entries.Treated{Tree: t.id, Label: w.label, Holes: t.units, Units: t.units, Start: w.pens[by].now}
	units := make([]journal.ID, t.units)
	for i := range units {
		hole := entries.Hole{
			Head: h, Visit: visit, Tree: t.id, Mark: i + 1, Around: int64(i) * 150 * millimetre,
			Height: 300 * millimetre, Depth: 15 * millimetre, Bit: 5 * millimetre,
		}
		t.old = w.say(by, hole)
		if w.r.IntN(1000) == 0 {
			w.amend(by, t.old, hole)
		}
		units[i] = w.say(by, entries.UnitSeated{Head: h, Visit: visit, Hole: t.old, Lot: w.lot, Fill: fill})
		w.say(by, entries.UnitPressurised{Head: h, Visit: visit, Unit: units[i], Gauge: 69_000})
	}
	for _, unit := range units {
		left := int64(0)
		switch w.r.IntN(100) {
		case 0:
			w.say(by, entries.UnitLost{Head: h, Visit: visit, Unit: unit, Why: "run over", Signed: "Invented Person"})
			given.Lost++
			continue
		case 1, 2:
			left = fill / 4
			w.say(by, entries.UnitStuck{Head: h, Visit: visit, Unit: unit, Left: left})
		default:
			w.say(by, entries.UnitDrained{Head: h, Visit: visit, Unit: unit})
		}
		w.say(by, entries.UnitLifted{Head: h, Visit: visit, Unit: unit, Left: left})
		given.Lifted, given.Given = given.Lifted+1, given.Given+fill-left
	}
	given.End = w.pens[by].now
	return given
}

// amend puts a hole an inch higher than was written first.
func (w *writer) amend(by int, id journal.ID, hole entries.Hole) {
	body := func() json.RawMessage {
		d, err := entries.Draft(id, w.pens[by].now, hole)
		if err != nil {
			panic(err) // it is written as it stands a moment later
		}
		return d.Body
	}
	a := entries.Amendment{Head: w.head(by), Of: id, OfKind: hole.Kind(), Why: "read the tape again", Before: body()}
	hole.Height += 25_400_000
	a.After = body()
	w.say(by, a)
}
