package calc

import (
	"encoding/json"
	"errors"
	"strings"

	"sapwell/actions"
	"sapwell/engine/bole"
	"sapwell/engine/bore"
	"sapwell/engine/dose"
	"sapwell/engine/drain"
	"sapwell/engine/host"
	"sapwell/engine/label"
	"sapwell/engine/quantity"
	"sapwell/engine/stock"
	"sapwell/engine/verdict"
	"sapwell/engine/why"
	"sapwell/labelfile"
)

// doors lists the computations.
func doors() []computation {
	return []computation{
		door("quantity", "Read a measure as people write it, and print it.", readQuantity),
		door("host", "What is known of a kind of tree.", lookHost),
		door("girth", "Diameter of a girth, equal-basal-area diameter of stems, live girth of a ring.", girth),
		door("label", "A label as read, with its faults.", readLabel),
		door("dose", "Units and dose of a stem under a label.", computeDose),
		door("marks", "Where the holes go, in ticks on a closed ring.", solveMarks).passingOver(),
		door("place", "Where the holes go, as tape readings on a measured ring; pins stay put.", placeMarks),
		door("bore", "Drill stop, depth and opening.", computeBore),
		door("drain", "What a pressurised unit delivers, and when.", solveDrain).passingOver(),
		door("forecast", "How long drains take, as a distribution.", predict),
		door("stock", "Which lot for which tree.", allocate),
		door("empty", "What the figures of 40 CFR 261.7(b) say of a used unit; no legal status.", empty),
		door("verdict", "Should we, may we: what is found for a tree under a label.", judge),
		door("plan", "The whole plan of one tree.", plan),
		door("record", "What each profile misses in a record of work, or finds late.", checkRecord),
	}
}

type quantityIn struct {
	Text    string `json:"text" calc:"required" help:"what a person wrote, such as 8' 2 1/2\""`
	Kind    string `json:"kind" calc:"required" help:"length, volume, mass, pressure, temperature, angle or span"`
	Bare    string `json:"bare" help:"the unit a bare number has; empty refuses bare numbers"`
	Comma   bool   `json:"decimal_comma"`
	Metric  bool   `json:"metric" help:"print in metric units"`
	OnATape bool   `json:"tape" help:"print a length to tape resolution"`
}

type quantityOut struct {
	Value   any    `json:"value"`
	Printed string `json:"printed"`
}

func readQuantity(in quantityIn) (quantityOut, error) {
	reading := quantity.Reading{DecimalComma: in.Comma, Bare: in.Bare}
	style := quantity.Style{System: quantity.Imperial, DecimalComma: in.Comma}
	if in.Metric {
		style.System = quantity.Metric
	}
	switch in.Kind {
	case "length":
		l, err := quantity.ParseLength(in.Text, reading)
		if err == nil && in.OnATape {
			return quantityOut{l, l.Tape(style)}, nil
		}
		return printed(l, err, style)
	case "volume":
		v, err := quantity.ParseVolume(in.Text, reading)
		return printed(v, err, style)
	case "mass":
		m, err := quantity.ParseMass(in.Text, reading)
		return printed(m, err, style)
	case "pressure":
		p, err := quantity.ParsePressure(in.Text, reading)
		return printed(p, err, style)
	case "temperature":
		t, err := quantity.ParseTemperature(in.Text, reading)
		return printed(t, err, style)
	case "angle":
		a, err := quantity.ParseAngle(in.Text, reading)
		return printed(a, err, style)
	case "span":
		s, err := quantity.ParseSpan(in.Text, reading)
		return printed(s, err, style)
	}
	return quantityOut{}, &FieldError{"kind", in.Kind, "want length, volume, mass, pressure, temperature, angle or span"}
}

func printed(q interface{ Text(quantity.Style) string }, err error, style quantity.Style) (quantityOut, error) {
	if err != nil {
		return quantityOut{}, &FieldError{Path: "text", Want: err.Error()}
	}
	return quantityOut{q, q.Text(style)}, nil
}

