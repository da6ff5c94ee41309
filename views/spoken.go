package views

import "sapwell/entries"

// Spoken lists what is folded of a subject, in that order, each entry with the body
// that counts: an amended one has that of the last of its amendments, and one that as
// amended no longer speaks of the subject is not among them. Amendments are.
func Spoken(s entries.Subject, items []Item) []entries.Entry {
	if len(items) == 0 {
		return nil
	}
	steps, _ := ordered(s, items)
	var all []entries.Entry
	for _, p := range steps {
		if !p.dropped {
			all = append(all, p.entry)
		}
	}
	return all
}
