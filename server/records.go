package server

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"

	"sapwell/documents"
	"sapwell/documents/files"
	"sapwell/engine/quantity"
	"sapwell/entries"
	"sapwell/gather"
	"sapwell/pile"
	"sapwell/records"
	"sapwell/store"
	"sapwell/views"
	"sapwell/words"
)

// recordRoutes show the records of the work, what they miss, and what is due.
func (s *Server) recordRoutes() {
	list := at(http.MethodGet, "/api/records", "list-records", "records", "the records of the work, and what each misses")
	list.Description = `One object a record, by day; the last line is {"records": {"count": how many}}, without it the answer was cut off. ` +
		"Codes are MISSING:, INVALID: or LATE: with a field or a duty, as doc/record-fields.md names them. Not legal advice."
	list.Responses = file("application/x-ndjson", "one line a record, and the end")
	route(s, signedIn, list, s.records)
	route(s, signedIn, at(http.MethodGet, "/api/visits/{id}/records", "visit-records", "records", "the records of one visit, also while it is open"), s.visitRecords)
	paper := at(http.MethodGet, "/api/visits/{id}/records/{record}", "record-paper", "records", "one record on paper, in the language that was asked for")
	paper.Responses = file("application/pdf", "the record")
	route(s, signedIn, paper, s.recordPaper)
	route(s, signedIn, at(http.MethodGet, "/api/due", "due", "records", "what is due by when"), s.due)
	calendar := at(http.MethodGet, "/api/due.ics", "due-calendar", "records", "the same as a calendar (RFC 5545)")
	calendar.Responses = file("text/calendar", "one event a duty")
	route(s, signedIn, calendar, s.dueCalendar)
	all := at(http.MethodGet, "/api/papers.zip", "papers", "records", "the whole pile of papers of some days")
	all.Responses = file("application/zip", "a folder of papers and files")
	route(s, keepers, all, s.papers)
}

// Days are the days of the work that are meant.
type Days struct {
	From string `query:"from" format:"date" doc:"first day of the work; left out: from the beginning"`
	To   string `query:"to" format:"date" doc:"last day; left out: until today"`
}

func (in Days) days() (from, to quantity.Date, err error) {
	read := func(text, field string) (day quantity.Date) {
		if text != "" && err == nil {
			if day, err = quantity.ParseDate(text); err != nil {
				err = problem(http.StatusUnprocessableEntity, "request.day").in("query." + field)
			}
		}
		return day
	}
	from, to = read(in.From, "from"), read(in.To, "to")
	if err == nil && !to.IsZero() && to.Before(from) {
		err = problem(http.StatusUnprocessableEntity, "request.days").in("query.to")
	}
	return from, to, err
}

// meant are the days of a request and who says what is found in them.
func (in Days) meant(ctx context.Context, as Printing) (from, to quantity.Date, say *words.Printer, err error) {
	if from, to, err = in.days(); err == nil {
		say, err = as.printer(ctx)
	}
	return from, to, say, err
}

// RecordRow is a record as a list shows it.
type RecordRow struct {
	Visit string `json:"visit"`
	records.Judged
	Names  []string `json:"profile_names" nullable:"false" doc:"of the profiles, for a person to read"`
	Misses []string `json:"misses" nullable:"false" doc:"what is missing, malformed or late, in sentences"`
}

func recordRowOf(visit string, r records.Record, say *words.Printer) RecordRow {
	row := RecordRow{visit, records.Judge(r, say.Lang), []string{}, []string{}}
	for _, id := range row.Profiles {
		row.Names = append(row.Names, records.NameOf(id).In(say.Lang))
	}
	for _, f := range row.Findings {
		row.Misses = append(row.Misses, pile.Miss(f, say))
	}
	return row
}

// gathered looks at the store with a gatherer.
func (s *Server) gathered(ctx context.Context, c caller, look func(*gather.Gatherer, store.Reader) error) error {
	return c.ledger.Read(ctx, func(r store.Reader) error {
		g, err := gather.New(r, c.Org, s.Clock())
		if err != nil {
			return err
		}
		return look(g, r)
	})
}

