package records

import (
	"encoding/json"
	"slices"
	"testing"
	"time"

	"sapwell/engine/label"
	"sapwell/engine/quantity"
	"sapwell/entries"
	"sapwell/internal/outside"
	"sapwell/journal"
	"sapwell/views"
)

// id is an invented id of version 7.
func id(n byte) journal.ID { return journal.ID{0, 0, 0, 0, 0, n, 0x70, 0, 0x80} }

const (
	inch = 25_400_000    // nm
	mL   = 1_000_000     // nL
	noon = 1778601600000 // 2026-05-12T16:00:00Z, 12:00 in New York
)

func newYork(t testing.TB) *time.Location {
	t.Helper()
	zone, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	return zone
}

func ptr[T any](v T) *T { return &v }

func named(c views.Common, n byte) views.Common { c.ID = id(n).String(); return c }

// person is somebody with certificates.
func person(n byte, name string, held ...entries.Certificate) *views.Person {
	p := &views.Person{Common: named(views.Common{}, n), Facts: entries.Person{Name: name}}
	for _, c := range held {
		p.Certificates = append(p.Certificates, views.Held{Certificate: c})
	}
	return p
}

func certificate(sort, number, from, until string) entries.Certificate {
	c := entries.Certificate{Sort: sort, Number: number, Authority: "the state"}
	c.From, _ = quantity.ParseDate(from)
	c.Until, _ = quantity.ParseDate(until)
	return c
}

// invented is an invented visit: tree T-07 got two units of 4 mL of which 1 mL is
// left, done by A. Example who is certified; then everything is known.
func invented(t testing.TB) Facts {
	unit := func(n, hole byte, left int64) views.Unit {
		return views.Unit{ID: id(n), Hole: id(hole), Tree: id(1), Lot: id(5), Fill: 4 * mL, Seated: noon + 60_000, Lifted: noon + 3_600_000, Left: ptr(left)}
	}
	hole := func(n, by byte) views.Bored {
		return views.Bored{ID: id(n), At: noon, Facts: entries.Hole{Head: entries.Head{By: id(by)}, Tree: id(1)}}
	}
	girth := entries.Girth{Around: 96 * inch, Height: 12 * inch}
	return Facts{
		Today: quantity.NewDate(2026, 6, 5), Zone: newYork(t),
		Org:     &views.Org{Common: named(views.Common{}, 9), Facts: entries.Org{Name: "Example Tree Health (fictional)", Country: "US", Region: "NY", Phone: "+1-555-0100", RegNo: "B-0001", KeepYears: 2}},
		Grounds: &views.Grounds{Common: named(views.Common{}, 8), Facts: entries.Grounds{Name: "Front lawn", Context: "residential", Client: "Fictional Owner LLC", ClientAddress: "1 Sample Lane", Address: "1 Sample Lane", Zip: "00000", Country: "US", Region: "NY", Place: &entries.Place{Lat: 42_0000000, Lon: -75_0000000}}},
		Visit: &views.Visit{Common: named(views.Common{}, 2), Bags: []journal.ID{id(6)}, ClosedAt: noon + 4_000_000,
			Facts: entries.VisitOpened{Day: quantity.NewDate(2026, 5, 12), Grounds: id(8), Certified: id(10), Jobs: []entries.Job{{Tree: id(1), Plan: id(3)}},
				Weather: &entries.Weather{Air: ptr(int64(291_150)), Wind: ptr(int64(1_500))}},
			Holes: []views.Bored{hole(20, 10), hole(21, 10)}, Units: []views.Unit{unit(30, 20, 0), unit(31, 21, 1*mL)},
			Closed: &entries.VisitClosed{Signature: entries.Signature{Name: "A. Example", Meaning: "applicator"},
				Trees: []entries.Treated{{Tree: id(1), Label: id(4), Holes: 2, Units: 2, Lifted: 2, Given: 7 * mL, Start: noon + 60_000, End: noon + 3_600_000}}}},
		Trees: []*views.Tree{{Common: named(views.Common{}, 1), Facts: entries.Tree{Tag: "T-07", Species: "Fraxinus pennsylvanica"},
			Measurement: &views.Measured{Facts: entries.Measurement{Stems: []entries.Stem{{Girth: girth}}}}}},
		Labels: []LabelVersion{{View: &views.Label{Common: named(views.Common{}, 4)}, Label: label.Label{ID: "boltane", Product: label.Product{Name: "Boltane (fictional)", RegNo: "99999-1"},
			Class: label.Classification{RestrictedUse: true, Ingredients: []label.Ingredient{{Name: "emamectin benzoate"}}},
			Pests: []label.Pest{{Name: "Agrilus planipennis", EPPO: "AGRLPL"}}, Conditions: label.Conditions{AfterPetalFall: true}, Food: label.Food{Tapping: "unspecified", PHIDays: ptr(30)}}}},
		Lots:   []*views.Lot{{Common: named(views.Common{}, 5), Facts: entries.Lot{Label: "boltane", Number: "LOT-A1"}}},
		People: []*views.Person{person(10, "A. Example", certificate(licence, "C-000123", "2025-01-01", "2027-12-31"))},
		Bags:   []*views.Bag{{Common: named(views.Common{}, 6), Facts: entries.BagSealed{Mark: "W-2026-19"}}},
		Plans:  map[journal.ID]entries.Plan{id(3): {Tree: id(1), Label: id(4), Pest: "AGRLPL"}},
	}
}

