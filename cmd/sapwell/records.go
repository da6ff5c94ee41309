package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"iter"
	"os"
	"slices"
	"strings"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/gather"
	"sapwell/journal"
	"sapwell/pile"
	"sapwell/records"
	"sapwell/store"
	"sapwell/store/mem"
	"sapwell/views"
)

type recordsCmd struct {
	Check recordsCheckCmd `cmd:"" help:"Say what the records of the work miss, by place and day."`
	Due   recordsDueCmd   `cmd:"" help:"List what is to be done for the records, and by when."`
}

// works says which work is meant, and by which profiles it is judged.
type works struct {
	File    string   `arg:"" optional:"" help:"An exported journal; - for stdin. Without it: the journal of the store."`
	Period  period   `embed:""`
	Open    bool     `help:"Visits that are still open, as they stand."`
	Profile []string `placeholder:"ID" help:"Judge by these profiles and not by those of the place; needs --why."`
	Why     string   `placeholder:"TEXT" help:"Why the choice by place is overruled."`
	where
	whose
}

// days reads the days and refuses what cannot be meant.
func (c works) days() (from, to quantity.Date, err error) {
	if from, to, err = c.Period.days(); err != nil {
		return from, to, err
	}
	return from, to, c.overrule()
}

func (c works) overrule() error {
	switch {
	case len(c.Profile) > 0 && strings.TrimSpace(c.Why) == "":
		return usage{errors.New("--profile: say with --why why the profiles of the place do not hold")}
	case len(c.Profile) == 0 && c.Why != "":
		return usage{errors.New("--why: it goes with --profile")}
	}
	var known []string
	for _, p := range records.Profiles() {
		known = append(known, p.ID)
	}
	for _, id := range c.Profile {
		if !slices.Contains(known, id) {
			return usage{fmt.Errorf("--profile: %q, want any of %s", id, strings.Join(known, ", "))}
		}
	}
	return nil
}

// each makes the records that are meant, one visit after the other.
func (c works) each(w world, with func(iter.Seq2[records.Record, error]) error) error {
	from, to, err := c.days()
	if err != nil {
		return err
	}
	look := func(ctx context.Context, l store.Ledger) error {
		return l.Read(ctx, func(r store.Reader) error {
			g, err := gather.New(r, l.Org(), w.now())
			if err != nil {
				return err
			}
			return with(c.records(g, g.Visits(from, to, c.Open)))
		})
	}
	if c.File != "" {
		return c.imported(w, look)
	}
	return c.look(w, c.where, look)
}

func (c works) records(g *gather.Gatherer, visits iter.Seq2[*views.Visit, error]) iter.Seq2[records.Record, error] {
	return func(yield func(records.Record, error) bool) {
		for v, err := range visits {
			var f records.Facts
			if err == nil {
				f, err = g.Facts(v)
			}
			if err != nil {
				yield(records.Record{}, err)
				return
			}
			for _, r := range records.Of(f) {
				if len(c.Profile) > 0 {
					r = r.With("profiles", c.Profile).With("profiles_why", c.Why)
				}
				if !yield(r, nil) {
					return
				}
			}
		}
	}
}

// imported looks at an exported journal as at a store, once every byte of it was
// checked.
func (c works) imported(w world, look func(context.Context, store.Ledger) error) error {
	in := w.stdin
	if c.File != "-" {
		f, err := os.Open(c.File)
		if err != nil {
			return err
		}
		defer f.Close()
		in = f
	}
	ctx := context.Background()
	s := mem.New()
	org, err := s.Import(ctx, in, w.now().UnixMilli())
	if _, ok := errors.AsType[*journal.Fault](err); ok {
		return refused{fmt.Errorf("%s: %w", c.File, err)}
	}
	if err != nil {
		return fmt.Errorf("%s: %w", c.File, err)
	}
	l, err := s.Ledger(ctx, org)
	if err != nil {
		return err
	}
	return look(ctx, l)
}

