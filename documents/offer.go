package documents

import (
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"sapwell/documents/files"
	"sapwell/engine/price"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/words"
)

// Offer is priced work: a quote before it is done, an invoice's lines after. What
// it comes to was worked out by engine/price and is printed as it is.
type Offer struct {
	Number    string
	Firm, To  Party
	Date      quantity.Date
	Until     quantity.Date // a quote holds until then
	Grounds   string
	Address   string
	Currency  string // ISO 4217; its hundredths are the cents
	List      price.List
	Quote     price.Quote
	Trees     []OfferTree // what each line's tree is, by its name
	Remarks   []string
	Fictional bool // a product is invented
}

// OfferTree tells the client which tree a price is for; Product may name several.
type OfferTree struct{ Name, Species, Where, Product string }

// Print writes the quote, with boxes for the options and a place to accept it.
func (o Offer) Print(w io.Writer, p *words.Printer, paper Paper) error {
	v := voice{p, p.Lang, p.Style}
	if err := o.check(); err != nil {
		return fmt.Errorf("quote %.40q: %w", o.Number, err)
	}
	return printPages(w, o.pages(v, paper), paper, fileTitle(v, "quote.title", o.Number, o.Date), v.lang, o.Date)
}

func (o Offer) check() error {
	if len(o.Currency) != 3 || strings.ToUpper(o.Currency) != o.Currency {
		return fmt.Errorf("currency: %q: want three capitals, such as USD (ISO 4217)", o.Currency)
	}
	if len(o.Quote.Lines) == 0 && len(o.Quote.Offered) == 0 {
		return fmt.Errorf("lines: none: want at least one")
	}
	return nil
}

func (o Offer) pages(v voice, paper Paper) []*page {
	f := sheetPaper(v, paper, "quote.title", o.Number, o.Firm, o.Date, v.Say("quote.foot"))
	f.fictional(o.Fictional)
	items := append(v.party(o.To)[:2], v.known("party.phone", o.To.Phone)...)
	items = append(items, v.needed("quote.grounds", o.Grounds), v.needed("quote.address", o.Address), v.needed("quote.until", day(o.Until)))
	f.part("quote.for", items)
	f.offerTrees(o.Trees)
	f.section("quote.prices", 24)
	g := f.grid(offerColumns())
	for _, l := range o.Quote.Lines {
		g.row(o.what(l, v), strconv.FormatInt(l.Count, 10), l.Each.Text(v.style), l.Amount.Text(v.style))
	}
	g.sum(v.Say("quote.net"), "", "", v.money(o.Quote.Net, o.Currency))
	if o.Quote.Rate > 0 {
		g.sum(v.Say("quote.tax", why.T("rate", o.Quote.Rate.Text(v.style))), "", "", v.money(o.Quote.Tax, o.Currency))
	}
	g.sum(v.Say("quote.due"), "", "", v.money(o.Quote.Due, o.Currency))
	f.y += 2
	f.offered(o)
	f.section("quote.good_to_know", 20)
	known := []string{v.Say("quote.count"), v.Say("quote.look"), v.Say("quote.label")}
	if slices.ContainsFunc(o.Quote.Lines, func(l price.Line) bool { return l.Of != "" }) {
		known = append(known, v.Say("quote.shared"))
	}
	for _, s := range append(known, o.Remarks...) {
		f.bullet("•", s)
	}
	f.section("quote.accept", handsHeight+8)
	// It may stand alone on a page: nobody signs what they cannot read there.
	f.say("quote.accept.words", why.T("number", v.or(o.Number)), why.T("day", day(o.Date)), why.T("due", v.money(o.Quote.Due, o.Currency)))
	f.hands("quote.accept.name", "quote.accept.sign", "quote.accept.day")
	return f.done()
}

func offerColumns() []gridColumn {
	return []gridColumn{{"quote.what", 0.52, false}, {"quote.n", 0.12, true}, {"quote.each", 0.14, true}, {"quote.amount", 0.22, true}}
}