// one is the only record of some facts.
func one(t testing.TB, f Facts) Record {
	t.Helper()
	list := Of(f)
	if len(list) != 1 {
		t.Fatalf("%d records", len(list))
	}
	return list[0]
}

// says fails unless the fields read so.
func says(t *testing.T, r Record, want map[Field]string) {
	t.Helper()
	for f, text := range want {
		if got := r.Text(f); got != text {
			t.Errorf("%s: %q, want %q", f, got, text)
		}
	}
}

// A tape in centimetres is not turned into inches of four places.
func TestMetricTapeInTheStates(t *testing.T) {
	f := invented(t)
	f.Trees[0].Measurement.Facts.Stems[0].Girth = entries.Girth{Around: 900_000_000, Height: 12 * inch}
	says(t, one(t, f), map[Field]string{"tree.circumference": "90 cm", "tree.measured_at_height": "12 [in_i]"})
}

// The record says what the views say, in units that people write, and is what is
// asked but for the facts that no entry tells.
func TestOf(t *testing.T) {
	r := one(t, invented(t))
	says(t, r, map[Field]string{
		"as_of": "2026-06-05", "date": "2026-05-12", "time.start": "12:01", "time.end": "13:00", "recorded_at": "2026-05-12T13:06:40-04:00",
		"signature.by": "A. Example", "business.name": "Example Tree Health (fictional)", "applicator.name": "A. Example", "applicator.cert_no": "C-000123",
		"applicator.cert_expiry": "2027-12-31", "applied_by": "certified", "applied_by_name": "A. Example", "client.name": "Fictional Owner LLC",
		"property_operator.name": "Fictional Owner LLC", "site.location": "Front lawn, tree T-07", "site.zip": "00000", "site.geo": "-75, 42", "site.type": "residential tree",
		"tree.id": "T-07", "tree.circumference": "96 [in_i]", "tree.measured_at_height": "12 [in_i]", "target.pest": "Agrilus planipennis", "target.eppo": "AGRLPL",
		"crop.eppo": "FRXPE", "product.name": "Boltane (fictional)", "product.ai": "emamectin benzoate", "product.lot": "LOT-A1", "label.rup": "true", "label.stage_restricted": "true",
		"label.time_restricted": "false", "amount.total": "7 mL", "amount.filled": "8 mL", "amount.left": "1 mL", "amount.rate": "4 mL/{unit}", "area.size": "1 {tree}", "weather.air_temp": "18 Cel",
		"weather.wind": "1.5 m/s", "units.installed": "2", "units.retrieved": "2", "holes.count": "2", "waste.batch": "W-2026-19", "food.harvest_earliest": "2026-06-11",
		"ctx.commercial": "true", "ctx.agricultural": "false", "profiles": "us-fed-rup, us-ny, generic",
	})
	got := found(r)
	for profile, want := range map[string][]string{"us-fed-rup": {}, "us-ny": {"MISSING:contract.ref", "MISSING:ctx.commercial", "MISSING:marker.posted_at"}, "uk": {}, "generic": {}} {
		if !slices.Equal(got[profile], want) {
			t.Errorf("%s: %v, want %v", profile, got[profile], want)
		}
	}
	if got := KeepUntil(r).String(); got != "2029-05-12" {
		t.Errorf("kept until %s", got)
	}
	if again := one(t, invented(t)); string(again.JSON()) != string(r.JSON()) {
		t.Error("the same facts make another record")
	}
	var u journal.ID // the id has the form of a UUID of version 8, so it is not taken for an entry's
	if u.UnmarshalText([]byte(r.Text("record.id"))) == nil || r.Text("record.id")[14] != '8' {
		t.Errorf("record.id %s", r.Text("record.id"))
	}
}

