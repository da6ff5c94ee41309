package documents

import (
	"fmt"
	"io"
	"strings"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/records"
	"sapwell/words"
)

// PostingLog writes when which sign stood where: the facts of the records that tell of
// it, and empty rows to go on by hand.
func PostingLog(w io.Writer, rs []records.Record, made quantity.Date, p *words.Printer, paper Paper) error {
	v := voice{p, p.Lang, p.Style}
	if len(rs) == 0 {
		return fmt.Errorf("posting log: records: none: want at least one")
	}
	return printPages(w, postingPages(rs, made, v, paper), paper, v.Say("paper.postings.title"), v.lang, made)
}

func postingPages(rs []records.Record, made quantity.Date, v voice, paper Paper) []*page {
	title := v.Say("paper.postings.title")
	f := newFolio(v, paper, heading{
		title: title, under: []string{v.or(rs[0].Text("business.name"))}, right: v.dayOr(made),
		small: []string{v.Say("paper.book.count", why.T("n", len(rs)))}, short: title,
	}, v.Say("paper.foot"))
	f.say("paper.postings.how")
	g := f.grid([]gridColumn{{"field.date", 0.1, false}, {"field.site.location", 0.2, false}, {"field.tree.id", 0.09, false},
		{"field.marker.posted_at", 0.13, false}, {"paper.postings.size", 0.14, false}, {"field.marker.above_ground_in", 0.1, false},
		{"field.marker.stay_off_hours", 0.1, false}, {"field.marker.removed_at", 0.14, false}})
	for _, r := range rs {
		facts := f.factsOf(r)
		cell := func(field records.Field) string { return f.recordedFact(facts, field) }
		g.row(cell("date"), f.firstOf(facts, "site.address", "site.location"), cell("tree.id"), cell("marker.posted_at"), f.signSize(facts),
			cell("marker.above_ground_in"), cell("marker.stay_off_hours"), cell("marker.removed_at"))
	}
	f.y += 3
	f.emptyRows(g)
	f.small(f.Say("paper.no_advice"))
	return f.done()
}

// firstOf is the first of some facts that is there.
func (v voice) firstOf(facts map[records.Field]leaf, fields ...records.Field) string {
	for _, field := range fields {
		if l, has := facts[field]; has {
			return v.fact(l)
		}
	}
	return v.Say("paper.not_recorded")
}

// signSize is width, height and letters of a sign in one cell.
func (v voice) signSize(facts map[records.Field]leaf) string {
	w, h, l := v.recordedFact(facts, "marker.width_in"), v.recordedFact(facts, "marker.height_in"), v.recordedFact(facts, "marker.letter_height_in")
	if w == h && h == l {
		return w // nobody wrote any of it down
	}
	return strings.TrimSuffix(w, " in") + " × " + h + "; " + v.Say("paper.postings.letters", why.T("height", l))
}

// emptyRows are rows to write in, as many as the page has room for, at least a few.
func (f *folio) emptyRows(g *grid) {
	const high = 9.0
	f.need(3*high + 20)
	if g.page != f.page {
		g.heads()
	}
	top := f.y
	for f.y+high < f.bottom()-16 {
		f.y += high
		f.line(rule, point{margin, f.y}, point{f.W - margin, f.y})
	}
	x := margin
	for _, c := range g.cols[:len(g.cols)-1] {
		x += f.inner() * c.share
		f.line(fine, point{x - gridPad/2, top}, point{x - gridPad/2, f.y})
	}
	f.y += 3
}
