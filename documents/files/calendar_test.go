package files

import (
	"bytes"
	"encoding/json"
	"os/exec"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"pgregory.net/rapid"

	"sapwell/engine/quantity"
	"sapwell/internal/outside"
)

func anEvent() Event {
	return Event{
		UID: "us-ny.annual_report.2026@sapwell.invalid", Sequence: 2, Stamp: time.Date(2026, 6, 5, 12, 30, 0, 0, time.FixedZone("", -4*3600)),
		Day: quantity.NewDate(2027, 2, 1), Summary: "Informe anual; Nueva York, a más tardar hoy: cuéntese también lo que no se aplicó ☐",
		Description: "Line one\nline two \\ with a backslash, a comma; a semicolon 🌳🌳🌳🌳🌳🌳🌳🌳🌳🌳🌳🌳🌳🌳🌳🌳🌳🌳", Location: "1 Sample Lane, Nowhere",
		Category: "duty", Remind: 14,
	}
}

func calendarOf(t testing.TB, es ...Event) []byte {
	return written(t, func(b *bytes.Buffer) error {
		return Calendar(b, "Sapwell: Example Tree Health (fictional)", each(es...))
	})
}

// RFC 5545, section 3.1: CRLF, at most 75 octets a line without its end, no
// letter cut in two; unfolding gives back what was written.
func TestFolding(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.OneOf(rapid.String(), rapid.StringMatching(`[a🌳é漢,;\\\n]{0,200}`)).Draw(t, "text")
		c := &calendar{newOut(&bytes.Buffer{})}
		var b bytes.Buffer
		c.out = newOut(&b)
		c.line("SUMMARY", escaped(text))
		if err := c.out.close(); err != nil {
			t.Fatal(err)
		}
		lines := strings.Split(strings.TrimSuffix(b.String(), "\r\n"), "\r\n")
		for i, l := range lines {
			if len(l) > 75 || !utf8.ValidString(l) || i > 0 && !strings.HasPrefix(l, " ") || strings.ContainsAny(l, "\r\n") {
				t.Fatalf("line %d of %q has %d octets: %q", i, text, len(l), l)
			}
		}
		if got := strings.ReplaceAll(b.String(), "\r\n ", ""); got != "SUMMARY:"+escaped(text)+"\r\n" {
			t.Fatalf("%q unfolds to %q", text, got)
		}
	})
	outside.Ran(t, "RFC 5545, section 3.1", "line ends, 75 octets, no letter cut")
}

// The example of RFC 5545, section 3.3.11.
func TestEscapes(t *testing.T) {
	in := "Project XYZ Final Review\nConference Room - 3B\nCome Prepared."
	if got, want := escaped(in), `Project XYZ Final Review\nConference Room - 3B\nCome Prepared.`; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	if got, want := escaped("a\\b;c,d:e\"f\r\ng\x00\x07h\ti"), `a\\b\;c\,d:e"f\ngh`+"\ti"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	outside.Ran(t, "RFC 5545, section 3.3.11", "its example of a TEXT value, and each escape")
}

