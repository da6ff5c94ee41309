package entries

import (
	"errors"

	"sapwell/journal"
)

// ErrUnknownKind says that a newer program wrote the entry. It is kept and shown
// as what it is.
var ErrUnknownKind = errors.New("unknown kind of entry")

// Kinds lists the names of all kinds, in the order of the work.
func Kinds() []string { panic("contract") }

// Read understands the body of an entry of the journal; Entry.Body holds a value,
// not a pointer. The body of an Amendment
// is read too far as to know that After and Before are bodies of its kind.
func Read(e journal.Entry) (Entry, error) { panic("contract") }

// ReadBody understands a body. Unknown members and what Check refuses are errors
// that name the member.
func ReadBody(kind string, body []byte) (Body, error) { panic("contract") }

// Draft makes of a body what a journal can append. It refuses what Check refuses
// and sets Head.V.
func Draft(id journal.ID, time int64, b Body) (journal.Draft, error) { panic("contract") }
