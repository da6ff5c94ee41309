package actions

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"sapwell/engine/label"
	"sapwell/engine/quantity"
	"sapwell/engine/stock"
	"sapwell/engine/verdict"
	"sapwell/engine/why"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

// rulesVersion names the rules by which plans are made. It changes when the same
// tree, label and facts would give another plan.
const rulesVersion = "sapwell-rules-1"

func planDeeds() []Deed {
	planners := []entries.Role{entries.Office, entries.Applicator}
	return []Deed{deed("tree.plan", planners, planTree), deed("plan.adjust", planners, adjustPlan)}
}

type treePlan struct {
	Tree         journal.ID            `json:"tree" doc:"which"`
	Day          quantity.Date         `json:"day" doc:"day of the work"`
	Label        journal.ID            `json:"label,omitzero" doc:"the label version; left out: the only one that fits"`
	Pest         string                `json:"pest,omitempty" doc:"name or EPPO code; left out: as seen last"`
	Jurisdiction verdict.Jurisdiction  `json:"jurisdiction,omitempty" enum:"US,EU,UK" doc:"whose law is asked; left out: that of the country"`
	Region       string                `json:"region,omitempty" doc:"state or province; left out: that of the grounds"`
	Certified    verdict.Answer        `json:"certified,omitempty" enum:"yes,no" doc:"a certified applicator does or supervises the work"`
	CanopyLoss   *int                  `json:"canopy_loss,omitempty" doc:"percent; left out: as seen within a year"`
	BloomOver    verdict.Answer        `json:"bloom_over,omitempty" enum:"yes,no" doc:"its bloom of this year is over; left out: as seen this year"`
	BBCH         *int                  `json:"bbch,omitempty" doc:"growth stage; left out: as seen on that day"`
	Drought      verdict.Answer        `json:"drought,omitempty" enum:"yes,no" doc:"it suffers from drought; left out: as seen this year"`
	Eaten        verdict.Answer        `json:"eaten,omitempty" enum:"yes,no" doc:"some part of it is eaten; left out: as seen last"`
	Tapped       verdict.Answer        `json:"tapped,omitempty" enum:"yes,no" doc:"it is tapped for sap; left out: as seen last"`
	LiveWires    verdict.Answer        `json:"live_wires,omitempty" enum:"yes,no" doc:"live wires are near; left out: as seen last"`
	Water        *quantity.Length      `json:"water,omitempty" doc:"how far the nearest open water or drain is; left out: as told of the tree or the grounds under site.water"`
	Harvest      quantity.Date         `json:"harvest,omitzero" doc:"first harvest to come of any part that is eaten; left out: as told of the tree or the grounds under food.harvest"`
	Grazed       verdict.Answer        `json:"grazed,omitempty" enum:"yes,no" doc:"livestock grazes or browses where it stands; left out: as told of the tree or the grounds under site.grazed"`
	Also         verdict.Answer        `json:"also,omitempty" enum:"yes,no" doc:"every further demand of the label (its lines under also) is seen to"`
	Helper       journal.ID            `json:"helper,omitzero" doc:"who without a certificate is to do the work under supervision"`
	HelperAge    *int                  `json:"helper_age,omitempty" doc:"their age in whole years"`
	Crop         bool                  `json:"crop,omitempty" doc:"its harvest is sold; so it is in an orchard"`
	Earlier      []verdict.Application `json:"earlier,omitempty" doc:"treatments that this journal does not know"`
	Air          *quantity.Temperature `json:"air,omitempty" doc:"air temperature expected"`
	System       *quantity.System      `json:"system,omitempty" doc:"imperial or metric: of tape and drill stop; left out: that of the country"`
	Altitude     quantity.Length       `json:"altitude,omitempty" doc:"of the place, above sea level"`
	Size         quantity.Volume       `json:"size,omitempty" doc:"unit size, where the label counts units and sells several"`
}

type treePlanned struct {
	ID    journal.ID `json:"id"`
	Label journal.ID `json:"label"`
	Plan  Plan       `json:"plan"`
}

// planTree plans one tree from what the journal knows of it. A plan that says
// stop is written like any other: that a tree was looked at and left alone is
// worth remembering.
func planTree(d *desk, in treePlan) (treePlanned, error) {
	t, err := d.standing(in.Tree, "tree")
	if err != nil {
		return treePlanned{}, err
	}
	if t.Measurement == nil {
		return treePlanned{}, refuse(Conflict, "tree.not_measured", "tree", fmt.Sprintf("tree: %s was not measured yet", t.Facts.Tag), why.T("tag", t.Facts.Tag))
	}
	species, err := kindOfTree(t.Facts.Species)
	if err != nil {
		return treePlanned{}, err
	}
	past, err := d.past(in.Tree)
	if err != nil {
		return treePlanned{}, err
	}
	facts, set, err := d.circumstances(t, past, in)
	if err != nil {
		return treePlanned{}, err
	}
	version, l, err := d.chooseLabel(in.Label, species.Scientific, facts.Pest)
	if err != nil {
		return treePlanned{}, err
	}
	lots, err := d.onHand(l.ID)
	if err != nil {
		return treePlanned{}, err
	}
	facts.Lots = fit(lots, l, in.Day)
	job := Job{Tree: d.boleOf(t, past, species), Facts: facts, Label: l}
	return d.writePlan(in, t, version, facts.Pest, NewPlanner(set).Tree(job))
}