type hostIn struct {
	Name string `json:"name" calc:"required" help:"scientific name, common name or EPPO code"`
}

func lookHost(in hostIn) (host.Species, error) { return species("name", in.Name) }

// species looks a kind of tree up for a field.
func species(field, name string) (host.Species, error) {
	s, err := host.Lookup(name)
	if err != nil {
		return s, &FieldError{Path: field, Want: err.Error()}
	}
	return s, nil
}

type girthIn struct {
	Girth     *bole.Girth       `json:"girth"`
	Diameters []quantity.Length `json:"diameters" help:"of the stems, at one height"`
	Ring      *bole.Ring        `json:"ring"`
}

type girthOut struct {
	Diameter   *quantity.Length `json:"diameter,omitempty"`
	Breast     *bool            `json:"at_breast_height,omitempty"`
	Equivalent *quantity.Length `json:"equivalent_diameter,omitempty"`
	Live       *quantity.Length `json:"live_girth,omitempty"`
	Findings   []why.Finding    `json:"findings,omitempty"`
}

func girth(in girthIn) (girthOut, error) {
	var out girthOut
	if in.Girth == nil && in.Ring == nil && len(in.Diameters) == 0 {
		return out, errors.New("give girth, diameters or ring")
	}
	if in.Girth != nil {
		d, breast := in.Girth.Diameter(), in.Girth.AtBreastHeight()
		out.Diameter, out.Breast = &d, &breast
	}
	if len(in.Diameters) > 0 {
		d := bole.EquivalentDiameter(in.Diameters)
		out.Equivalent = &d
	}
	if in.Ring != nil {
		live := in.Ring.LiveGirth()
		out.Live, out.Findings = &live, in.Ring.Check()
	}
	return out, nil
}

// labelDoc is a label as a label file has it, in JSON (which is YAML too).
type labelDoc = json.RawMessage

type labelIn struct {
	Label labelDoc `json:"label" calc:"required" help:"a label as in a label file; see sapwell schema label"`
}

type labelOut struct {
	Label  label.Label       `json:"label"`
	Faults []labelfile.Fault `json:"faults"`
}

func readLabel(in labelIn) (labelOut, error) {
	l, faults := labelfile.Read("label", strings.NewReader(string(in.Label)))
	return labelOut{l, faults}, nil
}

// sound reads a label that is to plan something. One fault may stand: a
// rounding that the label does not state, which the dose itself refuses.
func sound(doc labelDoc) (label.Label, error) {
	l, faults := labelfile.Read("label", strings.NewReader(string(doc)))
	for _, f := range faults {
		if f.Severity == why.Block && f.Code != "label.rounding_unspecified" && f.Code != "label.table_gap" {
			return l, &FieldError{join("label", f.Place), "", f.Code + "; calc label tells every fault of a label"}
		}
	}
	return l, nil
}

type doseIn struct {
	Label  labelDoc        `json:"label" calc:"required" help:"see sapwell schema label"`
	Girths []bole.Girth    `json:"girths" calc:"required" help:"all girths measured on the stem, each with its height"`
	Size   quantity.Volume `json:"size" help:"unit size, where the label sells several"`
	Tape   quantity.Length `json:"tape" help:"doubt of the tape reading; 1/2 in if not given"`
}

func computeDose(in doseIn) (dose.Result, error) {
	l, err := sound(in.Label)
	if err != nil {
		return dose.Result{}, err
	}
	return dose.Compute(dose.Input{Label: l, Girths: in.Girths, Size: in.Size, Tape: in.Tape}), nil
}

type boreIn struct {
	Species string             `json:"species" calc:"required"`
	Girth   bole.Girth         `json:"girth" calc:"required"`
	Bark    []bole.BarkReading `json:"bark"`
	Hole    label.Hole         `json:"hole" calc:"required"`
	Holes   int                `json:"holes"`
	Step    quantity.Length    `json:"step" help:"steps in which the stop is set; 1/16 in if not given"`
}

