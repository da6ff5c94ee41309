// Package host answers: what is known of this kind of tree?
//
// One row a species (table.go), each fact with its source. The table holds what
// was published or is common practice; where nothing is known the row says so
// and nobody guesses.
package host

import "sapwell/engine/why"

// Anatomy is the class of wood by the arrangement of its conducting tissue.
type Anatomy string

// The classes, as IAWA 1989 and the Wood Handbook define them.
const (
	RingPorous     Anatomy = "ring-porous"
	SemiRingPorous Anatomy = "semi-ring-porous"
	DiffusePorous  Anatomy = "diffuse-porous"
	Tracheid       Anatomy = "tracheid"
	Palm           Anatomy = "palm" // no cambium: holes never close
)

// Uptake ranks how readily a hole takes up liquid. It ranks; it gives no minutes.
type Uptake string

// The ranks.
const (
	Fast          Uptake = "fast"
	Medium        Uptake = "medium"
	Slow          Uptake = "slow"
	VerySlow      Uptake = "very-slow"
	UnknownUptake Uptake = "unknown"
)

// Code is an EPPO code and whether code and name were read together in a
// published list (Confirmed) or are from memory.
type Code struct {
	EPPO      string `json:"eppo"`
	Confirmed bool   `json:"confirmed"`
}

// BarkModel predicts diameter inside bark from diameter outside bark. Both
// kinds are kept where both were published; nil means not published here.
type BarkModel struct {
	// RatioK is dib/dob (Raile 1982); 0: none.
	RatioK float64 `json:"ratio_k,omitempty"`
	// Linear is dib = A + B·dob in inches (Clark 1991 table 9), the ratio
	// clamped to 0.80-0.99; B = 0: none.
	LinearA float64 `json:"linear_a,omitempty"`
	LinearB float64 `json:"linear_b,omitempty"`
}

// Sourced is one fact of a row with its passport.
type Sourced[T any] struct {
	Value  T          `json:"value"`
	Source why.Source `json:"source"`
}

// Species is one row of the table.
type Species struct {
	Scientific string             `json:"scientific"` // "Fraxinus pennsylvanica"; a genus row holds the genus alone
	Common     string             `json:"common"`     // English common name
	Code       Code               `json:"code"`
	Anatomy    Sourced[Anatomy]   `json:"anatomy"`
	Bark       Sourced[BarkModel] `json:"bark"`
	Uptake     Sourced[Uptake]    `json:"uptake"`
	Food       Sourced[bool]      `json:"food"`   // people eat some part of it
	Tapped     Sourced[bool]      `json:"tapped"` // tapped for sap
	Bees       Sourced[bool]      `json:"bees"`   // bees visit its flowers
}
