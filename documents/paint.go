package documents

import (
	"fmt"
	"io"
	"sapwell/engine/quantity"

	"codeberg.org/go-pdf/fpdf"
)

// undated is the creation date of a document without one; the PDF library would
// take the clock for a zero time, and the bytes would never repeat.
var undated = quantity.NewDate(2000, 1, 1)

// writer paints pages one after another into one PDF.
type writer struct{ pdf *fpdf.Fpdf }

func newWriter(paper Paper, title, lang string, date quantity.Date) (writer, error) {
	size := map[Paper]string{A4: "A4", Letter: "Letter"}[paper]
	if size == "" {
		return writer{}, fmt.Errorf("paper %q is not known: want %q or %q", paper, A4, Letter)
	}
	if date.IsZero() {
		date = undated
	}
	f := fpdf.New("P", "mm", size, "")
	f.SetCatalogSort(true)
	f.SetCreationDate(date.UTC())
	f.SetModificationDate(date.UTC())
	f.SetTitle(printable(title), true)
	f.SetAuthor("Sapwell", false)
	f.SetCreator("Sapwell", false)
	f.SetLang(lang)
	f.SetAutoPageBreak(false, 0)
	f.AddUTF8FontFromBytes("face", "", plainTTF)
	f.AddUTF8FontFromBytes("face", "B", boldTTF)
	return writer{f}, f.Error()
}

func (w writer) paint(p *page) {
	w.pdf.AddPage()
	w.pdf.SetLineJoinStyle("round")
	paths, discs := 0, 0
	for _, isDisc := range p.order {
		if isDisc {
			w.disc(p.Discs[discs])
			discs++
		} else {
			w.path(p.Paths[paths])
			paths++
		}
	}
	for _, t := range p.Texts {
		w.text(t)
	}
}

// close writes the document out.
func (w writer) close(out io.Writer) error {
	if err := w.pdf.Output(out); err != nil {
		return fmt.Errorf("writing the PDF: %w", err)
	}
	return nil
}

func rgb(t tone) (r, g, b int) {
	switch t {
	case green:
		return 0, 84, 62
	case white:
		return 255, 255, 255
	}
	return 0, 0, 0
}

// style sets pen and fill and returns the drawing operator: stroke, fill, both.
func (w writer) style(pen float64, ink, fill tone) string {
	w.pdf.SetDrawColor(rgb(ink))
	if fill != noFill {
		w.pdf.SetFillColor(rgb(fill))
	}
	w.pdf.SetLineWidth(pen)
	switch {
	case fill == noFill:
		return "D"
	case pen == 0:
		return "F"
	}
	return "FD"
}

func (w writer) path(q path) {
	op := w.style(q.Pen, q.Ink, q.Fill)
	if q.Dash {
		w.pdf.SetDashPattern([]float64{1.2, 1}, 0)
		defer w.pdf.SetDashPattern(nil, 0)
	}
	w.pdf.MoveTo(q.Pts[0].X, q.Pts[0].Y)
	for _, pt := range q.Pts[1:] {
		w.pdf.LineTo(pt.X, pt.Y)
	}
	if q.Closed {
		w.pdf.ClosePath()
	}
	w.pdf.DrawPath(op)
}

func (w writer) disc(d disc) {
	w.pdf.Circle(d.At.X, d.At.Y, d.R, w.style(d.Pen, black, d.Fill))
}

// slant is the lean of slanted letters in degrees, that of DejaVu Sans Oblique.
const slant = 11

func (w writer) text(t text) {
	style := ""
	if t.Face == bold {
		style = "B"
	}
	w.pdf.SetFont("face", style, t.Size)
	w.pdf.SetTextColor(rgb(t.Tone))
	if t.Face == slanted {
		w.pdf.TransformBegin()
		w.pdf.TransformSkewX(slant, t.At.X, t.At.Y)
		defer w.pdf.TransformEnd()
	}
	w.pdf.Text(t.At.X, t.At.Y, t.S)
}
