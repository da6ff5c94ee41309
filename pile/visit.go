package pile

import (
	"cmp"
	"io"
	"slices"
	"strings"

	"sapwell/documents"
	"sapwell/engine/label"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/records"
	"sapwell/views"
)

// visits writes the papers of what was done.
func (p *pile) visits() error {
	for visit, err := range p.g.Visits(p.From, p.To, false) {
		if err != nil {
			return err
		}
		f, err := p.g.Facts(visit)
		if err != nil {
			return err
		}
		if err := p.visit(f); err != nil {
			return err
		}
		p.seen++
		p.visited[ownID(visit.ID)] = true
		if p.Progress != nil {
			p.Progress(p.seen)
		}
	}
	if len(p.posted) == 0 {
		return nil
	}
	return p.put("posting-log.pdf", func(w io.Writer) error {
		return documents.PostingLog(w, p.posted, p.g.Today, p.Say, p.Paper)
	})
}

func (p *pile) visit(f records.Facts) error {
	rs := records.Of(f)
	if len(rs) == 0 {
		return nil
	}
	for _, r := range rs {
		if err := p.record(r); err != nil {
			return err
		}
	}
	for _, part := range []func(records.Facts, []records.Record) error{p.notice, p.contract, p.sign, p.medical, p.invoice} {
		if err := part(f, rs); err != nil {
			return err
		}
	}
	return nil
}

func (p *pile) record(r records.Record) error {
	profiles, _ := r.Chosen()
	name := p.name("records/", ".pdf", r.Text("date"), r.Text("tree.id"))
	return p.put(name, func(w io.Writer) error { return documents.TreatmentRecord(w, r, profiles, p.Say, p.Paper) })
}

// used are the products of a visit, with the first day on which something of a tree
// may be eaten.
func used(f records.Facts, rs []records.Record) []documents.Used {
	var list []documents.Used
	for _, l := range f.Labels {
		u := documents.Used{Label: whole(l)}
		for _, r := range rs {
			if day, err := quantity.ParseDate(r.Text("food.harvest_earliest")); err == nil && r.Text("label.id") == l.Label.ID && u.HarvestFrom.Before(day) {
				u.HarvestFrom = day
			}
		}
		list = append(list, u)
	}
	return list
}

// whole is a label; of one whose file cannot be read any more what its entry tells.
func whole(l records.LabelVersion) label.Label {
	all := l.Label
	if all.Product.Name == "" && l.View != nil {
		all.Product.Name, all.Product.RegNo, all.Version, all.Fictional = l.View.Facts.Product, l.View.Facts.RegNo, l.View.Facts.Version, l.View.Facts.Fictional
	}
	return all
}

func (p *pile) notice(f records.Facts, rs []records.Record) error {
	n := documents.Notice{Records: rs, Products: used(f, rs), Date: p.g.Today}
	if len(n.Products) == 0 {
		p.skip("pile.no_notice", why.T("date", f.Visit.Facts.Day))
		return nil
	}
	return p.put(p.name("notices/", ".pdf", rs[0].Text("date"), rs[0].Text("site.name")), func(w io.Writer) error {
		return documents.ClientNotice(w, n, p.Say, p.Paper)
	})
}

// asks tells whether a profile chosen for one of the records asks a field of it.
func asks(rs []records.Record, field records.Field) bool {
	return slices.ContainsFunc(rs, func(r records.Record) bool {
		chosen, _ := r.Chosen()
		return slices.ContainsFunc(chosen, func(id string) bool { return slices.Contains(records.Asked(id, r), field) })
	})
}

func (p *pile) contract(f records.Facts, rs []records.Record) error {
	if !p.All && !asks(rs, "contract.ref") {
		return nil
	}
	r, products := rs[0], used(f, rs)
	if len(products) == 0 {
		p.skip("pile.no_label", why.T("date", f.Visit.Facts.Day))
		return nil
	}
	a := documents.Agreement{
		Ref: r.Text("contract.ref"), Date: f.Visit.Facts.Day, Firm: p.firm, Client: client(f.Grounds),
		Applicator: r.Text("applicator.name"), CertNo: r.Text("applicator.cert_no"), Place: place(f.Grounds),
		Days: []string{r.Text("date")}, Applications: 1, Cost: told(&f.Visit.Common, "contract.cost"), Products: products,
	}
	for _, r := range rs {
		a.Trees = append(a.Trees, r.Text("tree.id"))
	}
	return p.put(p.name("contracts/", ".pdf", r.Text("date"), f.Grounds.Facts.Name), func(w io.Writer) error {
		return documents.Contract(w, a, p.Say, p.Paper)
	})
}

