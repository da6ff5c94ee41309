package views

import (
	"sapwell/entries"
	"sapwell/journal"
)

// Org is the organisation. Key: its name.
type Org struct {
	Common
	Facts   entries.Org `json:"facts,omitzero"`
	FactsBy journal.ID  `json:"facts_by,omitzero"` // see replace
}

// Person is somebody, with what they hold. Key: name.
type Person struct {
	Common
	Facts        entries.Person `json:"facts,omitzero"`
	FactsBy      journal.ID     `json:"facts_by,omitzero"`      // see replace
	Certificates []Held         `json:"certificates,omitempty"` // the latest of each
}

// Held is a certificate of a person, and which entry has it.
type Held struct {
	entries.Certificate
	FactsBy journal.ID `json:"facts_by"` // see replace
}

// Device is a device that may, or might, write. Key: name.
type Device struct {
	Common
	Facts   entries.DeviceEnrolled `json:"facts,omitzero"`
	Revoked *entries.DeviceRevoked `json:"revoked,omitempty"`
}

// Grounds is a property. Key: name.
type Grounds struct {
	Common
	Facts   entries.Grounds `json:"facts,omitzero"`
	FactsBy journal.ID      `json:"facts_by,omitzero"` // see replace
}

// OldHole is a hole or wound on a tree. ID is that of its entry.
type OldHole struct {
	ID      journal.ID       `json:"id"`
	Visit   journal.ID       `json:"visit,omitzero"` // zero for a wound that was found
	Stem    string           `json:"stem,omitempty"`
	Around  int64            `json:"at_nm"`
	Width   int64            `json:"width_nm,omitempty"` // when last seen, or the bit
	Height  int64            `json:"height_nm,omitempty"`
	Made    entries.Date     `json:"made,omitzero"`
	Closure *entries.Closure `json:"closure,omitempty"` // the last
}

// Treatment is a closed visit as one tree has it.
type Treatment struct {
	entries.Treated
	Visit journal.ID `json:"visit"`
	At    int64      `json:"at"`
}

// Measured is a measurement and the entry that has it.
type Measured struct {
	Entry journal.ID          `json:"entry"`
	Facts entries.Measurement `json:"facts"`
}

// Tree is a tree. Key: id of its grounds, "|", tag.
type Tree struct {
	Common
	Facts       entries.Tree       `json:"facts,omitzero"`
	FactsBy     journal.ID         `json:"facts_by,omitzero"`     // see replace
	Measurement *Measured          `json:"measurement,omitempty"` // the last
	Condition   *entries.Condition `json:"condition,omitempty"`   // the last
	Holes       []OldHole          `json:"holes,omitempty"`
	Plan        journal.ID         `json:"plan,omitzero"` // the last
	PlanDay     entries.Date       `json:"plan_day,omitzero"`
	Treatments  []Treatment        `json:"treatments,omitempty"`
}

// Label is one version of a label. Key: name, "|", version.
type Label struct {
	Common
	Facts entries.Label `json:"facts,omitzero"`
}

// Lot is a lot and what is left of it. Key: label, "|", expiry ("9999" where not
// known), "|", number.
type Lot struct {
	Common
	Facts   entries.Lot `json:"facts,omitzero"`
	FactsBy journal.ID  `json:"facts_by,omitzero"` // see replace
	OnHand  int         `json:"on_hand"`           // in the store, by movements and tallies
	Used    int         `json:"used"`              // seated, by tallies
	Drawn   []Draw      `json:"drawn,omitempty"`
}

// Draw is what one visit took of a lot, by its last tally.
type Draw struct {
	Visit   journal.ID `json:"visit"`
	Gone    int        `json:"gone"`              // taken and not brought back
	Seated  int        `json:"seated"`            // of these
	Counted bool       `json:"counted,omitempty"` // the store was counted since
}

// Unit is one unit of a visit.
type Unit struct {
	ID          journal.ID `json:"id"`
	Hole        journal.ID `json:"hole,omitzero"` // zero until its seating is known
	Tree        journal.ID `json:"tree,omitzero"`
	Lot         journal.ID `json:"lot,omitzero"`
	Fill        int64      `json:"fill_nl,omitempty"`
	Seated      int64      `json:"seated,omitempty"` // ms since 1970
	Pressurised int64      `json:"pressurised,omitempty"`
	Gauge       int64      `json:"gauge_pa,omitempty"`
	Drained     int64      `json:"drained,omitempty"`
	Stuck       int64      `json:"stuck,omitempty"`
	StuckWhy    string     `json:"stuck_why,omitempty"`
	Lifted      int64      `json:"lifted,omitempty"`
	Lost        int64      `json:"lost,omitempty"`
	LostWhy     string     `json:"lost_why,omitempty"`
	LostSigned  string     `json:"lost_signed,omitempty"`
	Left        *int64     `json:"left_nl,omitempty"` // when stuck or lifted
	// Hands are the people who seated, pressurised or lifted it, by what they wrote.
	Hands []journal.ID `json:"hands,omitempty"`
}

// Out reports whether the unit is still to be accounted for.
func (u Unit) Out() bool { return u.Lifted == 0 && u.Lost == 0 }

// Bored is a hole of a visit.
type Bored struct {
	ID    journal.ID   `json:"id"`
	At    int64        `json:"at"`
	Facts entries.Hole `json:"facts"`
}

// Visit is a day's work on grounds. Key: status ("open", "closed", "retired"),
// "|", day, "|", id. Units and holes are in the order of their ids. They come
// last on the wire: see wire.go.
type Visit struct {
	Common
	Facts    entries.VisitOpened  `json:"facts,omitzero"`
	Opened   int64                `json:"opened"`
	Tally    *entries.Tally       `json:"tally,omitempty"`    // the last
	TallyBy  journal.ID           `json:"tally_by,omitzero"`  // see replace
	LeftOut  []journal.ID         `json:"left_out,omitempty"` // lots that an earlier tally has and the last has not
	Closed   *entries.VisitClosed `json:"closed,omitempty"`
	ClosedAt int64                `json:"closed_at,omitempty"`
	Bags     []journal.ID         `json:"bags,omitempty"`
	Retired  *entries.Retired     `json:"retired,omitempty"`
	Holes    []Bored              `json:"holes,omitempty"`
	Units    []Unit               `json:"units,omitempty"`
}

// Bag is a waste bag. Key: "sealed" or "handed", "|", id.
type Bag struct {
	Common
	Facts    entries.BagSealed  `json:"facts,omitzero"`
	SealedAt int64              `json:"sealed_at,omitempty"` // ms since 1970
	Handed   *entries.BagHanded `json:"handed,omitempty"`
	HandedAt int64              `json:"handed_at,omitempty"`
}
