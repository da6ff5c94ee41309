package documents

import (
	"bytes"
	"compress/zlib"
	"crypto/sha256"
	"fmt"
	"hash"
	"io"
	"strconv"
	"unicode/utf16"

	"sapwell/engine/quantity"
)

// undated is the creation date of a document without one: the clock is not asked,
// so that the same input gives the same bytes.
var undated = quantity.NewDate(2000, 1, 1)

// press writes pages into one PDF (ISO 32000-1) as they come. What it keeps of a
// page is where it lies in the file: a book of ten thousand treatments takes no
// more memory than one of ten. What can only be known at the end, the letters that
// were used and how many pages there are, has its object numbers from the start and
// is written last.
//
// The file is not tagged: it says its language and its letters can be read back, but
// not what is a heading.
type press struct {
	w    io.Writer
	sum  hash.Hash // of all that was written: the file's identifier
	at   int64
	err  error
	offs []int64 // by object number

	paper Paper
	info  info
	pages []int // object numbers
	marks []bookmark
	fonts [2]fontUse
	body  bytes.Buffer // of the page that is painted
	zip   *zlib.Writer
}

// packing is how hard pages are packed: half the time of the library's own choice, and
// a sixth more bytes.
const packing = 3

// info is what a file says of itself.
type info struct {
	title, lang string
	date        quantity.Date
}

// bookmark leads a reader of the file to a page, by its place among the pages.
type bookmark struct {
	title string
	page  int
}

// The objects with fixed numbers; pages follow.
const (
	objCatalog = 1 + iota
	objPages
	objInfo
	objResources
	objTotal // how many pages there are, drawn on each of them
	objFonts // five for each font
	objFree  = objFonts + 10
)

func newPress(w io.Writer, paper Paper, title, lang string, date quantity.Date) (*press, error) {
	if paper != A4 && paper != Letter {
		return nil, fmt.Errorf("paper %q is not known: want %q or %q", paper, A4, Letter)
	}
	if date.IsZero() {
		date = undated
	}
	p := &press{w: w, sum: sha256.New(), paper: paper, info: info{printable(title), lang, date}, offs: make([]int64, objFree)}
	p.zip, _ = zlib.NewWriterLevel(nil, packing) // a level that there is
	p.fonts = [2]fontUse{newFontUse(plain), newFontUse(bold)}
	p.write([]byte("%PDF-1.7\n%\xE2\xE3\xCF\xD3\n"))
	return p, p.err
}

// write keeps the first error; what follows it is dropped.
func (p *press) write(b []byte) {
	if p.err != nil {
		return
	}
	n, err := p.w.Write(b)
	p.at += int64(n)
	p.sum.Write(b)
	p.err = err
}

// object writes one object in full; number 0 takes the next.
func (p *press) object(number int, body string) int {
	if number == 0 {
		number = len(p.offs)
		p.offs = append(p.offs, 0)
	}
	p.offs[number] = p.at
	p.write([]byte(strconv.Itoa(number) + " 0 obj\n" + body + "\nendobj\n"))
	return number
}

// stream writes an object with content, packed. dict is what its dictionary says
// besides.
func (p *press) stream(number int, dict string, content []byte) int {
	var packed bytes.Buffer
	p.zip.Reset(&packed)
	p.zip.Write(content) // into memory: it cannot fail
	p.zip.Close()
	return p.object(number, fmt.Sprintf("<<%s/Filter/FlateDecode/Length %d>>\nstream\n%s\nendstream", dict, packed.Len(), packed.Bytes()))
}

// addAll paints pages and writes them out; the first error is kept for close.
func (p *press) addAll(pages []*page) {
	for _, pg := range pages {
		p.add(pg)
	}
}

func (p *press) add(pg *page) {
	p.body.Reset()
	painter{&p.body, pg.H, &p.fonts}.page(pg)
	content := p.stream(0, "", p.body.Bytes())
	p.pages = append(p.pages, p.object(0, fmt.Sprintf("<</Type/Page/Parent %d 0 R/MediaBox[0 0 %s %s]/Resources %d 0 R/Contents %d 0 R>>",
		objPages, points(pg.W), points(pg.H), objResources, content)))
}

