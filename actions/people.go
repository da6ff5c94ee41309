package actions

import (
	"errors"
	"fmt"
	"slices"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

// officeDeeds keep the organisation, its people and their devices.
func officeDeeds() []Deed {
	office := []entries.Role{entries.Office}
	return []Deed{
		deed("org.update", office, updateOrg),
		deed("person.add", office, addPerson),
		deed("person.update", office, updatePerson),
		deed("person.leave", office, leave),
		deed("person.certify", office, certify),
		deed("device.enrol", office, enrol),
		deed("device.revoke", office, revoke),
	}
}

// set takes a new value where there is one: what an update leaves out stays.
func set[T any](to, from *T) {
	if from != nil {
		*to = *from
	}
}

// org is the organisation whose journal this is.
func (d *desk) org() (*views.Org, error) {
	rows, err := d.List(entries.OfOrg, "", "", "", 1)
	if err != nil {
		return nil, err
	}
	if len(rows) == 0 {
		return nil, errors.New("the journal names no organisation")
	}
	return stateOf[*views.Org](rows[0])
}

type orgUpdate struct {
	Name      *string `json:"name,omitempty" doc:"of the organisation"`
	Country   *string `json:"country,omitempty" doc:"two capitals, ISO 3166-1"`
	Region    *string `json:"region,omitempty" doc:"state or province"`
	Zone      *string `json:"zone,omitempty" doc:"time zone, such as America/Chicago"`
	Phone     *string `json:"phone,omitempty" doc:"telephone"`
	RegNo     *string `json:"reg_no,omitempty" doc:"registration of the business"`
	KeepYears *int    `json:"keep_years,omitempty" doc:"how long treatment records are kept at least"`
}

func updateOrg(d *desk, in orgUpdate) (Made, error) {
	org, err := d.org()
	if err != nil {
		return Made{}, err
	}
	b := org.Facts
	if b.Org, err = idOf(org.ID); err != nil {
		return Made{}, err
	}
	set(&b.Name, in.Name)
	set(&b.Country, in.Country)
	set(&b.Region, in.Region)
	set(&b.Zone, in.Zone)
	set(&b.Phone, in.Phone)
	set(&b.RegNo, in.RegNo)
	set(&b.KeepYears, in.KeepYears)
	b.Head, b.Over = d.now(), org.FactsBy
	return d.made(b)
}

type personAdd struct {
	Name       string         `json:"name" doc:"as it stands on records"`
	Roles      []entries.Role `json:"roles" enum:"office,applicator,trainee,inspector" doc:"what the person may do"`
	Phone      string         `json:"phone,omitempty" doc:"telephone"`
	Supervisor journal.ID     `json:"supervisor,omitzero" doc:"the applicator who supervises a trainee"`
}

func addPerson(d *desk, in personAdd) (Made, error) {
	b := entries.Person{Head: d.now(), Name: in.Name, Roles: in.Roles, Phone: in.Phone, Supervisor: in.Supervisor}
	if err := d.checkPerson(b); err != nil {
		return Made{}, err
	}
	return d.made(b)
}

type personUpdate struct {
	Person     journal.ID      `json:"person" doc:"who"`
	Name       *string         `json:"name,omitempty" doc:"as it stands on records"`
	Roles      *[]entries.Role `json:"roles,omitempty" enum:"office,applicator,trainee,inspector" doc:"what the person may do"`
	Phone      *string         `json:"phone,omitempty" doc:"telephone"`
	Supervisor *journal.ID     `json:"supervisor,omitempty" doc:"the applicator who supervises a trainee"`
	Back       bool            `json:"back,omitempty" doc:"somebody who left works here again"`
}

func updatePerson(d *desk, in personUpdate) (Made, error) {
	p, err := d.person(in.Person, "person")
	if err != nil {
		return Made{}, err
	}
	if p.Facts.Left && !in.Back {
		return Made{}, refuse(Conflict, "person.gone", "person",
			fmt.Sprintf("person: %s has left; say back if they work here again", p.Facts.Name), why.T("name", p.Facts.Name))
	}
	b := p.Facts
	b.Head, b.Person, b.Over, b.Left = d.now(), in.Person, p.FactsBy, false
	set(&b.Name, in.Name)
	set(&b.Roles, in.Roles)
	set(&b.Phone, in.Phone)
	set(&b.Supervisor, in.Supervisor)
	if in.Supervisor == nil && !slices.Contains(b.Roles, entries.Trainee) {
		b.Supervisor = journal.ID{}
	}
	if err := d.checkPerson(b); err != nil {
		return Made{}, err
	}
	if err := d.keepAnOffice(in.Person, b); err != nil {
		return Made{}, err
	}
	return d.made(b)
}

// checkPerson holds roles and supervisor against each other.
func (d *desk) checkPerson(b entries.Person) error {
	trainee := slices.Contains(b.Roles, entries.Trainee)
	switch {
	case len(b.Roles) > 1 && slices.Contains(b.Roles, entries.Inspector):
		return refuse(BadInput, "person.inspector_only", "roles", "roles: an inspector reads and changes nothing; want no other role beside it")
	case trainee && b.Supervisor == (journal.ID{}):
		return refuse(BadInput, "person.supervisor_missing", "supervisor", "supervisor: missing; a trainee is supervised by an applicator")
	case !trainee && b.Supervisor != (journal.ID{}):
		return refuse(BadInput, "person.supervisor_extra", "supervisor", "supervisor: only a trainee has one")
	case !trainee:
		return nil
	}
	s, err := d.person(b.Supervisor, "supervisor")
	if err != nil {
		return err
	}
	if s.Facts.Left || !slices.Contains(s.Facts.Roles, entries.Applicator) {
		return refuse(BadInput, "person.supervisor_not_applicator", "supervisor",
			fmt.Sprintf("supervisor: %s; want an applicator who works here", s.Facts.Name), why.T("name", s.Facts.Name))
	}
	return nil
}

// keepAnOffice refuses to take the office from the last who has it: nobody could
// give it back.
func (d *desk) keepAnOffice(id journal.ID, b entries.Person) error {
	if !b.Left && slices.Contains(b.Roles, entries.Office) {
		return nil
	}
	others := 0
	err := each(d, entries.OfPerson, "", "", func(p *views.Person) error {
		if p.ID != id.String() && !p.Facts.Left && slices.Contains(p.Facts.Roles, entries.Office) {
			others++
		}
		return nil
	})
	if err == nil && others == 0 {
		return refuse(Conflict, "person.last_office", "person", "person: nobody else has the role office; give it to somebody first")
	}
	return err
}

type personLeave struct {
	Person journal.ID `json:"person" doc:"who leaves"`
}

// leave takes away what a person may do. Their devices go on: what lies unsent on
// them was done while they worked here, and is to come in first.
func leave(d *desk, in personLeave) (Made, error) {
	p, err := d.person(in.Person, "person")
	if err != nil {
		return Made{}, err
	}
	if p.Facts.Left {
		return Made{}, refuse(Conflict, "person.gone", "person", fmt.Sprintf("person: %s has left already", p.Facts.Name), why.T("name", p.Facts.Name))
	}
	b := p.Facts
	b.Head, b.Person, b.Over, b.Left = d.now(), in.Person, p.FactsBy, true
	if err := d.keepAnOffice(in.Person, b); err != nil {
		return Made{}, err
	}
	err = each(d, entries.OfDevice, "", "", func(v *views.Device) error {
		if v.Facts.Person == in.Person && v.Revoked == nil {
			d.note(why.Finding{Code: "person.device_left", Severity: why.Ask, Place: "person", Source: why.Own,
				Terms: []why.Term{why.T("name", p.Facts.Name), why.T("device", v.Facts.Name)}})
		}
		return nil
	})
	if err != nil {
		return Made{}, err
	}
	return d.made(b)
}

type personCertify struct {
	Person      journal.ID    `json:"person" doc:"whose it is"`
	Certificate journal.ID    `json:"certificate,omitzero" doc:"the one that is renewed, corrected or withdrawn; absent for a new one"`
	Sort        string        `json:"sort" enum:"certificate,training" doc:"a licence, or a training taken"`
	Number      string        `json:"number,omitempty" doc:"of the certificate"`
	Authority   string        `json:"authority" doc:"who gave it"`
	Categories  []string      `json:"categories,omitempty" doc:"what it is for"`
	From        quantity.Date `json:"from" doc:"first day"`
	Until       quantity.Date `json:"until,omitzero" doc:"last day, which still counts"`
	Withdrawn   bool          `json:"withdrawn,omitempty" doc:"it was taken away"`
}

func certify(d *desk, in personCertify) (Made, error) {
	p, err := d.person(in.Person, "person")
	if err != nil {
		return Made{}, err
	}
	var over journal.ID
	i := slices.IndexFunc(p.Certificates, func(h views.Held) bool { return h.Certificate.Certificate == in.Certificate })
	if i >= 0 {
		over = p.Certificates[i].FactsBy
	} else if in.Certificate != (journal.ID{}) {
		return Made{}, refuse(NotFound, "certificate.unknown", "certificate",
			fmt.Sprintf("certificate: %s holds none of the id %s", p.Facts.Name, in.Certificate), why.T("name", p.Facts.Name))
	}
	if !in.Until.IsZero() && in.Until.Before(in.From) {
		return Made{}, refuse(BadInput, "certificate.ends_before", "until",
			fmt.Sprintf("until: %s: want a day not before from, %s", in.Until, in.From), why.T("from", in.From), why.T("to", in.Until))
	}
	return d.made(entries.Certificate{
		Head: d.now(), Certificate: in.Certificate, Over: over, Person: in.Person, Sort: in.Sort, Number: in.Number,
		Authority: in.Authority, Categories: in.Categories, From: in.From, Until: in.Until, Withdrawn: in.Withdrawn,
	})
}
