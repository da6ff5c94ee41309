package documents

import (
	"fmt"
	"io"
	"strings"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/words"
)

// LotRecall is where the units of one lot went, when something is wrong with it.
// All counts come in.
type LotRecall struct {
	Firm                   Party
	Date                   quantity.Date
	Product, RegNo, Lot    string
	Fictional              bool
	Size                   quantity.Volume
	Expires                quantity.Date
	Supplier, Reason       string
	Units                  int // in trees, by the tallies
	Trees, Places, Clients int
	InStore                int // still there
	Elsewhere              []string
	At                     []RecallPlace
}

// RecallPlace is a property where units of the lot were seated.
type RecallPlace struct {
	Grounds, Address string
	Client           Party
	Trees            []RecallTree
}

// RecallTree is a tree that got units of the lot in one visit.
type RecallTree struct {
	Tag, Species, Where string
	Day                 quantity.Date
	Units, Lost         int
	Given               quantity.Volume
	By                  string
}

// Print writes the list by property, with room to note who was told.
func (l LotRecall) Print(w io.Writer, p *words.Printer, paper Paper) error {
	v := voice{p, p.Lang, p.Style}
	if strings.TrimSpace(l.Lot) == "" {
		return fmt.Errorf("lot recall: lot: none: want the number as it is printed on the pack")
	}
	if err := checkCounts(fmt.Sprintf("lot recall %.40q: ", l.Lot), "units", l.Units, "trees", l.Trees, "places", l.Places, "clients", l.Clients); err != nil {
		return err
	}
	return printPages(w, l.pages(v, paper), paper, fileTitle(v, "recall.title", l.Lot, l.Date), v.lang, l.Date)
}

func (l LotRecall) pages(v voice, paper Paper) []*page {
	f := sheetPaper(v, paper, "recall.title", l.Lot, l.Firm, l.Date, v.Say("paper.foot"))
	f.fictional(l.Fictional)
	f.part("recall.lot", append([]item{
		v.needed("recall.product", v.product(l.Product, l.Size)), v.needed("recall.reg_no", l.RegNo), v.needed("recall.number", l.Lot),
		v.needed("recall.expires", day(l.Expires)), v.needed("recall.supplier", l.Supplier),
	}, v.known("recall.reason", l.Reason)...))
	store := "recall.store"
	if strings.TrimSpace(l.Reason) == "" { // it lies ready, as for every lot
		f.say("recall.in_case")
		store = "recall.store_now"
	}
	f.framed(13, bold, v.Say("recall.units", why.T("n", l.Units)), v.Say("recall.where", why.T("trees", l.Trees), why.T("places", l.Places), why.T("clients", l.Clients)),
		v.Say(store, why.T("n", l.InStore)))
	for _, s := range l.Elsewhere {
		f.bullet("•", s)
	}
	if len(l.At) == 0 {
		f.say("recall.none")
	}
	for _, p := range l.At {
		f.recallPlace(p)
	}
	f.small(v.Say("recall.note"))
	return f.done()
}

// recallPlace is one property: whom to tell, and which trees.
func (f *folio) recallPlace(p RecallPlace) {
	f.need(48)
	f.y = f.title(margin, f.y+1, f.inner(), f.or(p.Grounds)) + 0.4
	f.para(f.Say("recall.address", why.T("value", f.or(p.Address))), plain)
	f.para(f.Say("recall.client", why.T("value", f.or(strings.Join(p.Client.lines(f.voice), ", ")))), bold)
	g := f.grid([]gridColumn{
		{"recall.tree", 0.11, false}, {"recall.species", 0.22, false}, {"recall.place", 0.16, false}, {"recall.day", 0.12, false},
		{"recall.in_tree", 0.1, true}, {"recall.lost", 0.09, true}, {"recall.given", 0.09, true}, {"recall.by", 0.11, false},
	})
	for _, t := range p.Trees {
		g.row(f.or(t.Tag), f.or(t.Species), orDash(t.Where), f.dayOr(t.Day), fmt.Sprint(t.Units), fmt.Sprint(t.Lost), millilitres(t.Given, f.style), f.or(t.By))
	}
	f.y += 1
	f.hands("recall.told_whom", "recall.told_by", "recall.told_on")
}