// eachRecord shows the records of the visits closed in some days.
func (s *Server) eachRecord(ctx context.Context, c caller, from, to quantity.Date, show func(visit string, r records.Record) error) error {
	return s.gathered(ctx, c, func(g *gather.Gatherer, _ store.Reader) error {
		for v, err := range g.Visits(from, to, false) {
			var f records.Facts
			if err == nil {
				f, err = g.Facts(v)
			}
			if err != nil {
				return err
			}
			for _, r := range records.Of(f) {
				if err := show(v.ID, r); err != nil {
					return err
				}
			}
		}
		return nil
	})
}

func (s *Server) records(ctx context.Context, c caller, in *Days) (*streamed, error) {
	from, to, say, err := in.meant(ctx, Printing{})
	if err != nil {
		return nil, err
	}
	return s.stored(ctx, "application/x-ndjson", "records.ndjson", func(ctx context.Context, w io.Writer) error {
		out := json.NewEncoder(w)
		out.SetEscapeHTML(false)
		n := 0
		err := s.eachRecord(ctx, c, from, to, func(visit string, r records.Record) error {
			n++
			return out.Encode(recordRowOf(visit, r, say))
		})
		if err != nil {
			return err
		}
		return out.Encode(map[string]any{"records": map[string]int{"count": n}})
	})
}

type visitRecordsOutput struct {
	Body struct {
		Records []visitRecord `json:"records" nullable:"false"`
	}
}

type visitRecord struct {
	RecordRow
	Data json.RawMessage `json:"data" doc:"the record itself, as doc/record-fields.md has it"`
}

// recordsOf are the records of one visit, and who says what they miss.
func (s *Server) recordsOf(ctx context.Context, c caller, text string, as Printing) (list []records.Record, say *words.Printer, err error) {
	id, err := idOf(text)
	if err == nil {
		say, err = as.printer(ctx)
	}
	if err != nil {
		return nil, nil, err
	}
	err = s.gathered(ctx, c, func(g *gather.Gatherer, _ store.Reader) error {
		v, err := gather.View[*views.Visit](g, entries.OfVisit, id)
		if err == nil && v == nil {
			err = store.ErrNotFound
		}
		var f records.Facts
		if err == nil {
			f, err = g.Facts(v)
		}
		list = records.Of(f)
		return err
	})
	return list, say, err
}

func (s *Server) visitRecords(ctx context.Context, c caller, in *ByID) (*visitRecordsOutput, error) {
	list, say, err := s.recordsOf(ctx, c, in.ID, Printing{})
	if err != nil {
		return nil, err
	}
	out := new(visitRecordsOutput)
	out.Body.Records = []visitRecord{}
	for _, r := range list {
		out.Body.Records = append(out.Body.Records, visitRecord{recordRowOf(in.ID, r, say), r.JSON()})
	}
	return out, nil
}

// Printing is how a paper is wanted.
type Printing struct {
	Paper string `query:"paper" enum:"letter,a4" default:"letter" doc:"its size"`
	Units string `query:"units" enum:"imperial,metric" default:"imperial" doc:"in which units"`
}

// printer speaks the language of a request in the units that were asked for.
func (in Printing) printer(ctx context.Context) (*words.Printer, error) {
	style := quantity.Style{System: quantity.Imperial}
	if in.Units == "metric" {
		style.System = quantity.Metric
	}
	lang := requestOf(ctx).lang
	style.DecimalComma = lang == "es"
	return words.New(lang, style)
}

type recordPaperInput struct {
	ByID
	Record string `path:"record" doc:"id of the record"`
	Printing
}

