package treelist

import (
	"strings"

	"sapwell/engine/bole"
	"sapwell/engine/quantity"
)

// maxCellFaults is how many faults of one cell are told; the rest of it is not
// looked at, for it is some other kind of text.
const maxCellFaults = 10

// list is a cell that holds several things along the ring, separated by ";" or
// "|", while it is read.
type list struct {
	*faults
	*scale
	c     cell
	items []string
	girth quantity.Length // 0: not known; then no position is held against it
	from  int             // faults there were before

	unit   string // of bare numbers, once looked for
	looked bool
}

// items splits a cell into what it holds.
func (f *faults) items(s *scale, c cell, girth quantity.Length) *list {
	l := &list{faults: f, scale: s, c: c, girth: girth, from: len(f.list)}
	items := strings.FieldsFunc(c.text, func(r rune) bool { return r == ';' || r == '|' || r == '\n' || r == '\r' })
	l.items = items[:0]
	for _, item := range items {
		if item = strings.TrimSpace(item); item != "" {
			l.items = append(l.items, item)
		}
	}
	return l
}

// bare is the unit of bare numbers: that of the heading; or, when all lengths in
// the cell that have a unit have the same, that one; otherwise none.
func (l *list) bare() string {
	if l.c.unit != "" {
		return l.c.unit
	}
	if !l.looked {
		l.unit, l.looked = l.onlyUnit(l.items), true
	}
	return l.unit
}

// onlyUnit returns the unit of all lengths in the items that have one, or
// nothing when there are two different ones.
func (s *scale) onlyUnit(items []string) string {
	only := ""
	for _, item := range items {
		for item != "" {
			at := strings.IndexFunc(item, func(r rune) bool { return r >= '0' && r <= '9' || isVulgar(r) })
			if at < 0 {
				break
			}
			length, unit, rest := s.cut(item[at:])
			if length == "" {
				break
			}
			if unit != "" && only != "" && s.one(unit) != s.one(only) {
				return ""
			}
			if unit != "" {
				only = unit
			}
			item = rest
		}
	}
	return only
}

// full reports that enough faults were told.
func (l *list) full() bool { return len(l.faults.list)-l.from >= maxCellFaults }

// add notes a fault of the part of the cell that is wrong.
func (l *list) add(value, code string, extra ...string) bool {
	l.faults.add(l.c, value, code, extra...)
	return false
}

// measure reads one length of an item, cut off with the unit it has.
func (l *list) measure(text, unit, item string) (quantity.Length, bool) {
	bare := ""
	switch {
	case text == "":
		return 0, l.add(item, "length")
	case unit == "":
		bare = l.bare()
	case l.c.unit != "" && l.one(unit) != l.one(l.c.unit):
		return 0, l.add(text, "unit_conflict", "unit", l.c.unit)
	}
	v, code := l.scale.length(text, bare)
	if code != "" {
		return 0, l.add(text, code)
	}
	return v, true
}

// position reads a place on the ring; the far end of the tape is on it.
func (l *list) position(text, unit, item string) (quantity.Length, bool) {
	at, ok := l.measure(text, unit, item)
	if !ok || l.girth == 0 {
		return at, ok
	}
	if at < 0 || at > l.girth {
		return 0, l.add(text, "position_outside")
	}
	return at, true
}

// fissures reads "3; 9 1/2; 14 in".
func (f *faults) fissures(s *scale, c cell, girth quantity.Length) []quantity.Length {
	if c.text == "" {
		return nil
	}
	l := f.items(s, c, girth)
	var out []quantity.Length
	for _, item := range l.items {
		length, unit, rest := s.cut(item)
		if rest = strings.TrimSpace(rest); rest != "" {
			l.add(item, "fissure")
		} else if at, ok := l.position(length, unit, item); ok {
			out = append(out, at)
		}
		if l.full() {
			break
		}
	}
	return out
}

// bark reads "12 in: 0.5 in; 40 in: 5/8 in", each thickness at its place.
func (f *faults) bark(s *scale, c cell, girth quantity.Length) []bole.BarkReading {
	if c.text == "" {
		return nil
	}
	l := f.items(s, c, girth)
	var out []bole.BarkReading
	for _, item := range l.items {
		if one, ok := l.barkReading(item); ok {
			out = append(out, one)
		}
		if l.full() {
			break
		}
	}
	return out
}

func (l *list) barkReading(item string) (r bole.BarkReading, ok bool) {
	place, thick, placed := strings.Cut(item, ":")
	okAt := true
	if placed {
		r.At, okAt = l.whole(place, item, l.position)
	} else {
		thick = item
	}
	r.Thickness, ok = l.whole(thick, item, l.measure)
	// Bark is less than the radius: 2π t < girth, with 22/7 a little above π.
	if ok && (r.Thickness <= 0 || l.girth > 0 && r.Thickness >= l.girth*7/44) {
		ok = l.add(item, "thickness")
	}
	return r, ok && okAt
}

