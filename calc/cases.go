package calc

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"sapwell/engine/bole"
	"sapwell/engine/drain"
	"sapwell/engine/marks"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// marksIn is the problem in ticks, as it stands in a file of cases: its other
// keys (results, how the arcs came about) are passed over.
type marksIn struct {
	Name      string   `json:"name"`
	N         int      `json:"N" calc:"required" help:"ticks on the ring"`
	Count     int      `json:"n" calc:"required" help:"marks wanted"`
	MinGap    int      `json:"smin" calc:"required" help:"least gap in ticks"`
	Forbidden [][2]int `json:"forbidden" help:"arcs [from, to] with both ends, clockwise; from > to wraps"`
	Fissures  []int    `json:"fissures"`
	Weight    int      `json:"wf" help:"weight of the squared distance to the nearest fissure"`
	Cap       int      `json:"cap" help:"distance at which that stops growing"`
}

// marksOut: Z = sum of squared gaps + fissure penalties; null with positions
// empty when the count cannot be placed.
type marksOut struct {
	Name      string `json:"name,omitempty"`
	Status    string `json:"status"` // optimal, infeasible
	Most      int    `json:"n_max"`
	Cost      *int64 `json:"Z"`
	Positions []int  `json:"positions"`
	Gaps      []int  `json:"gaps"`
}

// caseKey names a field of a marks.Instance as a file of cases does.
func caseKey(field string) string {
	return map[string]string{"N": "N", "Count": "n", "MinGap": "smin", "Forbidden": "forbidden",
		"Fissures": "fissures", "Weight": "wf", "Cap": "cap"}[field]
}

func solveMarks(in marksIn) (marksOut, error) {
	var solver marks.Solver
	s, err := solver.Solve(marks.Instance{
		N: in.N, Count: in.Count, MinGap: in.MinGap, Forbidden: in.Forbidden,
		Fissures: in.Fissures, Weight: in.Weight, Cap: in.Cap,
	})
	if bad, ok := errors.AsType[*marks.FieldError](err); ok {
		return marksOut{}, errors.New(caseKey(bad.Field) + bad.At + " " + bad.Says)
	}
	if err != nil {
		return marksOut{}, err
	}
	out := marksOut{Name: in.Name, Status: "infeasible", Most: s.Most, Positions: []int{}, Gaps: []int{}}
	if !s.Feasible {
		return out, nil
	}
	out.Status, out.Cost, out.Positions = "optimal", &s.Cost, s.Positions
	for i, x := range s.Positions {
		next := s.Positions[0] + in.N
		if i+1 < len(s.Positions) {
			next = s.Positions[i+1]
		}
		out.Gaps = append(out.Gaps, next-x)
	}
	return out, nil
}

// placeIn is a measured ring. Rules left out are the default ones.
type placeIn struct {
	Ring   bole.Ring         `json:"ring" calc:"required"`
	Count  int               `json:"count" calc:"required"`
	MinGap quantity.Length   `json:"min_gap" help:"least spacing; 3 in or 75 mm if not given"`
	Pins   []quantity.Length `json:"pins" help:"marks set by hand; the rest is spread between them"`
	Date   quantity.Date     `json:"date" calc:"required" help:"the day to which old wounds have aged"`
	Metric bool              `json:"metric" help:"a tape with 5 mm steps instead of 1/8 in"`
}

func placeMarks(in placeIn) (marks.Plan, error) {
	system := quantity.Imperial
	if in.Metric {
		system = quantity.Metric
	}
	rules := marks.DefaultRules(system, in.Date)
	if in.MinGap != 0 {
		rules.MinGap = in.MinGap
	}
	var solver marks.Solver
	if len(in.Pins) == 0 {
		return solver.Place(in.Ring, in.Count, rules)
	}
	var pins []marks.Pin
	for _, at := range in.Pins {
		pins = append(pins, marks.Pin{At: at})
	}
	return solver.Spread(in.Ring, in.Count, pins, rules)
}

// drainIn is one unit in one hole, as it stands in a file of cases: plain
// numbers with the unit in the key. Its result keys are passed over.
type drainIn struct {
	ID       string  `json:"id"`
	Gas      float64 `json:"Vg0_mL" calc:"required" help:"gas space of the full unit"`
	Liquid   float64 `json:"V0_mL" calc:"required" help:"liquid in the full unit"`
	Gauge    float64 `json:"p0_gauge_kPa" calc:"required" help:"gauge pressure at filling"`
	Altitude float64 `json:"alt_m" help:"of use"`
	FillAlt  float64 `json:"fill_alt_m" help:"of filling"`
	Use      float64 `json:"T_use_C" calc:"required"`
	Fill     float64 `json:"T_fill_C" calc:"required"`
	Density  float64 `json:"rho" help:"kg/m3; needed with h_m"`
	Head     float64 `json:"h_m" help:"liquid column above the hole"`
	Pull     float64 `json:"pull_kPa" help:"what the tree adds; negative: back pressure"`
	G20      float64 `json:"G20_mL_min_kPa" calc:"required" help:"conductance of the hole at 20 C"`
	Viscous  bool    `json:"scale_visc" help:"scale it with the viscosity of water"`
	Points   []struct {
		V float64 `json:"v_mL"`
	} `json:"points" help:"delivered volumes to give the time of"`
	Minutes []float64 `json:"at_min" help:"times to give the delivered volume of"`
}

