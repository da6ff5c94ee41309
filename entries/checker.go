package entries

import (
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"sapwell/engine/quantity"
	"sapwell/journal"
)

// Bounds of what can be. They are wide: a body is refused for what nobody can
// have meant, never for what is unusual.
const (
	wordLen   = 64      // code points of a word or a number that is printed on something
	nameLen   = 200     // of a name or a line
	remarkLen = 10_000  // of a remark
	fileLen   = 200_000 // bytes of a file that is kept whole

	maxList   = 5_000
	maxUnits  = 1_000_000
	maxMoment = 7_258_118_400_000 // 2200-01-01
	firstYear = 1900
	lastYear  = 2199

	metre     = 1_000_000_000 // nm
	maxGirth  = 30 * metre
	lowest    = -2 * metre // the root flare laid bare, below the ground of the tree
	maxHeight = 30 * metre
	maxHole   = 2 * metre         // width, depth or length of a hole or wound; bark
	maxBit    = metre / 10        // of a drill
	maxVolume = 1_000_000_000_000 // nl: a cubic metre
	coldest   = 150_000           // mK
	warmest   = 400_000
	maxGauge  = 10_000_000        // Pa
	maxWind   = 150_000           // mm/s
	maxSpan   = 9_223_372_036_854 // ms: what a quantity.Span can hold
	maxCents  = 1_000_000_000_000
	maxPixels = 100_000
	maxPhoto  = 100 << 20 // bytes
)

// checker looks at one member after the other; the first fault stays.
type checker struct{ err error }

func (c *checker) fault(field, format string, args ...any) {
	if c.err == nil {
		c.err = fault(field, format, args...)
	}
}

func (c *checker) head(h Head) {
	if h.V != 0 && h.V != version {
		c.fault("v", "%d, want %d", h.V, version)
	}
	c.maybeID("by", h.By)
	if h.At != 0 {
		c.moment("at", h.At)
	}
}

// item puts the list and the place in it in front of what an item says.
func (c *checker) item(list string, i int, err error) {
	if err != nil && c.err == nil {
		c.err = within(fmt.Sprintf("%s[%d]", list, i), err)
	}
}

// part puts the name of a part in front of what it says.
func (c *checker) part(name string, err error) {
	if err != nil && c.err == nil {
		c.err = within(name, err)
	}
}

func (c *checker) id(field string, id journal.ID) {
	if id[6]>>4 != 7 || id[8]>>6 != 2 {
		c.fault(field, "%s, want a UUID version 7", id)
	}
}

// maybeID is for one that may be absent.
func (c *checker) maybeID(field string, id journal.ID) {
	if id != (journal.ID{}) {
		c.id(field, id)
	}
}

// over is for what an update names as replaced: the first of a thing has nothing
// to replace.
func (c *checker) over(over journal.ID, ref string, thing journal.ID) {
	c.maybeID("over", over)
	if over != (journal.ID{}) && thing == (journal.ID{}) {
		c.fault("over", "%s, want it left out where %s is: the first replaces nothing", over, ref)
	}
}

func (c *checker) hash(field string, h journal.Hash) {
	if h == (journal.Hash{}) {
		c.fault(field, "all zeros, want a SHA-256")
	}
}

// line is text that must be there, on one line.
func (c *checker) line(field, text string, most int) {
	c.text(field, text, most, "")
}

func (c *checker) maybeLine(field, text string, most int) {
	if text != "" {
		c.line(field, text, most)
	}
}

// remark may have several lines, and be absent.
func (c *checker) remark(field, text string) {
	if text != "" {
		c.text(field, text, remarkLen, "\n\t")
	}
}

// text must say something; of control characters it may hold those in control.
func (c *checker) text(field, text string, most int, control string) {
	switch n := utf8.RuneCountInString(text); {
	case !utf8.ValidString(text):
		c.fault(field, "%.40q is not UTF-8", text)
	case n > most:
		c.fault(field, "%d characters, want at most %d", n, most)
	case strings.TrimSpace(text) == "":
		c.fault(field, "%q, want a text that says something", text)
	}
	for _, r := range text {
		if unicode.IsControl(r) && !strings.ContainsRune(control, r) {
			c.fault(field, "%.40q has the control character %U, want letters, digits and signs", text, r)
		}
	}
}

// lines is a list of texts.
func (c *checker) lines(field string, all []string) {
	c.atMost(field, len(all))
	for i, text := range all {
		c.line(fmt.Sprintf("%s[%d]", field, i), text, nameLen)
	}
}

func (c *checker) ids(field string, all []journal.ID) {
	c.atMost(field, len(all))
	for i, id := range all {
		c.id(fmt.Sprintf("%s[%d]", field, i), id)
	}
}

