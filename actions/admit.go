package actions

import (
	"encoding/json"
	"slices"

	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

// Admit says why an entry that arrives from a device may not stand in the
// journal, or "": "unknown" (the device is not enrolled), "revoked" (it was, and
// the entry is not one the office had by then), "not_theirs" (it speaks for
// another person), "not_entitled" (a kind that this person may not write). A deed
// of the field is never turned away for what it says.
//
// Somebody who left is admitted: what lies unsent on their device was done while
// they worked here. To end that, the device is revoked.
func Admit(v Reader, e journal.Entry) (why string, err error) {
	d := &desk{Reader: v}
	device, ok, err := find[*views.Device](d, entries.OfDevice, e.Device.String())
	switch {
	case err != nil:
		return "", err
	case !ok:
		return "unknown", nil
	case device.Revoked != nil:
		if late, err := afterRevoking(v, device, e); late || err != nil {
			return "revoked", err
		}
	}
	if device.Facts.Person == (journal.ID{}) { // the office's own
		return "", nil
	}
	person, ok, err := find[*views.Person](d, entries.OfPerson, device.Facts.Person.String())
	if err != nil || !ok {
		return "not_entitled", err
	}
	return d.admitKind(person, e)
}

// afterRevoking reports whether an entry is not one that the office had when it
// revoked the device: it stands beyond, or at a number that is taken. The latter is
// a second chain from an early entry, by whoever holds the key now.
func afterRevoking(v Reader, device *views.Device, e journal.Entry) (bool, error) {
	tip, ok, err := v.Tip(e.Device)
	return e.Seq > device.Revoked.Through || ok && e.Seq <= tip.Seq, err
}

// admitKind looks at what a known person's device says.
func (d *desk) admitKind(person *views.Person, e journal.Entry) (string, error) {
	if !writes(person.Facts.Roles) {
		return "not_entitled", nil
	}
	var body struct {
		By     string     `json:"by"`
		Of     journal.ID `json:"of"`
		OfKind string     `json:"of_kind"`
	}
	// What cannot be read so far is not of this program: kept, and shown as unread.
	sound := json.Unmarshal(e.Body, &body) == nil
	if slices.Contains(entries.Kinds(), e.Kind) && (!sound || body.By != person.ID) {
		return "not_theirs", nil
	}
	kinds := []string{e.Kind}
	if e.Kind == (entries.Amendment{}).Kind() {
		kinds = append(kinds, body.OfKind)
		of, ok, err := d.Entry(body.Of)
		if err != nil {
			return "", err
		}
		if ok {
			kinds = append(kinds, of.Kind)
		}
	}
	if slices.ContainsFunc(kinds, ofTheOffice) && !slices.Contains(person.Facts.Roles, entries.Office) {
		return "not_entitled", nil
	}
	return "", nil
}

// writes reports whether any of the roles writes at all: an inspector reads.
func writes(roles []entries.Role) bool {
	return slices.ContainsFunc(roles, func(r entries.Role) bool { return r != entries.Inspector })
}

// ofTheOffice tells of the kinds that decide who may do what, by which label, and
// what is still to be kept; in whatever version.
func ofTheOffice(kind string) bool {
	switch kind {
	case entries.Org{}.Kind(), entries.Person{}.Kind(), entries.Certificate{}.Kind(), entries.DeviceEnrolled{}.Kind(),
		entries.DeviceRevoked{}.Kind(), entries.Label{}.Kind(), entries.Retired{}.Kind():
		return true
	}
	return false
}