func (f *folio) offerTrees(trees []OfferTree) {
	if len(trees) == 0 {
		return
	}
	f.section("quote.trees", 16)
	g := f.grid([]gridColumn{{"quote.tree", 0.14, false}, {"quote.species", 0.32, false}, {"quote.place", 0.24, false}, {"quote.product", 0.3, false}})
	for _, t := range trees {
		g.row(f.or(t.Name), f.or(t.Species), orDash(t.Where), orDash(t.Product))
	}
	f.y += 2
}

// offered are the options nobody has taken yet: not in the sum.
func (f *folio) offered(o Offer) {
	if len(o.Quote.Offered) == 0 {
		return
	}
	f.section("quote.options", 16)
	f.say("quote.options.what")
	g := f.grid(offerColumns())
	for _, l := range o.Quote.Offered {
		g.row("☐ "+o.what(l, f.voice), strconv.FormatInt(l.Count, 10), l.Each.Text(f.style), l.Amount.Text(f.style))
	}
	f.y += 2
}

// what is a line in words.
func (o Offer) what(l price.Line, v voice) string {
	switch l.Kind {
	case price.ForTree:
		return v.Say("quote.line.tree", why.T("tree", l.For))
	case price.ForUnits:
		if l.Of != "" {
			return v.Say("quote.line.units_of", why.T("tree", l.For), why.T("product", l.Of))
		}
		return v.Say("quote.line.units", why.T("tree", l.For))
	case price.ForGirth:
		return v.Say("quote.line.girth", why.T("tree", l.For), why.T("step", stepText(o.List.Step, v.style)), why.T("how", v.Say("quote.steps."+string(o.List.Steps))))
	case price.ForMinimum:
		return v.Say("quote.line.minimum", why.T("minimum", v.money(o.List.Minimum, o.Currency)))
	}
	return l.For
}

// stepText is a step in the unit it was set in, whatever the reader's are: a price
// per inch is none per 25.4 mm.
func stepText(step quantity.Length, st quantity.Style) string {
	switch {
	case step > 0 && step%quantity.Inch == 0:
		return fmt.Sprintf("%d in", step/quantity.Inch)
	case step > 0 && step%quantity.Centimetre == 0:
		return fmt.Sprintf("%d cm", step/quantity.Centimetre)
	}
	return step.Text(st)
}

// InvoiceCSV writes the lines of done work for a program that keeps accounts: one
// line a price, then one for the tax, so that the last column adds up to what is
// due. Visit names the work. Money is in plain decimal form.
func (o Offer) InvoiceCSV(w io.Writer, visit string, p *words.Printer) error {
	v := voice{p, p.Lang, p.Style}
	if err := o.check(); err != nil {
		return fmt.Errorf("invoice %.40q: %w", o.Number, err)
	}
	table := files.NewCSV(w, "invoice", "date", "client", "client_address", "grounds", "visit", "line", "kind", "for", "description",
		"quantity", "unit_price", "currency", "amount")
	n := 0
	row := func(kind, name, what, count, each string, amount price.Cents) {
		n++
		table.Row(files.Guard(o.Number), o.Date.String(), files.Guard(o.To.Name), files.Guard(o.To.Address), files.Guard(o.Grounds), files.Guard(visit),
			strconv.Itoa(n), kind, files.Guard(name), files.Guard(what), count, each, o.Currency, amount.Plain())
	}
	for _, l := range o.Quote.Lines {
		row(string(l.Kind), l.For, o.what(l, v), strconv.FormatInt(l.Count, 10), l.Each.Plain(), l.Amount)
	}
	if o.Quote.Rate > 0 {
		row("tax", "", v.Say("quote.tax", why.T("rate", o.Quote.Rate.Text(v.style))), "", "", o.Quote.Tax)
	}
	return table.Close()
}
