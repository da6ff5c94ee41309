package documents

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sapwell/engine/label"
	"sapwell/engine/quantity"
	"sapwell/internal/outside"
	"sapwell/records"
)

// claims are words no paper may say of the work or the product: that is not for a
// program to say. "Legal advice", which no paper gives, is the one place for the word.
var claims = regexp.MustCompile(`(?i)\blegal|\blawful|complian|complies|approv|aprobad|cumple|conforme|permitid|autorizad`)

var noAdvice = regexp.MustCompile(`(?i)legal\s+advice`)

// Every paper in both languages and sizes: the same bytes twice, no claim, no message
// missing, and letters that can be read back.
func TestEveryPaper(t *testing.T) {
	for _, s := range samplePapers(t) {
		for _, lang := range []string{"en", "es"} {
			for _, paper := range []Paper{A4, Letter} {
				name := fmt.Sprintf("%s/%s/%s", s.name, lang, paper)
				b := s.printed(t, lang, paper)
				if !bytes.Equal(b, s.printed(t, lang, paper)) {
					t.Errorf("%s: two runs differ", name)
				}
				text := noAdvice.ReplaceAllString(tool(t, "pdftotext", "-layout", onDisk(t, b), "-"), "")
				if m := claims.FindString(text); m != "" {
					t.Errorf("%s says %q", name, m)
				}
				if strings.ContainsAny(text, "⟨⟩") || len(text) < 200 {
					t.Errorf("%s: a message is missing:\n%s", name, text)
				}
			}
		}
	}
	outside.Ran(t, "poppler pdftotext", "every paper of the work, two languages, two sizes: text without claims")
}

// Every paper in both languages and sizes, not each with each, is a sound file with
// its fonts in it and of the size asked.
func TestEveryPaperAsAFile(t *testing.T) {
	for _, s := range samplePapers(t) {
		for _, c := range []struct {
			lang  string
			paper Paper
			size  string
		}{{"en", Letter, "612 x 792 pts"}, {"es", A4, "595.276 x 841.89 pts"}} {
			file := onDisk(t, s.printed(t, c.lang, c.paper))
			if out := tool(t, "qpdf", "--check", file); !strings.Contains(out, "No syntax or stream encoding errors found") {
				t.Errorf("%s/%s: qpdf --check: %s", s.name, c.lang, out)
			}
			if info := tool(t, "pdfinfo", file); !strings.Contains(info, c.size) || !strings.Contains(info, "Tagged:          no") {
				t.Errorf("%s/%s: want %s, not tagged, in\n%s", s.name, c.lang, c.size, info)
			}
			for _, l := range strings.Split(strings.TrimSpace(tool(t, "pdffonts", file)), "\n")[2:] {
				if f := strings.Fields(l); f[len(f)-5] != "yes" || f[len(f)-3] != "yes" {
					t.Errorf("%s/%s: font is not embedded, or cannot be read back: %s", s.name, c.lang, l)
				}
			}
		}
	}
	outside.Ran(t, "ISO 32000-1 by qpdf --check; ISO 216, ANSI/ASME Y14.1 by poppler pdfinfo; pdffonts", "every paper of the work as a file")
}

// laidOut is every paper as pages, not yet painted.
func laidOut(t testing.TB, v voice, paper Paper) map[string][]*page {
	sign, err := signPages(sampleSign(), v, paper)
	if err != nil {
		t.Fatal(err)
	}
	r := sampleRecord(t)
	return map[string][]*page{
		"record": treatmentPages(r, somewhere, v, paper, 1), "gaps": treatmentPages(gappy(t), somewhere, v, paper, 1),
		"cover": coverPages(sampleBook(), v, paper), "notice": noticePages(sampleNotice(t), v, paper), "sign": sign,
		"contract": contractPages(sampleAgreement(), v, paper), "medical": medicalPages(sampleMedical(t), v, paper),
		"postings": postingPages([]records.Record{r, gappy(t)}, workDay, v, paper),
	}
}

