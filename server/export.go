package server

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"net/http"
	"os"
	"strconv"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"

	"sapwell/documents/files"
	"sapwell/engine/quantity"
	"sapwell/entries"
	"sapwell/store"
	"sapwell/views"
)

func (s *Server) exportRoutes() {
	whole := at(http.MethodGet, "/api/journal", "export-journal", "journal", "the whole journal, as its format has it")
	whole.Responses = file("application/x-ndjson", "one line an entry, receipt or head")
	route(s, keepers, whole, s.journal)

	trees := at(http.MethodGet, "/api/trees.csv", "export-trees", "views", "all trees for a spreadsheet")
	trees.Description = "RFC 4180, UTF-8. A text that a spreadsheet would take for a formula, since it begins with = + - @, a tab or a carriage return, gets an apostrophe in front."
	trees.Responses = file("text/csv", "one row a tree, below a row of names")
	route(s, signedIn, trees, s.treesCSV)
}

func file(kind, what string) map[string]*huma.Response {
	return map[string]*huma.Response{"200": {
		Description: what, Content: map[string]*huma.MediaType{kind: {}},
	}}
}

func (s *Server) journal(_ context.Context, c caller, _ *struct{}) (*streamed, error) {
	return s.download("application/x-ndjson", "journal.ndjson", func(ctx context.Context, w io.Writer) error {
		return c.ledger.Export(ctx, w)
	}), nil
}

func (s *Server) treesCSV(_ context.Context, c caller, _ *struct{}) (*streamed, error) {
	return s.download("text/csv; charset=utf-8", "trees.csv", func(ctx context.Context, w io.Writer) error {
		return writeTrees(ctx, c.ledger, w)
	}), nil
}

// download answers with a file that is written while it is sent. Where it breaks
// off, so does the connection: half a file must not look whole.
func (s *Server) download(kind, name string, write func(context.Context, io.Writer) error) *streamed {
	return &streamed{Body: func(ctx huma.Context) {
		r, w := humago.Unwrap(ctx)
		h := w.Header()
		h.Set("Content-Type", kind)
		h.Set("Content-Disposition", `attachment; filename="`+name+`"`)
		conn := http.NewResponseController(w)
		_ = conn.SetReadDeadline(time.Time{}) // nothing more is to be read, and this may take long
		out := bufio.NewWriterSize(&unhurried{w, conn}, 64<<10)
		err := write(r.Context(), out)
		if err == nil {
			err = out.Flush()
		}
		if err != nil {
			s.Log.WarnContext(r.Context(), "cut", "request", requestOf(r.Context()).id, "cause", err.Error())
			panic(http.ErrAbortHandler)
		}
	}}
}

