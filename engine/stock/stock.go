// Package stock answers: have we enough, and which lot first?
//
// First expired, first out. A lot past its last good day, or one that the
// store's log shows too cold or too warm for its label, is set aside and never
// handed out; the finding says why. What is not known (no expiry, no log) is
// not guessed.
package stock

import (
	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// Lot is units of one product and size that were made together.
type Lot struct {
	ID      string          `json:"lot"`
	Label   string          `json:"label"` // label.Label.ID
	Size    quantity.Volume `json:"size"`
	Units   int             `json:"units"`
	Expires quantity.Date   `json:"expires"` // last good day; zero: not known
	// Coldest and Warmest are what the store's log showed; nil: no log.
	Coldest *quantity.Temperature `json:"coldest,omitempty"`
	Warmest *quantity.Temperature `json:"warmest,omitempty"`
}

// Need is so many units of one size of one product, for one tree.
type Need struct {
	For   string          `json:"for"`
	Label string          `json:"label"`
	Size  quantity.Volume `json:"size"`
	Units int             `json:"units"`
}

// Pick is units taken from a lot for a need.
type Pick struct {
	For   string          `json:"for"`
	Label string          `json:"label"` // with the size: a maker may number two sizes alike
	Size  quantity.Volume `json:"size"`
	Lot   string          `json:"lot"`
	Units int             `json:"units"`
}

// Allocation is who gets what.
type Allocation struct {
	Picks []Pick `json:"picks"`
	Short []Need `json:"short,omitempty"` // what no lot could give
	// Findings are the lots set aside and why (lot.expired,
	// lot.storage_out_of_range), lots with no known expiry, and stock.short.
	Findings []why.Finding `json:"findings,omitempty"`
}