func (c *checker) atMost(field string, items int) {
	if items > maxList {
		c.fault(field, "%d items, want at most %d", items, maxList)
	}
}

func (c *checker) some(field string, items int) {
	if items == 0 {
		c.fault(field, "empty, want at least one")
	}
	c.atMost(field, items)
}

func (c *checker) oneOf(field, word string, accepted ...string) {
	if !slices.Contains(accepted, word) {
		c.fault(field, "%.40q, want one of %s", word, strings.Join(accepted, ", "))
	}
}

func (c *checker) maybeOneOf(field, word string, accepted ...string) {
	if word != "" {
		c.oneOf(field, word, accepted...)
	}
}

// answer is yes, no or absent.
func (c *checker) answer(field, word string) { c.maybeOneOf(field, word, "yes", "no") }

func (c *checker) within(field string, n, least, most int64) {
	if n < least || n > most {
		c.fault(field, "%d, want %d to %d", n, least, most)
	}
}

// maybeWithin is for a figure that may be absent though 0 is one.
func maybeWithin[N int | int64](c *checker, field string, n *N, least, most int64) {
	if n != nil {
		c.within(field, int64(*n), least, most)
	}
}

func (c *checker) count(field string, n int) { c.within(field, int64(n), 0, maxUnits) }

func (c *checker) volume(field string, nl int64) { c.within(field, nl, 0, maxVolume) }

func (c *checker) moment(field string, ms int64) { c.within(field, ms, 1, maxMoment) }

// ordered demands that the first is not greater.
func (c *checker) ordered(field string, low int64, over string, high int64) {
	if low > high {
		c.fault(field, "%d, want at most that of %s, %d", low, over, high)
	}
}

func (c *checker) day(field string, d Date) {
	if y := d.Year(); d.IsZero() || y < firstYear || y > lastYear {
		c.fault(field, "%q, want a day from %d to %d", d, firstYear, lastYear)
	}
	if d.Time != (quantity.NewDate(d.Date())).Time {
		c.fault(field, "%s, want midnight UTC of the day", d.Time)
	}
}

func (c *checker) maybeDay(field string, d Date) {
	if !d.IsZero() {
		c.day(field, d)
	}
}

// capitals is a code of so many letters from A to Z.
func (c *checker) capitals(field, code string, letters int, standard string) {
	notCapital := func(r rune) bool { return r < 'A' || r > 'Z' }
	if len(code) != letters || strings.ContainsFunc(code, notCapital) {
		c.fault(field, "%.40q, want %d capital letters as %s has them", code, letters, standard)
	}
}

func (c *checker) country(field, code string) { c.capitals(field, code, 2, "ISO 3166-1") }

// zone looks at the form only: which zones there are is not known here.
func (c *checker) zone(field, name string) {
	odd := func(r rune) bool {
		return (r < 'A' || r > 'Z') && (r < 'a' || r > 'z') && (r < '0' || r > '9') && !strings.ContainsRune("/_+-", r)
	}
	if name == "" || len(name) > wordLen || strings.ContainsFunc(name, odd) {
		c.fault(field, "%.40q, want the name of a time zone, such as America/Chicago", name)
	}
}

// dotted is the name of a fact. Which there are is not known here.
func (c *checker) dotted(field, name string) {
	odd := func(r rune) bool { return (r < 'a' || r > 'z') && (r < '0' || r > '9') && r != '_' && r != '.' }
	if name == "" || len(name) > wordLen || strings.ContainsFunc(name, odd) || strings.Contains("."+name+".", "..") {
		c.fault(field, "%.40q, want the name of a fact, such as contract.ref", name)
	}
}

func (c *checker) place(field string, p *Place) {
	if p != nil {
		c.within(field+".lat_e7", p.Lat, -90e7, 90e7)
		c.within(field+".lon_e7", p.Lon, -180e7, 180e7)
	}
}

func (c *checker) subject(field string, s Subject) {
	c.oneOf(field+".kind", string(s.Kind), string(OfOrg), string(OfPerson), string(OfDevice), string(OfGrounds),
		string(OfTree), string(OfLabel), string(OfLot), string(OfVisit), string(OfBag))
	if s.Kind == OfDevice {
		var h journal.Hash
		if h.UnmarshalText([]byte(s.ID)) != nil {
			c.fault(field+".id", "%.80q, want the 64 hex digits of a device", s.ID)
		}
		return
	}
	var id journal.ID
	if id.UnmarshalText([]byte(s.ID)) != nil {
		c.fault(field+".id", "%.80q, want a UUID version 7 in lower case", s.ID)
	}
}