// stored answers with a file that is made first and sent then, from a file of this
// machine: however slowly it is fetched, the store is read no longer than making it
// takes, and what cannot be made is told as a problem and not as half a file.
func (s *Server) stored(ctx context.Context, kind, name string, write func(context.Context, io.Writer) error) (*streamed, error) {
	made, err := os.CreateTemp("", "sapwell-answer-*")
	if err != nil {
		return nil, fmt.Errorf("make room for %s: %w", name, err)
	}
	out := bufio.NewWriterSize(made, 64<<10)
	if err = write(ctx, out); err == nil {
		err = out.Flush()
	}
	if err == nil {
		_, err = made.Seek(0, io.SeekStart)
	}
	if err != nil {
		discard(made)
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return s.download(kind, name, func(_ context.Context, w io.Writer) error {
		defer discard(made)
		_, err := io.Copy(w, made)
		return err
	}), nil
}

// discard closes a file that was only in passing and takes it away.
func discard(f *os.File) {
	_ = f.Close()
	_ = os.Remove(f.Name())
}

// unhurried gives each piece of a long answer its own time.
type unhurried struct {
	w    io.Writer
	conn *http.ResponseController
}

func (u *unhurried) Write(b []byte) (int, error) {
	_ = u.conn.SetWriteDeadline(time.Now().Add(3 * writeTime)) // where it can be set
	return u.w.Write(b)
}

// treeColumns name what writeTree writes.
var treeColumns = []string{
	"grounds", "tag", "species", "where", "gone", "stem", "girth_mm", "girth_height_mm", "stems", "measured",
	"canopy_loss_percent", "pest", "treated", "units", "given_ml", "lat", "lon", "note", "id",
}

func writeTrees(ctx context.Context, ledger store.Ledger, w io.Writer) error {
	out := files.NewCSV(w, treeColumns...)
	grounds := map[string]string{}
	err := eachRow(ctx, ledger, entries.OfTree, func(v store.Reader, row views.Row) error {
		state, err := views.Read(row)
		if err != nil {
			return err
		}
		tree, ok := state.(*views.Tree)
		if !ok {
			return fmt.Errorf("the view of tree %s is a %T", row.Subject.ID, state)
		}
		name, err := nameOf(v, tree.Facts.Grounds.String(), grounds)
		if err != nil {
			return err
		}
		out.Row(treeCells(name, tree)...)
		return nil
	})
	if err != nil {
		return err
	}
	return out.Close()
}

// eachRow shows all rows of a kind, a page at a time, so that no reader is held
// for long.
func eachRow(ctx context.Context, ledger store.Ledger, kind entries.SubjectKind, show func(store.Reader, views.Row) error) error {
	from, after := "", ""
	for more := true; more; {
		err := ledger.Read(ctx, func(v store.Reader) error {
			page, err := v.List(kind, from, "", after, mostRows)
			for _, row := range page {
				if err := show(v, row); err != nil {
					return err
				}
				from, after = row.Key, row.Subject.ID
			}
			more = len(page) == mostRows
			return err
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// nameOf is what grounds are called.
func nameOf(v store.Reader, id string, known map[string]string) (string, error) {
	if name, ok := known[id]; ok {
		return name, nil
	}
	row, ok, err := v.View(entries.Subject{Kind: entries.OfGrounds, ID: id})
	if err != nil || !ok {
		return "", err
	}
	known[id] = row.Key // a property is listed by its name
	return row.Key, nil
}

func treeCells(grounds string, t *views.Tree) []string {
	f := t.Facts
	var stem, girth, height, stems, measured string
	if m := t.Measurement; m != nil && len(m.Facts.Stems) > 0 {
		first := m.Facts.Stems[0]
		stem, girth, height = first.Name, mm(first.Girth.Around), mm(first.Girth.Height)
		stems, measured = strconv.Itoa(len(m.Facts.Stems)), day(m.Facts.At)
	}
	var loss, pest string
	if c := t.Condition; c != nil {
		loss, pest = number(c.CanopyLoss), c.Pest
	}
	var treated, units, given string
	if n := len(t.Treatments); n > 0 {
		last := t.Treatments[n-1]
		treated, units, given = day(last.End), strconv.Itoa(last.Units), thousandths(last.Given/1000)
	}
	var lat, lon string
	if f.Place != nil {
		lat, lon = degrees(f.Place.Lat), degrees(f.Place.Lon)
	}
	guard := files.Guard
	return []string{
		guard(grounds), guard(f.Tag), guard(f.Species), guard(f.Where), map[bool]string{true: "yes"}[f.Gone],
		guard(stem), girth, height, stems, measured, loss, guard(pest), treated, units, given, lat, lon, guard(f.Note), t.ID,
	}
}

// mm writes nanometres as millimetres, to the micrometre.
func mm(nm int64) string { return thousandths(nm / 1000) }

// thousandths writes a number of thousandths.
func thousandths(n int64) string {
	text := fmt.Sprintf("%d.%03d", n/1000, n%1000)
	return strings.TrimRight(strings.TrimRight(text, "0"), ".")
}

// degrees writes 1e-7 degrees. Its minus is a number's, so it is not guarded.
func degrees(e7 int64) string {
	sign := ""
	if e7 < 0 {
		sign, e7 = "-", -e7
	}
	return fmt.Sprintf("%s%d.%07d", sign, e7/1e7, e7%1e7)
}

func day(ms int64) string {
	if ms == 0 {
		return ""
	}
	return quantity.NewDate(time.UnixMilli(ms).UTC().Date()).String()
}

func number(n *int) string {
	if n == nil {
		return ""
	}
	return strconv.Itoa(*n)
}