type recordsCheckCmd struct {
	works
	JSON bool `name:"json" help:"Print JSON: a list with an object a record."`
}

// Run judges the records and says what is missing, malformed or late.
func (c recordsCheckCmd) Run(w world) error {
	lacking := 0
	err := c.each(w, func(all iter.Seq2[records.Record, error]) error {
		show := w.listed
		if c.JSON {
			show = w.listedJSON
		}
		var err error
		lacking, err = show(all)
		return err
	})
	if err == nil && lacking > 0 {
		return partly{lacking, "records.lacking"}
	}
	return err
}

// listed prints a line a record, and what was found below it.
func (w world) listed(all iter.Seq2[records.Record, error]) (lacking int, err error) {
	n := 0
	chosen := ""
	for r, err := range all {
		if err != nil {
			return lacking, err
		}
		j := records.Judge(r, w.say.Lang)
		if said := w.chosen(j); said != chosen {
			chosen = said
			if n > 0 {
				fmt.Fprintln(w.stdout)
			}
			wrapTo(w.stdout, "", said)
		}
		n++
		fmt.Fprintf(w.stdout, "%-10s  %-12s  %s\n", j.Date, fit(j.Tree, 12), fit(j.Product, columns-26))
		for _, f := range j.Findings {
			wrapTo(w.stdout, "  ", pile.Miss(f, w.say))
		}
		lacking += min(1, len(j.Findings))
	}
	if n == 0 {
		wrapTo(w.stdout, "", w.say.Say("records.none"))
		return 0, nil
	}
	fmt.Fprintln(w.stdout)
	wrapTo(w.stdout, "", w.say.Say("records.checked", count("n", n)))
	wrapTo(w.stdout, "", w.say.Say("records.not_advice"))
	return lacking, nil
}

// chosen says by which profiles a record is judged, and why by these.
func (w world) chosen(j records.Judged) string {
	ids := why.T("profiles", strings.Join(j.Profiles, ", "))
	if j.Overruled != "" {
		return w.say.Say("records.overruled", ids, why.T("text", j.Overruled))
	}
	return w.say.Say("records.by_place", ids, why.T("place", j.Place))
}

func (w world) listedJSON(all iter.Seq2[records.Record, error]) (lacking int, err error) {
	between := "[\n"
	for r, err := range all {
		if err != nil {
			return lacking, err
		}
		j := records.Judge(r, w.say.Lang)
		lacking += min(1, len(j.Findings))
		line, err := json.Marshal(j)
		if err != nil {
			return lacking, err
		}
		if _, err := io.WriteString(w.stdout, between+string(line)); err != nil {
			return lacking, err
		}
		between = ",\n"
	}
	if between == "[\n" {
		fmt.Fprintln(w.stdout, "[]")
		return 0, nil
	}
	_, err = fmt.Fprintln(w.stdout, "\n]")
	return lacking, err
}

type recordsDueCmd struct {
	works
	All bool `help:"Also what was done."`
}

// Run lists duties by day.
func (c recordsDueCmd) Run(w world) error {
	var agenda records.Agenda
	err := c.each(w, func(all iter.Seq2[records.Record, error]) error {
		for r, err := range all {
			if err != nil {
				return err
			}
			agenda.Add(r)
		}
		return nil
	})
	if err != nil {
		return err
	}
	late, shown := 0, 0
	for _, d := range agenda.Duties() {
		if !d.Done.IsZero() && !c.All {
			continue
		}
		if d.Late && d.Done.IsZero() {
			late++
		}
		wrapTo(w.stdout, "", pile.Due(d, w.say))
		shown++
	}
	if shown == 0 {
		wrapTo(w.stdout, "", w.say.Say("records.nothing_due"))
	}
	wrapTo(w.stdout, "", w.say.Say("records.not_advice"))
	if late > 0 {
		return partly{late, "records.overdue"}
	}
	return nil
}
