package main

import (
	"context"
	"embed"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/signal"
	"path/filepath"
	"syscall"

	"sapwell/engine/why"
	"sapwell/store"
)

// The invented day: place, trees, labels and lots are made up.
//
//go:embed demo
var demoFiles embed.FS

type demoCmd struct {
	Out    string `default:"sapwell-demo" help:"Folder to write to."`
	Paper  string `enum:"letter,a4" default:"letter" help:"Paper: letter or a4."`
	Serve  bool   `negatable:"" default:"true" help:"Serve the invented organisation to a browser of this machine until Ctrl-C."`
	Listen string `default:"127.0.0.1:8787" help:"Address of this machine to listen at."`
}

// demoDay is the day of the scenario: its wounds, lots and bloom dates hang on it.
const demoDay = "2026-06-09"

// Run writes the scenario's files into the folder, plans them as the plan
// command would, prints the summary of the day, fills a store with the invented
// organisation and serves it. Where it cannot be served nothing is written.
func (c demoCmd) Run(w world) error {
	ctx, stop := signal.NotifyContext(context.Background(), syscall.SIGINT, syscall.SIGTERM)
	defer stop()
	serve := serveCmd{where: where{Data: filepath.Join(c.Out, "data")}, Listen: c.Listen}
	var at address
	if c.Serve {
		var err error
		if at, err = serve.listen(w); err != nil {
			return err
		}
		defer at.Close() //nolint:errcheck // the server closes it before
	}
	if err := c.papers(w); err != nil {
		return err
	}
	s, err := serve.create(ctx, w)
	if err != nil {
		return err
	}
	defer s.Close() //nolint:errcheck // what was acknowledged is on the disk
	if err := w.fillOnce(ctx, s, serve.where); err != nil || !c.Serve {
		return err
	}
	fmt.Fprintln(w.stdout)
	return serve.serve(ctx, w, s, at)
}

// fillOnce fills the store below the folder, if it is empty.
func (w world) fillOnce(ctx context.Context, s store.Store, at where) error {
	orgs, err := s.Orgs(ctx)
	if err != nil {
		return err
	}
	fmt.Fprintln(w.stdout)
	if len(orgs) > 0 {
		wrapTo(w.stdout, "", w.say.Say("demo.kept", why.T("store", at.name()), why.T("folder", at.folder())))
		return nil
	}
	if err := w.fillDemo(ctx, s); err != nil {
		return err
	}
	wrapTo(w.stdout, "", w.say.Say("demo.filled", why.T("store", at.name())))
	return nil
}

// papers writes the scenario and what sapwell plan makes of it.
func (c demoCmd) papers(w world) error {
	if err := unpack(c.Out); err != nil {
		return err
	}
	in := func(name string) string { return filepath.Join(c.Out, name) }
	labels, err := filepath.Glob(in("labels/*.yaml"))
	if err != nil {
		return err
	}
	plan := planCmd{
		Trees: in("trees.csv"), Label: labels, Lots: in("lots.csv"), Date: demoDay, Jurisdiction: "US",
		Certified: "yes", Altitude: "240 m", Air: "22 °C", Canopy: "30,50", Paper: c.Paper,
	}
	d, err := plan.gather(w)
	if err != nil {
		return err
	}
	papers := []struct {
		name  string
		write func(io.Writer) error
	}{
		{"plan.txt", func(out io.Writer) error { return writeTable(out, d.all(), w.plain(), true) }},
		{"plan.csv", func(out io.Writer) error { return writeCSV(out, d.all(), w.say.Style) }},
		{"plan.json", func(out io.Writer) error { return writeJSON(out, d.all()) }},
		{"mark-sheets.pdf", d.markSheets},
		{"load-out.pdf", d.loadOut},
	}
	for _, p := range papers {
		if err := writeFile(in(p.name), p.write); err != nil {
			return fmt.Errorf("%s: %w", p.name, err)
		}
	}
	return d.summary(w.stdout, c.Out)
}

// unpack writes the embedded scenario, so that it can be changed and planned
// again.
func unpack(dir string) error {
	scenario, err := fs.Sub(demoFiles, "demo")
	if err != nil {
		return err
	}
	return fs.WalkDir(scenario, ".", func(name string, e fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		to := filepath.Join(dir, filepath.FromSlash(name))
		if e.IsDir() {
			return os.MkdirAll(to, 0o755)
		}
		data, err := fs.ReadFile(scenario, name)
		if err != nil {
			return err
		}
		return writeFile(to, func(out io.Writer) error { _, err := out.Write(data); return err })
	})
}

// summary is the day at a glance, on one screen.
func (d *day) summary(out io.Writer, dir string) error {
	say := d.w.say.Say
	fmt.Fprintln(out, say("plan.demo_title", why.T("date", demoDay)))
	fmt.Fprintln(out)
	d.tally(out)
	fmt.Fprintln(out)
	fmt.Fprintln(out, say("plan.left_alone"))
	d.leftAlone(out)
	fmt.Fprintln(out)
	fmt.Fprintln(out, say("plan.demo_files", why.T("folder", dir)))
	for _, f := range []string{"mark-sheets.pdf", "load-out.pdf", "plan.txt", "plan.csv", "plan.json"} {
		fmt.Fprintf(out, "  %-16s %s\n", f, say("plan.file."+f))
	}
	fmt.Fprintln(out)
	wrapTo(out, "", say("plan.caution"))
	return nil
}
