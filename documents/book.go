package documents

import (
	"errors"
	"fmt"
	"io"
	"iter"
	"strings"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/records"
	"sapwell/words"
)

// Book is a record book: the records of a period, one after another, with a list of
// them at the end and a bookmark for each day.
type Book struct {
	Firm     string
	From, To quantity.Date
	Profiles []string // by which the records are held
	Made     quantity.Date
	// Progress is told how many records are written, now and then and at the end;
	// nil: nobody is told.
	Progress func(done int)
}

// RecordBook writes the book while it reads the records, which it neither sorts nor
// keeps: of each only its line in the list at the end, because the page it stands on
// is known only when it is there.
//
// Where all ends with an error, the file is not finished, and the error is returned.
func RecordBook(w io.Writer, b Book, all iter.Seq2[records.Record, error], p *words.Printer, paper Paper) error {
	v := voice{p, p.Lang, p.Style}
	if err := b.check(); err != nil {
		return fmt.Errorf("record book: %w", err)
	}
	title := strings.Join([]string{v.Say("paper.book.title"), b.Firm, day(b.From), "–", day(b.To)}, " ")
	pdf, err := newPress(w, paper, title, v.lang, b.Made)
	if err != nil {
		return err
	}
	pdf.addAll(coverPages(b, v, paper))
	list, err := b.records(pdf, all, v, paper)
	if err != nil {
		return fmt.Errorf("record book: %w", err)
	}
	pdf.marks = append(pdf.marks, bookmark{v.Say("paper.book.list.title"), len(pdf.pages)})
	pdf.addAll(listPages(b, list, v, paper, len(pdf.pages)+1))
	if b.Progress != nil {
		b.Progress(len(list))
	}
	return pdf.close()
}

func (b Book) check() error {
	switch {
	case b.From.IsZero() || b.To.IsZero():
		return errors.New("from, to: want both days of the period")
	case b.To.Before(b.From):
		return fmt.Errorf("to: %v lies before from, %v: want that day or a later one", b.To, b.From)
	}
	return knownProfiles(b.Profiles)
}

// bookLine is a record in the list at the end.
type bookLine struct {
	page  int
	texts [5]string // day, client, tree, product, lot
}

// between two calls of Progress lie so many records.
const between = 100

// laid is a record ready to be painted, or why there is none.
type laid struct {
	pages []*page
	line  bookLine
	err   error
}

// records paints one record while the next is laid out: half the time on two cores.
func (b Book) records(pdf *press, all iter.Seq2[records.Record, error], v voice, paper Paper) ([]bookLine, error) {
	ahead, stop := make(chan laid, 16), make(chan struct{})
	go b.layOut(all, v, paper, len(pdf.pages)+1, ahead, stop)
	defer func() { // nobody reads the records any more once this has returned
		close(stop)
		for range ahead {
		}
	}()
	var list []bookLine
	for l := range ahead {
		if l.err != nil {
			return nil, fmt.Errorf("after %d records: %w", len(list), l.err)
		}
		if n := len(list); n == 0 || list[n-1].texts[0] != l.line.texts[0] {
			pdf.marks = append(pdf.marks, bookmark{l.line.texts[0], len(pdf.pages)})
		}
		pdf.addAll(l.pages)
		if pdf.err != nil {
			return nil, fmt.Errorf("writing the PDF: %w", pdf.err)
		}
		list = append(list, l.line)
		if b.Progress != nil && len(list)%between == 0 {
			b.Progress(len(list))
		}
	}
	return list, nil
}

// layOut lays the records out, the first on page first, until there are no more, one
// is an error, or stop is closed.
func (b Book) layOut(all iter.Seq2[records.Record, error], v voice, paper Paper, first int, ahead chan<- laid, stop <-chan struct{}) {
	defer close(ahead)
	for r, err := range all {
		l := laid{err: err}
		if err == nil {
			l.pages = treatmentPages(r, b.Profiles, v, paper, first)
			l.line = bookLine{first, [5]string{
				v.or(r.Text("date")), v.or(r.Text("client.name")), v.or(r.Text("tree.id")), v.or(r.Text("product.name")), v.or(r.Text("product.lot")),
			}}
			first += len(l.pages)
		}
		select {
		case ahead <- l:
		case <-stop:
			return
		}
		if err != nil {
			return
		}
	}
}

// coverPages say what the book holds and by what it is held.
func coverPages(b Book, v voice, paper Paper) []*page {
	f := newFolio(v, paper, heading{
		title: v.Say("paper.book.title"), under: []string{v.or(b.Firm)},
		right: day(b.From) + " – " + day(b.To), small: []string{v.Say("paper.book.made", why.T("day", v.dayOr(b.Made)))},
		short: v.Say("paper.book.title"),
	}, v.Say("paper.foot"))
	f.size = 12
	f.say("paper.book.holds", why.T("from", day(b.From)), why.T("to", day(b.To)))
	f.say("paper.book.list")
	f.say("paper.book.gaps")
	f.section("paper.book.profiles", 10)
	for _, p := range records.Profiles() {
		for _, id := range b.Profiles {
			if id == p.ID {
				f.bullet("•", f.Say("paper.book.profile", why.T("name", p.Name), why.T("day", p.CheckedOn)))
			}
		}
	}
	f.say("paper.no_advice")
	return f.done()
}

// listPages is the list of the records with the page each begins on.
func listPages(b Book, list []bookLine, v voice, paper Paper, first int) []*page {
	title := v.Say("paper.book.list.title")
	f := newFolio(v, paper, heading{title: title, under: []string{v.or(b.Firm)}, right: day(b.From) + " – " + day(b.To),
		small: []string{v.Say("paper.book.count", why.T("n", len(list)))}, short: title}, v.Say("paper.foot"))
	f.first = first
	g := f.grid([]gridColumn{{"paper.page.head", 0.08, true}, {"field.date", 0.13, false}, {"field.client.name", 0.26, false},
		{"field.tree.id", 0.17, false}, {"field.product.name", 0.22, false}, {"field.product.lot", 0.14, false}})
	for _, l := range list {
		g.row(append([]string{fmt.Sprint(l.page)}, l.texts[:]...)...)
	}
	return f.done()
}
