package documents

import (
	"bytes"
	_ "embed"
	"io"
	"os"
	"path/filepath"
	"testing"

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
	}
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
