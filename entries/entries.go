// Package entries answers: what can be written in the journal, and how does it
// look on the wire?
//
// Every kind of entry is a Body: typed, versioned, frozen. What was written as
// version 1 is read as version 1 for ever; a new need is a new version or a new
// kind, never a changed field. Engine types are free to change, these are not.
//
// On the wire all numbers are whole: lengths in nanometres (a sixteenth of an
// inch, 1,587.5 µm, is not a whole number of micrometres), volumes in nanolitres,
// times in milliseconds since 1970, temperatures in millikelvin, pressures in
// pascals, places on earth in 1e-7 degrees, money in cents. The suffix of a name
// says which.
package entries

import (
	"sapwell/engine/quantity"
	"sapwell/journal"
)

// Head is what every body begins with.
type Head struct {
	V  int        `json:"v"`            // version of the kind: 1
	By journal.ID `json:"by,omitzero"`  // the person who says so; zero only where nobody is known yet
	At int64      `json:"at,omitempty"` // when it happened, if that is not when it was written; ms since 1970
}

// Said returns the head.
func (h Head) Said() Head { return h }

// Body is what an entry says. Every kind is a struct with a Head in it.
type Body interface {
	// Kind is the name on the wire.
	Kind() string
	// Said is the head: version, person, moment.
	Said() Head
	// About are the subjects the entry speaks of, the first being the main one.
	// self is the id of the entry: a thing is named by the entry that began it.
	About(self journal.ID) []Subject
	// Check reports the first thing in the body that cannot be, naming the field,
	// the value and what would be accepted.
	Check() error
}

// Subject is a thing that entries speak of and of which views keep the present.
type Subject struct {
	Kind SubjectKind `json:"kind"`
	ID   string      `json:"id"` // a journal.ID, or for a device its hash
}

// SubjectKind says what sort of thing.
type SubjectKind string

// The subjects.
const (
	OfOrg     SubjectKind = "org"
	OfPerson  SubjectKind = "person"
	OfDevice  SubjectKind = "device"
	OfGrounds SubjectKind = "grounds"
	OfTree    SubjectKind = "tree"
	OfLabel   SubjectKind = "label" // one version of one label
	OfLot     SubjectKind = "lot"
	OfVisit   SubjectKind = "visit"
	OfBag     SubjectKind = "bag"
)

// Entry is an entry of the journal whose body was understood.
type Entry struct {
	ID     journal.ID
	Device journal.Hash
	Seq    int64
	Hash   journal.Hash
	Time   int64 // when it was written, by the device's clock
	Body   Body
}

// When is the moment it happened: what the body says, else when it was written.
func (e Entry) When() int64 {
	if at := e.Body.Said().At; at != 0 {
		return at
	}
	return e.Time
}

// Role is what a person may do.
type Role string

// The roles. A person may have several.
const (
	Office     Role = "office"     // keeps people, devices, stock, labels; plans
	Applicator Role = "applicator" // certified; treats and answers for it
	Trainee    Role = "trainee"    // treats under supervision
	Inspector  Role = "inspector"  // reads, changes nothing
)

// Date is a calendar day on the wire: "2026-06-09".
type Date = quantity.Date
