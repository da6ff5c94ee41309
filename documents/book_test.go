package documents

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"iter"
	"regexp"
	"runtime"
	"strconv"
	"strings"
	"testing"

	"sapwell/engine/quantity"
	"sapwell/internal/outside"
	"sapwell/records"
)

// manyRecords are n records, each of another tree.
func manyRecords(t testing.TB, n int) iter.Seq2[records.Record, error] {
	return manyOf(sampleRecord(t), n)
}

func manyOf(r records.Record, n int) iter.Seq2[records.Record, error] {
	return func(yield func(records.Record, error) bool) {
		for i := range n {
			if !yield(r.With("tree.id", fmt.Sprintf("T-%05d", i+1)), nil) {
				return
			}
		}
	}
}

func sampleBook() Book {
	return Book{Firm: "Example Tree Health (fictional)", From: quantity.NewDate(2026, 1, 1), To: quantity.NewDate(2026, 12, 31), Profiles: somewhere, Made: quantity.NewDate(2027, 1, 8)}
}

func TestBookHoldsEveryRecord(t *testing.T) {
	const n = 120
	var b bytes.Buffer
	var told []int
	book := sampleBook()
	book.Progress = func(done int) { told = append(told, done) }
	if err := RecordBook(&b, book, manyRecords(t, n), printer(t, "es"), Letter); err != nil {
		t.Fatal(err)
	}
	if fmt.Sprint(told) != "[100 120]" {
		t.Errorf("progress told %v: want [100 120]", told)
	}
	text := tool(t, "pdftotext", "-raw", onDisk(t, b.Bytes()), "-")
	pages := strings.Split(text, "\f")
	of := regexp.MustCompile(`Página (\d+) de (\d+)`)
	for i, page := range pages[:len(pages)-1] {
		m := of.FindStringSubmatch(page)
		if m == nil || m[1] != strconv.Itoa(i+1) || m[2] != strconv.Itoa(len(pages)-1) {
			t.Fatalf("page %d of %d is numbered %q", i+1, len(pages)-1, m)
		}
	}
	list := strings.Join(pages[n+1:], "\n")
	for i := range n {
		tag := fmt.Sprintf("T-%05d", i+1)
		if !strings.Contains(pages[i+1], tag) {
			t.Fatalf("page %d does not hold %s", i+2, tag)
		}
		if !regexp.MustCompile(fmt.Sprintf(`(?m)^%d 2026-05-12 .*%s `, i+2, tag)).MatchString(list) {
			t.Fatalf("the list does not say that %s stands on page %d:\n%.400s", tag, i+2, list)
		}
	}
	outside.Ran(t, "poppler pdftotext", "120 records of a book on the pages its list names, pages numbered x of y")
}

// Each day has a bookmark that leads to its first record, and so has the list.
func TestBookHasBookmarks(t *testing.T) {
	r := sampleRecord(t)
	days := func(yield func(records.Record, error) bool) {
		for _, day := range []string{"2026-05-12", "2026-05-12", "2026-05-13", "2026-06-01"} {
			if !yield(r.With("date", day), nil) {
				return
			}
		}
	}
	var b bytes.Buffer
	if err := RecordBook(&b, sampleBook(), days, printer(t, "en"), A4); err != nil {
		t.Fatal(err)
	}
	file := onDisk(t, b.Bytes())
	xml := tool(t, "pdftohtml", "-xml", "-stdout", file)
	for _, want := range []string{`<item page="2">2026-05-12</item>`, `<item page="4">2026-05-13</item>`, `<item page="5">2026-06-01</item>`, `<item page="6">List of records</item>`} {
		if strings.Count(xml, want) != 1 {
			t.Errorf("want %s once in the outline of the book", want)
		}
	}
	if out := tool(t, "qpdf", "--check", file); !strings.Contains(out, "No syntax or stream encoding errors found") {
		t.Errorf("qpdf --check: %s", out)
	}
	outside.Ran(t, "poppler pdftohtml -xml; ISO 32000-1 by qpdf --check", "bookmarks of a book, each on its page")
}

func TestBookRefuses(t *testing.T) {
	broken := func(yield func(records.Record, error) bool) {
		for r := range manyRecords(t, 3) {
			if !yield(r, nil) {
				return
			}
		}
		yield(records.Record{}, errors.New("the disk went away"))
	}
	turned, nowhere := sampleBook(), sampleBook()
	turned.From, turned.To = turned.To, turned.From
	nowhere.Profiles = []string{"us-xx"}
	for want, err := range map[string]error{
		"after 3 records: the disk went away": RecordBook(io.Discard, sampleBook(), broken, printer(t, "en"), A4),
		"lies before from":                    RecordBook(io.Discard, turned, manyRecords(t, 1), printer(t, "en"), A4),
		"want both days":                      RecordBook(io.Discard, Book{}, manyRecords(t, 1), printer(t, "en"), A4),
		`profile "us-xx" is not known`:        RecordBook(io.Discard, nowhere, manyRecords(t, 1), printer(t, "en"), A4),
		"disk full":                           RecordBook(full{}, sampleBook(), manyRecords(t, 1), printer(t, "en"), A4),
	} {
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("got error %v: want one with %q", err, want)
		}
	}
}

func BenchmarkOneRecord(b *testing.B) {
	r, p := sampleRecord(b), printer(b, "en")
	for b.Loop() {
		if err := TreatmentRecord(io.Discard, r, somewhere, p, Letter); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkBookOfTenThousand(b *testing.B) { bookOf(b, sampleRecord(b)) }

// The same with all that a record can hold, two pages each.
func BenchmarkBookOfTenThousandFull(b *testing.B) { bookOf(b, fullRecord(b)) }

func bookOf(b *testing.B, r records.Record) {
	p := printer(b, "en")
	var w counter
	for b.Loop() {
		w = 0
		if err := RecordBook(&w, sampleBook(), manyOf(r, 10_000), p, Letter); err != nil {
			b.Fatal(err)
		}
	}
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	b.ReportMetric(float64(w)/1e6, "MB-out")
	b.ReportMetric(float64(m.Sys)/1e6, "MB-of-system")
}
