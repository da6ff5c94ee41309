// Package label answers: what does this product label allow, and how does it
// say the dose is counted?
//
// A Label is data typed from the paper label, one value a version. Nothing here
// has a default that the label did not print: what is not printed is "not
// stated", and what needs it refuses. Check tells what is wrong with the data;
// it does not judge whether the product may be used.
//
// The json names are the keys of a label file. A key without omitempty or
// omitzero must stand in every file.
package label

import (
	"sapwell/engine/quantity"
)

// Label is one version of one product label.
type Label struct {
	ID          string         `json:"id"`
	Version     quantity.Date  `json:"version"` // the date of the label text
	Fictional   bool           `json:"fictional"`
	Product     Product        `json:"product"`
	Class       Classification `json:"classification"`
	Hosts       []Host         `json:"hosts"`
	Pests       []Pest         `json:"pests"`
	PestsOnly   bool           `json:"pests_exclusive"`     // use is limited to the listed pests
	NoDeviation bool           `json:"deviation_forbidden"` // less than the stated dose is forbidden too
	Unit        UnitSpec       `json:"unit"`
	Rate        Rate           `json:"rate"`
	Ceilings    Ceilings       `json:"ceilings,omitzero"`
	Hole        Hole           `json:"hole"`
	Site        Site           `json:"site,omitzero"`
	Conditions  Conditions     `json:"conditions,omitzero"`
	People      People         `json:"people,omitzero"`
	Food        Food           `json:"food"`
	Storage     Storage        `json:"storage,omitzero"`
	Also        []string       `json:"also,omitempty"`       // what else it demands of the work, a line each; see to every one
	Statements  []Statement    `json:"statements,omitempty"` // hazard and precaution statements, in the label's order
	FirstAid    FirstAid       `json:"first_aid,omitzero"`
	Disposal    Disposal       `json:"disposal,omitzero"`
}

// Product is who is who.
type Product struct {
	Name       string `json:"name"`
	RegNo      string `json:"reg_no"`
	Registrant string `json:"registrant"`
	Country    string `json:"country"` // ISO 3166-1 alpha-2
	// States are the only states or provinces where it may be used (in the US a
	// special local need, 24(c), or a registration refused elsewhere); empty: no limit.
	States          []string      `json:"states,omitempty"`
	AuthorisedUntil quantity.Date `json:"authorised_until,omitzero"` // last day of the authorisation; zero: not stated
	UseUpUntil      quantity.Date `json:"use_up_until,omitzero"`     // last day on which what is left may be used up
}

// Classification is the legal class and what is in it.
type Classification struct {
	RestrictedUse    bool         `json:"restricted_use"`
	ProfessionalOnly bool         `json:"professional_only"`
	StateRestricted  []string     `json:"state_restricted,omitempty"` // states that restrict its use to certified people of their own accord
	SignalWord       string       `json:"signal_word,omitempty"`      // DANGER, WARNING, CAUTION, or empty
	Ingredients      []Ingredient `json:"active_ingredients"`
}

// Ingredient is an active ingredient by its ISO common name.
type Ingredient struct {
	Name    string                 `json:"name"`
	Content quantity.MassPerVolume `json:"content,omitzero"` // g a.i. per L of product
	IRAC    string                 `json:"irac,omitempty"`
	FRAC    string                 `json:"frac,omitempty"`
}

// Host is a taxon the label lists: a genus or a species.
type Host struct {
	Taxon    string `json:"taxon"`
	Excluded bool   `json:"excluded,omitempty"` // "all maples except ..."
	Crop     bool   `json:"crop,omitempty"`     // listed as food-bearing crop
}

// Pest is a pest or disease the label lists.
type Pest struct {
	Name string `json:"name"`
	EPPO string `json:"eppo,omitempty"`
}

