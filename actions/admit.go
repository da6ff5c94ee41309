package actions

import "sapwell/journal"

// Admit says why an entry that arrives from a device may not stand in the
// journal, or "": "unknown" (the device is not enrolled), "revoked" (it was, and
// the entry is not one the office had by then), "not_theirs" (it speaks for
// another person), "not_entitled" (a kind that this person may not write). A deed
// of the field is never turned away for what it says.
func Admit(v Reader, e journal.Entry) (why string, err error) { panic("contract") }
