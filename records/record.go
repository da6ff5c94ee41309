// Package records answers: what must the record of this work say, what is missing,
// what is late, and until when is it kept?
//
// What a law asks is data: one file a jurisdiction, with dated versions, each with
// its source and the day it was last looked at. The code knows how to read such a
// file and nothing of any place. What it finds is never more than: missing,
// malformed, late. It is not legal advice, and whoever prints it says so.
package records

import (
	"sapwell/engine/why"
)

// Field names a fact of a record by its dotted name, such as "client.name".
type Field string

// Record is what is known of the treatment of one tree with one product: facts by
// field. What nobody wrote down is absent. A Record is not changed once it is made.
type Record struct {
	facts      map[Field]any
	Amendments []Amendment // what was corrected later, oldest first
}

// Amendment is a correction as it is printed: openly, beside what stood before.
type Amendment struct {
	Field         Field // "" where it does not touch one field of the record
	By            string
	At            string // RFC 3339, with offset
	Why           string
	Before, After string
}

// Parse reads a record as one JSON object with the dotted names nested.
func Parse(raw []byte) (Record, error) { panic("contract") }

// JSON writes it so again, members in the order of their names.
func (r Record) JSON() []byte { panic("contract") }

// Has reports whether something that is not empty was written down.
func (r Record) Has(f Field) bool { panic("contract") }

// Text is the fact as one line of text, numbers in plain decimal form, lists with
// ", " between; "" where it is absent.
func (r Record) Text(f Field) string { panic("contract") }

// Amount is a fact {value, unit}, unit in UCUM; ok is false where it is not one.
func (r Record) Amount(f Field) (value float64, unit string, ok bool) { panic("contract") }

// With is the record with one fact more or another; nil takes it away.
func (r Record) With(f Field, fact any) Record { panic("contract") }

// Profile is one jurisdiction's demands.
type Profile struct {
	ID        string // such as "us-ca"
	Name      string
	CheckedOn string // the day its text was last looked at
	Sources   []why.Source
}

// Profiles lists all, in a fixed order.
func Profiles() []Profile { panic("contract") }

// Result is what one profile finds in a record.
type Result struct {
	Profile  string
	Applies  bool
	Findings []Finding
}

// Finding is one thing a profile finds: "MISSING:client.name", "LATE:us-fed.record_14d".
type Finding struct {
	Kind  string // MISSING, INVALID, LATE
	What  string // a Field, or a duty
	Why   string // in which words the profile asks it
	Until string // of a duty that can still be met: its last good day
}

// Check holds a record against every profile, in the order of Profiles. Today is the
// record's "as_of".
func Check(r Record) []Result { panic("contract") }

// Asked lists the fields a profile asks of this record, in the order they are
// printed; each is required of it, not merely allowed.
func Asked(profile string, r Record) []Field { panic("contract") }