func TestPapersHoldTogether(t *testing.T) {
	for _, v := range []voice{speak(t, "en", inch), speak(t, "es", comma)} {
		for _, paper := range []Paper{A4, Letter} {
			for name, pages := range laidOut(t, v, paper) {
				for i, p := range pages {
					checkPage(t, fmt.Sprintf("%s/%s/%s/p%d", name, v.lang, paper, i+1), p)
				}
			}
			if n := len(laidOut(t, v, paper)["record"]); n != 1 {
				t.Errorf("%s/%s: a record without long texts takes %d pages", v.lang, paper, n)
			}
		}
	}
}

// squeezed is text without blanks, so that line ends do not matter.
func squeezed(s string) string { return strings.Join(strings.Fields(s), "") }

// Every fact of the record's JSON stands on the paper: texts as they are, moments to
// the minute, figures with their units' usual signs (UCUM, from memory).
func TestEveryFactIsPrinted(t *testing.T) {
	s := samplePapers(t)[0]
	text := squeezed(tool(t, "pdftotext", "-raw", onDisk(t, s.printed(t, "en", Letter)), "-"))
	moment := regexp.MustCompile(`^(\d{4}-\d\d-\d\d)T(\d\d:\d\d):\d\d-(\d\d:\d\d)$`)
	said := map[string]string{"certified": "thecertifiedapplicator", "[in_i]": "in", "Cel": "°C", "mL/{unit}": "4mL/unit", "{tree}": "1tree"}
	var look func(path string, v any)
	look = func(path string, v any) {
		want := ""
		switch v := v.(type) {
		case map[string]any:
			for k, member := range v {
				look(path+"."+k, member)
			}
		case []any:
			for _, member := range v {
				look(path, member)
			}
		case float64:
			want = strings.TrimPrefix(strconv.FormatFloat(v, 'f', -1, 64), "-")
		case string:
			if want = moment.ReplaceAllString(v, "$1 $2 −$3"); said[v] != "" {
				want = said[v]
			}
		}
		if !strings.Contains(text, squeezed(want)) {
			t.Errorf("%s: %q is not on the paper:\n%s", path, want, text)
		}
	}
	var facts map[string]any
	if err := json.Unmarshal(recordJSON, &facts); err != nil {
		t.Fatal(err)
	}
	delete(facts, "as_of") // the day of asking, not a fact of the work
	look("", facts)
	outside.Ran(t, "poppler pdftotext; the record's JSON read by encoding/json", "every fact of a full record on paper")
}

// asked by the good-practice set, as the table of fields for it lists them (R in the
// last column), but for those that a record has always.
var goodPractice = strings.Fields(`recorded_at business.name business.phone applicator.name applicator.cert_no
	client.name client.address site.location site.type tree.id tree.species tree.circumference target.pest product.name product.reg_no
	product.ai product.lot amount.total amount.rate area.size date time.start time.end method weather.air_temp weather.wind
	units.installed units.retrieved holes.count waste.batch`)

// What nobody told and was taken for so says so, and is asked still.
func TestWhatIsOnlyAssumed(t *testing.T) {
	r := sampleRecord(t).With("ctx.commercial", true).With("assumed.ctx.commercial", true).With("assumed.applicator.cert_expiry", true).With("applicator.cert_expiry", nil)
	for lang, want := range map[string][]string{
		"en": {"Work for hire yes: taken for so, nobody told it", "Certificate good until not recorded: taken to hold"},
		"es": {"Trabajo por encargo sí: se supone, nadie lo dijo", "Certificado válido hasta sin registrar: se da por bueno"},
	} {
		v := speak(t, lang, inch)
		facts := v.factsOf(r)
		for _, f := range []records.Field{"ctx.commercial", "applicator.cert_expiry"} {
			items := v.items([]records.Field{f}, facts, nil, nil)
			if len(items) != 1 || !items[0].missing || !strings.Contains(strings.Join(want, "|"), items[0].caption+" "+items[0].value) {
				t.Errorf("%s: %s: %+v", lang, f, items)
			}
		}
		text := allText(treatmentPages(r, []string{"us-fed-rup"}, v, A4, 1))
		if strings.Contains(text, "assumed") || strings.Contains(text, v.Say("paper.gaps.none")) {
			t.Errorf("%s: the paper says %q, or that nothing is missing", lang, "assumed")
		}
	}
}

