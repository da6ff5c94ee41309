// Package bole answers: what was measured on this trunk, and where?
//
// Girth always goes with the height at which it was taken and is never turned
// into a diameter at breast height unless it was measured there. The ring is
// the closed line the tape lies on; arcs on it wrap round the zero.
package bole

import (
	"sapwell/engine/host"
	"sapwell/engine/quantity"
)

// Girth is a circumference outside bark at a stated height above ground.
type Girth struct {
	Around quantity.Length `json:"around"`
	Height quantity.Length `json:"height"`
	Ground Ground          `json:"ground,omitempty"`
}

// Ground says from which side of a slope the height was taken; published rules
// conflict, so the one used is kept.
type Ground string

// The published rules.
const (
	Level    Ground = "level"
	Uphill   Ground = "uphill"
	MidSlope Ground = "mid-slope"
)

// ArcKind says what makes a stretch of the ring unfit for a hole.
type ArcKind string

// The kinds.
const (
	Defect      ArcKind = "defect"
	DeadCambium ArcKind = "dead-cambium"
	Canker      ArcKind = "canker"
	Cavity      ArcKind = "cavity"
	Crack       ArcKind = "crack"
	Girdling    ArcKind = "girdling-root"
)

// Arc is a stretch of the ring from From clockwise... in the direction the tape
// runs to To, both counted from the zero; From > To wraps through the zero.
type Arc struct {
	From quantity.Length `json:"from"`
	To   quantity.Length `json:"to"`
	Kind ArcKind         `json:"kind"`
}

// Wound is an old hole.
type Wound struct {
	At     quantity.Length `json:"at"`               // position of its middle on the ring
	Width  quantity.Length `json:"width,omitempty"`  // across the stem when last seen; 0: not measured
	Height quantity.Length `json:"height,omitempty"` // above ground; 0: not measured
	Made   quantity.Date   `json:"made"`             // day it was bored; zero: not known
}

// Zero is where the tape starts and which way it runs.
type Zero struct {
	Face             string `json:"face,omitempty"`              // "N", "street side", "blue paint dot"
	CounterClockwise bool   `json:"counter_clockwise,omitempty"` // seen from above
}

// Ring is the line the tape lies on, with all that was seen on it.
type Ring struct {
	Girth    Girth             `json:"girth"`
	Zero     Zero              `json:"zero"`
	Arcs     []Arc             `json:"arcs,omitempty"`
	Wounds   []Wound           `json:"wounds,omitempty"`
	Fissures []quantity.Length `json:"fissures,omitempty"` // positions of bark fissures
}

// BarkReading is bark thickness probed at one place, radially.
type BarkReading struct {
	At        quantity.Length `json:"at"`
	Thickness quantity.Length `json:"thickness"`
}

// Stem is one stem that is treated as a ring of its own.
type Stem struct {
	Name   string        `json:"name,omitempty"`   // "", "1", "2" ...
	Ring   Ring          `json:"ring"`             // at the height of the holes
	Breast *Girth        `json:"breast,omitempty"` // measured at breast height; nil: not measured
	Bark   []BarkReading `json:"bark,omitempty"`
}

// Tree is a tree as measured.
type Tree struct {
	Tag     string       `json:"tag"`
	Species host.Species `json:"species"`
	Stems   []Stem       `json:"stems"`
}
