package pile

import (
	"cmp"
	"fmt"
	"slices"

	"sapwell/documents"
	"sapwell/engine/label"
	"sapwell/engine/price"
	"sapwell/engine/quantity"
	"sapwell/engine/stock"
	"sapwell/engine/why"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

func (p *pile) ledgerLot(lot *views.Lot, from, to quantity.Date) (documents.LedgerLot, error) {
	label, err := p.labelNamed(lot.Facts.Label)
	if err != nil {
		return documents.LedgerLot{}, err
	}
	l := documents.LedgerLot{
		Product: cmp.Or(label.Product.Name, lot.Facts.Label), RegNo: label.Product.RegNo, Lot: lot.Facts.Number, Fictional: label.Fictional,
		Size: quantity.Volume(lot.Facts.Size), Expires: lot.Facts.Expires, Supplier: lot.Facts.Supplier,
	}
	l.Coldest, l.Warmest = temperature(lot.Facts.Coldest), temperature(lot.Facts.Warmest)
	p.against(&l, label.Storage, to)
	s := entries.Subject{Kind: entries.OfLot, ID: lot.ID}
	es, err := p.from.Entries(s)
	if err != nil {
		return l, err
	}
	book := ledger{pile: p, lot: &l, id: ownID(lot.ID), from: from, to: to, drawn: map[journal.ID]int{}, counted: map[journal.ID]bool{}, at: map[journal.ID]int{}}
	return l, book.fold(views.Spoken(s, inPlace(es)))
}

func temperature(mk *int64) *quantity.Temperature {
	if mk == nil {
		return nil
	}
	t := quantity.Temperature(float64(*mk) / 1000) // kelvin
	return &t
}

// against marks a lot that the days or the store's log have spoilt, as it stood at the
// end of these days.
func (p *pile) against(l *documents.LedgerLot, s label.Storage, to quantity.Date) {
	if p.g.Today.Before(to) {
		to = p.g.Today
	}
	for _, f := range stock.Check(stock.Lot{ID: l.Lot, Expires: l.Expires, Coldest: l.Coldest, Warmest: l.Warmest}, s, to) {
		switch f.Code {
		case "lot.expired":
			l.Expired = true
		case "lot.storage_out_of_range":
			l.Beyond = append(l.Beyond, documents.LedgerReading{Logged: degrees(f, "temperature"), Limit: degrees(f, "storage_limit")})
		}
	}
}

func degrees(f why.Finding, name string) quantity.Temperature {
	i := slices.IndexFunc(f.Terms, func(t why.Term) bool { return t.Name == name })
	if i < 0 {
		return 0
	}
	t, _ := f.Terms[i].Value.(quantity.Temperature)
	return t
}

// inPlace are entries that come in the order of their places, as items in that order.
// What is of a newer program is left out: the views know nothing of it either.
func inPlace(es []journal.Entry) (items []views.Item) {
	last := int64(0)
	for i, e := range es {
		read, err := entries.Read(e)
		if err != nil {
			continue
		}
		last = max(last, read.Time) // a clock that was set back does not change the order
		items = append(items, views.Item{Entry: read, Place: views.Place{Time: last, Seq: int64(i + 1)}})
	}
	return items
}

// ledger folds the movements of a lot as its view does (the last tally of a visit
// replaces those before it, a count settles what came before it, an amended entry
// counts as amended) and notes what falls into the days, and every correction.
type ledger struct {
	*pile
	lot      *documents.LedgerLot
	id       journal.ID
	from, to quantity.Date
	balance  int
	drawn    map[journal.ID]int  // by visit
	counted  map[journal.ID]bool // visits
	at       map[journal.ID]int  // entries, and which of the moves they are, from 1
}

func (b *ledger) fold(spoken []entries.Entry) error {
	for _, e := range spoken {
		m, ok, err := b.move(e)
		if err != nil {
			return err
		}
		if ok {
			b.note(e.ID, m)
		}
	}
	b.lot.Closing = b.lot.Opening + b.lot.In - b.lot.Out
	for _, e := range spoken {
		if a, ok := e.Body.(entries.Amendment); ok {
			if err := b.amended(e, a); err != nil {
				return err
			}
		}
	}
	return nil
}

// move is what an entry changes; ok is false where it moves nothing.
func (b *ledger) move(e entries.Entry) (m documents.LedgerMove, ok bool, err error) {
	m.Day = quantity.DateOf(timeOf(e.When(), "").In(b.g.Zone))
	switch body := e.Body.(type) {
	case entries.Stock:
		b.stock(&m, body)
	case entries.Tally:
		b.tally(&m, body)
		m.Note, err = b.visitNamed(body.Visit)
	default:
		return m, false, nil
	}
	return m, true, err
}

func (b *ledger) stock(m *documents.LedgerMove, s entries.Stock) {
	m.Sort, m.Note = s.Sort, s.Note
	switch s.Sort {
	case "counted":
		m.Units = s.Units - b.balance
		for visit := range b.drawn { // what they took is in the count
			b.counted[visit] = true
		}
	case "discarded", "sold":
		m.Units = -max(s.Units, -s.Units)
	default:
		m.Units = s.Units
	}
	b.lot.Store = cmp.Or(s.Store, b.lot.Store)
}

func (b *ledger) tally(m *documents.LedgerMove, t entries.Tally) {
	gone := 0
	for _, lot := range t.Lots {
		if lot.Lot == b.id {
			gone += lot.Taken - lot.Unused
		}
	}
	m.Sort, m.Units = "visit", b.drawn[t.Visit]-gone
	b.drawn[t.Visit] = gone
	if b.counted[t.Visit] {
		m.Units = 0
	}
	m.Late = m.Units < 0 && !b.lot.Expires.IsZero() && m.Day.After(b.lot.Expires)
}

// note takes a move into the balance and, if it falls into the days, onto the paper.
func (b *ledger) note(id journal.ID, m documents.LedgerMove) {
	b.balance += m.Units
	m.Balance = b.balance
	switch {
	case m.Day.Before(b.from):
		b.lot.Opening += m.Units
	case !m.Day.After(b.to):
		b.lot.Moves = append(b.lot.Moves, m)
		b.at[id] = len(b.lot.Moves)
		b.lot.In, b.lot.Out = b.lot.In+max(m.Units, 0), b.lot.Out+max(-m.Units, 0)
	}
}

// visitNamed is a visit as a person knows it: its day and place. Many lots and tallies
// ask for the same.
func (p *pile) visitNamed(id journal.ID) (name string, err error) {
	if name, ok := p.called[id]; ok {
		return name, nil
	}
	defer func() { p.called[id] = name }()
	v, err := gatherView[*views.Visit](p, entries.OfVisit, id)
	if err != nil || v == nil {
		return "", err
	}
	g, err := gatherView[*views.Grounds](p, entries.OfGrounds, v.Facts.Grounds)
	if err != nil || g == nil {
		return "", err
	}
	return p.Say.Say("pile.visit", why.T("date", v.Facts.Day), why.T("name", g.Facts.Name)), nil
}

// amended notes what an amendment changed of this lot, a line for each member.
func (b *ledger) amended(e entries.Entry, a entries.Amendment) error {
	c := documents.LedgerChange{Move: b.at[a.Of], Why: a.Why, At: timeOf(e.When(), "").In(b.g.Zone)}
	who, err := gatherView[*views.Person](b.pile, entries.OfPerson, a.By)
	if err != nil {
		return err
	}
	if who != nil {
		c.By = who.Facts.Name
	}
	before, errBefore := entries.ReadBody(a.OfKind, a.Before)
	after, errAfter := entries.ReadBody(a.OfKind, a.After)
	told := len(b.lot.Changes)
	if errBefore == nil && errAfter == nil {
		was, err := b.members(before)
		if err != nil {
			return err
		}
		is, err := b.members(after)
		if err != nil {
			return err
		}
		for i := range min(len(was), len(is)) {
			if was[i] != is[i] {
				c.Field, c.Before, c.After = b.Say.Say("ledger.field."+is[i].key), was[i].text, is[i].text
				b.lot.Changes = append(b.lot.Changes, c)
			}
		}
	}
	if len(b.lot.Changes) == told {
		b.lot.Changes = append(b.lot.Changes, c)
	}
	return nil
}

// member is what an entry says of a lot, in the reader's words.
type member struct{ key, text string }

// members are what a body says of this lot; of a body of one kind always the same keys.
func (b *ledger) members(body entries.Body) ([]member, error) {
	at := ""
	if ms := body.Said().At; ms != 0 {
		at = timeOf(ms, "").In(b.g.Zone).Format("2006-01-02 15:04")
	}
	switch m := body.(type) {
	case entries.Stock:
		lot, err := b.lotNumber(m.Lot)
		return []member{{"lot", lot}, {"sort", b.Say.Say("ledger.sort." + m.Sort)}, {"units", fmt.Sprint(m.Units)}, {"store", m.Store}, {"paid", b.paid(m)}, {"note", m.Note}, {"at", at}}, err
	case entries.Tally:
		of := entries.TallyLot{}
		for _, lot := range m.Lots {
			if lot.Lot == b.id {
				of.Taken, of.Seated, of.Lifted = of.Taken+lot.Taken, of.Seated+lot.Seated, of.Lifted+lot.Lifted
				of.Lost, of.Broken, of.Unused = of.Lost+lot.Lost, of.Broken+lot.Broken, of.Unused+lot.Unused
			}
		}
		visit, err := b.visitNamed(m.Visit)
		return []member{{"visit", visit}, {"taken", fmt.Sprint(of.Taken)}, {"seated", fmt.Sprint(of.Seated)}, {"lifted", fmt.Sprint(of.Lifted)},
			{"lost", fmt.Sprint(of.Lost)}, {"broken", fmt.Sprint(of.Broken)}, {"unused", fmt.Sprint(of.Unused)}, {"note", m.Note}, {"at", at}}, err
	case entries.Lot:
		return []member{{"label", m.Label}, {"lot", m.Number}, {"size", quantity.Volume(m.Size).Text(b.Say.Style)}, {"expires", dayText(m.Expires)}, {"supplier", m.Supplier},
			{"coldest", b.degreesText(m.Coldest)}, {"warmest", b.degreesText(m.Warmest)}}, nil
	case entries.Note:
		return []member{{"note", m.Text}}, nil
	case entries.RecordFact:
		return []member{{"fact", m.Text}}, nil
	}
	return nil, nil
}

func (p *pile) lotNumber(id journal.ID) (string, error) {
	l, err := gatherView[*views.Lot](p, entries.OfLot, id)
	if err != nil || l == nil {
		return "", err
	}
	return l.Facts.Number, nil
}

func (p *pile) paid(s entries.Stock) string {
	if s.Cents == 0 && s.Money == "" {
		return ""
	}
	return price.Cents(s.Cents).Text(p.Say.Style) + " " + s.Money
}

func (p *pile) degreesText(mk *int64) string {
	if mk == nil {
		return ""
	}
	return temperature(mk).Text(p.Say.Style)
}

func dayText(d quantity.Date) string {
	if d.IsZero() {
		return ""
	}
	return d.String()
}
