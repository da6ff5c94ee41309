package pile

import (
	"cmp"
	"io"
	"iter"
	"slices"
	"strconv"
	"strings"
	"time"

	"sapwell/documents/files"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/records"
	"sapwell/views"
	"sapwell/words"
)

// files writes the same facts for other programs, and what is due by when.
func (p *pile) files() error {
	if p.seen == 0 {
		return nil
	}
	from := files.From{Firm: p.firm.Name, Day: p.g.Today}
	for _, f := range []struct {
		name  string
		write func(io.Writer) error
	}{
		{"data/records.json", func(w io.Writer) error { return files.RecordsJSON(w, from, p.records()) }},
		{"data/records.schema.json", func(w io.Writer) error { _, err := w.Write(files.RecordsSchema()); return err }},
		{"data/records.csv", func(w io.Writer) error { return files.RecordsCSV(w, p.records()) }},
		{"data/trees.geojson", func(w io.Writer) error { return files.GeoJSON(w, p.features()) }},
		{"data/due.ics", p.calendar},
	} {
		if err := p.put(f.name, f.write); err != nil {
			return err
		}
	}
	ny := false
	for range p.heldBy("us-ny") {
		ny = true
		break
	}
	if ny {
		if err := p.put("reports/new-york.csv", func(w io.Writer) error { return files.NewYorkApplications(w, p.heldBy("us-ny")) }); err != nil {
			return err
		}
	}
	return p.california()
}

// heldBy are the records of work at places where a profile holds: a report tells of no
// other.
func (p *pile) heldBy(profile string) iter.Seq2[records.Record, error] {
	return func(yield func(records.Record, error) bool) {
		for r, err := range p.records() {
			if err == nil {
				if chosen, _ := r.Chosen(); !slices.Contains(chosen, profile) {
					continue
				}
			}
			if !yield(r, err) {
				return
			}
		}
	}
}

// features are the trees that were treated in these days, each once.
func (p *pile) features() iter.Seq2[files.Feature, error] {
	return func(yield func(files.Feature, error) bool) {
		seen := map[journal.ID]bool{}
		for visit, err := range p.g.Visits(p.From, p.To, false) {
			if err != nil {
				yield(files.Feature{}, err)
				return
			}
			for _, given := range visit.Closed.Trees {
				if seen[given.Tree] {
					continue
				}
				seen[given.Tree] = true
				t, err := gatherView[*views.Tree](p, entries.OfTree, given.Tree)
				if err == nil && t == nil {
					continue
				}
				var f files.Feature
				if err == nil {
					f = p.feature(t)
				}
				if !yield(f, err) || err != nil {
					return
				}
			}
		}
	}
}

func (p *pile) feature(t *views.Tree) files.Feature {
	f := files.Feature{ID: t.ID, Properties: map[string]any{
		"tag": t.Facts.Tag, "species": t.Facts.Species, "where": t.Facts.Where, "treatments": int64(len(t.Treatments)), "holes": int64(len(t.Holes)),
	}}
	if at := t.Facts.Place; at != nil {
		f.Point = &files.Position{Lat: at.Lat, Lon: at.Lon}
	}
	if n := len(t.Treatments); n > 0 {
		last := t.Treatments[n-1]
		f.Properties["last_treated"] = quantity.DateOf(timeOf(max(last.Start, last.At), "").In(p.g.Zone)).String()
	}
	return f
}

// calendar lists the duties of all records: what is due by when.
func (p *pile) calendar(w io.Writer) error {
	var agenda records.Agenda
	for r, err := range p.records() {
		if err != nil {
			return err
		}
		agenda.Add(r)
	}
	return files.Calendar(w, p.Say.Say("pile.calendar", why.T("name", p.firm.Name)), Events(agenda.Duties(), p.Now, p.Say))
}

// Events are duties as a calendar shows them.
func Events(duties []records.Duty, now time.Time, say *words.Printer) iter.Seq2[files.Event, error] {
	return func(yield func(files.Event, error) bool) {
		for _, d := range duties {
			e := files.Event{
				UID: d.UID, Sequence: d.Sequence, Stamp: now, Day: d.Due, Summary: d.Says.In(say.Lang), Category: d.Profile, Remind: 7,
				Description: say.Say("pile.covers", why.T("n", d.Records), why.T("subject", d.Subject)), Cancelled: !d.Done.IsZero(),
			}
			if e.Summary == "" { // the last day of keeping
				e.Summary = say.Say("pile.keep", why.T("subject", d.Subject))
			}
			if !yield(e, nil) {
				return
			}
		}
	}
}

// california sums up each month by product and kind of site.
func (p *pile) california() error {
	months := map[string]*files.CaliforniaMonth{}
	for r, err := range p.heldBy("us-ca") {
		if err != nil {
			return err
		}
		day := r.Text("date")
		if len(day) < 7 {
			continue
		}
		key := cmp.Or(r.Text("site.county"), "county") + "-" + day[:7]
		m := months[key]
		if m == nil {
			m = &files.CaliforniaMonth{
				County: r.Text("site.county"), CountyNo: r.Text("site.county_no"), Firm: p.firm.Name, Address: p.firm.Address, Zip: told(&p.g.Org.Common, "business.zip"),
				Phone: p.firm.Phone, Licence: p.firm.RegNo, OperatorID: r.Text("operator_id_no"), PreparedBy: r.Text("applicator.name"),
			}
			m.Year, _ = strconv.Atoi(day[:4])
			m.Month, _ = strconv.Atoi(day[5:7])
			months[key] = m
		}
		use(m, r)
	}
	var keys []string
	for key := range months {
		keys = append(keys, key)
	}
	slices.Sort(keys)
	for _, key := range keys {
		m := months[key]
		for i := range m.Uses {
			m.Uses[i].Treated = strconv.Itoa(m.Uses[i].Applications) // one tree each
		}
		if err := p.put(p.name("reports/", ".csv", "california", strings.ToLower(key)), m.WriteCSV); err != nil {
			return err
		}
	}
	return nil
}

// use adds a record to the uses of its month.
func use(m *files.CaliforniaMonth, r records.Record) {
	i := slices.IndexFunc(m.Uses, func(u files.CaliforniaUse) bool {
		return u.RegNo == r.Text("product.reg_no") && u.Product == r.Text("product.name") && u.Site == r.Text("site.type")
	})
	if i < 0 {
		i = len(m.Uses)
		m.Uses = append(m.Uses, files.CaliforniaUse{
			Product: r.Text("product.name"), Maker: r.Text("product.registrant"), RegNo: r.Text("product.reg_no"), SiteCode: r.Text("site.code"), Site: r.Text("site.type"),
			TreatedUnit: "tree",
		})
	}
	m.Uses[i].Applications++
	if v, err := quantity.ParseVolume(r.Text("amount.total"), quantity.Reading{}); err == nil {
		m.Uses[i].Used += v
	}
}
