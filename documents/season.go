package documents

import (
	"fmt"
	"io"
	"strings"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/words"
)

// SeasonLetter tells a client which trees come up again, and asks for leave to look
// at them. It promises no result and no treatment.
type SeasonLetter struct {
	Firm, To Party
	Date     quantity.Date
	Grounds  string
	Season   string // "spring 2027": the office's words
	Answer   quantity.Date
	Trees    []SeasonTree
	Text     []string // the office's own paragraphs
	Signed   string
}

// SeasonTree is a tree that was treated before. Next is the first day on which the
// label and the plan allow the next treatment; zero where nobody worked it out.
type SeasonTree struct {
	Tag, Species, Product string
	Fictional             bool
	Last, Next            quantity.Date
	Seen                  string // what was seen last: the office's words
}

// Print writes the letter.
func (l SeasonLetter) Print(w io.Writer, p *words.Printer, paper Paper) error {
	v := voice{p, p.Lang, p.Style}
	if len(l.Trees) == 0 {
		return fmt.Errorf("season letter to %.40q: trees: none: want at least one", l.To.Name)
	}
	return printPages(w, l.pages(v, paper), paper, fileTitle(v, "season.title", "", l.Date), v.lang, l.Date)
}

func (l SeasonLetter) pages(v voice, paper Paper) []*page {
	foot := strings.Trim(strings.Join([]string{l.Firm.Name, l.Firm.Phone}, "  ·  "), " ·")
	f := newFolio(v, paper, heading{
		title: v.or(l.Firm.Name), under: l.Firm.lines(v)[min(1, len(l.Firm.lines(v))):], right: day(l.Date),
		short: strings.Join([]string{l.Firm.Name, v.Say("season.title"), day(l.Date)}, "  ·  "),
	}, foot)
	f.size = 11
	f.y += 10
	f.y = f.flowAt(margin, f.y, f.inner()*0.6, f.size, plain, Party{Name: l.To.Name, Address: l.To.Address}.lines(v)) + 12
	f.para(v.Say("season.subject", why.T("grounds", v.or(l.Grounds)), why.T("season", v.or(l.Season))), bold)
	f.y += 3
	greeting := v.Say("season.greeting_all")
	if name := strings.TrimSpace(l.To.Name); name != "" {
		greeting = v.Say("season.greeting", why.T("name", name))
	}
	f.para(greeting, plain)
	f.y += 2
	f.say("season.opening")
	f.y += 1
	invented := f.seasonTrees(l.Trees)
	f.fictional(invented)
	if l.Answer.IsZero() {
		f.say("season.ask")
	} else {
		f.say("season.ask_by", why.T("day", day(l.Answer)))
	}
	f.y += 1
	f.say("season.look_first")
	for _, s := range l.Text {
		f.y += 1
		f.para(s, plain)
	}
	f.y += 1
	f.say("season.watch")
	f.y += 4
	f.need(26)
	f.say("season.close")
	f.y += 12
	f.para(v.or(l.Signed), plain)
	if l.Signed != l.Firm.Name {
		f.para(v.or(l.Firm.Name), plain)
	}
	f.y += 4
	f.section("season.reply", handsHeight+20)
	for _, key := range []string{"season.reply.yes", "season.reply.no", "season.reply.call"} {
		f.bullet("☐", f.Say(key))
	}
	f.hands("season.reply.name", "season.reply.sign", "season.reply.day")
	return f.done()
}

// seasonTrees is the table of trees; it tells whether a product is invented.
func (f *folio) seasonTrees(trees []SeasonTree) (invented bool) {
	g := f.grid([]gridColumn{
		{"season.tree", 0.12, false}, {"season.species", 0.24, false}, {"season.product", 0.2, false},
		{"season.last", 0.13, false}, {"season.next", 0.14, false}, {"season.seen", 0.17, false},
	})
	g.size = 10
	for _, t := range trees {
		next := f.Say("season.next_open")
		if !t.Next.IsZero() {
			next = day(t.Next)
		}
		g.row(f.or(t.Tag), f.or(t.Species), f.or(t.Product), f.dayOr(t.Last), next, orDash(t.Seen))
		invented = invented || t.Fictional
	}
	f.y += 3
	return invented
}
