package views

import (
	"slices"

	"sapwell/entries"
	"sapwell/journal"
)

// Key is the name.
func (o *Org) Key() string { return o.Facts.Name }

func (o *Org) take(e entries.Entry) {
	if b, ok := e.Body.(entries.Org); ok {
		o.replace(&o.FactsBy, e, b.Over)
		o.Facts = b
	}
}

// Key is the name.
func (p *Person) Key() string { return p.Facts.Name }

func (p *Person) take(e entries.Entry) {
	switch b := e.Body.(type) {
	case entries.Person:
		p.replace(&p.FactsBy, e, b.Over)
		p.Facts = b
	case entries.Certificate:
		p.certificate(e, b)
	}
}

// certificate keeps the latest facts of each. The first entry of one may stand
// after a later one, by the clocks of two devices; then it has nothing to add.
func (p *Person) certificate(e entries.Entry, c entries.Certificate) {
	first := c.Certificate == (journal.ID{})
	if first {
		c.Certificate = e.ID
	}
	i := slices.IndexFunc(p.Certificates, func(o Held) bool { return o.Certificate.Certificate == c.Certificate })
	switch {
	case i < 0:
		p.Certificates = append(p.Certificates, Held{Certificate: c, FactsBy: e.ID})
	case !first:
		held := &p.Certificates[i]
		p.replace(&held.FactsBy, e, c.Over)
		held.Certificate = c
	}
}

// Key is the name.
func (d *Device) Key() string { return d.Facts.Name }

// take: revoked is revoked. The first revocation stands, and enrolling again
// does not undo it.
func (d *Device) take(e entries.Entry) {
	switch b := e.Body.(type) {
	case entries.DeviceEnrolled:
		d.Facts = b
		if d.Revoked != nil {
			d.flag("device.after_revoke", e)
		}
	case entries.DeviceRevoked:
		if d.Revoked != nil {
			d.flag("device.revoked_twice", e)
			return
		}
		d.Revoked = &b
	}
}

// Key is the name.
func (g *Grounds) Key() string { return g.Facts.Name }

func (g *Grounds) take(e entries.Entry) {
	if b, ok := e.Body.(entries.Grounds); ok {
		g.replace(&g.FactsBy, e, b.Over)
		g.Facts = b
	}
}
