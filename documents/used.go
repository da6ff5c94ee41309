package documents

import (
	"strconv"
	"strings"

	"sapwell/engine/label"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// Used is a product as papers tell of it to people who did not use it.
type Used struct {
	Label       label.Label
	HarvestFrom quantity.Date // first day by the label's waiting time, as somebody worked it out; zero: not known
}

// actives are the active ingredients by their common names, with how much of each is
// in the product where the label file says so.
func (v voice) actives(l label.Label) string {
	var names []string
	for _, i := range l.Class.Ingredients {
		name := i.Name
		if i.Content != (quantity.MassPerVolume{}) {
			name += " " + i.Content.Text(v.style)
		}
		names = append(names, name)
	}
	return strings.Join(names, ", ")
}

func anyFictional(us []Used) bool {
	for _, u := range us {
		if u.Label.Fictional {
			return true
		}
	}
	return false
}

// identity is what the product is.
func (v voice) identity(l label.Label) []item {
	items := []item{
		v.needed("field.product.name", l.Product.Name), v.needed("field.product.reg_no", l.Product.RegNo),
		v.needed("field.product.ai", v.actives(l)),
	}
	items = append(items, v.known("paper.signal_word", l.Class.SignalWord)...)
	if l.Class.RestrictedUse {
		items = append(items, v.needed("field.label.rup", v.Say("value.yes")))
	}
	return append(items, item{v.Say("field.label.version"), v.dayOr(l.Version), l.Version.IsZero()})
}

// eaten says what the label lets one do with fruit, nuts, sap and leaves of a tree.
// What it does not say is never read as leave.
func (f *folio) eaten(u Used) {
	food := u.Label.Food
	switch {
	case food.PHIText != "":
		f.bullet("•", f.Say("paper.harvest.says", why.T("text", food.PHIText)))
	case food.PHIDays != nil:
		f.bullet("•", f.Say("paper.harvest.days", why.T("n", *food.PHIDays)))
	default:
		f.bullet("•", f.Say("paper.harvest.silent"))
	}
	if n := food.NonBearingMonths; n > 0 {
		f.bullet("•", f.Say("paper.harvest.bearing", why.T("n", n)))
	}
	if !u.HarvestFrom.IsZero() {
		f.bullet("•", f.Say("paper.harvest.from", why.T("day", day(u.HarvestFrom))))
	}
	f.bullet("•", f.sayOr("paper.tapping."+food.Tapping, f.Say("paper.tapping.unspecified")))
}

// statements sets what the label warns of, the words first.
func (f *folio) statements(u Used) {
	for _, s := range u.Label.Statements {
		f.statement(s)
	}
}

// keepOff is the label's line on who may come near and when.
func (f *folio) keepOff(u Used) {
	p := u.Label.People
	switch {
	case p.REI != "":
		f.bullet("•", p.REI)
	case p.REIHours != nil:
		f.bullet("•", f.Say("paper.keep_off.hours", why.T("n", *p.REIHours)))
	default:
		f.bullet("•", f.Say("paper.keep_off.silent"))
	}
}

// under names a product above what is said of it, where there are several.
func (f *folio) under(us []Used, u Used) {
	if len(us) > 1 {
		f.para(u.Label.Product.Name, bold)
	}
}

// plainCount is a count as a cell of a table.
func plainCount(n int) string { return strconv.Itoa(n) }
