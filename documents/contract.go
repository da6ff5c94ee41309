package documents

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/words"
)

// Agreement is what a written contract before the work says, for places that ask one.
// What is empty is printed as not recorded, so that it is filled in by hand.
type Agreement struct {
	Ref                string // its number
	Date               quantity.Date
	Firm, Client       Party
	Applicator, CertNo string
	Place              string
	Trees              []string
	Days               []string // approximate dates, in words or as days
	Applications       int      // how many; 0: not recorded
	Cost               string   // in all, with its currency
	Products           []Used
}

// contractSize is the type of a contract: no letter of it is smaller, in points.
const contractSize = 12.0

// Contract writes the sheet, no letter under 12 points.
func Contract(w io.Writer, a Agreement, p *words.Printer, paper Paper) error {
	v := voice{p, p.Lang, p.Style}
	if len(a.Products) == 0 {
		return fmt.Errorf("contract: %w", errors.New("products: none: want what is to be applied"))
	}
	return printPages(w, contractPages(a, v, paper), paper, a.title(v), v.lang, a.Date)
}

func (a Agreement) title(v voice) string {
	return strings.TrimSpace(v.Say("paper.contract.title") + " " + a.Ref)
}

func contractPages(a Agreement, v voice, paper Paper) []*page {
	title := a.title(v)
	f := newFolio(v, paper, heading{
		title: title, right: v.dayOr(a.Date), under: []string{v.or(a.Firm.Name)}, short: title, least: contractSize,
	}, v.Say("paper.foot.short"))
	f.fictional(anyFictional(a.Products))
	f.part("paper.contract.firm", append(f.party(a.Firm), f.needed("field.applicator.name", a.Applicator), f.needed("field.applicator.cert_no", a.CertNo)))
	f.part("paper.contract.client", append(f.party(a.Client), f.needed("field.site.location", a.Place)))
	count := ""
	if a.Applications > 0 {
		count = plainCount(a.Applications)
	}
	f.part("paper.contract.work", []item{
		f.needed("paper.contract.days", strings.Join(a.Days, "; ")), f.needed("paper.contract.count", count),
		f.needed("paper.contract.cost", a.Cost), f.needed("paper.contract.trees", strings.Join(a.Trees, ", ")),
	})
	for _, u := range a.Products {
		f.substance(u)
	}
	f.whole(func(f *folio) { // who signs has what is agreed above the boxes
		f.section("paper.contract.terms", 20)
		f.say("paper.contract.change")
		f.say("paper.contract.copy")
		f.say("paper.contract.advice")
		f.y += 1
		f.signBoxes("paper.contract.sign.firm", "paper.contract.sign.client")
	})
	return f.done()
}

// substance is a product by both its names with what its label warns of.
func (f *folio) substance(u Used) {
	f.part("paper.contract.product", f.identity(u.Label))
	f.need(3 * leading(f.size))
	f.para(f.Say("paper.contract.warnings", why.T("product", u.Label.Product.Name)), bold)
	f.statements(u)
	f.keepOff(u)
	f.eaten(u)
}

// signBoxes are boxes for two to sign in, with room for a name and a day.
func (f *folio) signBoxes(keys ...string) {
	const high = 22.0
	f.need(high + 2)
	w := (f.inner() - gutter) / float64(len(keys))
	for i, key := range keys {
		x := margin + float64(i)*(w+gutter)
		f.rect(x, f.y, w, high, heavy, noFill)
		f.putLines(x+1.5, f.y+1, f.least, plain, fullWrap(f.Say(key), w-3, f.least, plain))
	}
	f.y += high + 3
}
