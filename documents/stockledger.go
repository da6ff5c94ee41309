package documents

import (
	"fmt"
	"io"
	"strings"

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
		g.row(lot.name(v), v.or(lot.Lot), v.dayOr(lot.Expires), fmt.Sprint(lot.Opening), fmt.Sprint(lot.In), fmt.Sprint(lot.Out), fmt.Sprint(lot.Closing))
	}
	f.y += 3
	for _, lot := range l.Lots {
		f.ledgerLot(lot)
	}
	f.small(v.Say("ledger.note"))
	return f.done()
}

func (lot LedgerLot) name(v voice) string { return v.product(lot.Product, lot.Size) }

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
	g := f.grid([]gridColumn{
		{"ledger.day", 0.14, false}, {"ledger.what", 0.24, false}, {"ledger.units", 0.1, true}, {"ledger.balance", 0.12, true}, {"ledger.remark", 0.4, false},
	})
	g.row(day(quantity.Date{}), f.Say("ledger.opening"), "", fmt.Sprint(lot.Opening), "")
	for _, m := range lot.Moves {
		g.row(f.dayOr(m.Day), f.Say("ledger.sort."+m.Sort), fmt.Sprintf("%+d", m.Units), fmt.Sprint(m.Balance), m.Note)
	}
	g.sum(f.Say("ledger.closing"), "", "", fmt.Sprint(lot.Closing), "")
	f.y += 2
}

// storeLog is what the log of the store showed.
func (f *folio) storeLog(lot LedgerLot) string {
	if lot.Coldest == nil || lot.Warmest == nil {
		return f.or("")
	}
	return f.Say("value.range", why.T("low", lot.Coldest.Text(f.style)), why.T("high", lot.Warmest.Text(f.style)))
}
