package documents

import (
	"fmt"
	"io"
	"math"
	"strings"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// LoadOut is what goes on the truck for a day. The same list counts it back in
// at night: everything out is back, or somebody goes and looks.
type LoadOut struct {
	Date  quantity.Date
	Title string
	Lots  []LoadLot
	Short []string // sentences: what is missing
	Trees int
	Stops []StopCount // drill settings needed, with how many stems each
	Items []Item      // counted things first, then Kit
	PPE   []string    // as the labels say, each once
}

// LoadLot is one line of units.
type LoadLot struct {
	Product, Lot string
	Fictional    bool
	Size         quantity.Volume
	Units, Spare int
	Expires      quantity.Date
}

// StopCount is a setting of the drill and for how many stems it serves.
type StopCount struct {
	Bit, Stop quantity.Length
	Stems     int
}

// Item is a thing to take: Key is looked up in words under "item.<Key>", Bit is
// printed behind it where it is a matter of size, and Count 0 is a tick box only.
type Item struct {
	Key   string
	Bit   quantity.Length
	Count int
}

// Kit is what every day needs besides units, tips and bits.
func Kit() []Item {
	var items []Item
	for _, k := range []string{
		"drill", "stops", "pump", "gauge", "probe", "tape", "mallet", "marker", "timer",
		"label", "sds", "eyewash", "firstaid", "water", "disinfectant", "spill",
		"sharps", "wastebags", "seals", "sheets",
	} {
		items = append(items, Item{Key: k})
	}
	return items
}

// list lays out a load-out list, page after page.
type list struct {
	voice
	paper Paper
	name  string // title and day, on the pages after the first
	pages []*page
	*page
	y float64
}

func loadOutList(w io.Writer, l LoadOut, v voice, paper Paper) error {
	if err := l.check(); err != nil {
		return fmt.Errorf("load-out list: %w", err)
	}
	return printPages(w, loadPages(l, v, paper), paper, loadTitle(l, v), v.lang, l.Date)
}

func loadTitle(l LoadOut, v voice) string {
	title := v.Say("load.title")
	if !l.Date.IsZero() {
		title += " " + day(l.Date)
	}
	return title
}

// check refuses counts below zero; the rest of a list may be empty.
func (l LoadOut) check() error {
	for i, lot := range l.Lots {
		if lot.Units < 0 || lot.Spare < 0 {
			return fmt.Errorf("lots[%d]: %d units, %d spare: want 0 or more", i, lot.Units, lot.Spare)
		}
	}
	for i, it := range l.Items {
		if it.Count < 0 {
			return fmt.Errorf("items[%d].count: %d: want 0 or more", i, it.Count)
		}
	}
	return nil
}

func loadPages(l LoadOut, v voice, paper Paper) []*page {
	q := &list{voice: v, paper: paper, name: loadTitle(l, v)}
	q.turn(l)
	q.short(l.Short)
	q.lots(l.Lots)
	q.stops(l.Stops)
	q.things("load.items", l.Items)
	q.ppe(l.PPE)
	q.sign()
	for i, p := range q.pages {
		if len(q.pages) > 1 {
			p.putRight(p.W-margin, p.H-margin+4.4, 10, plain, fmt.Sprintf("%d / %d", i+1, len(q.pages)))
		}
	}
	return q.pages
}

// turn starts a page with the head of the list.
func (q *list) turn(l LoadOut) {
	q.page = newPage(q.paper)
	q.pages = append(q.pages, q.page)
	right, half := q.W-margin, q.inner()*0.62
	q.putFit(margin, margin+9, half, 30, 16, bold, q.Say("load.title"))
	q.putFit(margin, margin+16, half, 13, 9, plain, l.Title)
	if l.Date.IsZero() {
		q.putRight(right-45, margin+8, 12, plain, q.Say("sheet.date"))
		q.line(heavy, point{right - 43, margin + 9}, point{right, margin + 9})
	} else {
		q.putRight(right, margin+8, 18, bold, day(l.Date))
	}
	if l.Trees > 0 {
		q.putRight(right, margin+16, 13, plain, q.Say("load.trees", why.T("n", l.Trees)))
	}
	q.add(path{Pts: []point{{margin, margin + 19}, {right, margin + 19}}, Pen: 1, Ink: green})
	q.y = margin + 22
}

// need turns the page when less than h is left, and tells whether it did.
func (q *list) need(h float64) bool {
	if q.y+h <= q.H-margin {
		return false
	}
	q.page = newPage(q.paper)
	q.pages = append(q.pages, q.page)
	q.putFit(margin, margin+6, q.inner()*0.6, 16, 10, bold, q.name)
	q.add(path{Pts: []point{{margin, margin + 9}, {q.W - margin, margin + 9}}, Pen: 1, Ink: green})
	q.y = margin + 12
	return true
}

// short prints what is missing in a heavy frame before everything else.
func (q *list) short(lines []string) {
	if len(lines) == 0 {
		return
	}
	const size = 13.0
	w := q.inner() - 12
	var all []string
	for _, s := range lines {
		all = append(all, wrap("• "+s, w, size, bold)...)
	}
	high := 11 + float64(len(all))*leading(size) + 2
	if high > q.H-2*margin-25 { // a page full of shortages: leave the frame out
		q.y = q.putWrapped(margin, q.y, q.inner(), 20, bold, q.Say("load.short"))
		q.flow(all, size)
		return
	}
	q.need(high + 3)
	q.rect(margin, q.y, q.inner(), high, 1.6, noFill)
	q.putFit(margin+6, q.y+8.6, w, 20, 12, bold, q.Say("load.short"))
	q.putLines(margin+6, q.y+11, size, bold, all)
	q.y += high + 4
}

func (q *list) flow(lines []string, size float64) {
	for _, l := range lines {
		q.need(leading(size))
		q.y = q.putLines(margin, q.y, size, bold, []string{l})
	}
	q.y += 2.6
}

// column is one column of a table: its head, share of the width, and side.
type column struct {
	head  string
	share float64
	right bool
}

// heads sets the title and the column heads of a table.
func (q *list) heads(title string, cols []column) {
	q.y = q.title(margin, q.y, q.inner(), title)
	x := margin
	for _, c := range cols {
		w := q.inner() * c.share
		s := printable(c.head)
		size := fitSize(s, w-2, 9.5, 8.5, plain)
		s = shorten(s, w-2, size, plain)
		if c.right {
			q.putRight(x+w-2, q.y+3.4, size, plain, s)
		} else {
			q.put(x, q.y+3.4, size, plain, s)
		}
		x += w
	}
	q.y += 4.8
	q.line(heavy, point{margin, q.y}, point{q.W - margin, q.y})
}

const loadRow = 9.2 // mm

// cells sets the texts of a row; the boxes follow from the caller.
func (q *list) cells(cols []column, texts []string, sizes []float64) {
	x := margin
	for i, c := range cols {
		w := q.inner() * c.share
		if i < len(texts) && texts[i] != "" {
			s := printable(texts[i])
			f := plain
			if sizes[i] > 11.5 {
				f = bold
			}
			size := fitSize(s, w-2, sizes[i], 9, f)
			s = shorten(s, w-2, size, f)
			if c.right {
				q.putRight(x+w-2, q.y+6.2, size, f, s)
			} else {
				q.put(x, q.y+6.2, size, f, s)
			}
		}
		x += w
	}
	q.y += loadRow
	q.line(rule, point{margin, q.y}, point{q.W - margin, q.y})
}

// lots is the table of units: for the trees, spare, out; and to write at night
// what came back empty and full. The two must make up what went out.
func (q *list) lots(lots []LoadLot) {
	if len(lots) == 0 {
		return
	}
	cols := []column{
		{q.Say("load.product"), 0.25, false}, {q.Say("load.lot"), 0.15, false}, {q.Say("load.expires"), 0.115, false},
		{q.Say("load.for_trees"), 0.075, true}, {q.Say("load.spare"), 0.075, true}, {q.Say("load.out"), 0.08, true},
		{"", 0.055, false}, {q.Say("load.back_empty"), 0.1, false}, {q.Say("load.back_full"), 0.1, false},
	}
	sizes := []float64{0, 12, 11, 12, 12, 18}
	q.need(25)
	q.heads(q.Say("load.units"), cols)
	units, spare := 0, 0
	for _, l := range lots {
		if q.need(loadRow) {
			q.heads(q.Say("load.units"), cols)
		}
		q.writeBoxes(cols, q.y)
		q.product(l, q.inner()*cols[0].share-2)
		q.cells(cols, []string{"", l.Lot, day(l.Expires), fmt.Sprint(l.Units), fmt.Sprint(l.Spare), fmt.Sprint(l.Units + l.Spare)}, sizes)
		units, spare = units+l.Units, spare+l.Spare
	}
	q.need(loadRow)
	q.writeBoxes(cols, q.y)
	q.cells(cols, []string{q.Say("load.total"), "", "", fmt.Sprint(units), fmt.Sprint(spare), fmt.Sprint(units + spare)}, []float64{12, 0, 0, 12, 12, 18})
	q.line(heavy, point{margin, q.y}, point{q.W - margin, q.y})
	q.need(7)
	q.y = q.putWrapped(margin, q.y+1, q.inner(), 10, plain, q.Say("load.balance")) + 2
}

// product sets name over size in the first column.
func (q *list) product(l LoadLot, w float64) {
	q.putFit(margin, q.y+4, w, 11, 9, bold, l.Product)
	var more []string
	if l.Size > 0 {
		more = append(more, millilitres(l.Size, q.style))
	}
	if l.Fictional {
		more = append(more, q.Say("load.fictional"))
	}
	q.putFit(margin, q.y+8, w, 9.5, 9, plain, strings.Join(more, " · "))
}

// writeBoxes draws the tick box and the two boxes for the count back.
func (q *list) writeBoxes(cols []column, y float64) {
	x := q.W - margin
	for _, c := range cols[len(cols)-2:] {
		x -= q.inner() * c.share
	}
	tick := q.inner() * cols[len(cols)-3].share
	q.rect(x-tick+(tick-6.6)/2, y+1.3, 6.6, 6.6, heavy, noFill)
	for _, c := range cols[len(cols)-2:] {
		w := q.inner() * c.share
		q.rect(x, y+1, w-1, loadRow-2, heavy, noFill)
		x += w
	}
}

// stops is how the drills are set.
func (q *list) stops(stops []StopCount) {
	if len(stops) == 0 {
		return
	}
	cols := []column{{q.Say("load.bit"), 0.34, false}, {q.Say("load.stop"), 0.3, false}, {q.Say("load.stop_trees"), 0.2, true}, {"", 0.16, false}}
	q.need(25)
	q.heads(q.Say("load.drills"), cols)
	for _, s := range stops {
		if q.need(loadRow) {
			q.heads(q.Say("load.drills"), cols)
		}
		q.rect(q.W-margin-8, q.y+1.3, 6.6, 6.6, heavy, noFill)
		q.cells(cols, []string{bitSize(s.Bit, q.style), drill(s.Stop, q.style).String(), fmt.Sprint(s.Stems)}, []float64{14, 16, 14})
	}
	q.y += 2.6
}

// Middles of the boxes out and back, from the right edge of their column, mm.
const (
	outBox  = 17.5
	backBox = 5.5
)

// things are set in two columns: count, name, a box out and a box back.
func (q *list) things(title string, items []Item) {
	const high = 6.3
	if len(items) == 0 {
		return
	}
	w := (q.inner() - gutter) / 2
	for len(items) > 0 {
		q.need(30)
		q.itemHeads(q.Say(title), w)
		rows := min((len(items)+1)/2, max(1, int((q.H-margin-q.y)/high)))
		n := min(2*rows, len(items))
		for i, it := range items[:n] {
			q.thing(it, margin+float64(i/rows)*(w+gutter), q.y+float64(i%rows)*high, w, high)
		}
		q.y += float64(rows)*high + 3
		items = items[n:]
	}
}

func (q *list) itemHeads(title string, w float64) {
	q.y = q.title(margin, q.y, q.inner(), title)
	for _, x := range []float64{margin, margin + w + gutter} {
		q.putCentre(x+w-outBox, q.y+3.2, 9.5, plain, q.Say("load.out"))
		q.putCentre(x+w-backBox, q.y+3.2, 9.5, plain, q.Say("load.back"))
		q.line(heavy, point{x, q.y + 4.6}, point{x + w, q.y + 4.6})
	}
	q.y += 4.8
}

func (q *list) thing(it Item, x, y, w, high float64) {
	name := q.Say("item." + it.Key)
	if it.Bit > 0 {
		name += " " + bitSize(it.Bit, q.style)
	}
	base := y + 4.9
	if it.Count > 0 {
		q.putRight(x+11, base, fitSize(fmt.Sprint(it.Count), 11, 15, 9, bold), bold, fmt.Sprint(it.Count))
	}
	q.putFit(x+13, base, w-13-23, 11, 9, plain, name)
	for _, at := range []float64{x + w - outBox, x + w - backBox} {
		q.rect(at-2.65, y+0.5, 5.3, 5.3, heavy, noFill)
	}
	q.line(rule, point{x, y + high}, point{x + w, y + high})
}

// ppe is what the labels ask people to wear, each with a box: in two columns
// when all are short, else in full over the width.
func (q *list) ppe(ppe []string) {
	if len(ppe) == 0 {
		return
	}
	const size, high = 11.0, 6.8
	half := (q.inner() - gutter) / 2
	cols := 2
	for _, s := range ppe {
		if width(printable(s), plain, size) > half-9 {
			cols = 1
		}
	}
	q.need(20)
	q.y = q.title(margin, q.y, q.inner(), q.Say("load.ppe"))
	for i, s := range ppe {
		lines := wrap(s, q.inner()-9, size, plain)
		tall := math.Max(high, float64(len(lines))*leading(size)+1.4)
		if i%cols == 0 {
			q.need(tall)
		}
		x := margin + float64(i%cols)*(half+gutter)
		q.rect(x, q.y+0.7, 5.4, 5.4, heavy, noFill)
		q.putLines(x+8.5, q.y+1.4, size, plain, lines)
		if i%cols == cols-1 || i == len(ppe)-1 {
			q.y += tall
		}
	}
	q.y += 2.6
}

// sign is who counted out and who counted in.
func (q *list) sign() {
	q.need(handsHeight)
	y := math.Max(q.y, q.H-margin-handsHeight)
	q.ruling(margin, q.inner(), q.y, y-4, q.Say("sheet.notes"))
	for i, key := range []string{"load.counted_out", "load.counted_in", "load.seals"} {
		q.hand(float64(i)/3, 1.0/3, y, q.Say(key), "")
	}
}
