package documents

import (
	"fmt"
	"strings"

	"sapwell/engine/price"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// What the papers of stock and money have in common: who writes to whom, rows that
// add up, volumes with a range, money.

// Party is a firm, a client, a contractor: whoever a paper comes from or goes to.
type Party struct{ Name, Address, Phone, RegNo string }

// lines are a party as on an envelope, and below it where to call.
func (p Party) lines(v voice) []string {
	number := ""
	if strings.TrimSpace(p.RegNo) != "" {
		number = v.Say("party.reg", why.T("value", p.RegNo))
	}
	var ls []string
	for _, s := range []string{p.Name, p.Address, p.Phone, number} {
		if strings.TrimSpace(s) != "" {
			ls = append(ls, s)
		}
	}
	return ls
}

// items are a party as facts; an address that nobody wrote down is said.
func (v voice) party(p Party) []item {
	items := []item{v.needed("party.name", p.Name), v.needed("party.address", p.Address), v.needed("party.phone", p.Phone)}
	return append(items, v.known("party.reg_no", p.RegNo)...)
}

// needed is a fact that the paper shows even where nobody knows it.
func (v voice) needed(key, value string) item {
	return item{caption: v.Say(key), value: v.or(value), missing: strings.TrimSpace(value) == ""}
}

// known is a fact where somebody knows it.
func (v voice) known(key, value string) []item {
	if strings.TrimSpace(value) == "" {
		return nil
	}
	return []item{{caption: v.Say(key), value: value}}
}

// sheetPaper begins one of these papers: title and number, the firm, the day.
func sheetPaper(v voice, paper Paper, key, number string, firm Party, date quantity.Date, foot string) *folio {
	title := strings.TrimSpace(v.Say(key) + " " + number)
	return newFolio(v, paper, heading{
		title: title, under: firm.lines(v), right: day(date),
		short: strings.Join([]string{title, firm.Name, day(date)}, "  ·  "),
	}, foot)
}

// fileTitle is what the file says of itself.
func fileTitle(v voice, key, number string, date quantity.Date) string {
	return strings.Join(strings.Fields(v.Say(key)+" "+number+" "+day(date)), " ")
}

// fictional marks a paper that tells of invented products.
func (f *folio) fictional(invented bool) {
	if invented {
		f.framed(10, bold, f.Say("sheet.fictional"))
	}
}

// sum sets a row of sums, bold, under a heavy line; no text in it is long. Of the
// texts, those that are empty leave their column out.
func (g *grid) sum(texts ...string) {
	const size = bodySize
	g.need(leading(size) + 3)
	if g.page != g.folio.page {
		g.heads()
	}
	g.line(heavy, point{margin, g.y - 0.9}, point{g.W - margin, g.y - 0.9})
	g.y += 0.3
	x, base := margin, g.y+capHeight*size*mmPerPoint
	for i, c := range g.cols {
		w := g.inner() * c.share
		if c.right {
			g.putRight(x+w-2*gridPad, base, size, bold, texts[i])
		} else {
			g.put(x, base, size, bold, texts[i])
		}
		x += w
	}
	g.y += leading(size) + 1.2
}

// product is a product and the size of its units.
func (v voice) product(name string, size quantity.Volume) string {
	if size > 0 {
		return v.or(name) + " (" + millilitres(size, v.style) + ")"
	}
	return v.or(name)
}

// Boxes of a row that is filled in by hand: the text of a cell that is a box to
// tick, and of one to write a count in.
const (
	tickBox  = "tick"
	countBox = "count"
	handRow  = 9.4 // mm
)

// hand sets a row with boxes, high enough for a pencil in gloves.
func (g *grid) hand(texts ...string) {
	high, cells := handRow, make([][]string, len(g.cols))
	for i, c := range g.cols {
		if texts[i] != tickBox && texts[i] != countBox {
			cells[i] = fullWrap(texts[i], g.inner()*c.share-gridPad, g.size, plain)
			high = max(high, float64(len(cells[i]))*leading(g.size)+1.6)
		}
	}
	g.need(high)
	if g.page != g.folio.page {
		g.heads()
	}
	x := margin
	for i, c := range g.cols {
		w := g.inner() * c.share
		switch middle := g.y + high/2; {
		case texts[i] == tickBox:
			g.rect(x, middle-3.3, 6.6, 6.6, heavy, noFill)
		case texts[i] == countBox:
			g.rect(x+1, middle-3.7, w-gridPad-1, 7.4, heavy, noFill)
		default:
			g.middle(x, w, middle, c.right, cells[i])
		}
		x += w
	}
	g.y += high
	g.line(rule, point{margin, g.y}, point{g.W - margin, g.y})
}

// middle sets the lines of a cell about the middle of its row.
func (g *grid) middle(x, w, at float64, right bool, lines []string) {
	base := at - float64(len(lines)-1)*leading(g.size)/2 + capHeight*g.size*mmPerPoint/2
	for _, l := range lines {
		if right {
			g.putRight(x+w-2*gridPad, base, g.size, plain, l)
		} else {
			g.put(x, base, g.size, plain, l)
		}
		base += leading(g.size)
	}
}

// volumes is a range, or one volume where both ends are one.
func (v voice) volumes(low, high quantity.Volume) string {
	a, b := millilitres(low, v.style), millilitres(high, v.style)
	if a == b {
		return a
	}
	return v.Say("value.range", why.T("low", strings.TrimSuffix(a, " mL")), why.T("high", b))
}

// orDash keeps an empty cell of a table from looking forgotten.
func orDash(s string) string {
	if strings.TrimSpace(s) == "" {
		return "–"
	}
	return s
}

// money is an amount with its currency.
func (v voice) money(c price.Cents, currency string) string { return c.Text(v.style) + " " + currency }

// checkCounts refuses counts below zero; names and counts alternate.
func checkCounts(where string, pairs ...any) error {
	for i := 0; i < len(pairs); i += 2 {
		if n, _ := pairs[i+1].(int); n < 0 {
			return fmt.Errorf("%s%s: %d: want 0 or more", where, pairs[i], n)
		}
	}
	return nil
}
