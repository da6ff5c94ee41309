package documents

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"codeberg.org/go-pdf/fpdf"
	"github.com/skip2/go-qrcode"

	"sapwell/engine/quantity"
	"sapwell/internal/outside"
	"sapwell/words"
)

// tool runs a program of the PDF tool sets and returns what it prints.
func tool(t *testing.T, name string, args ...string) string {
	t.Helper()
	out, err := exec.Command(outside.Tool(t, name), args...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s %v: %v\n%s", name, args, err, out)
	}
	return string(out)
}

func onDisk(t *testing.T, b []byte) string {
	t.Helper()
	name := filepath.Join(t.TempDir(), "x.pdf")
	if err := os.WriteFile(name, b, 0o600); err != nil {
		t.Fatal(err)
	}
	return name
}

// Poppler's pdftotext reads the readings back, in order.
func TestReadingsInOrder(t *testing.T) {
	for _, n := range []int{1, 4, 16, 17, 38, 60} {
		for _, st := range []quantity.Style{inch, comma} {
			s := evenSheet(n, quantity.Length(n)*6*quantity.Inch+3*quantity.Inch)
			file := onDisk(t, pdfOf(t, []Sheet{s}, speak(t, "en", st), A4))
			got := strings.Join(strings.Fields(tool(t, "pdftotext", "-raw", file, "-")), "")
			for i, at := range s.Positions {
				m := tape(at, st)
				want := fmt.Sprint(i+1) + m.Whole + m.Part + m.Unit
				_, after, found := strings.Cut(got, want)
				if !found {
					t.Fatalf("%d marks: %q does not follow in\n%s", n, want, got)
				}
				got = after
			}
		}
	}
	outside.Ran(t, "poppler pdftotext", "tape readings of 12 sheets, in order")
}

// Page sizes are those of ISO 216 (A4 is 210 mm × 297 mm) and ANSI/ASME Y14.1
// (A is 8.5 in × 11 in), in points of 1/72 in. Poppler's pdfinfo reads them.
func TestPaperAndMetadata(t *testing.T) {
	for paper, want := range map[Paper][]string{A4: {"595.28 x 841.89", "595.276 x 841.89"}, Letter: {"612 x 792"}} {
		sheets := []Sheet{evenSheet(16, 96*quantity.Inch), evenSheet(4, 27*quantity.Inch), crowded(60, 363*quantity.Inch)}
		file := onDisk(t, pdfOf(t, sheets[:2], speak(t, "es", comma), paper))
		info := tool(t, "pdfinfo", file)
		if !strings.Contains(info, want[0]) && !strings.Contains(info, want[len(want)-1]) {
			t.Errorf("%s: want a page of %v pts in\n%s", paper, want, info)
		}
		for _, line := range []string{"Pages:           2", "Author:          Sapwell", "Title:           Hoja de marcas 2025-06-12"} {
			if !strings.Contains(info, line) {
				t.Errorf("%s: want %q in\n%s", paper, line, info)
			}
		}
	}
	outside.Ran(t, "ISO 216; ANSI/ASME Y14.1, by poppler pdfinfo", "page sizes and metadata")
}

// Every font is embedded and a subset, with its letters readable again.
func TestFontsEmbedded(t *testing.T) {
	out := tool(t, "pdffonts", onDisk(t, pdfOf(t, []Sheet{crowded(16, 96*quantity.Inch)}, madeVoice(t, "en", inch), A4)))
	lines := strings.Split(strings.TrimSpace(out), "\n")
	if len(lines) != 4 { // two of head, two fonts
		t.Errorf("want two fonts in\n%s", out)
	}
	for _, l := range lines[2:] {
		f := strings.Fields(l)
		if emb := f[len(f)-5]; emb != "yes" {
			t.Errorf("font is not embedded: %s", l)
		}
	}
	outside.Ran(t, "poppler pdffonts", "fonts embedded")
}

