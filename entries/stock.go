package entries

import "sapwell/journal"

// Label is one version of a product label, with the file as it was typed. A
// label is never changed: a new text is a new version, and what was planned by
// the old one keeps it.
type Label struct {
	Head
	Name      string `json:"name"`    // the label's id in the file
	Version   Date   `json:"version"` // of the label text
	Product   string `json:"product"`
	RegNo     string `json:"reg_no"`
	Fictional bool   `json:"fictional,omitempty"`
	File      string `json:"file"` // the label file, whole
}

// Lot is units of one product and size that were made together.
type Lot struct {
	Head
	Lot      journal.ID `json:"lot,omitzero"`  // absent in the first
	Over     journal.ID `json:"over,omitzero"` // the entry whose facts this one replaces
	Label    string     `json:"label"`         // Label.Name
	Number   string     `json:"number"`        // as printed on the pack
	Size     int64      `json:"size_nl"`
	Expires  Date       `json:"expires,omitzero"`
	Supplier string     `json:"supplier,omitempty"`
	Coldest  *int64     `json:"coldest_mk,omitempty"` // what the store's log showed
	Warmest  *int64     `json:"warmest_mk,omitempty"`
}

// Stock is units that come in, go out or are counted.
type Stock struct {
	Head
	Lot   journal.ID `json:"lot"`
	Units int        `json:"units"` // what comes (+) or goes (-); for "counted" what there is
	Sort  string     `json:"sort"`  // received, returned, discarded, sold, counted
	Store string     `json:"store,omitempty"`
	Cents int64      `json:"cents,omitempty"` // paid for them
	Money string     `json:"money,omitempty"` // ISO 4217
	Note  string     `json:"note,omitempty"`
}

// BagSealed is a bag of lifted units closed and marked.
type BagSealed struct {
	Head
	Visits    []journal.ID `json:"visits"`
	Mark      string       `json:"mark"` // what stands on the bag
	Units     int          `json:"units"`
	LeftLow   int64        `json:"left_low_nl"` // liquid left in all of them, at least and at most
	LeftHigh  int64        `json:"left_high_nl"`
	Hazardous string       `json:"hazardous,omitempty"` // yes, no, or absent: not determined
	Code      string       `json:"code,omitempty"`      // waste code, where one was determined
}

// BagHanded is a bag given away, with proof.
type BagHanded struct {
	Head
	Bag   journal.ID `json:"bag"`
	To    string     `json:"to"`
	Proof string     `json:"proof,omitempty"` // number of the receipt or transfer note
}