// Somebody without a certificate did it: named, with a training or without.
func TestHands(t *testing.T) {
	f := invented(t)
	f.Visit.Holes[1].Facts.By = id(11)
	f.People = append(f.People, person(11, "B. Invented"))
	r := one(t, f)
	says(t, r, map[Field]string{"applied_by": "noncertified", "operator.name": "B. Invented", "operator.qualification_ref": "",
		"applied_by_name": "A. Example, B. Invented; supervised by A. Example"})
	if got := found(r)["us-fed-rup"]; !slices.Equal(got, []string{"MISSING:operator.qualification_ref"}) {
		t.Errorf("without a training: %v", got)
	}
	f.People[1] = person(11, "B. Invented", certificate(training, "TR-1", "2026-01-01", "2027-01-01"))
	says(t, one(t, f), map[Field]string{"operator.qualification_ref": "the state TR-1"})
	f.People[0] = person(10, "A. Example", certificate(licence, "C-1", "2024-01-01", "2026-05-11"))
	f.Visit.Holes[1].Facts.By = id(10)
	r = one(t, f) // whose certificate ran out the day before is not certified, and the check says so
	says(t, r, map[Field]string{"applied_by": "noncertified", "applicator.cert_no": "C-1"})
	if !slices.Contains(found(r)["generic"], "INVALID:applicator.cert_expired") {
		t.Errorf("%v", found(r)["generic"])
	}
	f.Visit.Holes = nil
	says(t, one(t, f), map[Field]string{"applied_by": "", "operator.name": ""})
}

// A certificate without a last day is not valid for good: the day is asked of
// whoever answers and of whoever works. One with a last day that holds goes before it.
func TestCertificateWithoutEnd(t *testing.T) {
	endless := certificate(licence, "C-9", "2020-01-01", "")
	good := certificate(licence, "C-1", "2025-01-01", "2027-12-31")
	gone := certificate(licence, "C-0", "2010-01-01", "2020-12-31")
	for _, c := range []struct {
		chief, hand []entries.Certificate
		number      string
		asked       bool
	}{
		{[]entries.Certificate{good}, nil, "C-1", false},
		{[]entries.Certificate{endless}, nil, "C-9", true},
		{[]entries.Certificate{endless, gone}, nil, "C-9", true},
		{[]entries.Certificate{endless, good}, nil, "C-1", false},
		{[]entries.Certificate{good, endless}, nil, "C-1", false},
		{[]entries.Certificate{good}, []entries.Certificate{endless}, "C-1", true},
		{[]entries.Certificate{good}, []entries.Certificate{good}, "C-1", false},
	} {
		f := invented(t)
		f.People[0] = person(10, "A. Example", c.chief...)
		if c.hand != nil {
			f.People = append(f.People, person(11, "B. Invented", c.hand...))
			f.Visit.Holes[1].Facts.By = id(11)
		}
		r := one(t, f)
		says(t, r, map[Field]string{"applicator.cert_no": c.number, "applied_by": "certified"})
		for _, profile := range []string{"us-fed-rup", "generic"} {
			if got := slices.Contains(found(r)[profile], "MISSING:applicator.cert_expiry"); got != c.asked {
				t.Errorf("%+v: %s asks %t", c, profile, got)
			}
		}
	}
}

