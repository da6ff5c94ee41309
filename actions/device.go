package actions

import (
	"fmt"

	"sapwell/engine/why"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

type deviceEnrol struct {
	Device journal.Hash `json:"device" doc:"SHA-256 of its public key"`
	Name   string       `json:"name" doc:"what people call it"`
	Person journal.ID   `json:"person,omitzero" doc:"whose it is"`
	Office bool         `json:"office,omitempty" doc:"it is the office's own and may write for everybody; then it is nobody's"`
}

func enrol(d *desk, in deviceEnrol) (Made, error) {
	nobody := in.Person == (journal.ID{})
	switch {
	case nobody && !in.Office:
		return Made{}, refuse(BadInput, "device.owner_missing", "person", "person: missing; say whose device it is, or that it is the office's own")
	case !nobody && in.Office:
		return Made{}, refuse(BadInput, "device.owner_twice", "office", "office: true: a device is either somebody's or the office's own")
	case !nobody:
		p, err := d.person(in.Person, "person")
		if err != nil {
			return Made{}, err
		}
		if p.Facts.Left {
			return Made{}, refuse(Conflict, "person.gone", "person", fmt.Sprintf("person: %s has left", p.Facts.Name), why.T("name", p.Facts.Name))
		}
	}
	if err := d.newDevice(in.Device); err != nil {
		return Made{}, err
	}
	return d.made(entries.DeviceEnrolled{Head: d.now(), Device: in.Device, Name: in.Name, Person: in.Person})
}

// newDevice refuses one that is enrolled. One that was revoked cannot come back:
// its chain ends where it was cut.
func (d *desk) newDevice(id journal.Hash) error {
	known, ok, err := find[*views.Device](d, entries.OfDevice, id.String())
	switch {
	case err != nil || !ok:
		return err
	case known.Revoked != nil:
		return refuse(Conflict, "device.was_revoked", "device",
			fmt.Sprintf("device: %s was revoked; it must make a new key", known.Facts.Name), why.T("device", known.Facts.Name))
	}
	return refuse(Conflict, "device.enrolled_already", "device",
		fmt.Sprintf("device: it is enrolled already, as %s", known.Facts.Name), why.T("device", known.Facts.Name))
}

type deviceRevoke struct {
	Device journal.Hash `json:"device" doc:"SHA-256 of its public key"`
	Why    string       `json:"why" doc:"such as lost, sold, its owner left"`
}

type deviceRevoked struct {
	ID      journal.ID `json:"id"`
	Through int64      `json:"through"` // number of the last entry of the device that stands
}

// revoke ends what a device may write with the last entry the office has of it.
func revoke(d *desk, in deviceRevoke) (deviceRevoked, error) {
	v, err := d.device(in.Device, "device")
	switch {
	case err != nil:
		return deviceRevoked{}, err
	case v.Revoked != nil:
		return deviceRevoked{}, refuse(Conflict, "device.was_revoked", "device",
			fmt.Sprintf("device: %s was revoked already", v.Facts.Name), why.T("device", v.Facts.Name))
	case in.Device == d.Device:
		return deviceRevoked{}, refuse(Conflict, "device.itself", "device", "device: a device cannot revoke itself; do it on another")
	}
	tip, _, err := d.Tip(in.Device) // without an entry its number is 0
	if err != nil {
		return deviceRevoked{}, err
	}
	id, err := d.write(entries.DeviceRevoked{Head: d.now(), Device: in.Device, Through: tip.Seq, Why: in.Why})
	return deviceRevoked{id, tip.Seq}, err
}