// What is asked and not there is printed as not recorded, in both languages, beside
// what it is called.
func TestWhatIsAskedAndMissing(t *testing.T) {
	for lang, words := range map[string]string{"en": "not recorded", "es": "sin registrar"} {
		v := speak(t, lang, metric)
		for _, f := range goodPractice {
			r := sampleRecord(t).With(records.Field(f), nil)
			items := v.items([]records.Field{records.Field(f)}, speak(t, "en", inch).factsOf(r), askedOf(r, []string{"generic"}), nil)
			if len(items) != 1 || items[0].value != words || !items[0].missing {
				t.Errorf("%s: %s: got %v: want it as %q", lang, f, items, words)
			}
			if text := squeezed(allText(treatmentPages(r, []string{"generic"}, v, A4, 1))); !strings.Contains(text, squeezed(words)) {
				t.Errorf("%s: %s is missing and the paper does not say so", lang, f)
			}
		}
		bare := treatmentPages(records.Record{}, somewhere, v, Letter, 1)
		for i, p := range bare {
			checkPage(t, fmt.Sprintf("%s: an empty record, page %d", lang, i+1), p)
		}
		if n := strings.Count(allText(bare), words); n < 12 {
			t.Errorf("%s: an empty record says %q only %d times", lang, words, n)
		}
	}
}

// What was corrected stands there as it is now and as it was, with who, when and why.
func TestAmendmentsAreOpen(t *testing.T) {
	text := strings.Join(strings.Fields(allText(treatmentPages(gappy(t), somewhere, speak(t, "en", inch), Letter, 1))), " ")
	if got := plainUnits("depth: 0.375 [in_i], 2 [mi_i]/h"); got != "depth: 0.375 in, 2 mph" {
		t.Errorf("units in a text: %q", got)
	}
	for _, want := range []string{"16 [1] [3]", "LOT-A1 [2]", "now “16”; before it stood “15”", "By A. Example, 2026-05-13 08:10 −04:00", "one unit was found in the gutter",
		"before it stood “LOT-A7”", "Why: not recorded"} {
		if !strings.Contains(text, want) {
			t.Errorf("want %q in\n%s", want, text)
		}
	}
}

// The printed signature shows the printed name, the time and what it means: 21 CFR
// 11.50 has these three (from memory).
func TestSignatureShowsThree(t *testing.T) {
	text := strings.Join(strings.Fields(allText(treatmentPages(sampleRecord(t), nil, speak(t, "en", inch), Letter, 1))), " ")
	_, after, ok := strings.Cut(text, "Signature ")
	for _, want := range []string{"Signed by A. Example", "Signed at 2026-05-12 15:41 −04:00", "Meaning applicator"} {
		if !ok || !strings.Contains(after, want) {
			t.Errorf("want %q under the signature, in\n%s", want, text)
		}
	}
	outside.Ran(t, "21 CFR 11.50 (from memory)", "name, time and meaning beside a signature")
}

// Nothing of a long text is lost, and nothing runs into anything else.
func TestPapersWithLongTexts(t *testing.T) {
	v := speak(t, "es", comma)
	words, solid := strings.Repeat("a sentence that goes on and on; ", 150)+"END", strings.Repeat("X9", 1200)+"END"
	r := gappy(t).With("site.location", words).With("client.name", solid).With("tree.id", strings.Repeat("Avenue-17/", 30)).
		With("method", "Ясень пенсильванский · Φράξος · tần bì ặ").With("site.made_up_by_a_state", "1234")
	r.Amendments = append(r.Amendments, records.Amendment{Field: "client.name", By: words, At: "2026-05-13", Why: words, Before: solid, After: "Fictional Owner LLC"})
	use := sampleUsed()
	use.Label.FirstAid.Physician, use.Label.Product.Name = words+"\n"+words, words
	use.Label.Statements = append(use.Label.Statements, label.Statement{Code: "P305+P351+P338", Text: words})
	med := Medical{Product: use, Phones: []Phone{{words, strings.Repeat("+1-555-0100 ", 30), workDay}}, Record: r}
	deal := sampleAgreement()
	deal.Products, deal.Trees, deal.Client.Name = []Used{use, sampleUsed()}, strings.Fields(words), solid
	for name, pages := range map[string][]*page{
		"record": treatmentPages(r, somewhere, v, Letter, 1), "medical": medicalPages(med, v, A4), "contract": contractPages(deal, v, Letter),
		"notice":   noticePages(Notice{Records: []records.Record{r, r}, Products: []Used{use}, Later: words}, v, A4),
		"postings": postingPages([]records.Record{r, r, r}, workDay, v, Letter),
		"list":     listPages(sampleBook(), []bookLine{{2, [5]string{"2026-05-12", solid, words, words, "LOT"}}}, v, A4, 9),
	} {
		for i, p := range pages {
			checkPage(t, fmt.Sprintf("%s, page %d of %d", name, i+1, len(pages)), p)
		}
	}
	text := allText(treatmentPages(r, somewhere, v, Letter, 1))
	for _, want := range []string{"site.made_up_by_a_state", "1234", "Ясень", "Φράξος", "ặ"} {
		if !strings.Contains(squeezed(text), want) {
			t.Errorf("want %q on the record", want)
		}
	}
	if !strings.Contains(squeezed(text), solid) {
		t.Error("a name without blanks is not there in full")
	}
}

