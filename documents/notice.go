package documents

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/records"
	"sapwell/words"
)

// Notice is what a client is told after the work.
type Notice struct {
	Records  []records.Record // of one client and visit, one a tree and label
	Products []Used           // those of the records
	Date     quantity.Date    // of the notice
	// Later tells when units that are still in the trees are taken away, in the
	// firm's own words; empty where none is.
	Later string
}

// ClientNotice writes what was done, what to keep away from and for how long, what of
// the trees may not be eaten, and how to look after them.
func ClientNotice(w io.Writer, n Notice, p *words.Printer, paper Paper) error {
	v := voice{p, p.Lang, p.Style}
	if err := n.check(); err != nil {
		return fmt.Errorf("client notice: %w", err)
	}
	title := v.Say("paper.notice.title") + " " + n.Records[0].Text("client.name")
	return printPages(w, noticePages(n, v, paper), paper, title, v.lang, n.Date)
}

func noticePages(n Notice, v voice, paper Paper) []*page {
	r := n.Records[0]
	title := v.Say("paper.notice.title")
	f := newFolio(v, paper, heading{
		title: title, right: v.dayOr(n.Date), under: []string{v.or(r.Text("business.name")), v.or(r.Text("business.phone"))},
		small: []string{r.Text("client.name")}, short: title + "  ·  " + r.Text("client.name"),
	}, v.Say("paper.foot"))
	f.size = 11
	f.fictional(anyFictional(n.Products))
	f.did(n)
	f.careNow(n)
	f.careFood(n)
	f.careTree()
	f.whole(func(f *folio) {
		f.warnings(n)
		f.small(f.Say("paper.notice.ask", why.T("firm", v.or(r.Text("business.name"))), why.T("phone", v.or(r.Text("business.phone")))), f.Say("paper.notice.advice"))
	})
	return f.done()
}

func (n Notice) check() error {
	switch {
	case len(n.Records) == 0:
		return errors.New("records: none: want those of one client and visit")
	case len(n.Products) == 0:
		return errors.New("products: none: want those that were used")
	}
	client := n.Records[0].Text("client.name")
	for i, r := range n.Records {
		if other := r.Text("client.name"); other != client {
			return fmt.Errorf("records[%d].client.name: %.40q, the first is of %.40q: want one client", i, other, client)
		}
	}
	return nil
}

// did is what was done, to which trees.
func (f *folio) did(n Notice) {
	r := n.Records[0]
	if start, end := hours(n.Records); start != "" {
		r = r.With("time.start", start).With("time.end", end)
	}
	items := f.recorded(r, "client.name", "site.address", "date", "time.start", "time.end", "applicator.name", "applicator.cert_no", "method")
	f.part("paper.notice.what", items)
	for _, u := range n.Products {
		f.part("paper.notice.product", f.identity(u.Label))
	}
	f.y += 1
	g := f.grid([]gridColumn{{"field.tree.id", 0.14, false}, {"field.tree.species", 0.22, false}, {"field.target.pest", 0.2, false},
		{"field.product.name", 0.2, false}, {"field.amount.total", 0.1, true}, {"paper.notice.units", 0.14, true}})
	g.size = bodySize
	for _, r := range n.Records {
		facts := f.factsOf(r)
		cell := func(field records.Field) string { return f.recordedFact(facts, field) }
		g.row(cell("tree.id"), cell("tree.species"), cell("target.pest"), cell("product.name"), cell("amount.total"),
			cell("units.installed")+" / "+cell("units.retrieved"))
	}
	f.y += 2
}

// hours are from when to when there was work at any of the trees; empty where somebody
// did not write it down, or it went over midnight.
func hours(rs []records.Record) (start, end string) {
	for i, r := range rs {
		from, to := r.Text("time.start"), r.Text("time.end")
		if len(from) != len("15:04") || len(to) != len("15:04") || to < from || r.Text("date") != rs[0].Text("date") {
			return "", ""
		}
		if i == 0 || from < start {
			start = from
		}
		end = max(end, to)
	}
	return start, end
}

// recorded are facts of a record as items, those that are missing too.
func (v voice) recorded(r records.Record, fields ...records.Field) []item {
	facts := v.factsOf(r)
	var items []item
	for _, field := range fields {
		_, has := facts[field]
		items = append(items, item{v.fieldName(field), v.recordedFact(facts, field), !has})
	}
	return items
}

func (v voice) recordedFact(facts map[records.Field]leaf, field records.Field) string {
	if l, has := facts[field]; has {
		return v.fact(l)
	}
	return v.Say("paper.not_recorded")
}

// careNow is what to keep away from, and until when.
func (f *folio) careNow(n Notice) {
	f.section("paper.notice.now", 20)
	for _, u := range n.Products {
		f.under(n.Products, u)
		f.keepOff(u)
	}
	f.bullet("•", f.Say("paper.notice.unit"))
	if strings.TrimSpace(n.Later) != "" {
		f.bullet("•", f.Say("paper.notice.later", why.T("when", n.Later)))
	}
}

// careFood is what may not be eaten.
func (f *folio) careFood(n Notice) {
	f.section("paper.notice.food", 20)
	for _, u := range n.Products {
		f.under(n.Products, u)
		f.eaten(u)
	}
}

// careTree is how to look after a treated tree (common practice, no source).
func (f *folio) careTree() {
	f.section("paper.notice.tree", 20)
	for _, key := range []string{"paper.care.holes", "paper.care.water", "paper.care.ground", "paper.care.watch"} {
		f.bullet("•", f.Say(key))
	}
}

// warnings are the labels' statements in words.
func (f *folio) warnings(n Notice) {
	said := false
	for _, u := range n.Products {
		if len(u.Label.Statements) == 0 {
			continue
		}
		if !said {
			f.section("paper.notice.hazards", 16)
			said = true
		}
		f.under(n.Products, u)
		f.statements(u)
	}
}
