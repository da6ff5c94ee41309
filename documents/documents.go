// Package documents answers: what does the paper say?
//
// It writes what it is handed to an io.Writer, the same bytes for the same
// input, and decides nothing: no count, place, depth or caution is computed
// here. doc/papers.md lists the papers. A mark sheet with a finding that blocks
// never shows a mark; it says why the tree is left alone. A fact that is asked and
// that nobody wrote down is said to be missing.
package documents

import (
	"fmt"
	"io"

	"sapwell/engine/bole"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/words"
)

// Paper is a sheet size.
type Paper string

// The sizes.
const (
	A4     Paper = "a4"
	Letter Paper = "letter"
)

// Sheet is what one mark sheet (one stem of one tree) says. Empty text, zero
// numbers and zero dates leave their place out or to be written by hand.
type Sheet struct {
	Tag, Stem, Site      string
	Scientific, Common   string
	Date                 quantity.Date // day of the job
	Product              string
	Fictional            bool // the product is invented: said on the sheet
	LabelVersion         string
	Active               string // "emamectin benzoate 40 g/L"
	Ring                 bole.Ring
	Blocked              []Arc             // stretches without holes, after clearance
	Positions            []quantity.Length // tape readings, ascending, in 0 to below the girth
	Raise                []quantity.Length // per mark, above the ring's height; nil: none
	Units                int
	PerUnit, Total       quantity.Volume
	Fills                []FillUse // units of each size, where the stem gets several
	Lots                 []LotUse
	NoLot                int             // units that no lot covers, where lots are listed
	Bit, Stop, WoodDepth quantity.Length // WoodDepth along the radius; Stop 0: only the probe can tell
	StopLow, StopHigh    quantity.Length // what the doubt of the bark makes of the stop; 0: not known
	Probe                []ProbeStop     // the stop for what the probe finds
	BarkMeasured         bool
	Angle                quantity.Angle // below the radius
	P50, P90             quantity.Span  // drain forecast; 0: none
	ForecastN            int            // timed drains behind it
	Gauge                *Gauge         // what is in a unit; nil: the label does not say
	PPE                  []string       // as the label says
	REI                  string         // the label's own line
	Findings             []why.Finding  // what the crew must see
	Open                 []why.Finding  // what is still to be found out, in one line each
	Near                 string         // one line: does a little more girth change the count?
}

// Gauge is the pressure in a unit, over the air outside, by its own gas.
type Gauge struct{ Full, Half, Empty quantity.Pressure }

// ProbeStop is the stop for one thickness of bark.
type ProbeStop struct{ Bark, Stop quantity.Length }

// Arc is a stretch of the ring and what blocks it; From > To wraps.
type Arc struct {
	From, To quantity.Length
	Kind     string // a bole.ArcKind or "wound"
}

// FillUse is units of one size.
type FillUse struct {
	Size  quantity.Volume
	Units int
}

// LotUse is units from a lot.
type LotUse struct {
	Lot   string
	Units int
}

// MarkSheets writes one page a sheet, in their order; a sheet with more to say
// than a page holds runs on to a second, and says so on the first.
//
// An error names the sheet, the field, and what would be accepted.
func MarkSheets(w io.Writer, sheets []Sheet, p *words.Printer, paper Paper) error {
	return markSheets(w, sheets, voice{p, p.Lang, p.Style}, paper)
}

// LoadOutList writes what goes on the truck and comes back, on as many pages as
// it takes.
func LoadOutList(w io.Writer, l LoadOut, p *words.Printer, paper Paper) error {
	return loadOutList(w, l, voice{p, p.Lang, p.Style}, paper)
}

// speaker is what the papers need of words.
type speaker interface {
	Say(key string, terms ...why.Term) string
	Finding(f why.Finding) (sentence, remedy string)
}

// voice is a speaker with its language and the person's units.
type voice struct {
	speaker
	lang  string
	style quantity.Style
}

func markSheets(w io.Writer, sheets []Sheet, v voice, paper Paper) error {
	if len(sheets) == 0 {
		return fmt.Errorf("mark sheets: no sheet given: want at least one")
	}
	for i, s := range sheets { // before the first byte is written
		if err := s.check(); err != nil {
			return fmt.Errorf("mark sheet %d (tag %.40q): %w", i+1, s.Tag, err)
		}
	}
	pdf, err := newPress(w, paper, sheetsTitle(sheets, v), v.lang, sheets[0].Date)
	if err != nil {
		return err
	}
	for i, s := range sheets {
		pages, err := sheetPages(s, v, paper)
		if err != nil {
			return fmt.Errorf("mark sheet %d (tag %.40q): %w", i+1, s.Tag, err)
		}
		pdf.addAll(pages)
	}
	return pdf.close()
}

func sheetsTitle(sheets []Sheet, v voice) string {
	title := v.Say("sheet.title")
	if len(sheets) == 1 {
		title += " " + sheets[0].Tag
	}
	if d := sheets[0].Date; !d.IsZero() {
		title += " " + day(d)
	}
	return title
}

// day is a date as ISO 8601 writes it: read the same way on both sides of the
// Atlantic.
func day(d quantity.Date) string { return d.String() }
