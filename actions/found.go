package actions

import (
	"errors"
	"strings"

	"sapwell/engine/place"
	"sapwell/entries"
	"sapwell/journal"
)

// FoundInput is what begins an organisation.
type FoundInput struct {
	Name      string `json:"name" doc:"of the organisation"`
	Country   string `json:"country" doc:"ISO 3166-1, two capitals; a name that is known is kept as its code"`
	Region    string `json:"region,omitempty" doc:"state or province"`
	Zone      string `json:"zone" doc:"time zone, such as America/Chicago"`
	KeepYears int    `json:"keep_years" doc:"how long treatment records are kept at least"`

	Person string         `json:"person" doc:"name of the first person"`
	Roles  []entries.Role `json:"roles,omitempty" enum:"office,applicator" doc:"theirs; office is among them in any case"`
	Device string         `json:"device" doc:"what people call the office's own device"`
}

// Founding is a new organisation's first entries and what they name.
type Founding struct {
	Drafts []journal.Draft
	Org    journal.ID
	Person journal.ID // who may do everything, to begin with
}

// Found begins a journal: the organisation, its first person, and the office's own
// device, which is m.Device and writes all three. Nobody is known yet, so m.By is
// not looked at. Errors of the input are *Refusal.
func Found(m Moment, in FoundInput) (f Founding, err error) {
	d := &desk{Moment: m}
	roles := []entries.Role{entries.Office}
	for _, r := range in.Roles {
		if r != entries.Office {
			roles = append(roles, r)
		}
	}
	for _, r := range roles {
		if r != entries.Office && r != entries.Applicator {
			return Founding{}, badValue("input.value", "roles", string(r), "want office or applicator; others come later")
		}
	}
	f.Org, err = d.write(entries.Org{
		Name: in.Name, Country: place.Code(in.Country), Region: in.Region, Zone: in.Zone, KeepYears: in.KeepYears,
	})
	if err != nil {
		return Founding{}, err
	}
	if f.Person, err = d.write(entries.Person{Name: in.Person, Roles: roles}); err != nil {
		return Founding{}, nameAt("person", err)
	}
	_, err = d.write(entries.DeviceEnrolled{Head: entries.Head{By: f.Person}, Device: m.Device, Name: in.Device})
	if err != nil {
		return Founding{}, nameAt("device", err)
	}
	f.Drafts = d.drafts
	return f, nil
}

// nameAt says of a refused name in which field of the input it stands.
func nameAt(field string, err error) error {
	var r *Refusal
	if errors.As(err, &r) && r.Field == "name" {
		r.Field, r.Text = field, field+strings.TrimPrefix(r.Text, r.Field)
	}
	return err
}
