package server

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"

	"sapwell/actions"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/store"
	"sapwell/views"
)

// registerRoutes serve those who look at everything at once: the register of all
// trees, and the journal entry by entry.
func (s *Server) registerRoutes() {
	op := at(http.MethodGet, "/api/register", "register", "views", "all trees, one short line each")
	op.Description = `The first line is {"columns": [names]}. Then each tree is an array with a value for each column; ` +
		`the last line is {"register": {"next": since of what changes after this, "trees": how many lines there were}}. ` +
		`Without it the answer was cut off. Moments are ms since 1970, 0 and "" where nothing is known, -1 for a canopy that nobody judged.`
	op.Responses = file("application/x-ndjson", "the columns, one line a tree, and the end")
	route(s, signedIn, op, s.register)
	route(s, signedIn, at(http.MethodGet, "/api/entries", "list-entries", "journal", "entries as they came in"), s.stream)
}

type registerInput struct {
	Since int64 `query:"since" minimum:"0" doc:"only trees of which something was said since; next of the answer before"`
}

// registerColumns name what registerLine has, in its order.
var registerColumns = []string{
	"id", "grounds", "tag", "species", "where", "lat_e7", "lon_e7", "gone", "stems", "girth_nm", "measured",
	"seen", "canopy_loss_percent", "pest", "advice", "plan", "plan_day", "treated", "treatments", "units", "holes", "open", "flags", "photos",
}

func (s *Server) register(_ context.Context, c caller, in *registerInput) (*streamed, error) {
	return s.download("application/x-ndjson", "register.ndjson", func(ctx context.Context, w io.Writer) error {
		return writeRegister(ctx, c.ledger, in.Since, w)
	}), nil
}

func writeRegister(ctx context.Context, ledger store.Ledger, since int64, w io.Writer) error {
	out := json.NewEncoder(w)
	out.SetEscapeHTML(false)
	if err := out.Encode(map[string]any{"columns": registerColumns}); err != nil {
		return err
	}
	next, err := ledger.Size(ctx) // before the rows: what comes in meanwhile is told again
	if err != nil {
		return err
	}
	trees := 0
	show := func(row views.Row) error {
		trees++
		line, err := registerLine(row)
		if err != nil {
			return err
		}
		return out.Encode(line)
	}
	if since > 0 && since <= next {
		err = changedTrees(ctx, ledger, since, next, show)
	} else {
		err = eachRow(ctx, ledger, entries.OfTree, func(_ store.Reader, row views.Row) error { return show(row) })
	}
	if err != nil {
		return err
	}
	return out.Encode(map[string]any{"register": map[string]any{"next": next, "trees": trees}})
}

// changedTrees shows the trees that entries from number since on speak of.
func changedTrees(ctx context.Context, ledger store.Ledger, since, size int64, show func(views.Row) error) error {
	if since == size {
		return nil
	}
	subjects, _, err := ledger.Changed(ctx, since, int(size-since))
	if err != nil {
		return err
	}
	for _, subject := range subjects {
		if subject.Kind != entries.OfTree {
			continue
		}
		err := ledger.Read(ctx, func(v store.Reader) error {
			row, ok, err := v.View(subject)
			if err != nil || !ok {
				return err
			}
			return show(row)
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// registerLine is a tree as one line has it.
func registerLine(row views.Row) ([]any, error) {
	state, err := views.Read(row)
	if err != nil {
		return nil, err
	}
	t, ok := state.(*views.Tree)
	if !ok {
		return nil, fmt.Errorf("the view of tree %s is a %T", row.Subject.ID, state)
	}
	f := t.Facts
	var place entries.Place
	if f.Place != nil {
		place = *f.Place
	}
	var stems int
	var girth, measured int64
	if m := t.Measurement; m != nil && len(m.Facts.Stems) > 0 {
		stems, girth, measured = len(m.Facts.Stems), m.Facts.Stems[0].Girth.Around, cmp.Or(m.Facts.At, madeAt(m.Entry))
	}
	seen, loss, pest, advice := int64(0), -1, "", ""
	if c := t.Condition; c != nil {
		seen, pest, advice = c.At, c.Pest, c.Advice
		if c.CanopyLoss != nil {
			loss = *c.CanopyLoss
		}
	}
	var treated int64
	var units int
	if n := len(t.Treatments); n > 0 {
		treated, units = t.Treatments[n-1].End, t.Treatments[n-1].Units
	}
	return []any{
		t.ID, textOf(f.Grounds), f.Tag, f.Species, f.Where, place.Lat, place.Lon, f.Gone, stems, girth, measured,
		seen, loss, pest, advice, textOf(t.Plan), dayText(t.PlanDay), treated, len(t.Treatments), units, len(t.Holes), stillOpen(t.Holes), len(t.Flags), len(t.Photos),
	}, nil
}

// stillOpen counts holes and wounds that nobody saw closed.
func stillOpen(holes []views.OldHole) (n int) {
	for _, h := range holes {
		if h.Closure == nil || h.Closure.State != "closed" {
			n++
		}
	}
	return n
}

// madeAt is when an id was made (RFC 9562, section 5.7): for what does not say when it
// happened, since that was when it was written.
func madeAt(id journal.ID) (ms int64) {
	for _, b := range id[:6] {
		ms = ms<<8 | int64(b)
	}
	return ms
}

func textOf(id journal.ID) string {
	if id == (journal.ID{}) {
		return ""
	}
	return id.String()
}

func dayText(d entries.Date) string {
	if d.IsZero() {
		return ""
	}
	return d.String()
}

type streamInput struct {
	From  int64 `query:"from" minimum:"0" doc:"number of the first; left out: 0, the oldest"`
	Limit int   `query:"limit" minimum:"1" maximum:"1000" default:"100" doc:"entries at most"`
}

// Arrived is an entry with its number.
type Arrived struct {
	N int64 `json:"n" doc:"number of its receipt"`
	actions.Said
}

type streamOutput struct {
	Body struct {
		Entries []Arrived `json:"entries" nullable:"false"`
		All     int64     `json:"all" doc:"how many there are"`
	}
}

// stream lists the journal in the order in which the office got it. It is only ever
// added to, so a page is named by its first number.
func (s *Server) stream(ctx context.Context, c caller, in *streamInput) (*streamOutput, error) {
	out := new(streamOutput)
	out.Body.Entries = []Arrived{}
	err := c.ledger.Read(ctx, func(v store.Reader) error {
		held, err := v.Since(in.From, in.Limit)
		for _, h := range held {
			out.Body.Entries = append(out.Body.Entries, Arrived{h.N, actions.SaidBy(h.Entry)})
		}
		return err
	})
	if err == nil {
		out.Body.All, err = c.ledger.Size(ctx)
	}
	return out, err
}
