package entries

import "sapwell/journal"

// PlanStem is the plan of one ring of holes.
type PlanStem struct {
	Name     string  `json:"name,omitempty"`
	Units    int     `json:"units"`
	PerUnit  int64   `json:"per_unit_nl"`
	Total    int64   `json:"total_nl"`
	Marks    []int64 `json:"marks_nm,omitempty"`   // on the ring, from its zero
	Heights  []int64 `json:"heights_nm,omitempty"` // of each mark; as long as Marks
	Stop     int64   `json:"stop_nm,omitempty"`    // of the drill
	Bit      int64   `json:"bit_nm,omitempty"`
	DepthMin int64   `json:"depth_min_nm,omitempty"`
	DepthMax int64   `json:"depth_max_nm,omitempty"`
	P50      int64   `json:"p50_ms,omitempty"` // after which half of such units are empty
	P90      int64   `json:"p90_ms,omitempty"`
}

// Plan is what was worked out for a tree by one label version and the
// measurement of that time. It stays as it was.
type Plan struct {
	Head
	Tree        journal.ID `json:"tree"`
	Label       journal.ID `json:"label"`       // the entry of the label version
	Measurement journal.ID `json:"measurement"` // the entry it was worked out from
	Pest        string     `json:"pest,omitempty"`
	Day         Date       `json:"day"`     // the day it was worked out for
	Overall     string     `json:"overall"` // stop, ask, warn, nothing_found
	Findings    []string   `json:"findings,omitempty"`
	Stems       []PlanStem `json:"stems"`
	Engine      string     `json:"engine"`         // version of the rules
	Full        string     `json:"full,omitempty"` // the whole answer with its reasons, as JSON text
}

// Weather is the air at the place.
type Weather struct {
	Air      *int64 `json:"air_mk,omitempty"`
	Humidity *int   `json:"humidity_percent,omitempty"`
	Wind     *int64 `json:"wind_mm_s,omitempty"`
	Rain     string `json:"rain,omitempty"` // yes, no
}

// Job is one tree of a visit and the plan it is worked by.
type Job struct {
	Tree journal.ID `json:"tree"`
	Plan journal.ID `json:"plan"`
}

// VisitOpened begins a day's work on grounds.
type VisitOpened struct {
	Head
	Grounds   journal.ID   `json:"grounds"`
	Day       Date         `json:"day"`
	Certified journal.ID   `json:"certified"` // who does or supervises it
	Crew      []journal.ID `json:"crew,omitempty"`
	Jobs      []Job        `json:"jobs"`
	Weather   *Weather     `json:"weather,omitempty"`
	Checks    []string     `json:"checks,omitempty"` // ppe, wires, bees, label-on-site, eyewash ...
}

// Hole is one hole bored.
type Hole struct {
	Head
	Visit  journal.ID `json:"visit"`
	Tree   journal.ID `json:"tree"`
	Stem   string     `json:"stem,omitempty"`
	Mark   int        `json:"mark"`  // number of the mark of the plan, from 1; 0: not of the plan
	Around int64      `json:"at_nm"` // on the ring
	Height int64      `json:"height_nm"`
	Depth  int64      `json:"depth_nm,omitempty"` // into the wood
	Bit    int64      `json:"bit_nm,omitempty"`
	Again  journal.ID `json:"again,omitzero"` // the hole bored at this mark before, where that was known
}

// UnitSeated is a unit set into a hole. Its id names the unit.
type UnitSeated struct {
	Head
	Visit journal.ID `json:"visit"`
	Hole  journal.ID `json:"hole"`
	Lot   journal.ID `json:"lot"`
	Fill  int64      `json:"fill_nl"`
	Again journal.ID `json:"again,omitzero"` // the unit that was in this hole before, where that was known
}

// UnitPressurised is a unit tapped or pumped up.
type UnitPressurised struct {
	Head
	Visit journal.ID `json:"visit"`
	Unit  journal.ID `json:"unit"`
	Gauge int64      `json:"gauge_pa,omitempty"`
}

// UnitDrained is a unit seen empty.
type UnitDrained struct {
	Head
	Visit journal.ID `json:"visit"`
	Unit  journal.ID `json:"unit"`
}

// UnitStuck is a unit that does not go on draining.
type UnitStuck struct {
	Head
	Visit journal.ID `json:"visit"`
	Unit  journal.ID `json:"unit"`
	Left  int64      `json:"left_nl"`
	Why   string     `json:"why,omitempty"`
}

// UnitLifted is a unit taken back.
type UnitLifted struct {
	Head
	Visit journal.ID `json:"visit"`
	Unit  journal.ID `json:"unit"`
	Left  int64      `json:"left_nl"` // liquid left in it
}

// UnitLost is a unit that will not come back, with reason and the name of who
// answers for it.
type UnitLost struct {
	Head
	Visit  journal.ID `json:"visit"`
	Unit   journal.ID `json:"unit"`
	Why    string     `json:"why"`
	Signed string     `json:"signed"`
}

// TallyLot is what became of the units of one lot.
type TallyLot struct {
	Lot    journal.ID `json:"lot"`
	Taken  int        `json:"taken"`  // from the store
	Seated int        `json:"seated"` // in trees
	Lifted int        `json:"lifted"`
	Lost   int        `json:"lost"`
	Broken int        `json:"broken,omitempty"` // before they were seated
	Unused int        `json:"unused"`           // back to the store
}

// Tally is the count of units at the end of a visit.
type Tally struct {
	Head
	Visit journal.ID `json:"visit"`
	Over  journal.ID `json:"over,omitzero"` // the tally that this one replaces
	Lots  []TallyLot `json:"lots"`
	Note  string     `json:"note,omitempty"`
}

// Treated is what one tree was given in a visit.
type Treated struct {
	Tree   journal.ID `json:"tree"`
	Label  journal.ID `json:"label"`
	Holes  int        `json:"holes"`
	Units  int        `json:"units"`
	Lifted int        `json:"lifted"`
	Lost   int        `json:"lost"`
	Given  int64      `json:"given_nl"` // what left the units: filled less left
	Start  int64      `json:"start"`    // first unit seated, ms since 1970
	End    int64      `json:"end"`      // last unit lifted
}

// Signature is who vouches for what, in which words.
type Signature struct {
	Name    string `json:"name"`
	Meaning string `json:"meaning"`
}

// VisitClosed ends a visit: every unit is accounted for, and somebody signs.
type VisitClosed struct {
	Head
	Visit     journal.ID `json:"visit"`
	Trees     []Treated  `json:"trees"`
	Signature Signature  `json:"signature"`
}
