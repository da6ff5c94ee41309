// Package marks answers: where do the holes go?
//
// It finds the exact optimum on the closed ring, in whole ticks of the tape.
// See optimise.go for the method and its proof sketch.
package marks

import (
	"sapwell/engine/bole"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// Instance is the problem in ticks.
type Instance struct {
	N         int      // ticks on the ring
	Count     int      // marks wanted
	MinGap    int      // least gap in ticks; with one mark the single gap is N
	Forbidden [][2]int // inclusive arcs; from > to wraps
	Fissures  []int
	Weight    int // of the squared distance to the nearest fissure
	Cap       int // distance at which the penalty stops growing
}

// Solution is an optimum, or the reason there is none.
type Solution struct {
	Feasible  bool
	Most      int   // the largest count that can be placed at MinGap
	Cost      int64 // Z = sum of squared gaps + fissure penalties
	Positions []int // ascending
}

// Rules are how a ring becomes an instance; Own conventions, editable.
type Rules struct {
	Tick          quantity.Length // 1/8 in or 5 mm
	MinGap        quantity.Length
	Clearance     quantity.Length // kept from the edge of an old wound and of a defect
	WoundStart    quantity.Length // half-width of a fresh wound when it was not measured
	WoundHeals    quantity.Length // how much the half-width shrinks in a year
	WoundFloor    quantity.Length // it never counts for less: closed wood still does not conduct
	FissureWeight int
	FissureCap    quantity.Length
	ColumnNear    quantity.Length // a mark this near to an old hole's column is set higher
	RaiseBy       quantity.Length // by this much
	AsOf          quantity.Date
}

// Plan is the marks of one ring as an applicator uses them.
type Plan struct {
	Ring      bole.Ring         `json:"-"`
	Tick      quantity.Length   `json:"tick"`
	Wanted    int               `json:"wanted"`
	Most      int               `json:"most"` // the largest count that can be placed
	Cost      int64             `json:"cost"`
	Positions []quantity.Length `json:"positions"`         // tape readings from the zero, ascending
	Gaps      []quantity.Length `json:"gaps"`              // gap after each mark
	Raise     []quantity.Length `json:"raise"`             // per mark: how much higher than the nearest old column; 0: none near
	Blocked   []Blocked         `json:"blocked,omitempty"` // the forbidden arcs after clearance
	Findings  []why.Finding     `json:"findings,omitempty"`
	Why       why.Reason        `json:"why,omitzero"`
}

// Blocked is a stretch where no hole may go, and what blocks it.
type Blocked struct {
	From quantity.Length `json:"from"`
	To   quantity.Length `json:"to"`
	Kind string          `json:"kind"` // a bole.ArcKind, or "wound"
	Of   int             `json:"of"`   // index into ring.Arcs or ring.Wounds
}

// Pin is a mark the applicator set by hand.
type Pin struct{ At quantity.Length }