type drainOut struct {
	ID       string        `json:"id,omitempty"`
	Stall    *float64      `json:"stall_volume_mL"` // null: never stalls
	Empties  bool          `json:"empties"`
	ToEmpty  *float64      `json:"time_to_empty_min"` // null: does not empty
	Left     float64       `json:"left_in_unit_mL"`
	Points   []drainPoint  `json:"points"`
	At       []drainPoint  `json:"at,omitempty"` // one for each of at_min
	Findings []why.Finding `json:"findings,omitempty"`
	Why      why.Reason    `json:"why"`
}

// drainPoint: t is null where v is never reached. Gauge is what is left in the
// unit there.
type drainPoint struct {
	V     float64           `json:"v_mL"`
	T     *float64          `json:"t_min"`
	Gauge quantity.Pressure `json:"gauge"`
}

func solveDrain(in drainIn) (drainOut, error) {
	u := drain.Unit{
		Gas: volume(in.Gas), Liquid: volume(in.Liquid), Gauge: kilopascals(in.Gauge),
		FillHeight: metres(in.FillAlt), Altitude: metres(in.Altitude), Head: metres(in.Head),
		FilledAt: quantity.Celsius(in.Fill), UsedAt: quantity.Celsius(in.Use), Density: in.Density, Pull: kilopascals(in.Pull),
	}
	g := in.G20
	if in.Viscous {
		g = drain.ConductanceAt(in.G20, u.UsedAt)
	}
	m, found := u.Model(g)
	if why.Blocks(found) {
		return drainOut{}, slip(found)
	}
	m = m.Finer(in.Gas, in.Liquid)
	out := drainOut{ID: in.ID, Empties: m.Empties(), Left: m.Left(), Findings: append(found, m.Stalls()...), Why: u.Why(m), Points: []drainPoint{}}
	if v, stalls := m.StallVolume(); stalls {
		out.Stall = &v
	}
	if t, ok := m.TimeToEmpty(); ok {
		out.ToEmpty = &t
	}
	for i, p := range in.Points {
		if p.V < 0 {
			return drainOut{}, &FieldError{fmt.Sprintf("points[%d].v_mL", i), fmt.Sprint(p.V), "want 0 or more"}
		}
		point := drainPoint{V: p.V, Gauge: m.At(p.V).Gauge}
		if t, ok := m.TimeTo(p.V); ok {
			point.T = &t
		}
		out.Points = append(out.Points, point)
	}
	var err error
	out.At, err = delivered(m, in.Minutes)
	return out, err
}

// delivered answers what has left the unit, and what is in it, at some times.
func delivered(m drain.Model, minutes []float64) (points []drainPoint, err error) {
	for i, t := range minutes {
		v, ok := m.DeliveredAt(t)
		if t < 0 || !ok {
			return nil, &FieldError{fmt.Sprintf("at_min[%d]", i), fmt.Sprint(t), "want 0 or more, and a conductance above 0"}
		}
		points = append(points, drainPoint{V: v, T: &t, Gauge: m.At(v).Gauge})
	}
	return points, nil
}

// slip turns the first finding that blocks into the error of its field.
func slip(fs []why.Finding) error {
	i := slices.IndexFunc(fs, func(f why.Finding) bool { return f.Severity == why.Block })
	key := map[string]string{
		"gas": "Vg0_mL", "liquid": "V0_mL", "gauge": "p0_gauge_kPa", "fill_height": "fill_alt_m", "altitude": "alt_m",
		"filled_at": "T_fill_C", "used_at": "T_use_C", "density": "rho", "head": "h_m", "pull": "pull_kPa", "conductance": "G20_mL_min_kPa",
	}[fs[i].Place]
	value := map[string]string{}
	for _, t := range fs[i].Terms {
		value[t.Name] = fmt.Sprint(t.Value)
		if q, ok := t.Value.(interface{ Text(quantity.Style) string }); ok {
			value[t.Name] = q.Text(quantity.Style{System: quantity.Metric})
		}
	}
	return &FieldError{key, value["value"], "want " + value["low"] + " to " + value["high"]}
}

func volume(ml float64) quantity.Volume {
	return quantity.Volume(whole(ml * float64(quantity.Millilitre)))
}

func metres(m float64) quantity.Length {
	return quantity.Length(whole(m * float64(quantity.Metre)))
}

// whole rounds; what an integer cannot hold becomes the largest, of the same sign,
// and is refused as such.
func whole(f float64) int64 { return int64(math.Round(max(-9e18, min(f, 9e18)))) }

func kilopascals(p float64) quantity.Pressure {
	return quantity.Pressure(p) * quantity.Kilopascal
}
