package documents

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"sapwell/engine/label"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/records"
	"sapwell/words"
)

// Medical is what a nurse or doctor must know of a product at once.
type Medical struct {
	Product Used
	Phones  []Phone        // whom to call, the first first
	SDS     string         // where the safety data sheet is
	Record  records.Record // of the work the person was at; empty: to be written in
	Firm    Party
	Made    quantity.Date
}

// Phone is a number to call, and when somebody last saw that it is right.
type Phone struct {
	Name, Number string
	CheckedOn    quantity.Date
}

// MedicalSheet writes the sheet that goes along to the hospital. It refuses to be
// printed without a number to call: an empty line there would be found out too late.
func MedicalSheet(w io.Writer, m Medical, p *words.Printer, paper Paper) error {
	v := voice{p, p.Lang, p.Style}
	if err := m.check(); err != nil {
		return fmt.Errorf("medical sheet: %w", err)
	}
	title := v.Say("paper.medical.title") + " " + m.Product.Label.Product.Name
	return printPages(w, medicalPages(m, v, paper), paper, title, v.lang, m.Made)
}

func medicalPages(m Medical, v voice, paper Paper) []*page {
	l := m.Product.Label
	title := v.Say("paper.medical.title")
	f := newFolio(v, paper, heading{
		title: title, under: []string{v.or(l.Product.Name), v.Say("paper.medical.reg", why.T("number", v.or(l.Product.RegNo)))},
		right: v.dayOr(m.Made), small: []string{m.Firm.Name, m.Firm.Phone}, short: title + "  ·  " + l.Product.Name,
	}, v.Say("paper.medical.foot"))
	f.size = 11
	f.fictional(l.Fictional)
	f.phones(m)
	f.part("paper.medical.product", append(f.identity(l), f.known("paper.medical.sds", m.SDS)...))
	f.firstAid(l)
	f.eye()
	f.whole(func(f *folio) { f.physician(m.Product) })
	f.whole(func(f *folio) {
		f.exposure(m.Record)
		f.small(f.Say("paper.medical.checked"))
	})
	return f.done()
}

func (m Medical) check() error {
	if len(m.Phones) == 0 {
		return errors.New("phones: none: want at least one number to call")
	}
	for i, ph := range m.Phones {
		if !strings.ContainsAny(ph.Number, "0123456789") {
			return fmt.Errorf("phones[%d].number (%.40q): %q: want a number to call", i, ph.Name, ph.Number)
		}
		if strings.TrimSpace(ph.Name) == "" {
			return fmt.Errorf("phones[%d].name: empty: want who answers", i)
		}
	}
	return nil
}

// phones are set so large that they are read over a shoulder.
func (f *folio) phones(m Medical) {
	all := m.Phones
	if n := m.Product.Label.FirstAid.Phone; strings.TrimSpace(n) != "" {
		all = append(all[:len(all):len(all)], Phone{Name: f.Say("paper.medical.label_phone"), Number: n})
	}
	f.section("paper.medical.call", 10)
	for _, ph := range all {
		f.phone(ph, f.numberChecked(ph))
	}
}

// numberChecked says when somebody last saw that a number is right, or that nobody did.
func (f *folio) numberChecked(ph Phone) string {
	if ph.CheckedOn.IsZero() {
		return f.Say("paper.medical.unchecked")
	}
	return f.Say("paper.medical.checked_on", why.T("day", day(ph.CheckedOn)))
}

// phone sets number, name, and when the number was checked.
func (f *folio) phone(ph Phone, checked string) {
	const size, name = 20.0, 12.0
	half := f.inner() * 0.45
	numbers, names := fullWrap(ph.Number, half-3, size, bold), fullWrap(f.sayOr("phone."+ph.Name, ph.Name), f.inner()-half, name, bold)
	if len(numbers)+len(names) > 8 { // not a number that anyone has, but nothing is lost
		f.block(margin, f.inner(), size, bold, ph.Number)
		f.block(margin, f.inner(), name, bold, ph.Name)
		f.block(margin, f.inner(), f.least, plain, checked)
		return
	}
	f.need(float64(len(numbers))*leading(size) + float64(len(names)+1)*leading(name))
	y := f.putLines(margin, f.y, size, bold, numbers)
	at := f.putLines(margin+half, f.y, name, bold, names)
	f.y = max(y, f.putLines(margin+half, at, f.least, plain, []string{printable(checked)})) + 1
}

// firstAid is the label's text, in the label's order and words.
func (f *folio) firstAid(l label.Label) {
	f.section("paper.medical.first_aid", 14)
	if len(l.FirstAid.Steps) == 0 {
		f.para(f.Say("paper.not_recorded"), bold)
	}
	for _, s := range l.FirstAid.Steps {
		f.need(2*leading(f.size) + 2)
		f.para(f.sayOr("paper.route."+s.Route, s.Route), bold)
		f.y -= 0.9
		f.para(s.Text, plain)
	}
}

// eye is the order of steps for a splash from a unit under pressure: the first three
// are the usual first aid, the fourth is of eye injuries in general.
func (f *folio) eye() {
	f.section("paper.medical.eye", 30)
	for i, key := range []string{"paper.eye.1", "paper.eye.2", "paper.eye.3", "paper.eye.4"} {
		f.bullet(fmt.Sprint(i+1), f.Say(key))
	}
}

// physician is what the label tells a doctor, and what it warns of.
func (f *folio) physician(u Used) {
	f.section("paper.medical.physician", 12)
	note := u.Label.FirstAid.Physician
	face := plain
	if strings.TrimSpace(note) == "" {
		note, face = f.Say("paper.medical.no_note"), bold
	}
	f.para(note, face)
	f.statements(u)
}

// exposure is what was done with the product, and boxes for what happened.
func (f *folio) exposure(r records.Record) {
	if r.Has("product.name") {
		f.part("paper.medical.work", f.recorded(r, "date", "time.start", "site.location", "method", "amount.total", "product.lot", "applicator.name", "record.id"))
	}
	f.section("paper.medical.happened", 2*handsHeight+14)
	f.hands("paper.medical.who", "paper.medical.when", "paper.medical.much")
	f.ticks("paper.route.eyes", "paper.route.skin", "paper.route.inhaled", "paper.route.swallowed", "paper.route.other")
	f.signBoxes("paper.medical.how", "paper.medical.done")
}

// ticks are boxes to tick in a row.
func (f *folio) ticks(keys ...string) {
	const side = 5.0
	f.need(side + 3)
	w := f.inner() / float64(len(keys))
	for i, key := range keys {
		x := margin + float64(i)*w
		f.rect(x, f.y, side, side, heavy, noFill)
		f.putFit(x+side+1.8, f.y+side-1, w-side-3, 11, 9, plain, f.Say(key))
	}
	f.y += side + 3
}