// In the US a training counts for 12 months, the same day of the next year included,
// whatever it says of itself (40 CFR 171.201, as the State of Washington tells it).
func TestTrainingEnds(t *testing.T) {
	for _, c := range []struct {
		country, from, until string
		counts               bool
	}{
		{"US", "2025-05-12", "", true},
		{"US", "2025-05-11", "", false},
		{"US", "2025-05-11", "2030-01-01", false},
		{"US", "2026-01-01", "2026-05-11", false},
		{"US", "2026-05-13", "", false},
		{"DE", "2026-01-01", "", false},
		{"DE", "2020-01-01", "2030-01-01", true},
	} {
		f := invented(t)
		f.Grounds.Facts.Country = c.country
		f.Visit.Holes[1].Facts.By = id(11)
		f.People = append(f.People, person(11, "B. Invented", certificate(training, "TR-1", c.from, c.until)))
		if got := one(t, f).Has("operator.qualification_ref"); got != c.counts {
			t.Errorf("%+v: counts %t", c, got)
		}
	}
	outside.Ran(t, "40 CFR 171.201, as the State of Washington tells it", "a training counts for 12 months")
}

// What was bagged is to be handed over: within a year of the work (our own reminder;
// 40 CFR 273.15 holds universal waste a year at most, from memory), or by the day told
// of the bag. It is done when the last bag is gone.
func TestBagsAreHandedOver(t *testing.T) {
	f := invented(t)
	due := func() Duty {
		t.Helper()
		for _, d := range Duties(Of(f)) {
			if d.Name == "generic.waste_handed" {
				return d
			}
		}
		t.Fatal("no duty to hand over what was bagged")
		return Duty{}
	}
	if d := due(); d.Due != quantity.NewDate(2027, 5, 12) || d.Subject != "2026-05-12" || !d.Done.IsZero() || d.Late {
		t.Errorf("%+v", d)
	}
	f.Today = quantity.NewDate(2027, 5, 13)
	if d := due(); !d.Late {
		t.Errorf("%+v", d)
	}
	f.Bags[0].Told = map[string]views.Told{"waste.until": {Text: "2026-08-10"}}
	if d := due(); d.Due != quantity.NewDate(2026, 8, 10) {
		t.Errorf("the place's own day: %+v", d)
	}
	f.Bags = append(f.Bags, &views.Bag{Common: named(views.Common{}, 7), Facts: entries.BagSealed{Mark: "W-2026-20"}})
	f.Visit.Bags = append(f.Visit.Bags, id(7))
	f.Bags[0].Handed, f.Bags[0].HandedAt = &entries.BagHanded{To: "a collection point (fictional)"}, noon
	if d := due(); !d.Done.IsZero() {
		t.Errorf("one of two bags: %+v", d)
	}
	f.Bags[1].Handed, f.Bags[1].HandedAt = f.Bags[0].Handed, noon+86_400_000
	if d := due(); d.Done != quantity.NewDate(2026, 5, 13) || d.Late {
		t.Errorf("both: %+v", d)
	}
	f.Visit.Bags = nil
	for _, d := range Duties(Of(f)) {
		if d.Name == "generic.waste_handed" {
			t.Errorf("nothing was bagged: %+v", d)
		}
	}
}