// qpdf finds nothing wrong with the file's structure (PDF 1.7, ISO 32000-1).
func TestStructure(t *testing.T) {
	var load bytes.Buffer
	if err := loadOutList(&load, sampleLoad(), speak(t, "en", inch), Letter); err != nil {
		t.Fatal(err)
	}
	for _, b := range [][]byte{load.Bytes(), pdfOf(t, []Sheet{crowded(60, 363*quantity.Inch)}, madeVoice(t, "es", comma), A4)} {
		if out := tool(t, "qpdf", "--check", onDisk(t, b)); !strings.Contains(out, "No syntax or stream encoding errors found") {
			t.Errorf("qpdf --check: %s", out)
		}
	}
	outside.Ran(t, "ISO 32000-1, by qpdf --check", "structure of two files")
}

func TestSameBytes(t *testing.T) {
	v := madeVoice(t, "es", comma)
	sheets := []Sheet{crowded(17, 105*quantity.Inch), evenSheet(4, 27*quantity.Inch)}
	undated := evenSheet(4, 27*quantity.Inch)
	undated.Date = LoadOut{}.Date
	for _, s := range [][]Sheet{sheets, {undated}} {
		if a, b := sha256.Sum256(pdfOf(t, s, v, A4)), sha256.Sum256(pdfOf(t, s, v, A4)); a != b {
			t.Errorf("two runs gave %x and %x", a, b)
		}
	}
	var a, b bytes.Buffer
	for _, w := range []*bytes.Buffer{&a, &b} {
		if err := loadOutList(w, sampleLoad(), v, A4); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(a.Bytes(), b.Bytes()) {
		t.Error("two runs of the load-out list differ")
	}
}

// The squares of ink are the modules that the encoder gives, and the three
// finder patterns of ISO/IEC 18004 (7 × 7 with a 3 × 3 core) are in the corners.
func TestQRSquares(t *testing.T) {
	const side = 22.5
	for _, tag := range []string{"A-0417", strings.Repeat("Avenue-17/", 20), "Ясень 12"} {
		q, err := qrcode.New(tag, qrcode.Medium)
		if err != nil {
			t.Fatal(err)
		}
		full := q.Bitmap() // with four modules of white all round
		p := newPage(A4)
		modules, err := qrModules(tag)
		if err != nil {
			t.Fatal(err)
		}
		drawQR(p, modules, 100, 50, side)
		n := len(full) - 8
		m := side / float64(n)
		inked := func(col, row int) bool {
			x, y := 100+(float64(col)+.5)*m, 50+(float64(row)+.5)*m
			for _, r := range p.Paths {
				if x > r.Pts[0].X && x < r.Pts[2].X && y > r.Pts[0].Y && y < r.Pts[2].Y {
					return true
				}
			}
			return false
		}
		for row := range n {
			for col := range n {
				if inked(col, row) != full[row+4][col+4] {
					t.Fatalf("%.20q: module %d,%d is drawn wrong", tag, col, row)
				}
			}
		}
		for _, corner := range [][2]int{{0, 0}, {n - 7, 0}, {0, n - 7}} {
			for i := range 7 {
				for j := range 7 {
					want := i == 0 || i == 6 || j == 0 || j == 6 || i >= 2 && i <= 4 && j >= 2 && j <= 4
					if inked(corner[0]+i, corner[1]+j) != want {
						t.Fatalf("%.20q: no finder pattern at %v", tag, corner)
					}
				}
			}
		}
	}
	outside.Ran(t, "ISO/IEC 18004; skip2/go-qrcode", "every module, finder patterns")
}

func TestPublicDoors(t *testing.T) {
	p, err := words.New("en", inch)
	if err != nil {
		t.Fatal(err)
	}
	sheet := evenSheet(16, 96*quantity.Inch)
	bad := sheet
	bad.Stop = -1
	for want, err := range map[string]error{
		"":                                  MarkSheets(io.Discard, []Sheet{sheet}, p, Letter),
		" ":                                 LoadOutList(io.Discard, sampleLoad(), p, A4),
		"no sheet given":                    MarkSheets(io.Discard, nil, p, A4),
		`paper "a3" is not known`:           MarkSheets(io.Discard, []Sheet{sheet}, p, "a3"),
		`paper "" is not known`:             LoadOutList(io.Discard, LoadOut{}, p, ""),
		`mark sheet 2 (tag "A-0417"): stop`: MarkSheets(io.Discard, []Sheet{sheet, bad}, p, A4),
		"disk full":                         MarkSheets(full{}, []Sheet{sheet}, p, A4),
	} {
		switch {
		case strings.TrimSpace(want) == "":
			if err != nil {
				t.Errorf("got error %v", err)
			}
		case err == nil || !strings.Contains(err.Error(), want):
			t.Errorf("got error %v: want one with %q", err, want)
		}
	}
}

type full struct{}

func (full) Write([]byte) (int, error) { return 0, errors.New("disk full") }

// The licence asks that it goes with the font.
func TestFontLicence(t *testing.T) {
	b, err := os.ReadFile("fonts/LICENSE-DejaVu.txt")
	if err != nil || !bytes.Contains(b, []byte("Bitstream")) {
		t.Errorf("the font's licence is not beside it: %v", err)
	}
}

// A digit is as wide as any other, so columns of figures line up and the widest
// number of n is any with as many digits.
func TestDigitsAlike(t *testing.T) {
	for _, f := range []face{plain, bold} {
		for d := '0'; d <= '9'; d++ {
			if f.metrics().of(d) != f.metrics().of('0') {
				t.Errorf("face %d: %c is set wider or narrower than 0", f, d)
			}
		}
	}
}

// fpdf v0.12.0 reads the font with a parser written by others and comes to the
// same widths.
func TestWidthsAgainstThePDFLibrary(t *testing.T) {
	pdf := fpdf.New("P", "mm", "A4", "")
	pdf.AddUTF8FontFromBytes("face", "", plainTTF)
	pdf.AddUTF8FontFromBytes("face", "B", boldTTF)
	pdf.AddPage()
	for f, style := range map[face]string{plain: "", bold: "B"} {
		pdf.SetFont("face", style, 10)
		for _, s := range []string{"Fraxinus pennsylvanica", "12 ⅜ in", "sección · peúnca ñ", "Ясень ặ ▲ □"} {
			// The library keeps whole thousandths of an em.
			if got, want := width(s, f, 10), pdf.GetStringWidth(s); got < want-0.02*float64(len(s)) || got > want+0.02*float64(len(s)) {
				t.Errorf("%q: %.3f mm, the PDF library says %.3f mm", s, got, want)
			}
		}
	}
	outside.Ran(t, "fpdf's font parser", "widths of four texts in two faces")
}

func BenchmarkOneSheet(b *testing.B) {
	v := speak(b, "en", inch)
	s := []Sheet{burdened(16, 99*quantity.Inch)}
	for b.Loop() {
		if err := markSheets(io.Discard, s, v, A4); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkFortySheets(b *testing.B)    { many(b, 40) }
func BenchmarkThousandSheets(b *testing.B) { many(b, 1000) }

func many(b *testing.B, n int) {
	v := speak(b, "en", inch)
	sheets := make([]Sheet, n)
	for i := range sheets {
		sheets[i] = burdened(4+i%40, quantity.Length(27+6*(i%40))*quantity.Inch)
		sheets[i].Tag = fmt.Sprintf("A-%04d", i)
	}
	var w counter
	for b.Loop() {
		w = 0
		if err := markSheets(&w, sheets, v, A4); err != nil {
			b.Fatal(err)
		}
	}
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	b.ReportMetric(float64(w)/1e6, "MB-out")
	b.ReportMetric(float64(m.Sys)/1e6, "MB-of-system")
}

type counter int

func (c *counter) Write(b []byte) (int, error) { *c += counter(len(b)); return len(b), nil }