func computeBore(in boreIn) (bore.Result, error) {
	s, err := species("species", in.Species)
	if err != nil {
		return bore.Result{}, err
	}
	if in.Step == 0 {
		in.Step = quantity.Inch / 16
	}
	return bore.Compute(bore.Input{Species: s, Girth: in.Girth, Bark: in.Bark, Hole: in.Hole, Holes: in.Holes, Step: in.Step}), nil
}

type forecastIn struct {
	Uptake  host.Uptake   `json:"uptake" help:"fast, medium, slow, very-slow or unknown"`
	Species string        `json:"species" help:"in place of uptake"`
	Past    []drain.Timed `json:"past" help:"drains timed by the user"`
}

func predict(in forecastIn) (drain.Forecast, error) {
	if in.Species != "" {
		s, err := species("species", in.Species)
		if err != nil {
			return drain.Forecast{}, err
		}
		in.Uptake = s.Uptake.Value
	}
	if in.Uptake == "" {
		return drain.Forecast{}, &FieldError{"uptake", "", "missing; give uptake or species"}
	}
	return drain.Predict(in.Uptake, in.Past, nil), nil
}

type stockIn struct {
	Lots    []stock.Lot              `json:"lots" calc:"required"`
	Needs   []stock.Need             `json:"needs" calc:"required"`
	Storage map[string]label.Storage `json:"storage" help:"the label's storage section, by label id"`
	Date    quantity.Date            `json:"date" calc:"required"`
}

func allocate(in stockIn) (stock.Allocation, error) {
	return stock.Allocate(in.Lots, in.Needs, in.Storage, in.Date), nil
}

// treeIn is a tree under a label, as verdict and plan take it.
type treeIn struct {
	Label   labelDoc              `json:"label" calc:"required" help:"see sapwell schema label"`
	Tag     string                `json:"tag"`
	Species string                `json:"species" calc:"required"`
	Stems   []bole.Stem           `json:"stems" calc:"required"`
	Facts   verdict.Circumstances `json:"facts" calc:"required"`
	Metric  bool                  `json:"metric" help:"tape and drill stops are metric"`
	Height  quantity.Length       `json:"altitude" help:"of the place above sea level"`
}

// read looks up what the tree names.
func (in treeIn) read() (label.Label, host.Species, error) {
	l, err := sound(in.Label)
	if err != nil {
		return l, host.Species{}, err
	}
	if len(in.Stems) == 0 {
		return l, host.Species{}, &FieldError{"stems", "[]", "want at least one stem"}
	}
	if in.Facts.Date.IsZero() {
		return l, host.Species{}, &FieldError{"facts.date", "", "missing"}
	}
	s, err := species("species", in.Species)
	return l, s, err
}

func (in treeIn) plan() (actions.Plan, error) {
	l, s, err := in.read()
	if err != nil {
		return actions.Plan{}, err
	}
	settings := actions.Settings{System: quantity.Imperial, Altitude: in.Height}
	if in.Metric {
		settings.System = quantity.Metric
	}
	tree := bole.Tree{Tag: in.Tag, Species: s, Stems: in.Stems}
	return actions.NewPlanner(settings).Tree(actions.Job{Tree: tree, Facts: in.Facts, Label: l}), nil
}

func plan(in treeIn) (actions.Plan, error) { return in.plan() }

// judge asks the may-we rules alone; plan adds what marks and bore found.
func judge(in treeIn) (verdict.Opinion, error) {
	l, s, err := in.read()
	if err != nil {
		return verdict.Opinion{}, err
	}
	c := verdict.Case{Circumstances: in.Facts, Species: s, Stems: in.Stems, Label: l}
	for _, stem := range in.Stems {
		c.Doses = append(c.Doses, dose.Compute(dose.Input{Label: l, Girths: stem.Girths()}))
	}
	return verdict.Judge(c), nil
}
