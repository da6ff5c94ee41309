package documents

import (
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/words"
)

// StockLedger is what came into the store, what went out and what is there, lot by
// lot, over a time. Balances and sums come in.
type StockLedger struct {
	Firm           Party
	From, To, Date quantity.Date
	Lots           []LedgerLot
}

// LedgerLot is one lot over that time.
type LedgerLot struct {
	Product, RegNo, Lot string
	Fictional           bool
	Size                quantity.Volume
	Expires             quantity.Date
	Supplier, Store     string
	Coldest, Warmest    *quantity.Temperature // what the store's log showed; nil: no log
	Opening, Closing    int                   // units there before and after
	In, Out             int                   // in that time
	Moves               []LedgerMove
	Expired             bool            // before the last of these days was over
	Beyond              []LedgerReading // of the store's log, out of the label's range
	Changes             []LedgerChange  // what was corrected, oldest first
}

// LedgerReading is a reading of the store's log and the limit of the label on that side.
type LedgerReading struct{ Logged, Limit quantity.Temperature }

// LedgerChange is a correction of what somebody wrote down of a lot: what stands now,
// what stood before, who corrected it, when and why.
type LedgerChange struct {
	Move          int    // which of the moves it corrects, from 1; 0: the lot itself, or a move of other days or lots
	Field         string // in the reader's words; empty: there are no words for what was changed
	Before, After string
	By, Why       string
	At            time.Time
}

// LedgerMove is one change. Sort is one of "received", "returned", "discarded",
// "sold", "counted", "visit"; Units is what came (above 0) or went, and for a count
// the difference it brought to light.
type LedgerMove struct {
	Day     quantity.Date
	Sort    string
	Units   int
	Balance int
	Note    string
	Late    bool // units used after the last good day of their lot
}

// Print writes the ledger: all lots in one table, then each with its movements.
func (l StockLedger) Print(w io.Writer, p *words.Printer, paper Paper) error {
	v := voice{p, p.Lang, p.Style}
	if err := l.check(); err != nil {
		return fmt.Errorf("stock ledger: %w", err)
	}
	return printPages(w, l.pages(v, paper), paper, fileTitle(v, "ledger.title", "", l.Date), v.lang, l.Date)
}

func (l StockLedger) check() error {
	for i, lot := range l.Lots {
		if err := checkCounts(fmt.Sprintf("lots[%d] (%.40q).", i, lot.Lot), "in", lot.In, "out", lot.Out); err != nil {
			return err
		}
		for j, m := range lot.Moves {
			switch m.Sort {
			case "received", "returned", "discarded", "sold", "counted", "visit":
			default:
				return fmt.Errorf(`lots[%d].moves[%d].sort: %q: want "received", "returned", "discarded", "sold", "counted" or "visit"`, i, j, m.Sort)
			}
		}
	}
	return nil
}

func (l StockLedger) pages(v voice, paper Paper) []*page {
	f := sheetPaper(v, paper, "ledger.title", "", l.Firm, l.Date, v.Say("ledger.foot"))
	f.para(v.Say("ledger.period", why.T("from", v.dayOr(l.From)), why.T("to", v.dayOr(l.To))), bold)
	invented := false
	for _, lot := range l.Lots {
		invented = invented || lot.Fictional
	}
	f.fictional(invented)
	f.section("ledger.all", 20)
	if len(l.Lots) == 0 {
		f.say("ledger.none")
		return f.done()
	}
	g := f.grid([]gridColumn{
		{"ledger.product", 0.3, false}, {"ledger.lot", 0.18, false}, {"ledger.expires", 0.14, false},
		{"ledger.opening", 0.1, true}, {"ledger.in", 0.09, true}, {"ledger.out", 0.09, true}, {"ledger.closing", 0.1, true},
	})
	for _, lot := range l.Lots {
		g.row(lot.name(v), lot.marked(v), lot.lastDay(v), fmt.Sprint(lot.Opening), fmt.Sprint(lot.In), fmt.Sprint(lot.Out), fmt.Sprint(lot.Closing))
	}
	f.y += 3
	for _, lot := range l.Lots {
		if len(lot.Moves) > 10 { // such a table may go over the end of a page
			f.ledgerLot(lot)
			continue
		}
		f.whole(func(f *folio) { f.ledgerLot(lot) })
	}
	f.small(v.Say("ledger.note"))
	return f.done()
}

func (lot LedgerLot) name(v voice) string { return v.product(lot.Product, lot.Size) }