// UnitSpec is the sealed device as the label and its maker describe it.
type UnitSpec struct {
	Fills    []quantity.Volume    `json:"fills"`               // liquid in a unit, the sizes sold
	GasSpace quantity.Volume      `json:"gas_space,omitempty"` // gas volume over the liquid of the first size; 0: not stated
	Gauge    quantity.Pressure    `json:"pressure,omitempty"`  // gauge pressure when pressurised; 0: not stated
	FilledAt quantity.Temperature `json:"filled_at,omitempty"` // temperature at filling; 0: not stated
}

// RateKind names the rule by which the label counts.
type RateKind string

// The rules a label may state.
const (
	BySpacing    RateKind = "spacing"            // one unit per so much girth
	ByDiameter   RateKind = "units_per_diameter" // one unit per so much diameter
	DosePerDia   RateKind = "dose_per_diameter"  // mL or g a.i. per so much diameter
	ByClass      RateKind = "class_table"        // table by diameter class
	FixedPerHole RateKind = "fixed_per_hole"     // so much in every hole, holes by spacing
)

// Rounding is how the label says a fraction of a unit is treated.
type Rounding string

// The ways; Unspecified offers no number.
const (
	RoundUp      Rounding = "up"
	RoundDown    Rounding = "down"
	RoundNearest Rounding = "nearest"
	Unspecified  Rounding = "unspecified"
)

// Rate is the rule and its figures; which fields hold depends on Kind.
type Rate struct {
	Kind     RateKind                  `json:"kind"`
	Measure  Measure                   `json:"measure"`                       // what is measured and at which height
	Rounding Rounding                  `json:"rounding,omitempty"`            // empty is Unspecified
	Spacing  quantity.Length           `json:"spacing,omitempty"`             // spacing, fixed_per_hole: girth per unit or hole; dose_per_diameter: may space the holes
	PerUnit  quantity.Length           `json:"per_unit,omitempty"`            // units_per_diameter: diameter per unit
	Volume   *quantity.VolumePerLength `json:"volume_per_diameter,omitempty"` // dose_per_diameter
	Mass     *quantity.MassPerLength   `json:"mass_per_diameter,omitempty"`   // dose_per_diameter, g a.i.
	PerHole  quantity.Volume           `json:"per_hole,omitempty"`            // fixed_per_hole
	Classes  []Class                   `json:"classes,omitempty"`
	Readings *Readings                 `json:"readings,omitempty"` // class_table: how the label rounds a reading; nil: not stated, rows must touch
}

// Measure says what the label measures.
type Measure struct {
	What   string          `json:"what"`   // "girth" or "diameter"
	Height quantity.Length `json:"height"` // above ground
}

// Readings is a label's statement of how a diameter between two steps is read:
// "measure to the nearest inch". Without it a table printed 10-15, 16-20 leaves
// a gap, for trees do not grow in whole inches.
type Readings struct {
	Step     quantity.Length `json:"step"`
	Rounding Rounding        `json:"rounding"` // up, down or nearest (a half goes up)
}

// Class is one row of a diameter table. With Readings both bounds belong to the
// row and the next row starts one step later. Without, the next row starts at
// the same figure, which belongs to the upper row; the last row keeps its own.
// A row states Units, Total, or both when they agree.
type Class struct {
	From  quantity.Length `json:"from"`
	To    quantity.Length `json:"to"`
	Units int             `json:"units,omitempty"`
	Total quantity.Volume `json:"total,omitempty"`
}

// Ceilings are limits no computation may pass; zero means not stated.
type Ceilings struct {
	PerApplication quantity.Volume `json:"per_application,omitempty"` // per tree and application
	PerYear        quantity.Volume `json:"per_year,omitempty"`        // per tree in a rolling 365 days or calendar year
	CalendarYear   bool            `json:"calendar_year,omitempty"`
	AllProducts    bool            `json:"counts_all_products,omitempty"` // interval and year count every product with this active ingredient
	AIPerYear      quantity.Mass   `json:"ai_per_year,omitempty"`         // g a.i. per tree in that year
	AIPerAreaYear  quantity.Mass   `json:"ai_per_hectare_year,omitempty"` // g a.i. per hectare and year
	Applications   int             `json:"applications_per_year,omitempty"`
	IntervalDays   int             `json:"interval_days,omitempty"` // at least so many days between applications
	MinDiameter    quantity.Length `json:"min_diameter,omitempty"`
}