// No type of a contract is smaller than 12 points: poppler reads the sizes back.
func TestContractIsInTwelvePoint(t *testing.T) {
	var b bytes.Buffer
	if err := Contract(&b, sampleAgreement(), printer(t, "es"), Letter); err != nil {
		t.Fatal(err)
	}
	sizes := regexp.MustCompile(`<fontspec [^>]*size="(-?\d+)"`).FindAllStringSubmatch(tool(t, "pdftohtml", "-xml", "-stdout", "-zoom", "1", onDisk(t, b.Bytes())), -1)
	if len(sizes) == 0 {
		t.Fatal("no sizes found")
	}
	for _, m := range sizes {
		if n, _ := strconv.Atoi(m[1]); n < 12 {
			t.Errorf("a text is set in %d points", n)
		}
	}
	outside.Ran(t, "poppler pdftohtml -xml", "type of the contract, 12 points or more")
}

// The code of a statement is smaller than its words and stands behind them.
func TestStatementsInWords(t *testing.T) {
	for name, pages := range map[string][]*page{"notice": noticePages(sampleNotice(t), speak(t, "en", inch), A4), "medical": medicalPages(sampleMedical(t), speak(t, "en", inch), A4)} {
		found := false
		for _, p := range pages {
			for i, q := range p.Texts {
				if q.S == "H302" {
					found = true
					if before := p.Texts[i-1]; before.S != "Harmful if swallowed." || before.Size <= q.Size || before.At.X >= q.At.X {
						t.Errorf("%s: before the code stands %+v", name, before)
					}
				}
			}
		}
		if !found {
			t.Errorf("%s: the code is not there", name)
		}
	}
}

func TestMedicalSheetRefuses(t *testing.T) {
	p := printer(t, "en")
	for want, change := range map[string]func(*Medical){
		"phones: none": func(m *Medical) { m.Phones = nil },
		`phones[1].number ("Emergency services"): " "`: func(m *Medical) { m.Phones[1].Number = " " },
		`phones[0].number`:      func(m *Medical) { m.Phones[0].Number = "ask the office" },
		"phones[0].name: empty": func(m *Medical) { m.Phones[0].Name = "" },
	} {
		m := sampleMedical(t)
		change(&m)
		var b bytes.Buffer
		err := MedicalSheet(&b, m, p, A4)
		if err == nil || !strings.Contains(err.Error(), want) || b.Len() > 0 {
			t.Errorf("got error %v and %d bytes: want one with %q and none", err, b.Len(), want)
		}
	}
}

// First aid stands in the label's order, and the steps for the eye in theirs.
func TestFirstAidKeepsItsOrder(t *testing.T) {
	text := strings.Join(strings.Fields(allText(medicalPages(sampleMedical(t), speak(t, "en", inch), Letter))), " ")
	for _, want := range []string{"+1-555-0122", "112", "Swallowed", "Sip a glass", "Eyes", "contact lenses", "Skin", "Inhaled", "Hold the lids open", "Rinse for 15 to 20", "Call the poison centre, with", "pierced the eye", "wide pupils"} {
		_, after, ok := strings.Cut(text, want)
		if !ok {
			t.Fatalf("%q does not follow in\n%s", want, text)
		}
		text = after
	}
}