func client(g *views.Grounds) documents.Party {
	return documents.Party{Name: g.Facts.Client, Address: g.Facts.ClientAddress, Phone: told(&g.Common, "client.phone")}
}

func place(g *views.Grounds) string {
	parts := slices.DeleteFunc([]string{g.Facts.Name, g.Facts.Address, g.Facts.Zip}, func(s string) bool { return strings.TrimSpace(s) == "" })
	return strings.Join(parts, ", ")
}

// The sign where no place asks its own: that of ECL 33-1003, the greatest of those
// known here.
const (
	signWidth, signHeight = 5 * quantity.Inch, 4 * quantity.Inch
	signLetters           = 3 * quantity.Inch / 8
	signAbove             = 12 * quantity.Inch
	signHours             = 24
)

func (p *pile) sign(f records.Facts, rs []records.Record) error {
	for _, r := range rs {
		if r.Has("marker.posted_at") {
			p.posted = append(p.posted, r)
		}
	}
	if !p.All && !asks(rs, "marker.posted_at") {
		return nil
	}
	s := documents.Sign{
		Width: signWidth, Height: signHeight, Letters: signLetters, AboveGround: signAbove, Hours: signHours,
		Firm: p.firm.Name, Phone: p.firm.Phone, Fictional: rs[0].Text("product.fictional") == "true",
	}
	return p.put(p.name("signs/", ".pdf", rs[0].Text("date"), f.Grounds.Facts.Name), func(w io.Writer) error {
		return documents.PostingSign(w, s, p.Say, p.Paper)
	})
}

// medical is a sheet a product and visit: who comes to a nurse brings it along.
func (p *pile) medical(f records.Facts, rs []records.Record) error {
	country := cmp.Or(f.Grounds.Facts.Country, f.Org.Facts.Country)
	var phones []documents.Phone
	if own := told(&f.Org.Common, "medical.phone"); own != "" {
		at := f.Org.Told["medical.phone"].At
		phones = append(phones, documents.Phone{Name: p.firm.Name, Number: own, CheckedOn: quantity.DateOf(timeOf(at, "").In(p.g.Zone))})
	}
	for _, ph := range records.Phones(country) {
		phones = append(phones, documents.Phone{Name: ph.Name, Number: ph.Number, CheckedOn: ph.CheckedOn})
	}
	for _, u := range used(f, rs) {
		if len(phones) == 0 && strings.TrimSpace(u.Label.FirstAid.Phone) == "" {
			p.skip("pile.no_phone", why.T("product", u.Label.Product.Name))
			continue
		}
		m := documents.Medical{Product: u, Phones: phones, SDS: told(labelOf(f, u.Label.ID), "label.sds"), Firm: p.firm, Made: p.g.Today}
		m.Record = p.together(slices.DeleteFunc(slices.Clone(rs), func(r records.Record) bool { return r.Text("label.id") != u.Label.ID }))
		err := p.put(p.name("medical/", ".pdf", rs[0].Text("date"), u.Label.ID), func(w io.Writer) error {
			return documents.MedicalSheet(w, m, p.Say, p.Paper)
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// together is the work with one product at all trees of a visit, as one record: whoever
// was hurt was not at one tree only. An amount that is not known of one is not known of all.
func (p *pile) together(rs []records.Record) records.Record {
	if len(rs) < 2 {
		return append(rs, records.Record{})[0]
	}
	all, known := rs[0], true
	var tags, ids, lots []string
	total := quantity.Volume(0)
	for _, r := range rs {
		if from := r.Text("time.start"); from < all.Text("time.start") {
			all = all.With("time.start", from)
		}
		v, err := quantity.ParseVolume(r.Text("amount.total"), quantity.Reading{})
		known = known && err == nil
		total += v
		tags, ids = append(tags, r.Text("tree.id")), append(ids, r.Text("record.id"))
		if lot := r.Text("product.lot"); !slices.Contains(lots, lot) {
			lots = append(lots, lot)
		}
	}
	trees := p.Say.Say("pile.trees", why.T("trees", strings.Join(tags, ", ")))
	place := strings.Join(slices.DeleteFunc([]string{all.Text("site.name"), trees}, func(s string) bool { return s == "" }), ", ")
	all = all.With("site.location", place).With("record.id", strings.Join(ids, ", ")).With("product.lot", strings.Join(lots, ", ")).With("amount.total", nil)
	if known {
		all = all.With("amount.total", total.Text(quantity.Style{}))
	}
	return all
}

func labelOf(f records.Facts, id string) *views.Common {
	for _, l := range f.Labels {
		if l.Label.ID == id {
			return &l.View.Common
		}
	}
	return &views.Common{}
}
