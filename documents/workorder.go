package documents

import (
	"fmt"
	"io"
	"strings"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/words"
)

// WorkOrder sends a crew to a place: what was agreed, which trees, with whom. Where
// the holes go is on the mark sheets; this paper has none of it.
type WorkOrder struct {
	Number, Quote    string // its own, and the quote's it follows
	Firm             Party
	Date             quantity.Date // day of the work
	Grounds, Address string
	Client           Party
	Access           string // gate, dogs, parking
	Certified        string
	Crew             []string
	Products         []WorkProduct
	Trees            []WorkTree
	Units            int // of all trees
	Agreed           []string
	Notes            []string
}

// WorkProduct is a product of the day, as its label has it.
type WorkProduct struct {
	Name, RegNo, Active, LabelVersion string
	Fictional                         bool
	PPE                               []string
	REI                               string
}

// WorkTree is a tree to be treated. Open are questions to answer before the drill.
type WorkTree struct {
	Tag, Species, Where, Product string
	Units                        int
	Total                        quantity.Volume
	Open                         []string
}

// Print writes the order, with columns to tick and count in by hand.
func (o WorkOrder) Print(w io.Writer, p *words.Printer, paper Paper) error {
	v := voice{p, p.Lang, p.Style}
	if len(o.Trees) == 0 {
		return fmt.Errorf("work order %.40q: trees: none: want at least one", o.Number)
	}
	for i, t := range o.Trees {
		if err := checkCounts(fmt.Sprintf("work order %.40q: trees[%d].", o.Number, i), "units", t.Units); err != nil {
			return err
		}
	}
	return printPages(w, o.pages(v, paper), paper, fileTitle(v, "order.title", o.Number, o.Date), v.lang, o.Date)
}

func (o WorkOrder) pages(v voice, paper Paper) []*page {
	f := sheetPaper(v, paper, "order.title", o.Number, Party{Name: o.Firm.Name, Phone: o.Firm.Phone}, o.Date, v.Say("order.foot"))
	f.size = 11
	invented := false
	for _, p := range o.Products {
		invented = invented || p.Fictional
	}
	f.fictional(invented)
	where := []item{v.needed("order.grounds", o.Grounds), v.needed("order.address", o.Address), v.needed("order.client", strings.Join(o.Client.lines(v), ", "))}
	where = append(where, v.known("order.access", o.Access)...)
	f.part("order.where", append(where, v.known("order.quote", o.Quote)...))
	f.part("order.who", []item{v.needed("order.certified", o.Certified), v.needed("order.crew", strings.Join(o.Crew, ", "))})
	for _, p := range o.Products {
		f.part("order.product", p.items(v))
	}
	f.orderTrees(o)
	f.agreed(o)
	f.section("order.closing", handsHeight)
	f.hands("order.begun", "order.ended", "order.lifted", "order.signed")
	f.small(v.Say("order.note"))
	return f.done()
}

func (p WorkProduct) items(v voice) []item {
	return []item{
		v.needed("order.product_name", p.Name), v.needed("order.reg_no", p.RegNo), v.needed("order.active", p.Active), v.needed("order.label", p.LabelVersion),
		v.needed("order.ppe", strings.Join(p.PPE, ", ")), v.needed("order.rei", p.REI),
	}
}

// orderTrees is the table of trees; the columns on the right are written in by hand.
func (f *folio) orderTrees(o WorkOrder) {
	f.section("order.trees", 30)
	g := f.grid([]gridColumn{
		{"order.done", 0.07, false}, {"order.tree", 0.11, false}, {"order.species", 0.21, false}, {"order.place", 0.15, false}, {"order.product", 0.16, false},
		{"order.units", 0.1, true}, {"order.placed", 0.1, false}, {"order.taken", 0.1, false},
	})
	g.size = 11
	for _, t := range o.Trees {
		f.whole(func(at *folio) { // a tree with its questions
			row := *g
			row.folio = at
			row.hand(tickBox, f.or(t.Tag), f.or(t.Species), orDash(t.Where), f.or(t.Product), fmt.Sprint(t.Units), countBox, countBox)
			for _, s := range t.Open {
				at.y += 1
				at.bullet("?", f.Say("order.open", why.T("tree", t.Tag), why.T("question", s)))
			}
			if at == f {
				g.page = row.page
			}
		})
	}
	g.hand("", f.Say("order.total", why.T("n", len(o.Trees))), "", "", "", fmt.Sprint(o.Units), countBox, countBox)
	f.y += 2
}

func (f *folio) agreed(o WorkOrder) {
	if len(o.Agreed)+len(o.Notes) == 0 {
		return
	}
	f.section("order.agreed", 12)
	for _, s := range o.Agreed {
		f.bullet("☐", s)
	}
	for _, s := range o.Notes {
		f.bullet("•", s)
	}
	f.y += 1
}
