// Package host answers: what is known of this kind of tree?
//
// One row a species or genus (table.go); wood, bark and uptake stand beside
// their sources (wood.go, bark.go, uptake.go). The table holds what was
// published or is common practice; where nothing is known the fact's Source is
// empty, and nobody guesses. A species that is not in the table gets the facts
// of its genus, marked GenusOnly.
//
// The table is an unexported composite literal that is never written to, and a
// lookup is a scan of it: at this size that costs about a microsecond, and it
// needs no index that would have to be built and kept.
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
// kinds are kept where both were published; zero means not published here.
type BarkModel struct {
	// RatioK is dib/dob (Raile 1982); 0: none.
	RatioK float64 `json:"ratio_k,omitempty"`
	// Linear is dib = A + B·dob in inches (Clark 1991 table 9), the ratio
	// clamped to 0.80-0.99; B = 0: none.
	LinearA float64 `json:"linear_a,omitempty"`
	LinearB float64 `json:"linear_b,omitempty"`
	// OfGenus says that the figures were published for the genus, not for
	// this species.
	OfGenus bool `json:"of_genus,omitempty"`
}

// Sourced is one fact of a row with its passport. An empty Source means that
// nothing is known here: Value is then no answer, above all not "no".
type Sourced[T any] struct {
	Value  T          `json:"value"`
	Source why.Source `json:"source"`
}

// Species is one row of the table.
type Species struct {
	Scientific string `json:"scientific"` // "Fraxinus pennsylvanica"; a genus row holds the genus alone
	Common     string `json:"common"`     // English common name; of the genus when GenusOnly
	// GenusOnly says that all facts, code and common name included, are those
	// of the genus: the tree is known to the genus only, or its species is not
	// in the table.
	GenusOnly bool `json:"genus_only,omitempty"`

	Code    Code             `json:"code"`
	Anatomy Sourced[Anatomy] `json:"anatomy"`
	// Bark.Source names the first model there is; each figure has its own
	// source as BarkModel says.
	Bark   Sourced[BarkModel] `json:"bark"`
	Uptake Sourced[Uptake]    `json:"uptake"`
	Food   Sourced[bool]      `json:"food"`   // people eat some part of it
	Tapped Sourced[bool]      `json:"tapped"` // tapped for sap
	Bees   Sourced[bool]      `json:"bees"`   // bees visit its flowers
}