// writePlan keeps a plan, whole and in what the field needs of it.
func (d *desk) writePlan(in treePlan, t *views.Tree, version *views.Label, pest string, p Plan) (treePlanned, error) {
	labelID, err := idOf(version.ID)
	if err != nil {
		return treePlanned{}, err
	}
	var full []byte
	if !d.Supposed {
		if full, err = json.Marshal(p); err != nil {
			return treePlanned{}, err
		}
	}
	l, err := d.labelOf(version)
	if err != nil {
		return treePlanned{}, err
	}
	body := entries.Plan{
		Head: d.now(), Tree: in.Tree, Label: labelID, Measurement: t.Measurement.Entry, Pest: pest, Day: in.Day,
		Overall: string(p.Opinion.Overall), Engine: rulesVersion, Full: string(full),
	}
	for _, f := range p.Opinion.Findings {
		if !slices.Contains(body.Findings, f.Code) {
			body.Findings = append(body.Findings, f.Code)
		}
	}
	for _, s := range p.Stems {
		body.Stems = append(body.Stems, wirePlan(s, l.Hole))
	}
	id, err := d.write(body)
	d.note(p.Opinion.Findings...)
	return treePlanned{id, labelID, p}, err
}

func wirePlan(s StemPlan, hole label.Hole) entries.PlanStem {
	w := entries.PlanStem{
		Name: s.Name, Units: s.Dose.Units, PerUnit: int64(s.Dose.PerUnit), Total: int64(s.Dose.Total),
		Bit: int64(hole.Bit), DepthMin: int64(hole.DepthMin), DepthMax: int64(hole.DepthMax),
	}
	if s.Bore != nil {
		w.Stop = int64(s.Bore.Stop)
	}
	if s.Unit != nil {
		w.P50, w.P90 = millis(s.Unit.Forecast.P50), millis(s.Unit.Forecast.P90)
	}
	if s.Marks == nil {
		return w
	}
	for i, at := range s.Marks.Positions {
		w.Marks = append(w.Marks, int64(at))
		w.Heights = append(w.Heights, int64(s.Girth.Height+s.Marks.Raise[i]))
	}
	return w
}

const millisecond = quantity.Second / 1000

func millis(s quantity.Span) int64 { return int64(s / millisecond) }

// fit are the lots that nothing sets aside, or all of them where that leaves
// none: then the verdict says what is wrong with each.
func fit(lots []stock.Lot, l label.Label, day quantity.Date) []stock.Lot {
	sound := keepIf(lots, func(lot stock.Lot) bool { return !why.Blocks(stock.Check(lot, l.Storage, day)) })
	if len(sound) == 0 {
		return lots
	}
	return sound
}

// chooseLabel reads the version asked for, or the only label that fits, in its
// newest version. Among several a person chooses.
func (d *desk) chooseLabel(asked journal.ID, host, pest string) (*views.Label, label.Label, error) {
	if asked != (journal.ID{}) {
		v, err := d.label(asked, "label")
		if err != nil {
			return nil, label.Label{}, err
		}
		l, err := d.labelOf(v)
		return v, l, err
	}
	newest, err := d.newestLabels()
	if err != nil {
		return nil, label.Label{}, err
	}
	var labels []label.Label
	for _, v := range newest {
		l, err := d.labelOf(v)
		if err != nil {
			return nil, label.Label{}, err
		}
		labels = append(labels, l)
	}
	fitting := Candidates(labels, host, pest)
	if len(fitting) == 1 {
		i := slices.IndexFunc(labels, func(l label.Label) bool { return l.ID == fitting[0].ID })
		return newest[i], labels[i], nil
	}
	var names []string
	for _, l := range fitting {
		names = append(names, l.ID)
	}
	if len(names) == 0 {
		return nil, label.Label{}, refuse(Conflict, "plan.no_label", "label", fmt.Sprintf("label: no label here lists %s", host), why.T("host", host))
	}
	return nil, label.Label{}, refuse(BadInput, "plan.label_open", "label",
		"label: missing; several fit, and which to use is yours to say: "+strings.Join(names, ", "), why.T("labels", names))
}

// newestLabels lists every label in its newest version.
func (d *desk) newestLabels() (newest []*views.Label, err error) {
	err = each(d, entries.OfLabel, "", "", func(l *views.Label) error {
		if n := len(newest); n > 0 && newest[n-1].Facts.Name == l.Facts.Name {
			newest = newest[:n-1]
		}
		newest = append(newest, l)
		return nil
	})
	return newest, err
}
