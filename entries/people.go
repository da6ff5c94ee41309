package entries

import "sapwell/journal"

// Org says who keeps this journal. Its first entry is the first of the journal,
// and its id names the organisation. Later ones bring new facts.
type Org struct {
	Head
	Org       journal.ID `json:"org,omitzero"`  // absent in the first
	Over      journal.ID `json:"over,omitzero"` // the entry whose facts this one replaces
	Name      string     `json:"name"`
	Country   string     `json:"country"`          // ISO 3166-1 alpha-2
	Region    string     `json:"region,omitempty"` // state or province
	Zone      string     `json:"zone"`             // IANA time zone
	Phone     string     `json:"phone,omitempty"`
	RegNo     string     `json:"reg_no,omitempty"` // of the business
	KeepYears int        `json:"keep_years"`       // how long treatment records are kept at least
}

// Person is somebody who works here or looks in. Persons are never removed: Left
// takes away what they may do.
type Person struct {
	Head
	Person     journal.ID `json:"person,omitzero"` // absent in the first
	Over       journal.ID `json:"over,omitzero"`   // the entry whose facts this one replaces
	Name       string     `json:"name"`
	Roles      []Role     `json:"roles"`
	Phone      string     `json:"phone,omitempty"`
	Supervisor journal.ID `json:"supervisor,omitzero"` // of a trainee
	Left       bool       `json:"left,omitempty"`
}

// Certificate is a licence or a training of a person.
type Certificate struct {
	Head
	Certificate journal.ID `json:"certificate,omitzero"` // absent in the first
	Over        journal.ID `json:"over,omitzero"`        // the entry whose facts this one replaces
	Person      journal.ID `json:"person"`
	Sort        string     `json:"sort"` // "certificate" or "training"
	Number      string     `json:"number,omitempty"`
	Authority   string     `json:"authority"` // or trainer
	Categories  []string   `json:"categories,omitempty"`
	From        Date       `json:"from"`
	Until       Date       `json:"until,omitzero"`
	Withdrawn   bool       `json:"withdrawn,omitempty"`
}

// DeviceEnrolled lets a device write in this journal. The device of the office
// enrols itself with the first entries.
type DeviceEnrolled struct {
	Head
	Device journal.Hash `json:"device"`
	Name   string       `json:"name"`
	Person journal.ID   `json:"person,omitzero"` // whose it is; absent for the office's own
}

// DeviceRevoked ends that. Through is the last number of its chain that the
// office had when it was revoked: what comes later is set aside.
type DeviceRevoked struct {
	Head
	Device  journal.Hash `json:"device"`
	Through int64        `json:"through"`
	Why     string       `json:"why"`
}