func TestPapersRefuse(t *testing.T) {
	p := printer(t, "en")
	two := sampleNotice(t)
	two.Records[1] = two.Records[1].With("client.name", "Somebody Else")
	small, huge := sampleSign(), sampleSign()
	small.Letters, huge.Letters = 0, 4*quantity.Inch
	r := sampleRecord(t)
	for want, err := range map[string]error{
		`profile "us-xx" is not known: want any of`: TreatmentRecord(io.Discard, r, []string{"us-xx"}, p, A4),
		`paper "a3" is not known`:                   TreatmentRecord(io.Discard, r, nil, p, "a3"),
		"records: none":                             ClientNotice(io.Discard, Notice{}, p, A4),
		"records[1].client.name":                    ClientNotice(io.Discard, two, p, A4),
		"products: none":                            Contract(io.Discard, Agreement{}, p, A4),
		"posting log: records: none":                PostingLog(io.Discard, nil, workDay, p, A4),
		"letters: 0 nm: want more than 0":           PostingSign(io.Discard, small, p, A4),
		"does not go on the paper":                  PostingSign(io.Discard, huge, p, A4),
		"hours: 0":                                  PostingSign(io.Discard, Sign{Width: 1, Height: 1, Letters: 1}, p, A4),
		"disk full":                                 TreatmentRecord(full{}, r, nil, p, A4),
	} {
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("got error %v: want one with %q", err, want)
		}
	}
}

// Whatever is wrapped comes out whole, in order, and no line is too wide.
func TestFullWrapLosesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := printable(rapid.String().Draw(t, "text"))
		w := rapid.Float64Range(12, 180).Draw(t, "width")
		lines := fullWrap(s, w, 12, bold)
		if squeezed(strings.Join(lines, " ")) != squeezed(s) {
			t.Fatalf("%q became %q", s, lines)
		}
		for _, l := range lines {
			if width(l, bold, 12) > w {
				t.Fatalf("%q is wider than %.1f mm", l, w)
			}
		}
	})
}

// Every field that can stand in a record has a name on paper, in both languages.
func TestEveryFieldHasAName(t *testing.T) {
	page, err := os.ReadFile("../doc/record-fields.md")
	if err != nil {
		t.Fatal(err)
	}
	_, fields, _ := strings.Cut(string(page), "\n## Fields")
	fields, _, _ = strings.Cut(fields, "\n## ")
	found := regexp.MustCompile("(?m)^\\| `([a-z_.0-9]+)`").FindAllStringSubmatch(fields, -1)
	if len(found) < 80 {
		t.Fatalf("only %d fields found: is the table still there?", len(found))
	}
	for _, v := range []voice{speak(t, "en", inch), speak(t, "es", comma)} {
		for _, m := range found {
			if f := strings.TrimPrefix(m[1], assumed); v.fieldName(records.Field(f)) == f {
				t.Errorf("%s: the field %s has no name", v.lang, m[1])
			}
		}
	}
}

// Whatever a record says, its paper holds together.
func FuzzRecordOnPaper(f *testing.F) {
	f.Add(recordJSON)
	for _, s := range []string{`{}`, `{"tree":{"id":["a",{"name":"b","x":[1,2]},null,true]}}`, `{"site":{"geo":[1e300,-1]},"date":5}`,
		`{"amount":{"total":{"value":"x","unit":{"a":1}}},"product":{"fictional":"true"},"signature":"A. Example"}`,
		`{"amendments":[{"field":"tree.id","by":"\u202e","at":"x"}],"crop":"x","":{"":{"":1}}}`} {
		f.Add([]byte(s))
	}
	v := speak(f, "es", comma)
	f.Fuzz(func(t *testing.T, raw []byte) {
		if r, err := records.Parse(raw); err == nil {
			for _, p := range treatmentPages(r, somewhere, v, Letter, 1) {
				checkPage(t, "page", p)
			}
		}
	})
}