// recordPaper makes the paper first: what cannot be printed is told as a problem and
// not as half a file.
func (s *Server) recordPaper(ctx context.Context, c caller, in *recordPaperInput) (*streamed, error) {
	list, say, err := s.recordsOf(ctx, c, in.ID, in.Printing)
	if err != nil {
		return nil, err
	}
	for _, r := range list {
		if r.Text("record.id") != in.Record {
			continue
		}
		profiles, _ := r.Chosen()
		var pdf bytes.Buffer
		if err := documents.TreatmentRecord(&pdf, r, profiles, say, documents.Paper(in.Paper)); err != nil {
			return nil, err
		}
		return s.download("application/pdf", "record-"+in.Record+".pdf", func(_ context.Context, w io.Writer) error {
			_, err := w.Write(pdf.Bytes())
			return err
		}), nil
	}
	return nil, store.ErrNotFound
}

type dueOutput struct {
	Body struct {
		Duties []dueRow `json:"duties" nullable:"false"`
	}
}

type dueRow struct {
	Profile string        `json:"profile"`
	Name    string        `json:"name" doc:"such as us-ca.monthly_report"`
	Says    string        `json:"says" doc:"in which words the profile asks it; empty: the last day of keeping"`
	Subject string        `json:"subject" doc:"a record, or the month or year of a report"`
	Records int           `json:"records" doc:"that it covers"`
	Due     quantity.Date `json:"due" doc:"the last good day"`
	Done    quantity.Date `json:"done,omitzero" doc:"absent: not yet"`
	Late    bool          `json:"late,omitempty"`
	Text    string        `json:"text" doc:"all of it in a sentence"`
}

// duties are those of all records of the days, and who says them.
func (s *Server) duties(ctx context.Context, c caller, in Days) ([]records.Duty, *words.Printer, error) {
	from, to, say, err := in.meant(ctx, Printing{})
	if err != nil {
		return nil, nil, err
	}
	var agenda records.Agenda
	err = s.eachRecord(ctx, c, from, to, func(_ string, r records.Record) error {
		agenda.Add(r)
		return nil
	})
	return agenda.Duties(), say, err
}

func (s *Server) due(ctx context.Context, c caller, in *Days) (*dueOutput, error) {
	list, say, err := s.duties(ctx, c, *in)
	if err != nil {
		return nil, err
	}
	out := new(dueOutput)
	out.Body.Duties = []dueRow{}
	for _, d := range list {
		out.Body.Duties = append(out.Body.Duties, dueRow{d.Profile, d.Name, d.Says.In(say.Lang), d.Subject, d.Records, d.Due, d.Done, d.Late, pile.Due(d, say)})
	}
	return out, nil
}

func (s *Server) dueCalendar(ctx context.Context, c caller, in *Days) (*streamed, error) {
	list, say, err := s.duties(ctx, c, *in)
	if err != nil {
		return nil, err
	}
	return s.download("text/calendar; charset=utf-8", "due.ics", func(_ context.Context, w io.Writer) error {
		return files.Calendar(w, say.Say("pile.due"), pile.Events(list, s.Clock(), say))
	}), nil
}

type papersInput struct {
	Days
	Printing
	All bool `query:"all" doc:"a contract and a sign too where no profile asks them"`
}

// papers sends the pile, without prices: these are the firm's own and stand in no
// journal.
func (s *Server) papers(ctx context.Context, c caller, in *papersInput) (*streamed, error) {
	from, to, say, err := in.meant(ctx, in.Printing)
	if err != nil {
		return nil, err
	}
	want := pile.Wanted{From: from, To: to, Now: s.Clock(), Paper: documents.Paper(in.Paper), Say: say, All: in.All}
	return s.stored(ctx, "application/zip", "papers.zip", func(ctx context.Context, w io.Writer) error {
		z := zip.NewWriter(w)
		put := func(name string, write func(io.Writer) error) error {
			f, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate, Modified: want.Now})
			if err == nil {
				err = write(f)
			}
			if err != nil {
				err = fmt.Errorf("%s: %w", name, err)
			}
			return err
		}
		err := c.ledger.Read(ctx, func(r store.Reader) error { return pile.Write(r, c.Org, want, put) })
		if err != nil {
			return err
		}
		return z.Close()
	})
}
