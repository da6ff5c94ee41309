package treelist

import (
	"strconv"
	"strings"
	"time"

	"sapwell/engine/bole"
	"sapwell/engine/quantity"
	"sapwell/engine/verdict"
)

// cell is what a row says in one column.
type cell struct {
	text string // trimmed; empty: nothing said
	unit string // of the heading
	head string // the column as the list calls it
	line int
}

// row is one row of the list before it is understood.
type row struct {
	line  int
	cells [numColumns]cell
}

// The limits of what is believed. They catch slips of the pen, no more.
const (
	// No trunk on record is thicker than about 42 m round (from memory), and one
	// under an inch is a twig.
	minGirth = quantity.Inch
	maxGirth = 45 * quantity.Metre
	// A girth for this work is read within reach of the ground.
	maxHeight = 10 * quantity.Foot
)

// faults collects what is wrong with a row.
type faults struct {
	file string
	list []*Fault
}

// add notes a fault of a cell; value is the part of it that is wrong.
func (f *faults) add(c cell, value, code string, extra ...string) {
	f.list = append(f.list, newFault(f.file, c.line, c.head, value, code, extra...))
}

// length reads a cell that holds one length; 0: it is empty, or wrong and noted.
func (f *faults) length(s *scale, c cell) quantity.Length {
	if c.text == "" {
		return 0
	}
	l, code := s.length(c.text, "")
	if code == "unit" && c.unit != "" {
		l, code = s.length(c.text, c.unit)
	} else if code == "" && c.unit != "" && !s.ownUnitAgrees(c) {
		code = "unit_conflict"
	}
	if code != "" {
		f.add(c, c.text, code, "unit", c.unit)
		return 0
	}
	return l
}

// ownUnitAgrees reports whether the unit in the cell is that of its heading.
func (s *scale) ownUnitAgrees(c cell) bool {
	_, unit, _ := s.cut(c.text)
	return s.one(unit) == s.one(c.unit)
}

// within reads a length and holds it against bounds, both of which belong.
func (f *faults) within(s *scale, c cell, low, high quantity.Length, code string) quantity.Length {
	before := len(f.list)
	l := f.length(s, c)
	if c.text != "" && len(f.list) == before && (l < low || l > high) {
		f.add(c, c.text, code)
		return 0
	}
	return l
}

// need notes a fault when a cell that cannot be done without is empty.
func (f *faults) need(c cell) bool {
	if c.text == "" {
		f.add(c, "", "missing")
	}
	return c.text != ""
}

// answer reads yes, no or nothing; nothing keeps what is there.
func (f *faults) answer(c cell, a *verdict.Answer) {
	switch strings.ToLower(c.text) {
	case "":
	case "yes", "y", "true", "1", "sí", "si":
		*a = verdict.Yes
	case "no", "n", "false", "0":
		*a = verdict.No
	case "unknown", "?", "not known":
		*a = verdict.Unknown
	default:
		f.add(c, c.text, "answer")
	}
}

// percent reads a whole number from 0 to 100, with or without its sign.
func (f *faults) percent(c cell) *int {
	return f.whole(c, strings.TrimSpace(strings.TrimSuffix(c.text, "%")), 100, "percent")
}

// stage reads a growth stage: 0 to 99 (BBCH monograph, Meier 2001).
func (f *faults) stage(c cell) *int { return f.whole(c, c.text, 99, "stage") }

// whole reads the text of a cell as a whole number from 0 to most; nil: empty, or
// a fault.
func (f *faults) whole(c cell, text string, most int, code string) *int {
	if c.text == "" {
		return nil
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < 0 || n > most {
		f.add(c, c.text, code)
		return nil
	}
	return &n
}

// text reads a cell of free text, up to a length that fits a mark sheet.
func (f *faults) text(c cell, most int) string {
	if len(c.text) > most {
		f.add(c, c.text, "long_text", "most", strconv.Itoa(most))
		return ""
	}
	return c.text
}

// ground reads from which side of a slope heights were taken.
func (f *faults) ground(c cell) bole.Ground {
	switch plain(c.text) {
	case "":
		return ""
	case "level", "flat":
		return bole.Level
	case "uphill", "upper_side", "uphill_side":
		return bole.Uphill
	case "mid_slope", "midslope", "middle", "mid":
		return bole.MidSlope
	}
	f.add(c, c.text, "ground")
	return ""
}

// direction reports whether the tape runs counter-clockwise seen from above.
func (f *faults) direction(c cell) bool {
	switch plain(c.text) {
	case "", "clockwise", "cw":
		return false
	case "counter_clockwise", "counterclockwise", "anticlockwise", "anti_clockwise", "ccw":
		return true
	}
	f.add(c, c.text, "direction")
	return false
}

// jurisdiction reads whose law is asked; nothing keeps what is there.
func (f *faults) jurisdiction(c cell, j *verdict.Jurisdiction) {
	up := verdict.Jurisdiction(strings.ToUpper(c.text))
	switch law := verdict.LawOf(c.text); {
	case up == "":
	case up == verdict.EU:
		*j = up
	case law != "":
		*j = law
	default:
		f.add(c, c.text, "jurisdiction")
	}
}

// day reads a whole day, year first: 2026-06-09. Other orders are refused, for
// 6/9/2026 is June in one country and September in the next.
func (f *faults) day(c cell, text string) quantity.Date {
	last, whole, ok := lastDay(text)
	if !ok || !whole {
		f.add(c, text, "day")
		return quantity.Date{}
	}
	return last
}

// lastDay reads 2024-05-10, 2024-05 or 2024 and returns the last day it may
// mean: of two dates the later one makes a wound younger and an interval
// shorter, which is the careful side.
func lastDay(text string) (last quantity.Date, whole, ok bool) {
	switch len(text) {
	case len(time.DateOnly):
		last, err := quantity.ParseDate(text)
		return last, true, err == nil && inEra(last)
	case len("2024-05"):
		first, err := time.Parse("2006-01", text)
		last = quantity.DateOf(first.AddDate(0, 1, -1))
		return last, false, err == nil && inEra(last)
	case len("2024"):
		first, err := time.Parse("2006", text)
		last = quantity.DateOf(first.AddDate(1, 0, -1))
		return last, false, err == nil && inEra(last)
	}
	return quantity.Date{}, false, false
}

// inEra keeps years that are slips of the pen out.
func inEra(t quantity.Date) bool { return t.Year() >= 1900 && t.Year() < 2200 }