// By the label's 28 days after 12 May livestock comes back on 9 June.
func TestGrazing(t *testing.T) {
	f := invented(t)
	f.Labels[0].Label.Food.GrazingDays, f.Labels[0].Label.Food.GrazingText = ptr(28), "Keep livestock off for 28 days."
	says(t, one(t, f), map[Field]string{"food.grazing_days": "28", "food.grazing_earliest": "2026-06-09", "food.grazing_text": "Keep livestock off for 28 days."})
}

// Everybody who handled the units did the work: who seats, pressurises, takes back or
// bags as well as who bores (use of a product is all of that: 40 CFR 171.3, from a
// glossary that tells it). Another tree's hands are not this tree's.
func TestEveryHandCounts(t *testing.T) {
	whole := "A. Example, B. Invented; supervised by A. Example"
	for what, by := range map[string]func(f *Facts){
		"unit": func(f *Facts) { f.Visit.Units[1].Hands = []journal.ID{id(10), id(11)} },
		"bag":  func(f *Facts) { f.Bags[0].Facts.By = id(11) },
	} {
		f := invented(t)
		f.People = append(f.People, person(11, "B. Invented"))
		by(&f)
		r := one(t, f)
		says(t, r, map[Field]string{"applied_by": "noncertified", "operator.name": "B. Invented", "applied_by_name": whole})
		if got := found(r)["us-fed-rup"]; !slices.Contains(got, "MISSING:operator.qualification_ref") {
			t.Errorf("%s: %v", what, got)
		}
	}
	f := invented(t)
	f.People = append(f.People, person(11, "B. Invented"))
	f.Visit.Units = append(f.Visit.Units, views.Unit{ID: id(40), Tree: id(2), Seated: noon, Hands: []journal.ID{id(11)}})
	says(t, one(t, f), map[Field]string{"applied_by": "certified", "applied_by_name": "A. Example"})
	outside.Ran(t, "40 CFR 171.3, definition of use, in a glossary that tells it", "who seats, lifts or bags uses the product")
}

// Whether the work is for hire is told of the firm, the grounds or the visit, the
// nearest first. Until it is, it is taken for it and asked in New York, where a
// written contract hangs on it (ECL 33-1001); a client's name does not tell it.
func TestForHire(t *testing.T) {
	for _, c := range []struct {
		org, grounds, visit, client, commercial string
		want                                    []string
	}{
		{"", "", "", "Fictional Owner LLC", "true", []string{"MISSING:contract.ref", "MISSING:ctx.commercial", "MISSING:marker.posted_at"}},
		{"", "", "", "", "true", []string{"MISSING:contract.ref", "MISSING:ctx.commercial", "MISSING:marker.posted_at"}},
		{"perhaps", "", "", "", "true", []string{"MISSING:contract.ref", "MISSING:ctx.commercial", "MISSING:marker.posted_at"}},
		{"yes", "", "", "", "true", []string{"MISSING:contract.ref", "MISSING:marker.posted_at"}},
		{"no", "", "", "City Park (fictional)", "false", nil},
		{"no", "yes", "", "", "true", []string{"MISSING:contract.ref", "MISSING:marker.posted_at"}},
		{"yes", "yes", "no", "Fictional Owner LLC", "false", nil},
	} {
		f := invented(t)
		f.Grounds.Facts.Client = c.client
		for c, text := range map[*views.Common]string{&f.Org.Common: c.org, &f.Grounds.Common: c.grounds, &f.Visit.Common: c.visit} {
			c.Told = map[string]views.Told{"ctx.commercial": {Text: text}}
		}
		r := one(t, f)
		says(t, r, map[Field]string{"ctx.commercial": c.commercial})
		if got := found(r)["us-ny"]; !slices.Equal(got, c.want) && len(got)+len(c.want) > 0 {
			t.Errorf("%+v: %v", c, got)
		}
	}
	outside.Ran(t, "New York ECL 33-1001", "a written contract before work for hire, and asked whether it is")
}

