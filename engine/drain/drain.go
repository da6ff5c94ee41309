// Package drain answers: what is left in the unit, how long will it take, and
// how sure are we?
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
	Head       quantity.Length   // liquid column above the hole
	Density    float64           // kg/m³
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
	Why      why.Reason    `json:"why"`
}
