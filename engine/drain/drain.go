// Package drain answers: what is left in the unit, how long will it take, and
// how sure are we?
//
// Two answers that must not be mixed up. The gas law (Model) says what a rigid
// sealed unit can do: how far its gas pushes, what stays, which pressure is in
// it when it is lifted. That part is physics and holds to the accuracy of the
// volumes and pressures given. How many minutes a hole takes is not physics one
// can look up: the hole's conductance is not known, changes as the wood answers
// the wound, and no table of drain minutes by species has been published. So
// the Forecast is a distribution, starts very wide, and narrows only with the
// user's own timed drains.
//
// Not in the model: the product's own viscosity and density (unless given),
// gas dissolving, the cooling of the gas while it expands, a flexible wall, air
// in the hole, uptake that slows down. Not in the forecast: weather (cool and
// cloudy is slower, but only ranks are published), species within a class,
// product.
package drain

import (
	"sapwell/engine/host"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// Unit is a rigid sealed unit as filled, and where it is used.
type Unit struct {
	Gas        quantity.Volume   // gas space when full, Vg0
	Liquid     quantity.Volume   // liquid when full, V0
	Gauge      quantity.Pressure // gauge pressure at filling
	FillHeight quantity.Length   // altitude of filling above sea level
	Altitude   quantity.Length   // altitude of use
	FilledAt   quantity.Temperature
	UsedAt     quantity.Temperature
	Head       quantity.Length   // liquid column above the hole; negative: below it
	Density    float64           // kg/m³; may be 0 when Head is 0
	Pull       quantity.Pressure // what the tree adds; negative: back pressure
}

// State is a unit after some liquid has left it.
type State struct {
	Delivered quantity.Volume   `json:"delivered"`
	Left      quantity.Volume   `json:"left"`
	Gauge     quantity.Pressure `json:"gauge"` // inside, over the air outside
	Drive     quantity.Pressure `json:"drive"` // what still pushes liquid out
}

// Forecast is a distribution, never a promised minute.
type Forecast struct {
	P50      quantity.Span `json:"p50"`
	P90      quantity.Span `json:"p90"`
	N        int           `json:"n"`   // timed drains of the user's own behind it
	GSD      float64       `json:"gsd"` // geometric standard deviation
	Class    host.Uptake   `json:"class"`
	Findings []why.Finding `json:"findings,omitempty"`
	Why      why.Reason    `json:"why,omitzero"`
}
