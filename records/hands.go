package records

import (
	"strings"

	"sapwell/engine/quantity"
	"sapwell/views"
)

// The sorts of certificate, as entries have them.
const (
	licence  = "certificate"
	training = "training"
)

// held is the certificate of a sort that somebody held on a day or, where none was
// valid, the one that ran out last: the check then says so.
func held(p *views.Person, sort string, on quantity.Date) (best views.Held, valid bool) {
	for _, c := range p.Certificates {
		if c.Sort != sort || c.Withdrawn || c.From.After(on) {
			continue
		}
		if best.Sort == "" || c.Until.IsZero() || !best.Until.IsZero() && c.Until.After(best.Until) {
			best = c
		}
	}
	return best, best.Sort != "" && (best.Until.IsZero() || !best.Until.Before(on))
}

// hands is who did the work and who answers for it.
func (w *work) hands(s sheet) {
	chief := w.person(w.Visit.Facts.Certified)
	s.put("applicator.name", chief.Facts.Name)
	if c, _ := held(chief, licence, w.day); c.Sort != "" {
		s.put("applicator.cert_no", c.Number)
		s.put("applicator.cert_expiry", c.Until.String())
		s.put("applicator.cert_authority", c.Authority)
	}
	var names, helpers, trained []string
	for _, p := range w.doers {
		names = append(names, p.Facts.Name)
		if _, certified := held(p, licence, w.day); certified {
			continue
		}
		helpers = append(helpers, p.Facts.Name)
		if c, valid := held(p, training, w.day); valid {
			trained = append(trained, strings.TrimSpace(c.Authority+" "+c.Number))
		}
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
	if len(trained) == len(helpers) { // of every one of them
		s.put("operator.qualification_ref", strings.Join(trained, ", "))
	}
	if chief.Facts.Name != "" {
		s.put("applied_by_name", strings.Join(names, ", ")+"; supervised by "+chief.Facts.Name)
	}
}