// whole reads a text that is a length and nothing else.
func (l *list) whole(text, item string, read func(text, unit, item string) (quantity.Length, bool)) (quantity.Length, bool) {
	length, unit, rest := l.cut(text)
	if strings.TrimSpace(rest) != "" {
		return 0, l.add(item, "length")
	}
	return read(length, unit, item)
}

// defects reads "12-16 in canker; 40 to 44 in cavity; 90-2 in crack".
func (f *faults) defects(s *scale, c cell, girth quantity.Length) []bole.Arc {
	if c.text == "" {
		return nil
	}
	l := f.items(s, c, girth)
	var out []bole.Arc
	for _, item := range l.items {
		if arc, ok := l.arc(item); ok {
			out = append(out, arc)
		}
		if l.full() {
			break
		}
	}
	return out
}

func (l *list) arc(item string) (bole.Arc, bool) {
	first, firstUnit, rest := l.cut(item)
	rest, ok := cutDash(rest)
	second, secondUnit, kindText := l.cut(rest)
	switch {
	case (!ok || second == "") && strings.Index(first, "-") > 0:
		// "9-1/2 in" is nine and a half on a tape, and could be an arc from 9 to 1/2.
		return bole.Arc{}, l.add(item, "dash")
	case !ok || second == "":
		return bole.Arc{}, l.add(item, "arc")
	}
	from, okFrom := l.position(first, firstUnit, item)
	to, okTo := l.position(second, secondUnit, item)
	kind, okKind := arcKind(kindText)
	if !okKind {
		l.add(item, "kind", "kind", strings.TrimSpace(kindText))
	}
	if okFrom && okTo && from == to {
		return bole.Arc{}, l.add(item, "arc_ends")
	}
	return bole.Arc{From: from, To: to, Kind: kind}, okFrom && okTo && okKind
}

// cutDash takes what stands between the ends of an arc off the front.
func cutDash(s string) (string, bool) {
	s = strings.TrimSpace(s)
	for _, dash := range []string{"-", "–", "—", "to ", "a ", "…", ".."} {
		if rest, ok := strings.CutPrefix(s, dash); ok {
			return strings.TrimSpace(rest), true
		}
	}
	return s, false
}

// arcKind reads what makes a stretch unfit; nothing said: a defect.
func arcKind(s string) (bole.ArcKind, bool) {
	switch plain(s) {
	case "", "defect":
		return bole.Defect, true
	case "canker":
		return bole.Canker, true
	case "cavity":
		return bole.Cavity, true
	case "crack":
		return bole.Crack, true
	case "dead_cambium", "dead_bark", "dead":
		return bole.DeadCambium, true
	case "girdling_root", "girdling":
		return bole.Girdling, true
	}
	return "", false
}

// wounds reads "22 in 2024-05-10 w 3/16 in h 12 in; 48 in 2023": place, day or
// month or year it was bored, width across the stem, height above ground; all
// but the place may be missing.
func (f *faults) wounds(s *scale, c cell, girth quantity.Length, work quantity.Date) []bole.Wound {
	if c.text == "" {
		return nil
	}
	l := f.items(s, c, girth)
	var out []bole.Wound
	for _, item := range l.items {
		if w, ok := l.wound(item, work); ok {
			out = append(out, w)
		}
		if l.full() {
			break
		}
	}
	return out
}

func (l *list) wound(item string, work quantity.Date) (bole.Wound, bool) {
	place, unit, rest := l.cut(item)
	at, ok := l.position(place, unit, item)
	w := bole.Wound{At: at}
	for rest = strings.TrimLeft(rest, " ,"); rest != "" && ok; rest = strings.TrimLeft(rest, " ,") {
		word, after, _ := strings.Cut(rest, " ")
		switch {
		case strings.TrimRight(strings.ToLower(word), ":") == "w":
			w.Width, rest, ok = l.part(after, item, l.girth)
		case strings.TrimRight(strings.ToLower(word), ":") == "h":
			w.Height, rest, ok = l.part(after, item, maxHeight)
		case w.Made.IsZero():
			w.Made, ok = l.made(strings.TrimRight(word, ","), item, work)
			rest = after
		default:
			ok = l.add(item, "wound")
		}
	}
	return w, ok
}

// part reads the width or height of a wound, above zero and up to most.
func (l *list) part(s, item string, most quantity.Length) (quantity.Length, string, bool) {
	length, unit, rest := l.cut(s)
	v, ok := l.measure(length, unit, item)
	if ok && (v <= 0 || most > 0 && v > most) {
		ok = l.add(item, "wound_size")
	}
	return v, rest, ok
}

// made reads when a wound was bored. Of a month or a year its last day counts,
// but none after the day of work.
func (l *list) made(text, item string, work quantity.Date) (quantity.Date, bool) {
	last, whole, ok := lastDay(text)
	if !ok {
		return quantity.Date{}, l.add(item, "wound")
	}
	if work.IsZero() || !last.After(work) {
		return last, true
	}
	if !whole && last.Year() == work.Year() && (len(text) == len("2026") || last.Month() == work.Month()) {
		return work, true
	}
	return quantity.Date{}, l.add(item, "future")
}