// marked is the lot's number, and in words that the store's log speaks against it.
func (lot LedgerLot) marked(v voice) string {
	if len(lot.Beyond) == 0 {
		return v.or(lot.Lot)
	}
	return v.or(lot.Lot) + " – " + v.Say("ledger.beyond.short")
}

// lastDay is the last good day, and in words that it is over.
func (lot LedgerLot) lastDay(v voice) string {
	if !lot.Expired {
		return v.dayOr(lot.Expires)
	}
	return v.dayOr(lot.Expires) + " – " + v.Say("ledger.expired.short")
}

// against is what speaks against a lot, in sentences.
func (f *folio) against(lot LedgerLot) {
	if lot.Expired {
		f.framed(f.size, bold, f.Say("ledger.expired", why.T("expires", f.dayOr(lot.Expires))))
	}
	for _, r := range lot.Beyond {
		f.framed(f.size, bold, f.Say("ledger.beyond", why.T("temperature", r.Logged), why.T("storage_limit", r.Limit)))
	}
}

// ledgerLot is a lot with its movements.
func (f *folio) ledgerLot(lot LedgerLot) {
	f.need(40)
	f.y = f.title(margin, f.y+1, f.inner(), f.Say("ledger.lot_of", why.T("lot", f.or(lot.Lot)), why.T("product", lot.name(f.voice)))) + 0.6
	var facts []string
	for _, k := range []struct{ key, value string }{
		{"ledger.fact.reg_no", f.or(lot.RegNo)}, {"ledger.fact.expires", f.dayOr(lot.Expires)}, {"ledger.fact.supplier", f.or(lot.Supplier)},
		{"ledger.fact.store", f.or(lot.Store)}, {"ledger.fact.air", f.storeLog(lot)},
	} {
		facts = append(facts, f.Say(k.key, why.T("value", k.value)))
	}
	f.para(strings.Join(facts, "  ·  "), plain)
	f.against(lot)
	g := f.grid([]gridColumn{
		{"ledger.day", 0.14, false}, {"ledger.what", 0.24, false}, {"ledger.units", 0.1, true}, {"ledger.balance", 0.12, true}, {"ledger.remark", 0.4, false},
	})
	g.row(day(quantity.Date{}), f.Say("ledger.opening"), "", fmt.Sprint(lot.Opening), "")
	for i, m := range lot.Moves {
		what := strings.TrimSpace(f.Say("ledger.sort."+m.Sort) + " " + lot.marks(i+1))
		note := m.Note
		if m.Late {
			note = strings.TrimPrefix(note+"; "+f.Say("ledger.late"), "; ")
		}
		g.row(f.dayOr(m.Day), what, fmt.Sprintf("%+d", m.Units), fmt.Sprint(m.Balance), note)
	}
	g.sum(f.Say("ledger.closing"), "", "", fmt.Sprint(lot.Closing), "")
	f.y += 2
	f.changes(lot)
}

// marks are those of the corrections of a move, such as [2] for the second.
func (lot LedgerLot) marks(move int) string {
	var marks []string
	for i, c := range lot.Changes {
		if c.Move == move {
			marks = append(marks, "["+strconv.Itoa(i+1)+"]")
		}
	}
	return strings.Join(marks, " ")
}

// changes tells what was corrected, openly.
func (f *folio) changes(lot LedgerLot) {
	if len(lot.Changes) == 0 {
		return
	}
	f.need(3 * leading(f.size))
	f.para(f.Say("paper.part.amendments"), bold)
	for i, c := range lot.Changes {
		at, _ := clock(c.At.Format(time.RFC3339))
		by := []why.Term{why.T("by", f.or(c.By)), why.T("at", at), why.T("why", f.or(c.Why))}
		said := f.Say("ledger.amended", by...)
		if c.Field != "" {
			said = f.Say("paper.amended", append(by, why.T("field", c.Field), why.T("before", f.or(c.Before)), why.T("after", f.or(c.After)))...)
		}
		f.bullet("["+strconv.Itoa(i+1)+"]", said)
	}
	f.y += 1
}

// storeLog is what the log of the store showed.
func (f *folio) storeLog(lot LedgerLot) string {
	if lot.Coldest == nil || lot.Warmest == nil {
		return f.or("")
	}
	return f.Say("value.range", why.T("low", lot.Coldest.Text(f.style)), why.T("high", lot.Warmest.Text(f.style)))
}
