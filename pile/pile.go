// Package pile answers: which papers does the work of these days need, and what do
// they say?
//
// It looks at one organisation at one moment and hands every paper and file to
// whoever keeps them. What stands on a paper is decided in documents; here it is only
// brought together: which visits, which trees, which lots.
package pile

import (
	"fmt"
	"io"
	"iter"
	"strings"
	"time"

	"sapwell/documents"
	"sapwell/engine/label"
	"sapwell/engine/price"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/entries"
	"sapwell/gather"
	"sapwell/journal"
	"sapwell/records"
	"sapwell/views"
	"sapwell/words"
)

// Reader is what it looks at.
type Reader interface {
	gather.Reader
	Entries(s entries.Subject) ([]journal.Entry, error)
}

// Wanted says which papers.
type Wanted struct {
	From, To quantity.Date // days of the work, both included; zero: open
	Now      time.Time
	Paper    documents.Paper
	Say      *words.Printer
	Prices   *Prices // nil: nothing is priced
	// All writes a contract and a sign too where no profile of the place asks them, and
	// letters on trees that come up later than next year.
	All bool
	// Skipped is told, in a sentence, which paper cannot be made and why; nil: nobody is.
	Skipped func(sentence string)
	// Progress is told how many visits were read; nil: nobody is told.
	Progress func(visits int)
}

// Prices is what a firm asks for its work.
type Prices struct {
	Currency  string         `json:"currency"` // ISO 4217
	List      price.List     `json:"list"`
	Options   []price.Option `json:"options,omitempty"`
	HoldsDays int            `json:"holds_days,omitempty"` // a quote holds so long
	Remarks   []string       `json:"remarks,omitempty"`
}

// Put keeps a paper under a name with / between folders.
type Put func(name string, write func(io.Writer) error) error

// Write makes the pile. Where nothing was done and nothing is planned it makes
// nothing and says so by an error.
func Write(from Reader, org journal.ID, want Wanted, put Put) error {
	g, err := gather.New(from, org, want.Now)
	if err != nil {
		return err
	}
	p := blank(from, g, want, put)
	p.firm = documents.Party{Name: g.Org.Facts.Name, Address: told(&g.Org.Common, "business.address"), Phone: g.Org.Facts.Phone, RegNo: g.Org.Facts.RegNo}
	for _, part := range []func() error{p.visits, p.waste, p.ahead, p.stock, p.book, p.files, p.season} {
		if err := part(); err != nil {
			return err
		}
	}
	return nil
}

// pile is one on its way.
type pile struct {
	Wanted
	from           Reader
	g              *gather.Gatherer
	put            Put
	names, skipped map[string]bool
	firm           documents.Party

	posted []records.Record       // with a sign
	labels map[string]label.Label // the newest, by name
	called map[journal.ID]string  // visits, see visitNamed
	seen   int                    // visits

	visited map[journal.ID]bool
}

func blank(from Reader, g *gather.Gatherer, want Wanted, put Put) *pile {
	return &pile{
		Wanted: want, from: from, g: g, put: put, names: map[string]bool{}, skipped: map[string]bool{}, labels: map[string]label.Label{}, called: map[journal.ID]string{}, visited: map[journal.ID]bool{},
	}
}

// skip tells of a paper that cannot be made, once.
func (p *pile) skip(key string, terms ...why.Term) {
	text := p.Say.Say(key, terms...)
	if p.Skipped != nil && !p.skipped[text] {
		p.skipped[text] = true
		p.Skipped(text)
	}
}

// told is a fact for the record that nothing else tells.
func told(c *views.Common, field records.Field) string { return c.Told[string(field)].Text }

// name makes a name that no other paper has, of what every file system takes.
func (p *pile) name(folder, ending string, parts ...string) string {
	plain := strings.Map(func(r rune) rune {
		if r < 0x80 && (r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || strings.ContainsRune("-_.", r)) {
			return r
		}
		return '_'
	}, strings.Join(parts, "-"))
	base := folder + plain[:min(len(plain), 100)]
	name := base + ending
	for n := 2; p.names[strings.ToLower(name)]; n++ { // many file systems do not tell A from a
		name = fmt.Sprintf("%s-%d%s", base, n, ending)
	}
	p.names[strings.ToLower(name)] = true
	return name
}

// records are those of all closed visits, by day, read as they are asked for.
func (p *pile) records() iter.Seq2[records.Record, error] {
	return func(yield func(records.Record, error) bool) {
		for visit, err := range p.g.Visits(p.From, p.To, false) {
			var f records.Facts
			if err == nil {
				f, err = p.g.Facts(visit)
			}
			if err != nil {
				yield(records.Record{}, err)
				return
			}
			for _, r := range records.Of(f) {
				if !yield(r, nil) {
					return
				}
			}
		}
	}
}

// book is the record book. Where no visit was closed there is none.
func (p *pile) book() error {
	if p.seen == 0 {
		return nil
	}
	from, to := p.days()
	b := documents.Book{Firm: p.firm.Name, From: from, To: to, Profiles: p.profiles(), Made: p.g.Today}
	return p.put("record-book.pdf", func(w io.Writer) error {
		return documents.RecordBook(w, b, p.records(), p.Say, p.Paper)
	})
}

// profiles are those of the place where the firm is.
func (p *pile) profiles() []string {
	return records.Choose(p.g.Org.Facts.Country, p.g.Org.Facts.Region)
}

// days are the days that are meant: where nobody said, from the first closed visit to
// today.
func (p *pile) days() (from, to quantity.Date) {
	from, to = p.From, p.To
	if to.IsZero() {
		to = p.g.Today
	}
	if to.Before(from) { // days that are still to come
		to = from
	}
	if from.IsZero() {
		from = to
		for visit, err := range p.g.Visits(quantity.Date{}, quantity.Date{}, false) {
			if err == nil && visit.Facts.Day.Before(from) {
				from = visit.Facts.Day
			}
			break
		}
	}
	return from, to
}