// While the visit is open the record is what is known so far.
func TestOpenVisit(t *testing.T) {
	f := invented(t)
	f.Visit.Closed, f.Visit.ClosedAt = nil, 0
	f.Visit.Units[1].Lifted, f.Visit.Units[1].Left = 0, nil
	r := one(t, f)
	says(t, r, map[Field]string{"units.installed": "2", "units.retrieved": "1", "holes.count": "2", "amount.total": "4 mL", "recorded_at": "", "signature": ""})
	if !slices.Contains(found(r)["generic"], "INVALID:units.unreconciled") {
		t.Errorf("%v", found(r)["generic"])
	}
	f.Visit.Units, f.Visit.Holes = nil, nil
	if list := Of(f); len(list) != 0 {
		t.Errorf("what was planned and not begun has %d records", len(list))
	}
	if list := Of(Facts{}); len(list) != 0 {
		t.Errorf("of nothing: %d records", len(list))
	}
}

// Two products in one tree are two records, each with its own lots.
func TestTwoLabels(t *testing.T) {
	f := invented(t)
	f.Labels = append(f.Labels, LabelVersion{View: &views.Label{Common: named(views.Common{}, 44)}, Label: label.Label{ID: "other", Product: label.Product{Name: "Other (fictional)"}}})
	f.Lots = append(f.Lots, &views.Lot{Common: named(views.Common{}, 55), Facts: entries.Lot{Label: "other", Number: "LOT-B2"}})
	f.Visit.Units[1].Lot = id(55)
	f.Visit.Closed.Trees = append(f.Visit.Closed.Trees, entries.Treated{Tree: id(1), Label: id(44), Holes: 1, Units: 1, Lifted: 1, Given: 3 * mL, Start: noon, End: noon})
	list := Of(f)
	if len(list) != 2 || list[0].Text("record.id") == list[1].Text("record.id") {
		t.Fatalf("%d records", len(list))
	}
	says(t, list[0], map[Field]string{"product.lot": "LOT-A1", "amount.filled": "4 mL"})
	says(t, list[1], map[Field]string{"product.lot": "LOT-B2", "product.name": "Other (fictional)", "label.rup": "false"})
}

// What was told fills what no entry tells, the nearest to the work first, and is
// read as what the profiles want it to be. It stands in the place of what only
// follows, never of what was done.
func TestTold(t *testing.T) {
	f := invented(t)
	tell := func(c *views.Common, field, text string) {
		if c.Told == nil {
			c.Told = map[string]views.Told{}
		}
		c.Told[field] = views.Told{Text: text}
	}
	tell(&f.Visit.Common, "contract.ref", "K-88")
	tell(&f.Grounds.Common, "contract.ref", "K-1")
	tell(&f.Visit.Common, "marker.posted_at", "2026-05-12T08:55:00-04:00")
	tell(&f.Visit.Common, "marker.width_in", "5")
	tell(&f.Visit.Common, "marker.height_in", "3")
	tell(&f.Grounds.Common, "ctx.agency", "No")
	tell(&f.Org.Common, "ctx.commercial", "yes")
	tell(&f.Grounds.Common, "site.type", "ornamental shade tree")
	tell(&f.Grounds.Common, "area.planted", "30 {tree}")
	tell(&f.Visit.Common, "holes.count", "99")
	tell(&f.Visit.Common, "target.pest", "")
	tell(&f.Org.Common, "reports.ca_monthly", "2026-04-09")     // of an earlier month
	tell(&f.Org.Common, "reports.ny_annual.2026", "2027-01-20") // of this year
	tell(&f.Org.Common, "reports.ny_annual.2025", "2026-01-20") // of another
	r := one(t, f)
	says(t, r, map[Field]string{"contract.ref": "K-88", "marker.width_in": "5", "ctx.agency": "false", "site.type": "ornamental shade tree", "holes.count": "2",
		"reports.ca_monthly": "", "reports.ny_annual": "2027-01-20", "target.pest": "Agrilus planipennis"})
	if _, _, ok := r.Amount("area.planted"); ok { // of this field the profiles do not say that it is an amount
		t.Error("area.planted was read as an amount")
	}
	if got := found(r)["us-ny"]; !slices.Equal(got, []string{"INVALID:marker.size"}) {
		t.Errorf("%v", got)
	}
	tell(&f.Org.Common, "reports.ca_monthly", "2026-06-09")
	says(t, one(t, f), map[Field]string{"reports.ca_monthly": "2026-06-09"})
	tell(&f.Grounds.Common, "reports.ca_monthly.2026-05", "sent")
	says(t, one(t, f), map[Field]string{"reports.ca_monthly": "2026-06-09"}) // a day goes before what is none
	tell(&f.Org.Common, "reports.ca_monthly", "yes, sent")
	says(t, one(t, f), map[Field]string{"reports.ca_monthly": "sent"}) // and where there is none it is not passed over
	f.Grounds.Told["profiles"] = views.Told{Text: "us-fed-rup, us-ca", Why: "across the border"}
	ids, overruled := one(t, f).Chosen()
	if !slices.Equal(ids, []string{"us-fed-rup", "us-ca"}) || overruled != "across the border" {
		t.Errorf("%v, %q", ids, overruled)
	}
}

