package records

import (
	"strings"

	"sapwell/engine/place"
	"sapwell/engine/quantity"
	"sapwell/views"
)

// The sorts of certificate, as entries have them.
const (
	licence  = "certificate"
	training = "training"
)

// held is the certificate of a sort that somebody held on a day or, where none was
// valid, the one that ran out last: the check then says so. One with a last day goes
// before one without.
func held(p *views.Person, sort string, on quantity.Date) (best views.Held, valid bool) {
	rank := func(c views.Held) int {
		switch {
		case c.Sort == "":
			return 0
		case c.Until.IsZero():
			return 2
		case c.Until.Before(on):
			return 1
		}
		return 3
	}
	for _, c := range p.Certificates {
		if c.Sort != sort || c.Withdrawn || c.From.After(on) {
			continue
		}
		if d := rank(c) - rank(best); d > 0 || d == 0 && c.Until.After(best.Until) {
			best = c
		}
	}
	return best, rank(best) > 1
}

// trained is a training of somebody that counts on a day. In the US it is one of the
// last 12 months, whatever it says of itself (40 CFR 171.201, as the State of Washington
// tells it); elsewhere no text was read that gives a training no end, so one without a
// last day counts nowhere.
func trained(p *views.Person, on quantity.Date, country string) (views.Held, bool) {
	for _, c := range p.Certificates {
		last := c.Until
		if year := c.From.AddDate(1, 0, 0); country == place.US && (last.IsZero() || year.Before(last)) {
			last = year
		}
		if c.Sort == training && !c.Withdrawn && !c.From.After(on) && !last.Before(on) {
			return c, true
		}
	}
	return views.Held{}, false
}

// hands is who did the work and who answers for it.
func (w *work) hands(s sheet) {
	chief := w.person(w.Visit.Facts.Certified)
	s.put("applicator.name", chief.Facts.Name)
	c, valid := held(chief, licence, w.day)
	if c.Sort != "" {
		s.put("applicator.cert_no", c.Number)
		s.put("applicator.cert_expiry", c.Until.String())
		s.put("applicator.cert_authority", c.Authority)
	}
	endless := valid && c.Until.IsZero()
	var names, helpers, trainings []string
	for _, p := range w.doers {
		names = append(names, p.Facts.Name)
		if c, certified := held(p, licence, w.day); certified {
			endless = endless || c.Until.IsZero()
			continue
		}
		helpers = append(helpers, p.Facts.Name)
		if c, ok := trained(p, w.day, (Record{facts: s}).Text("site.country")); ok {
			trainings = append(trainings, strings.TrimSpace(c.Authority+" "+c.Number))
		}
	}
	if endless {
		s.put("assumed.applicator.cert_expiry", true)
	}
	switch {
	case len(names) == 0: // nobody wrote down who did it
		return
	case len(helpers) == 0:
		s.put("applied_by", "certified")
		s.put("applied_by_name", strings.Join(names, ", "))
		return
	}
	s.put("applied_by", "noncertified")
	s.put("operator.name", strings.Join(helpers, ", "))
	if len(trainings) == len(helpers) { // of every one of them
		s.put("operator.qualification_ref", strings.Join(trainings, ", "))
	}
	if chief.Facts.Name != "" {
		s.put("applied_by_name", strings.Join(names, ", ")+"; supervised by "+chief.Facts.Name)
	}
}
