// Package documents answers: what does the paper say?
//
// It writes what it is handed to an io.Writer, the same bytes for the same
// input, and decides nothing.
package documents

import (
	"io"
	"time"

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

// Sheet is what one mark sheet (one stem of one tree) says.
type Sheet struct {
	Tag, Stem, Site      string
	Scientific, Common   string
	Date                 time.Time
	Product              string // name, marked fictional where it is
	Fictional            bool
	LabelVersion         string
	Active               string // "emamectin benzoate 40 g/L"
	Ring                 bole.Ring
	Blocked              []Arc             // stretches without holes, after clearance
	Positions            []quantity.Length // tape readings, ascending
	Raise                []quantity.Length // per mark, above the ring's height; nil: none
	Units                int
	PerUnit, Total       quantity.Volume
	Lots                 []LotUse
	Bit, Stop, WoodDepth quantity.Length
	StopLow, StopHigh    quantity.Length
	BarkMeasured         bool
	Angle                quantity.Angle
	P50, P90             quantity.Span // drain forecast; 0: none
	ForecastN            int
	PPE                  []string
	REI                  string
	Findings             []why.Finding // warnings that the crew must see
	Near                 string        // one line: does ± ½ in change the count?
}

// Arc is a stretch of the ring and what blocks it.
type Arc struct {
	From, To quantity.Length
	Kind     string // a bole.ArcKind or "wound"
}

// LotUse is units from a lot.
type LotUse struct {
	Lot   string
	Units int
}

// LoadOut is what goes on the truck for a day.
type LoadOut struct {
	Date  time.Time
	Title string
	Lots  []LoadLot
	Short []string // sentences: what is missing
	Trees int
	Stops []StopCount // drill stops needed, with how many trees
	Items []Item      // tips, spares, bits, bags, PPE
}

// LoadLot is one line of units.
type LoadLot struct {
	Product, Lot string
	Size         quantity.Volume
	Units, Spare int
	Expires      time.Time
}

// StopCount is a setting of the drill and for how many trees it serves.
type StopCount struct {
	Bit, Stop quantity.Length
	Trees     int
}

// Item is a thing to take: a key of words and how many (0: a tick box only).
type Item struct {
	Key   string
	Count int
}

// MarkSheets writes one page a sheet.
func MarkSheets(w io.Writer, sheets []Sheet, p *words.Printer, paper Paper) error { panic("contract") }

// LoadOutList writes the load-out list.
func LoadOutList(w io.Writer, l LoadOut, p *words.Printer, paper Paper) error { panic("contract") }
