package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path"
	"path/filepath"

	"sapwell/documents"
	"sapwell/engine/why"
	"sapwell/internal/strict"
	"sapwell/pile"
	"sapwell/store"
)

type papersCmd struct {
	Period period `embed:""`
	Out    string `short:"o" placeholder:"DIR" help:"Folder to make; it must not be there yet."`
	Prices string `placeholder:"FILE" help:"What the work costs, as JSON: then there are quotes and invoice lines."`
	All    bool   `help:"A contract and a sign for every visit, also where no profile of the place asks them."`
	Paper  string `enum:"letter,a4" default:"letter" help:"Paper: letter or a4."`
	where
	whose
}

// Run writes the whole pile of papers of some days into a new folder.
func (c papersCmd) Run(w world) error {
	from, to, err := c.Period.days()
	if err != nil {
		return err
	}
	if c.Out == "" {
		return usage{errors.New("--out: missing; want the name of a folder that is not there yet")}
	}
	want := pile.Wanted{From: from, To: to, Now: w.now(), Paper: documents.Paper(c.Paper), Say: w.say, All: c.All}
	if want.Prices, err = c.prices(); err != nil {
		return err
	}
	want.Skipped = func(sentence string) { fmt.Fprintln(w.stderr, "sapwell: "+sentence) }
	if w.talkative {
		want.Progress = func(visits int) { fmt.Fprintf(w.stderr, wipe+"sapwell: %d", visits) }
		defer fmt.Fprint(w.stderr, wipe)
	}
	return inFolder(c.Out, func(dir string) error {
		counts := map[string]int{}
		var order []string
		put := func(name string, write func(io.Writer) error) error {
			told := name
			if folder := path.Dir(name); folder != "." {
				told = path.Join(folder, "…")
			}
			if counts[told] == 0 {
				order = append(order, told)
			}
			counts[told]++
			return putIn(dir, name, write)
		}
		err := c.look(w, c.where, func(ctx context.Context, l store.Ledger) error {
			return l.Read(ctx, func(r store.Reader) error { return pile.Write(r, l.Org(), want, put) })
		})
		if err != nil {
			return err
		}
		return c.told(w, order, counts)
	})
}

// putIn writes a file of a folder that is being made.
func putIn(dir, name string, write func(io.Writer) error) error {
	to := filepath.Join(dir, filepath.FromSlash(name))
	if err := os.MkdirAll(filepath.Dir(to), 0o755); err != nil {
		return err
	}
	f, err := os.Create(to)
	if err != nil {
		return err
	}
	out := bufio.NewWriterSize(f, 1<<16)
	err = write(out)
	if err == nil {
		err = out.Flush()
	}
	if err = errors.Join(err, f.Close()); err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	return nil
}

// told says what was written: how many in each folder, and what lies in none.
func (c papersCmd) told(w world, order []string, counts map[string]int) error {
	n := 0
	for _, c := range counts {
		n += c
	}
	if n == 0 {
		return refused{errors.New(w.say.Say("pile.none"))}
	}
	wrapTo(w.stdout, "", w.say.Say("pile.made", count("n", n), why.T("folder", c.Out)))
	for _, name := range order {
		fmt.Fprintf(w.stdout, "  %5d  %s\n", counts[name], name)
	}
	if counts["record-book.pdf"] == 0 {
		wrapTo(w.stdout, "", w.say.Say("pile.no_visits"))
	}
	if c.Prices == "" {
		wrapTo(w.stdout, "", w.say.Say("pile.no_prices"))
	}
	return nil
}

// prices reads the price list, strictly; nil where there is none.
func (c papersCmd) prices() (*pile.Prices, error) {
	if c.Prices == "" {
		return nil, nil
	}
	data, err := os.ReadFile(c.Prices)
	if err != nil {
		return nil, err
	}
	var p pile.Prices
	if err := (strict.Rules{}).Decode(data, &p); err != nil {
		return nil, refused{fmt.Errorf("%s: %w", c.Prices, err)}
	}
	if len(p.Currency) != 3 {
		return nil, refused{fmt.Errorf("%s: currency: %.20q, want three capitals as ISO 4217 has them, such as USD", c.Prices, p.Currency)}
	}
	return &p, nil
}