// A correction is printed with what stood before, who, when and why: of this tree,
// its grounds and people, not of another tree of the visit.
func TestAmendments(t *testing.T) {
	f := invented(t)
	amend := func(n byte, of journal.ID, kind, before, after string) {
		a := entries.Amendment{Head: entries.Head{V: 1, By: id(10)}, Of: of, OfKind: kind, Why: "misread", Before: json.RawMessage(before), After: json.RawMessage(after)}
		f.Amended = append(f.Amended, entries.Entry{ID: id(n), Time: noon + int64(n)*1000, Body: a})
	}
	body := func(b entries.Body) string {
		raw, err := entries.WriteBody(b)
		if err != nil {
			t.Fatal(err)
		}
		return string(raw)
	}
	head := entries.Head{V: 1, By: id(10)}
	lifted := func(unit byte, left int64) string {
		return body(entries.UnitLifted{Head: head, Visit: id(2), Unit: id(unit), Left: left})
	}
	amend(101, id(40), "unit.lifted", lifted(31, 0), lifted(31, 1*mL))
	f.Visit.Units = append(f.Visit.Units, views.Unit{ID: id(39), Tree: id(77), Seated: noon})
	amend(102, id(41), "unit.lifted", lifted(39, 0), lifted(39, 2*mL)) // of another tree
	tree := func(tag string) string {
		return body(entries.Tree{Head: head, Grounds: id(8), Tag: tag, Species: "Fraxinus pennsylvanica"})
	}
	amend(100, id(1), "tree", tree("T-70"), tree("T-07"))
	opened := func(who byte) string {
		return body(entries.VisitOpened{Head: head, Grounds: id(8), Day: quantity.NewDate(2026, 5, 12), Certified: id(who), Jobs: []entries.Job{{Tree: id(1), Plan: id(3)}}})
	}
	f.People = append(f.People, person(11, "B. Invented"))
	amend(103, id(2), "visit.opened", opened(11), opened(10))
	got := one(t, f).Amendments
	want := []Amendment{
		{Field: "tree.id", By: "A. Example", At: "2026-05-12T12:01:40-04:00", Why: "misread", Before: "T-70", After: "T-07"},
		{Field: "", By: "A. Example", At: "2026-05-12T12:01:41-04:00", Why: "misread", Before: "left: 0 mL", After: "left: 1 mL"},
		{Field: "applicator.name", By: "A. Example", At: "2026-05-12T12:01:43-04:00", Why: "misread", Before: "B. Invented", After: "A. Example"},
	}
	if !slices.Equal(got, want) {
		t.Errorf("got  %+v\nwant %+v", got, want)
	}
	r := one(t, f)
	again, err := Parse(r.JSON())
	if err != nil || !slices.Equal(again.Amendments, want) || string(again.JSON()) != string(r.JSON()) {
		t.Errorf("through JSON: %v, %v", err, again.Amendments)
	}
}
