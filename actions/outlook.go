package actions

import (
	"slices"

	"sapwell/engine/dose"
	"sapwell/engine/drain"
	"sapwell/engine/host"
	"sapwell/engine/label"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// UnitOutlook is how a unit of the stem will drain. The gas law speaks only
// where the label states gas space and pressure; the forecast always.
type UnitOutlook struct {
	Gas      *GasOutlook    `json:"gas,omitempty"`
	Forecast drain.Forecast `json:"forecast"`
}

func (u UnitOutlook) bare() *UnitOutlook {
	u.Forecast.Why = why.Reason{}
	if u.Gas != nil {
		g := *u.Gas
		g.Why, u.Gas = why.Reason{}, &g
	}
	return &u
}

// GasOutlook is what a unit's own gas can do, with no pull from the tree.
type GasOutlook struct {
	Empties bool          `json:"empties"`
	Steps   []drain.State `json:"steps"`          // full, a quarter out, half, three quarters, all
	Lift    []why.Finding `json:"lift,omitempty"` // the hazard in it when lifted half full
	Why     why.Reason    `json:"why,omitzero"`
}

// outlookKey is all that an outlook depends on beyond the settings; a list of
// 100,000 trees has few of them.
type outlookKey struct {
	label  string
	text   quantity.Date // of the label
	uptake host.Uptake
	size   quantity.Volume
	air    quantity.Temperature
}

// standardAir is taken where nobody said how warm it is (own convention).
const standardAir = quantity.Temperature(293.15)

// hotTruck is what a closed truck in the sun is warned for: 35 °C (own).
const hotTruck = quantity.Temperature(308.15)

func (p *Planner) outlook(job Job, d dose.Result) UnitOutlook {
	key := outlookKey{job.Label.ID, job.Label.Version, job.Tree.Species.Uptake.Value, d.PerUnit, standardAir}
	if key.size == 0 && len(d.Fills) > 0 {
		key.size = d.Fills[0].Size
	}
	if job.Facts.Air != nil {
		key.air = *job.Facts.Air
	}
	if o, known := p.outlooks[key]; known {
		return o
	}
	o := p.newOutlook(job.Label.Unit, key)
	p.outlooks[key] = o
	return o
}

func (p *Planner) newOutlook(spec label.UnitSpec, key outlookKey) UnitOutlook {
	// The label states the gas space over the first size only.
	if spec.GasSpace == 0 || spec.Gauge == 0 || key.size != spec.Fills[0] {
		return UnitOutlook{Forecast: drain.Predict(key.uptake, p.settings.Timed, nil)}
	}
	// Units are taken as filled at sea level (own convention: labels do not say);
	// one filled higher up holds a little less pressure than this.
	u := drain.Unit{
		Gas: spec.GasSpace, Liquid: key.size, Gauge: spec.Gauge,
		Altitude: p.settings.Altitude, FilledAt: spec.FilledAt, UsedAt: key.air,
	}
	if u.FilledAt == 0 {
		u.FilledAt = key.air
	}
	model, found := u.Model(0)
	if why.Blocks(found) {
		f := drain.Predict(key.uptake, p.settings.Timed, nil)
		f.Findings = append(f.Findings, found...)
		return UnitOutlook{Forecast: f}
	}
	gas := &GasOutlook{Empties: model.Empties(), Why: u.Why(model)}
	for quarter := range 5 {
		gas.Steps = append(gas.Steps, model.At(key.size.Millilitres()*float64(quarter)/4))
	}
	gas.Lift = model.Lift(key.size.Millilitres() / 2)
	f := drain.Predict(key.uptake, p.settings.Timed, &model)
	f.Findings = slices.Concat(f.Findings, found, u.Stored(hotTruck))
	return UnitOutlook{Gas: gas, Forecast: f}
}
