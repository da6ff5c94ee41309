package documents

import (
	"bytes"
	_ "embed"
	"io"
	"os"
	"path/filepath"
	"testing"

	"sapwell/engine/label"
	"sapwell/engine/quantity"
	"sapwell/records"
	"sapwell/words"
)

// Everything here is invented, as in fixture_test.go.

//go:embed testdata/record.json
var recordJSON []byte

func sampleRecord(t testing.TB) records.Record {
	t.Helper()
	r, err := records.Parse(recordJSON)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// gappy is a record with facts missing and others corrected.
func gappy(t testing.TB) records.Record {
	r := sampleRecord(t)
	for _, f := range []records.Field{"client.address", "target.pest", "time.start", "weather.wind", "signature.by", "signature.at", "signature.meaning", "waste.batch"} {
		r = r.With(f, nil)
	}
	r = r.With("applied_by", "noncertified")
	r.Amendments = []records.Amendment{
		{Field: "units.retrieved", By: "A. Example", At: "2026-05-13T08:10:00-04:00", Why: "one unit was found in the gutter", Before: "15", After: "16"},
		{Field: "product.lot", By: "B. Sample", At: "2026-05-20T17:00:00-04:00", Why: "the box was read wrongly", Before: "LOT-A7", After: "LOT-A1"},
		{Field: "units.retrieved", By: "A. Example", At: "2026-05-14T08:10:00-04:00", Why: "", Before: "14", After: "15"},
	}
	return r
}

// fullRecord says all that the journal can tell of a treatment.
func fullRecord(t testing.TB) records.Record {
	r := sampleRecord(t)
	for f, fact := range map[records.Field]any{
		"site.name": "Invented Park", "site.context": "amenity", "site.country": "US", "site.region": "US-NY", "crop.name": "Fraxinus pennsylvanica", "crop.bbch": "19",
		"amount.filled": map[string]any{"value": 64.5, "unit": "mL"}, "applicator.cert_authority": "Example State", "product.registrant": "Example Registrant", "product.fictional": true,
		"label.id": "example", "label.version": "2026-01-15", "label.re_entry": "Keep people and animals away until all units are lifted.", "label.re_entry_hours": 4,
		"food.pre_harvest_days": 120, "food.harvest_earliest": "2026-09-09", "food.tapping": "blocked", "business.id": "0190f3c2-7b1a-7c4d-8e21-5a6b7c8d9e00",
		"waste.hazardous": "unknown", "waste.destination": "Example Hauling (fictional)", "waste.proof": "SLIP-77", "weather.humidity": map[string]any{"value": 55, "unit": "%"}, "weather.rain": false,
		"profiles": []any{"us-fed-rup", "us-ny"}, "profiles_why": "the client is in another state", "units.lost": 0, "client.phone": "+1-555-0101",
		"tree.circumference": []any{map[string]any{"value": 96, "unit": "[in_i]"}, map[string]any{"value": 41.25, "unit": "[in_i]"}},
	} {
		r = r.With(f, fact)
	}
	return r
}

var somewhere = []string{"us-fed-rup", "us-ny", "generic"}

func printer(t testing.TB, lang string) *words.Printer {
	t.Helper()
	st := inch
	if lang == "es" {
		st = comma
	}
	p, err := words.New(lang, st)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// sampleOf is one paper under a name.
type sampleOf struct {
	name  string
	print func(w io.Writer, p *words.Printer, paper Paper) error
}

// samplePapers is every paper of the work, ready to print.
func samplePapers(t testing.TB) []sampleOf {
	r, gaps := sampleRecord(t), gappy(t)
	return []sampleOf{
		{"record", func(w io.Writer, p *words.Printer, paper Paper) error {
			return TreatmentRecord(w, r, somewhere, p, paper)
		}},
		{"record-gaps", func(w io.Writer, p *words.Printer, paper Paper) error {
			return TreatmentRecord(w, gaps, somewhere, p, paper)
		}},
		{"record-full", func(w io.Writer, p *words.Printer, paper Paper) error {
			return TreatmentRecord(w, fullRecord(t), somewhere, p, paper)
		}},
		{"book", func(w io.Writer, p *words.Printer, paper Paper) error {
			return RecordBook(w, sampleBook(), manyRecords(t, 5), p, paper)
		}},
		{"notice", func(w io.Writer, p *words.Printer, paper Paper) error {
			return ClientNotice(w, sampleNotice(t), p, paper)
		}},
		{"contract", func(w io.Writer, p *words.Printer, paper Paper) error {
			return Contract(w, sampleAgreement(), p, paper)
		}},
		{"notice-silent", func(w io.Writer, p *words.Printer, paper Paper) error {
			return ClientNotice(w, silentNotice(t), p, paper)
		}},
		{"medical-silent", func(w io.Writer, p *words.Printer, paper Paper) error {
			return MedicalSheet(w, silentMedical(), p, paper)
		}},
		{"sign-blank", func(w io.Writer, p *words.Printer, paper Paper) error {
			s := sampleSign()
			s.Posted, s.Until, s.Firm, s.Fictional = "", "", "Quillmere Tree Care (invented)", false
			return PostingSign(w, s, p, paper)
		}},
		{"sign", func(w io.Writer, p *words.Printer, paper Paper) error { return PostingSign(w, sampleSign(), p, paper) }},
		{"postings", func(w io.Writer, p *words.Printer, paper Paper) error {
			return PostingLog(w, []records.Record{r, gaps, r.With("marker", nil).With("tree.id", "T-09")}, workDay, p, paper)
		}},
		{"medical", func(w io.Writer, p *words.Printer, paper Paper) error {
			return MedicalSheet(w, sampleMedical(t), p, paper)
		}},
	}
}

// sampleLabel is an invented product with all that papers tell of one.
func sampleLabel() label.Label {
	hours, days := 4, 120
	return label.Label{
		ID: "example", Version: quantity.NewDate(2026, 1, 15), Fictional: true,
		Product: label.Product{Name: "Placeholder product A", RegNo: "99999-1", Registrant: "Example Registrant", Country: "XX"},
		Class:   label.Classification{RestrictedUse: true, SignalWord: "WARNING", Ingredients: []label.Ingredient{{Name: "emamectin benzoate"}}},
		People:  label.People{PPE: []string{"chemical-resistant gloves"}, REI: "Keep people and animals away until all units are lifted.", REIHours: &hours},
		Food:    label.Food{PHIDays: &days, Tapping: "blocked"},
		FirstAid: label.FirstAid{
			Steps: []label.FirstAidStep{
				{Route: "swallowed", Text: "Call a poison centre at once. Sip a glass of water if able to swallow. Do not make the person vomit unless told to."},
				{Route: "eyes", Text: "Hold the eye open and rinse slowly and gently with water for 15 to 20 minutes. Take contact lenses out after the first 5 minutes, then go on rinsing."},
				{Route: "skin", Text: "Take off clothing with product on it. Rinse the skin with plenty of water for 15 to 20 minutes."},
				{Route: "inhaled", Text: "Bring the person into fresh air. If the person does not breathe, call an ambulance, then give artificial breathing."},
			},
			Physician: "Early signs: wide pupils, unsteady gait, trembling. Invented text of an invented label.",
			Phone:     "+1-555-0199",
		},
	}
}

func sampleUsed() Used {
	l := sampleLabel()
	l.Statements = []label.Statement{
		{Code: "H302", Text: "Harmful if swallowed."}, {Code: "H410", Text: "Very toxic to aquatic life with long lasting effects."}, {Code: "P280", Text: "Wear protective gloves and eye protection."}}
	return Used{Label: l, HarvestFrom: workDay.AddDate(0, 0, 120)}
}

func sampleNotice(t testing.TB) Notice {
	r := sampleRecord(t)
	return Notice{Records: []records.Record{r, r.With("tree.id", "T-08").With("units.retrieved", 15), gappy(t).With("tree.id", "T-09")}, Products: []Used{sampleUsed()}, Date: workDay,
		Later: "tomorrow, 2026-05-13, before noon"}
}

// silentNotice is of two products whose labels say next to nothing, and of a record
// without its facts.
func silentNotice(t testing.TB) Notice {
	bare := label.Label{Product: label.Product{Name: "Placeholder product B", RegNo: "99999-2"}, Food: label.Food{Tapping: "unspecified"}}
	r, err := records.Parse([]byte(`{"client": {"name": "Fictional Owner LLC"}}`))
	if err != nil {
		t.Fatal(err)
	}
	return Notice{Records: []records.Record{sampleRecord(t), r}, Products: []Used{sampleUsed(), {Label: bare}}}
}

func silentMedical() Medical {
	return Medical{Product: Used{Label: label.Label{Product: label.Product{Name: "Placeholder product B"}}}, Phones: []Phone{{Name: "Poison centre (invented)", Number: "+1-555-0122"}}}
}

func sampleAgreement() Agreement {
	return Agreement{
		Ref: "K-88", Date: quantity.NewDate(2026, 4, 2), Place: "1 Sample Lane, Nowhere: front lawn", Applicator: "A. Example", CertNo: "C-000123",
		Firm:   Party{"Example Tree Health (fictional)", "7 Invented Road, Nowhere", "+1-555-0100", "B-0001"},
		Client: Party{"Fictional Owner LLC", "1 Sample Lane, Nowhere", "+1-555-0101", ""},
		Trees:  []string{"T-07", "T-08", "T-09"}, Days: []string{"2026-05-12", "or, if it rains, 2026-05-14"}, Applications: 1, Cost: "USD 1,248.00",
		Products: []Used{sampleUsed()},
	}
}

func sampleSign() Sign {
	return Sign{Width: 5 * quantity.Inch, Height: 4 * quantity.Inch, Letters: 3 * quantity.Inch / 8, AboveGround: 12 * quantity.Inch, Hours: 24,
		Posted: "2026-05-12 08:55", Until: "2026-05-13 08:55", Firm: "Example Tree Health", Phone: "+1-555-0100", Fictional: true}
}

func sampleMedical(t testing.TB) Medical {
	return Medical{Product: sampleUsed(), SDS: "in the truck, blue folder", Record: sampleRecord(t), Made: workDay,
		Firm:   Party{Name: "Example Tree Health (fictional)", Phone: "+1-555-0100"},
		Phones: []Phone{{"Poison centre (invented)", "+1-555-0122", quantity.NewDate(2026, 3, 1)}, {"Emergency services", "112", quantity.Date{}}}}
}

// printed is a paper as bytes.
func (s sampleOf) printed(t testing.TB, lang string, paper Paper) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := s.print(&b, printer(t, lang), paper); err != nil {
		t.Fatalf("%s: %v", s.name, err)
	}
	return b.Bytes()
}

// TestPaperSamples writes pages to look at into the folder SAPWELL_SAMPLES names.
func TestPaperSamples(t *testing.T) {
	dir := os.Getenv("SAPWELL_SAMPLES")
	if dir == "" {
		t.Skip("SAPWELL_SAMPLES is not set: no sample pages written")
	}
	for _, s := range samplePapers(t) {
		for lang, paper := range map[string]Paper{"en": Letter, "es": A4} {
			if err := os.WriteFile(filepath.Join(dir, s.name+"-"+lang+".pdf"), s.printed(t, lang, paper), 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
}

var workDay = quantity.NewDate(2026, 5, 12)
