package documents

import "strings"

// A part of a paper is a set of facts under one name: the name on the left, beside it
// the facts in two columns, each with its caption.

// item is one fact as it is printed.
type item struct {
	caption, value string
	missing        bool // nobody wrote it down: set so that it is seen
}

// Widths of a part, mm.
const (
	partName    = 26.0
	itemCaption = 36.0
	partGutter  = 3.0
	itemGap     = 1.0
	longItem    = 3 // lines; more take the whole width
)

// part sets facts under a name of the catalogue.
func (f *folio) part(key string, items []item) {
	name := fullWrap(f.Say(key), partName-3, f.size, bold)
	f.need(float64(len(name))*leading(f.size) + 5)
	f.line(rule, point{margin, f.y}, point{f.W - margin, f.y})
	f.y += 1.2
	page, top := f.page, f.y
	f.putLines(margin, f.y, f.size, bold, name)
	f.side = name
	f.items(margin+partName, f.inner()-partName, items)
	f.side = nil
	end := top + float64(len(name))*leading(f.size)
	if f.page != page { // the name stands there again
		end = f.ends
	}
	f.y = max(f.y, end) // nothing runs under the name
	f.y += 0.6
}

// items sets facts in two columns, row by row; one that is long has a row of its own.
func (f *folio) items(x, w float64, items []item) {
	col := (w - partGutter) / 2
	for len(items) > 0 {
		left := f.set(items[0], col)
		if left.long() {
			f.longItem(x, w, items[0])
			items = items[1:]
			continue
		}
		row := []setItem{left}
		if len(items) > 1 {
			if right := f.set(items[1], col); !right.long() {
				row = append(row, right)
			}
		}
		f.row(row, x, col)
		items = items[len(row):]
	}
}

// setItem is a fact broken into lines.
type setItem struct {
	caption, value []string
	face           face
}

func (f *folio) set(it item, col float64) setItem {
	s := setItem{face: plain}
	if it.missing {
		s.face = bold
	}
	s.caption = fullWrap(it.caption, itemCaption-1.5, f.least, plain)
	s.value = fullWrap(it.value, col-itemCaption, f.size, s.face)
	return s
}

// long tells a value that would make a narrow column, and one without a blank, such
// as an identifier, that would be torn.
func (s setItem) long() bool {
	return len(s.value) > longItem || len(s.value) > 1 && !strings.Contains(s.value[0], " ") && len(s.value[0]) > 16
}

func (f *folio) row(row []setItem, x, col float64) {
	high := 0.0
	for _, s := range row {
		high = max(high, float64(len(s.caption))*leading(f.least), float64(len(s.value))*leading(f.size))
	}
	f.need(high + itemGap)
	for i, s := range row {
		x := x + float64(i)*(col+partGutter)
		drop := capHeight * (f.size - f.least) * mmPerPoint // both stand on one line
		f.putLines(x, f.y+drop, f.least, plain, s.caption)
		f.putLines(x+itemCaption, f.y, f.size, s.face, s.value)
	}
	f.y += high + itemGap
}

// longItem sets a fact over the width of both columns, over the page's end if need be.
func (f *folio) longItem(x, w float64, it item) {
	caption := fullWrap(it.caption, itemCaption-1.5, f.least, plain)
	f.need(float64(len(caption)) * leading(f.least))
	top, page := f.y, f.page
	f.putLines(x, f.y, f.least, plain, caption)
	f.block(x+itemCaption, w-itemCaption, f.size, plain, it.value)
	if end := top + float64(len(caption))*leading(f.least) + itemGap; f.page == page && f.y < end {
		f.y = end
	}
}
