package actions

import (
	"sapwell/engine/place"
	"sapwell/entries"
	"sapwell/journal"
)

func groundsDeeds() []Deed {
	who := []entries.Role{entries.Office, entries.Applicator}
	return []Deed{
		deed("grounds.add", who, addGrounds),
		deed("grounds.update", who, updateGrounds),
	}
}

type groundsAdd struct {
	Name          string         `json:"name" doc:"what people call it"`
	Context       string         `json:"context" enum:"amenity,residential,orchard,nursery,forest" doc:"what sort of place"`
	Client        string         `json:"client,omitempty" doc:"who has the work done"`
	ClientAddress string         `json:"client_address,omitempty" doc:"where they get their records"`
	Operator      string         `json:"operator,omitempty" doc:"who runs the property, where that is not the client"`
	Address       string         `json:"address,omitempty" doc:"of the property"`
	Zip           string         `json:"zip,omitempty" doc:"postal code"`
	Country       string         `json:"country,omitempty" doc:"where not the organisation's; ISO 3166-1, two capitals; a name that is known is kept as its code"`
	Region        string         `json:"region,omitempty" doc:"state or province, where not the organisation's"`
	Place         *entries.Place `json:"place,omitempty" doc:"WGS 84, in 1e-7 degrees"`
	Note          string         `json:"note,omitempty" doc:"gate code, dog, where to park"`
}

func addGrounds(d *desk, in groundsAdd) (Made, error) {
	return d.made(entries.Grounds{
		Head: d.now(), Name: in.Name, Context: in.Context, Client: in.Client, ClientAddress: in.ClientAddress,
		Operator: in.Operator, Address: in.Address, Zip: in.Zip, Country: place.Code(in.Country), Region: in.Region,
		Place: in.Place, Note: in.Note,
	})
}

type groundsUpdate struct {
	Grounds       journal.ID     `json:"grounds" doc:"which"`
	Name          *string        `json:"name,omitempty" doc:"what people call it"`
	Context       *string        `json:"context,omitempty" enum:"amenity,residential,orchard,nursery,forest" doc:"what sort of place"`
	Client        *string        `json:"client,omitempty" doc:"who has the work done"`
	ClientAddress *string        `json:"client_address,omitempty" doc:"where they get their records"`
	Operator      *string        `json:"operator,omitempty" doc:"who runs the property"`
	Address       *string        `json:"address,omitempty" doc:"of the property"`
	Zip           *string        `json:"zip,omitempty" doc:"postal code"`
	Country       *string        `json:"country,omitempty" doc:"ISO 3166-1, two capitals; a name that is known is kept as its code"`
	Region        *string        `json:"region,omitempty" doc:"state or province"`
	Place         *entries.Place `json:"place,omitempty" doc:"WGS 84, in 1e-7 degrees"`
	Note          *string        `json:"note,omitempty" doc:"gate code, dog, where to park"`
}

func updateGrounds(d *desk, in groundsUpdate) (Made, error) {
	g, err := d.grounds(in.Grounds, "grounds")
	if err != nil {
		return Made{}, err
	}
	b := g.Facts
	b.Head, b.Grounds, b.Over = d.now(), in.Grounds, g.FactsBy
	set(&b.Name, in.Name)
	set(&b.Context, in.Context)
	set(&b.Client, in.Client)
	set(&b.ClientAddress, in.ClientAddress)
	set(&b.Operator, in.Operator)
	set(&b.Address, in.Address)
	set(&b.Zip, in.Zip)
	set(&b.Country, in.Country)
	b.Country = place.Code(b.Country)
	set(&b.Region, in.Region)
	set(&b.Note, in.Note)
	if in.Place != nil {
		b.Place = in.Place
	}
	return d.made(b)
}