// Python's icalendar, a parser by others, reads back what went in.
func TestIcalendarReadsTheSame(t *testing.T) {
	span := Event{
		UID: "follow-up.01", Stamp: time.Date(2026, 1, 2, 3, 4, 5, 0, time.UTC), Day: quantity.NewDate(2028, 2, 28), Last: quantity.NewDate(2028, 3, 2),
		Summary: "Look again", Cancelled: true,
	}
	const code = `
import json, sys
from icalendar import Calendar
raw = open(sys.argv[1], "rb").read()
cal = Calendar.from_ical(raw)
out = []
for e in cal.walk("VEVENT"):
    alarms = [str(a["TRIGGER"].to_ical().decode()) for a in e.walk("VALARM")]
    out.append({k: str(e.get(k, "")) for k in ("UID", "SUMMARY", "DESCRIPTION", "LOCATION", "STATUS", "TRANSP")} | {
        "SEQUENCE": int(e["SEQUENCE"]), "STAMP": e["DTSTAMP"].dt.isoformat(), "START": e["DTSTART"].dt.isoformat(),
        "END": e["DTEND"].dt.isoformat(), "ALARMS": alarms, "CATEGORIES": e["CATEGORIES"].to_ical().decode() if "CATEGORIES" in e else ""})
print(json.dumps({"prodid": str(cal["PRODID"]), "version": str(cal["VERSION"]), "events": out, "errors": [str(x) for e in cal.walk() for x in e.errors]}))
`
	python := outside.Python(t)
	if err := exec.Command(python, "-c", "import icalendar").Run(); err != nil {
		outside.Tool(t, "python3 with icalendar (python3-icalendar)") // skips, or fails in CI
	}
	var got struct {
		Prodid, Version string
		Events          []map[string]any
		Errors          []string
	}
	if err := json.Unmarshal([]byte(program(t, calendarOf(t, anEvent(), span), ".ics", python, "-c", code, "FILE")), &got); err != nil {
		t.Fatal(err)
	}
	if got.Version != "2.0" || got.Prodid == "" || len(got.Events) != 2 || len(got.Errors) != 0 {
		t.Fatalf("read as %+v", got)
	}
	e := anEvent()
	for i, want := range []map[string]any{
		{"UID": e.UID, "SEQUENCE": 2.0, "SUMMARY": e.Summary, "DESCRIPTION": e.Description, "LOCATION": e.Location, "STATUS": "", "TRANSP": "TRANSPARENT",
			"STAMP": "2026-06-05T16:30:00+00:00", "START": "2027-02-01", "END": "2027-02-02", "CATEGORIES": "duty"},
		{"UID": span.UID, "SEQUENCE": 0.0, "SUMMARY": "Look again", "STATUS": "CANCELLED", "START": "2028-02-28", "END": "2028-03-03"},
	} {
		for k, v := range want {
			if got.Events[i][k] != v {
				t.Errorf("event %d: %s is read as %q, want %q", i, k, got.Events[i][k], v)
			}
		}
	}
	if a, ok := got.Events[0]["ALARMS"].([]any); !ok || len(a) != 1 || a[0] != "-P14D" {
		t.Errorf("alarms %v: want one, 14 days before", got.Events[0]["ALARMS"])
	}
	outside.Ran(t, "python icalendar 4.0.3", "two events: texts, days, stamp, sequence, alarm, status")
}

// A calendar holds at least one component (RFC 5545, section 3.6): where nothing is
// due that is a time zone, with each property section 3.6.5 demands.
func TestCalendarWithoutEvents(t *testing.T) {
	const code = `
import sys
from icalendar import Calendar
cal = Calendar.from_ical(open(sys.argv[1], "rb").read())
zone = cal.walk("VTIMEZONE")[0]
print([c.name for c in cal.subcomponents], zone["TZID"], [(c.name, sorted(c.keys())) for c in zone.subcomponents], zone.to_tz().utcoffset(__import__("datetime").datetime(2026, 7, 1)))
`
	python := outside.Python(t)
	if err := exec.Command(python, "-c", "import icalendar").Run(); err != nil {
		outside.Tool(t, "python3 with icalendar (python3-icalendar)") // skips, or fails in CI
	}
	const want = "['VTIMEZONE'] Etc/UTC [('STANDARD', ['DTSTART', 'TZNAME', 'TZOFFSETFROM', 'TZOFFSETTO'])] 0:00:00"
	if got := strings.TrimSpace(program(t, calendarOf(t), ".ics", python, "-c", code, "FILE")); got != want {
		t.Errorf("read as %s, want %s", got, want)
	}
	if strings.Contains(string(calendarOf(t, anEvent())), "VTIMEZONE") {
		t.Error("a time zone where there is an event")
	}
	outside.Ran(t, "RFC 5545, sections 3.6 and 3.6.5; python icalendar 4.0.3", "a calendar without events")
}

func TestCalendarRefuses(t *testing.T) {
	change := func(f func(*Event)) Event { e := anEvent(); f(&e); return e }
	for want, e := range map[string]Event{
		"uid":           change(func(e *Event) { e.UID = "" }),
		"no summary":    change(func(e *Event) { e.Summary = " " }),
		"stamp":         change(func(e *Event) { e.Stamp = time.Time{} }),
		"day \"\"":      change(func(e *Event) { e.Day = quantity.Date{} }),
		"comes before":  change(func(e *Event) { e.Last = e.Day.AddDate(0, 0, -1) }),
		"sequence -1":   change(func(e *Event) { e.Sequence = -1 }),
		"want 0 or mor": change(func(e *Event) { e.Remind = -1 }),
	} {
		if err := Calendar(&bytes.Buffer{}, "x", each(e)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("got %v, want an error with %q", err, want)
		}
	}
	if err := Calendar(&bytes.Buffer{}, "x", each(anEvent(), anEvent())); err == nil || !strings.Contains(err.Error(), "twice") {
		t.Errorf("the same UID twice: %v", err)
	}
}

func TestCalendarIsTheSameAgain(t *testing.T) {
	if !bytes.Equal(calendarOf(t, anEvent()), calendarOf(t, anEvent())) {
		t.Error("two runs differ")
	}
}