// close writes what had to wait: fonts, the count of pages, the list of pages, and
// where every object lies.
func (p *press) close() error {
	p.total()
	for i := range p.fonts {
		p.font(objFonts+5*i, &p.fonts[i])
	}
	p.object(objResources, fmt.Sprintf("<</Font<</F0 %d 0 R/F1 %d 0 R>>/XObject<</N %d 0 R>>>>", objFonts, objFonts+5, objTotal))
	kids := bytes.NewBufferString("<</Type/Pages/Count ")
	fmt.Fprintf(kids, "%d/Kids[", len(p.pages))
	for _, n := range p.pages {
		fmt.Fprintf(kids, "%d 0 R\n", n)
	}
	p.object(objPages, kids.String()+"]>>")
	p.object(objInfo, fmt.Sprintf("<</Title%s/Author(Sapwell)/Creator(Sapwell)/Producer(Sapwell)/CreationDate%s/ModDate%[2]s>>",
		pdfText(p.info.title), "(D:"+p.info.date.UTC().Format("20060102150405")+"Z)"))
	p.object(objCatalog, fmt.Sprintf("<</Type/Catalog/Pages %d 0 R/Lang%s%s/ViewerPreferences<</DisplayDocTitle true>>>>", objPages, pdfText(p.info.lang), p.outline()))
	p.trailer()
	if p.err != nil {
		return fmt.Errorf("writing the PDF: %w", p.err)
	}
	return nil
}

// printPages writes a document that is laid out already.
func printPages(w io.Writer, pages []*page, paper Paper, title, lang string, date quantity.Date) error {
	pdf, err := newPress(w, paper, title, lang, date)
	if err != nil {
		return err
	}
	pdf.addAll(pages)
	return pdf.close()
}

// outline writes the bookmarks, one after another, and returns what the catalog says of
// them (ISO 32000-1 12.3.3).
func (p *press) outline() string {
	n := len(p.marks)
	if n == 0 {
		return ""
	}
	root := len(p.offs) // the items follow it
	p.object(0, fmt.Sprintf("<</Type/Outlines/First %d 0 R/Last %d 0 R/Count %d>>", root+1, root+n, n))
	for i, m := range p.marks {
		near := ""
		if i > 0 {
			near += fmt.Sprintf("/Prev %d 0 R", root+i)
		}
		if i < n-1 {
			near += fmt.Sprintf("/Next %d 0 R", root+i+2)
		}
		p.object(0, fmt.Sprintf("<</Title%s/Parent %d 0 R%s/Dest[%d 0 R/Fit]>>", pdfText(printable(m.title)), root, near, p.pages[m.page]))
	}
	return fmt.Sprintf("/Outlines %d 0 R/PageMode/UseOutlines", root)
}

// total is the count of pages as the pages draw it: one object that all share,
// because the first page is written long before anyone knows.
func (p *press) total() {
	var b bytes.Buffer
	pt := painter{&b, 0, &p.fonts}
	pt.texts([]text{{S: strconv.Itoa(len(p.pages)), Face: plain, Size: footSize}})
	p.stream(objTotal, fmt.Sprintf("/Type/XObject/Subtype/Form/BBox[0 -5 80 12]/Resources<</Font<</F0 %d 0 R>>>>", objFonts), b.Bytes())
}

func (p *press) trailer() {
	start := p.at
	var b bytes.Buffer
	fmt.Fprintf(&b, "xref\n0 %d\n0000000000 65535 f \n", len(p.offs))
	for _, off := range p.offs[1:] {
		fmt.Fprintf(&b, "%010d 00000 n \n", off)
	}
	id := p.sum.Sum(nil)[:16]
	fmt.Fprintf(&b, "trailer\n<</Size %d/Root %d 0 R/Info %d 0 R/ID[<%x><%[4]x>]>>\nstartxref\n%d\n%%%%EOF\n", len(p.offs), objCatalog, objInfo, id, start)
	p.write(b.Bytes())
}

// pdfText is a text string in UTF-16, as ISO 32000-1 7.9.2.2 has it.
func pdfText(s string) string {
	b := []byte("<FEFF")
	for _, u := range utf16.Encode([]rune(s)) {
		b = fmt.Appendf(b, "%04X", u)
	}
	return string(b) + ">"
}

// points is a length in mm in the PDF's unit, to a thousandth.
func points(mm float64) string { return string(appendNumber(nil, mm/mmPerPoint, 3)) }

// appendNumber writes a number without exponent and without empty decimals.
func appendNumber(b []byte, v float64, digits int) []byte {
	n := len(b)
	b = strconv.AppendFloat(b, v, 'f', digits, 64)
	if bytes.IndexByte(b[n:], '.') >= 0 {
		for b[len(b)-1] == '0' {
			b = b[:len(b)-1]
		}
		if b[len(b)-1] == '.' {
			b = b[:len(b)-1]
		}
	}
	return b
}
