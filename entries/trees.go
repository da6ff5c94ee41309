package entries

import "sapwell/journal"

// Place is a point on earth, WGS 84, in 1e-7 degrees (about 1 cm).
type Place struct {
	Lat int64 `json:"lat_e7"`
	Lon int64 `json:"lon_e7"`
}

// Grounds is a property with trees on it.
type Grounds struct {
	Head
	Grounds       journal.ID `json:"grounds,omitzero"` // absent in the first
	Over          journal.ID `json:"over,omitzero"`    // the entry whose facts this one replaces
	Name          string     `json:"name"`
	Context       string     `json:"context"` // amenity, residential, orchard, nursery, forest
	Client        string     `json:"client,omitempty"`
	ClientAddress string     `json:"client_address,omitempty"`
	Operator      string     `json:"operator,omitempty"` // who runs the property, where that is not the client
	Address       string     `json:"address,omitempty"`
	Zip           string     `json:"zip,omitempty"`
	Country       string     `json:"country,omitempty"`
	Region        string     `json:"region,omitempty"`
	Place         *Place     `json:"place,omitempty"`
	Note          string     `json:"note,omitempty"`
}

// Tree is a tree on the list.
type Tree struct {
	Head
	Tree    journal.ID `json:"tree,omitzero"` // absent in the first
	Over    journal.ID `json:"over,omitzero"` // the entry whose facts this one replaces
	Grounds journal.ID `json:"grounds"`
	Tag     string     `json:"tag"`
	Species string     `json:"species"` // scientific name
	Place   *Place     `json:"place,omitempty"`
	Where   string     `json:"where,omitempty"` // in words
	Note    string     `json:"note,omitempty"`
	Gone    bool       `json:"gone,omitempty"` // felled or dead
}

// Girth is a circumference outside bark at a height above ground.
type Girth struct {
	Around int64  `json:"around_nm"`
	Height int64  `json:"height_nm"`
	Ground string `json:"ground,omitempty"` // level, uphill, mid-slope
}

// Arc is a stretch of the ring unfit for holes, from one end to the other in the
// direction of the tape.
type Arc struct {
	From int64  `json:"from_nm"`
	To   int64  `json:"to_nm"`
	Sort string `json:"sort"` // defect, dead-cambium, canker, cavity, crack, girdling-root
}

// Bark is bark thickness probed at one place of the ring.
type Bark struct {
	At    int64 `json:"at_nm"`
	Thick int64 `json:"thick_nm"`
}

// Stem is one stem as measured.
type Stem struct {
	Name             string  `json:"name,omitempty"`
	Girth            Girth   `json:"girth"` // at the height of the holes
	Breast           *Girth  `json:"breast,omitempty"`
	ZeroFace         string  `json:"zero_face,omitempty"`
	CounterClockwise bool    `json:"counter_clockwise,omitempty"`
	Arcs             []Arc   `json:"arcs,omitempty"`
	Fissures         []int64 `json:"fissures_nm,omitempty"`
	Bark             []Bark  `json:"bark,omitempty"`
}

// Measurement is a tree measured on a day: it replaces the one before.
type Measurement struct {
	Head
	Tree  journal.ID `json:"tree"`
	Stems []Stem     `json:"stems"`
}

// Condition is what was seen on a tree. Answers are "yes", "no" or absent.
type Condition struct {
	Head
	Tree       journal.ID `json:"tree"`
	CanopyLoss *int       `json:"canopy_loss_percent,omitempty"`
	Pest       string     `json:"pest,omitempty"` // name or EPPO code
	Signs      []string   `json:"signs,omitempty"`
	BBCH       *int       `json:"bbch,omitempty"`
	BloomOver  string     `json:"bloom_over,omitempty"`
	Eaten      string     `json:"eaten,omitempty"`
	Tapped     string     `json:"tapped,omitempty"`
	Drought    string     `json:"drought,omitempty"`
	LiveWires  string     `json:"live_wires,omitempty"`
	Advice     string     `json:"advice,omitempty"` // treat, wait, do-not-treat, fell
	Note       string     `json:"note,omitempty"`
}

// Wound is an old hole found on a tree that no entry tells of.
type Wound struct {
	Head
	Tree   journal.ID `json:"tree"`
	Stem   string     `json:"stem,omitempty"`
	Around int64      `json:"at_nm"` // on the ring
	Width  int64      `json:"width_nm,omitempty"`
	Height int64      `json:"height_nm,omitempty"`
	Made   Date       `json:"made,omitzero"`
}

// Closure is how a hole or wound looked when it was seen again.
type Closure struct {
	Head
	Tree   journal.ID `json:"tree"`
	Hole   journal.ID `json:"hole"`  // the entry of the hole or wound
	State  string     `json:"state"` // open, closing, closed
	Width  int64      `json:"width_nm,omitempty"`
	Length int64      `json:"length_nm,omitempty"`
	Signs  []string   `json:"signs,omitempty"` // bleeding, cracked bark, decay, callus ...
}
