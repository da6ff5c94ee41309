// Package verdict answers: should we, may we?
//
// Every check is a Rule value. A rule reports stop, ask, warn or nothing found;
// none ever says that something is legal. A rule that lacks a fact asks for it:
// among the findings where the plan hangs on it, otherwise as an open question
// for whoever stands at the tree. What only informs is a note. Cautions that
// hold for every tree belong on the sheet and are not reported here.
package verdict

import (
	"sapwell/engine/bole"
	"sapwell/engine/dose"
	"sapwell/engine/host"
	"sapwell/engine/label"
	"sapwell/engine/place"
	"sapwell/engine/quantity"
	"sapwell/engine/stock"
	"sapwell/engine/why"
)

// Jurisdiction is whose law is asked.
type Jurisdiction string

// The jurisdictions with rules here.
const (
	US Jurisdiction = "US"
	EU Jurisdiction = "EU"
	UK Jurisdiction = "UK"
)

// Answer is yes, no, or not known; not known is never taken for no.
type Answer string

// The answers.
const (
	Yes     Answer = "yes"
	No      Answer = "no"
	Unknown Answer = ""
)

// Circumstances are the facts of one tree on one day that the checks need
// beyond its measures.
type Circumstances struct {
	Jurisdiction Jurisdiction          `json:"jurisdiction"`
	Region       string                `json:"region,omitempty"` // state or province, e.g. "OR"
	Date         quantity.Date         `json:"date"`
	Pest         string                `json:"pest"`                  // name or EPPO code
	CanopyLoss   *int                  `json:"canopy_loss,omitempty"` // percent; nil: not rated
	BloomOver    Answer                `json:"bloom_over,omitempty"`  // end of bloom observed this season
	Eaten        Answer                `json:"eaten,omitempty"`       // some part of this tree is eaten
	Tapped       Answer                `json:"tapped,omitempty"`      // this tree is tapped for sap
	Crop         bool                  `json:"crop,omitempty"`
	Grazed       Answer                `json:"grazed,omitempty"`    // livestock grazes or browses where it stands
	Context      string                `json:"context,omitempty"`   // amenity, residential, orchard, nursery, forest; "": not known
	Also         Answer                `json:"also,omitempty"`      // every further demand of the label is seen to
	Certified    Answer                `json:"certified,omitempty"` // certified person does or supervises it
	Air          *quantity.Temperature `json:"air,omitempty"`
	BBCH         *int                  `json:"bbch,omitempty"`
	Drought      Answer                `json:"drought,omitempty"`
	LiveWires    Answer                `json:"live_wires,omitempty"`
	Water        *quantity.Length      `json:"water,omitempty"`    // to the nearest open water or drain; nil: not known
	Harvest      quantity.Date         `json:"harvest,omitzero"`   // first harvest to come of any eaten part
	Operator     *Operator             `json:"operator,omitempty"` // an uncertified person who is to do the work; nil: nobody is named
	Earlier      []Application         `json:"earlier,omitempty"`
	// Lots are those meant for this tree: one of this label that is past its day
	// stops it, whatever others there are.
	Lots []stock.Lot `json:"lots,omitempty"`
	// Planned is what is meant to be given to the tree when it is not the dose
	// the label's rule gives; 0: that dose.
	Planned quantity.Volume `json:"planned,omitempty"`
}

// Operator is somebody without a certificate who works under supervision.
type Operator struct {
	Age     *int          `json:"age,omitempty"`    // in whole years; nil: not known
	Family  Answer        `json:"family,omitempty"` // of the immediate family of a private applicator
	Trained quantity.Date `json:"trained,omitzero"` // day of the last training; zero: not known
}

// Application is an earlier treatment of the same tree.
type Application struct {
	Date   quantity.Date   `json:"date"`
	Active []string        `json:"active,omitempty"` // ISO common names
	Label  string          `json:"label,omitempty"`
	Total  quantity.Volume `json:"total,omitempty"`
}

// Case is all a rule may look at.
type Case struct {
	Circumstances
	Species host.Species
	Stems   []bole.Stem
	Label   label.Label
	Doses   []dose.Result // one a stem
	Bands   Bands
	Found   []why.Finding // what the other answers (marks, bore, drain) found
}

// law is the jurisdiction with rules here, or "" where it is not known or none
// of them: the strictest rule then holds.
func (c Case) law() Jurisdiction {
	if c.Jurisdiction == US || c.Jurisdiction == EU || c.Jurisdiction == UK {
		return c.Jurisdiction
	}
	return ""
}

// LawOf is whose law holds in a country, in code or words; "", the strictest, where
// that is not known here.
func LawOf(country string) Jurisdiction {
	switch code, _ := place.Country(country); {
	case code == place.US:
		return US
	case code == "GB":
		return UK
	case place.InEU(code):
		return EU
	}
	return ""
}

// state is the state of the US that the region is, however people write it; "" where
// it is none.
func (c Case) state() string {
	code, _ := place.Region(place.US, c.Region)
	return code
}

// part is the region as the label's own country counts its states or provinces.
func (c Case) part() string {
	if code, known := place.Region(c.Label.Product.Country, c.Region); known {
		return code
	}
	return c.state()
}

// Rule is one check. Check returns findings without code and source: Judge
// gives them the rule's, unless they bring their own.
type Rule struct {
	Code   string         // the finding it reports; "dose.*" passes on those of a package
	In     []Jurisdiction // nil: everywhere
	Source why.Source
	Open   bool // it reports questions that stay open, not findings
	Check  func(Case) []why.Finding
}

// Overall is the gravest of the findings. There is no word for "allowed".
type Overall string

// The words, gravest first.
const (
	Stop         Overall = "stop"
	AskFirst     Overall = "ask"
	Caution      Overall = "warn"
	NothingFound Overall = "nothing_found"
)

// Opinion is what all rules together have to say. NothingFound means just that:
// these rules found nothing, and the questions in Open are still to be answered.
type Opinion struct {
	Overall  Overall       `json:"overall"`
	Findings []why.Finding `json:"findings"`        // block, then ask, then warn; within each in the order of Rules
	Open     []why.Finding `json:"open,omitempty"`  // what is still to be found out
	Notes    []why.Finding `json:"notes,omitempty"` // what only informs
	Why      why.Reason    `json:"why,omitzero"`
}