// Hole is the geometry the label asks.
type Hole struct {
	Bit        quantity.Length `json:"bit"`       // diameter
	DepthMin   quantity.Length `json:"depth_min"` // into the wood, radially; along the bore when AlongBore
	DepthMax   quantity.Length `json:"depth_max"`
	AlongBore  bool            `json:"along_bore,omitempty"` // depths count along the bit, not radially
	Angle      quantity.Angle  `json:"angle"`                // downward from the radius
	HeightMin  quantity.Length `json:"height_min"`           // above ground
	HeightMax  quantity.Length `json:"height_max"`
	MinSpacing quantity.Length `json:"min_spacing,omitempty"`
}

// Site is what the label asks of the place.
type Site struct {
	WaterBuffer quantity.Length `json:"water_buffer,omitempty"` // least distance from open water and drains; 0: not stated
	WaterText   string          `json:"water_text,omitempty"`   // the label's own line
}

// Conditions are when the label lets one work; nil or zero: not stated.
type Conditions struct {
	AirMin         *quantity.Temperature `json:"air_min,omitempty"`
	AirMax         *quantity.Temperature `json:"air_max,omitempty"`
	NotInRain      bool                  `json:"not_in_rain,omitempty"`
	MoistSoil      bool                  `json:"moist_soil,omitempty"`
	BBCHFrom       int                   `json:"bbch_from,omitempty"`
	BBCHTo         int                   `json:"bbch_to,omitempty"`
	AfterPetalFall bool                  `json:"after_petal_fall,omitempty"` // not before petal fall
	HoursFrom      string                `json:"hours_from,omitempty"`       // "HH:MM"
	HoursTo        string                `json:"hours_to,omitempty"`
}

// People is who is protected and how.
type People struct {
	PPE      []string `json:"ppe,omitempty"`
	REI      string   `json:"re_entry,omitempty"` // the label's own line
	REIHours *int     `json:"re_entry_hours,omitempty"`
}

// Food is what the label says of trees that people eat or tap from.
type Food struct {
	PHIDays *int   `json:"pre_harvest_days,omitempty"` // days before harvest; nil: not stated
	PHIText string `json:"pre_harvest_text,omitempty"`
	Tapping string `json:"tapping"` // "allowed", "blocked", "unspecified"
	// NonBearingMonths: trees that bear within so many months are not treated.
	NonBearingMonths int `json:"non_bearing_months,omitempty"`
	// Grazing of livestock where the tree stands: "allowed", "blocked", "" not stated.
	Grazing     string `json:"grazing,omitempty"`
	GrazingDays *int   `json:"grazing_days,omitempty"` // days to keep livestock off after the work; nil: not stated
	GrazingText string `json:"grazing_text,omitempty"` // the label's own line
}

// Storage is how lots must be kept.
type Storage struct {
	Min  *quantity.Temperature `json:"min,omitempty"`
	Max  *quantity.Temperature `json:"max,omitempty"`
	Text string                `json:"text,omitempty"`
}

// Statement is a hazard or precaution statement: what it says, and its GHS code where
// the label has one. The code is a reference and does not take the place of the words.
type Statement struct {
	Code string `json:"code,omitempty"` // such as H318, P305+P351+P338
	Text string `json:"text"`
}

// FirstAid is printed as it stands, never reordered.
type FirstAid struct {
	Steps     []FirstAidStep `json:"steps,omitempty"`
	Physician string         `json:"physician,omitempty"`
	Phone     string         `json:"phone,omitempty"`
}

// FirstAidStep is one route of exposure and what to do.
type FirstAidStep struct {
	Route string `json:"route"` // eyes, skin, inhaled, swallowed
	Text  string `json:"text"`
}

// Disposal is the label's own wording for units and residue.
type Disposal struct {
	Product   string `json:"product,omitempty"`
	Container string `json:"container,omitempty"`
	Spill     string `json:"spill,omitempty"`
}
