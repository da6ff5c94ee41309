package files

import (
	"fmt"
	"io"
	"iter"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"sapwell/engine/quantity"
)

// Event is something of one or more whole days: a duty's last good day, a visit
// to come back. What a calendar that has it already needs in order to replace it
// is the same UID with a higher Sequence.
type Event struct {
	UID         string    // stays with the thing for ever
	Sequence    int       // goes up when day or text changes
	Stamp       time.Time // when it was last changed
	Day         quantity.Date
	Last        quantity.Date // of several days; zero: Day alone
	Summary     string
	Description string
	Location    string
	Category    string
	Remind      int  // days before; 0: no reminder
	Cancelled   bool // no longer to be done, or done
}

// Calendar writes events as one iCalendar (RFC 5545). Days are whole: no time
// zone moves them. They do not make anybody busy. There is no METHOD, which
// would make a message of the file (RFC 5546) and ask for an organizer.
//
// An error names the event, the field, and what would be accepted.
func Calendar(w io.Writer, name string, events iter.Seq2[Event, error]) error {
	c := &calendar{newOut(w)}
	c.line("BEGIN", "VCALENDAR")
	c.line("VERSION", "2.0")
	c.line("PRODID", "-//Sapwell//Sapwell//EN")
	c.line("CALSCALE", "GREGORIAN")
	c.text("NAME", name)         // RFC 7986
	c.text("X-WR-CALNAME", name) // for programs older than that
	seen := map[string]bool{}
	for e, err := range events {
		if err == nil {
			err = e.check()
		}
		if err == nil && seen[e.UID] {
			err = fmt.Errorf("event %.60q: its UID stands there twice: want each once", e.UID)
		}
		if err != nil {
			return err
		}
		seen[e.UID] = true
		c.event(e)
	}
	if len(seen) == 0 {
		c.zone()
	}
	c.line("END", "VCALENDAR")
	return c.out.close()
}

// zone is the one component of a calendar without events: there has to be one
// (RFC 5545, section 3.6), and a time zone puts nothing on anybody's day.
func (c *calendar) zone() {
	c.line("BEGIN", "VTIMEZONE")
	c.line("TZID", "Etc/UTC")
	c.line("BEGIN", "STANDARD")
	c.line("DTSTART", "19700101T000000")
	c.line("TZOFFSETFROM", "+0000")
	c.line("TZOFFSETTO", "+0000")
	c.line("TZNAME", "UTC")
	c.line("END", "STANDARD")
	c.line("END", "VTIMEZONE")
}

func (e Event) check() error {
	switch {
	case e.UID == "" || strings.ContainsFunc(e.UID, unicode.IsControl):
		return fmt.Errorf("event %.60q: uid %.60q: want a text without control characters", e.Summary, e.UID)
	case strings.TrimSpace(e.Summary) == "":
		return fmt.Errorf("event %.60q: no summary: want one", e.UID)
	case e.Day.IsZero() || e.Stamp.IsZero():
		return fmt.Errorf("event %.60q: day %q, stamp %v: want both", e.UID, e.Day, e.Stamp)
	case !e.Last.IsZero() && e.Last.Before(e.Day):
		return fmt.Errorf("event %.60q: last day %s comes before the first, %s", e.UID, e.Last, e.Day)
	case e.Sequence < 0 || e.Remind < 0:
		return fmt.Errorf("event %.60q: sequence %d, remind %d: want 0 or more", e.UID, e.Sequence, e.Remind)
	}
	return nil
}

type calendar struct{ out *out }

func (c *calendar) event(e Event) {
	last := e.Last
	if last.IsZero() {
		last = e.Day
	}
	c.line("BEGIN", "VEVENT")
	c.text("UID", e.UID)
	c.line("DTSTAMP", e.Stamp.UTC().Format("20060102T150405Z"))
	c.line("SEQUENCE", fmt.Sprint(e.Sequence))
	c.line("DTSTART;VALUE=DATE", e.Day.Format("20060102"))
	c.line("DTEND;VALUE=DATE", last.AddDate(0, 0, 1).Format("20060102")) // the first day after it
	c.text("SUMMARY", e.Summary)
	c.text("DESCRIPTION", e.Description)
	c.text("LOCATION", e.Location)
	c.text("CATEGORIES", e.Category)
	c.line("TRANSP", "TRANSPARENT")
	if e.Cancelled {
		c.line("STATUS", "CANCELLED")
	} else if e.Remind > 0 {
		c.line("BEGIN", "VALARM")
		c.line("ACTION", "DISPLAY")
		c.text("DESCRIPTION", e.Summary)
		c.line("TRIGGER", fmt.Sprintf("-P%dD", e.Remind))
		c.line("END", "VALARM")
	}
	c.line("END", "VEVENT")
}

// text writes a property whose value is TEXT (section 3.3.11); an empty one is
// left out.
func (c *calendar) text(name, value string) {
	if value != "" {
		c.line(name, escaped(value))
	}
}

func escaped(s string) string {
	var b strings.Builder
	for _, r := range strings.ReplaceAll(strings.ToValidUTF8(s, "\uFFFD"), "\r\n", "\n") {
		switch {
		case r == '\\' || r == ';' || r == ',':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r == '\n' || r == '\r':
			b.WriteString(`\n`)
		case r != '\t' && (r < ' ' || r == 0x7f): // not allowed in any form
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}

// maxOctets is the longest line, its end not counted (section 3.1).
const maxOctets = 75

// line folds a property: no line is longer than 75 octets, and none ends inside
// a letter of several octets.
func (c *calendar) line(name, value string) {
	rest, room := name+":"+value, maxOctets
	for len(rest) > room {
		cut := room
		for !utf8.RuneStart(rest[cut]) {
			cut--
		}
		c.out.put(rest[:cut], "\r\n ")
		rest, room = rest[cut:], maxOctets-1 // the space counts
	}
	c.out.put(rest, "\r\n")
}
