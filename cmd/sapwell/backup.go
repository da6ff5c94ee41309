package main

import (
	"context"
	"fmt"
	"io"
	"os"

	"sapwell/backup"
	"sapwell/engine/why"
	"sapwell/store/sqlstore"
)

type backupCmd struct {
	File string `arg:"" help:"Where to write the backup. It holds signing keys: keep it as you keep a key."`
	where
}

// Run writes a backup, also while the server runs.
func (c backupCmd) Run(w world) error {
	ctx := context.Background()
	s, err := c.open(ctx, sqlstore.Options{ReadOnly: true})
	if err != nil {
		return err
	}
	defer s.Close()
	write := func(out io.Writer) error { return backup.Write(ctx, s, out, w.now()) }
	if err := writeSecret(c.File, write); err != nil {
		return err
	}
	fmt.Fprintln(w.stdout, w.say.Say("backup.written", why.T("file", c.File)))
	return nil
}

type restoreCmd struct {
	File string `arg:"" help:"A file that sapwell backup wrote."`
	where
}

// Run brings a backup back, also while the server runs. What is in the store stays.
func (c restoreCmd) Run(w world) error {
	ctx := context.Background()
	f, err := os.Open(c.File)
	if err != nil {
		return err
	}
	defer f.Close()
	s, err := c.create(ctx)
	if err != nil {
		return err
	}
	defer s.Close()
	report, err := backup.Restore(ctx, s, f, w.now())
	if err != nil {
		return fmt.Errorf("%s: %w", c.File, err)
	}
	return w.tellRestored(report)
}

// tellRestored says of each organisation what was brought back.
func (w world) tellRestored(r backup.Report) error {
	faults := 0
	for _, o := range r.Orgs {
		key := "backup.joined"
		if o.New {
			key = "backup.brought_back"
		}
		fmt.Fprintln(w.stdout, w.say.Say(key, why.T("org", o.Org.String()), count("entries", int(o.Entries)), count("added", int(o.Added)), count("pictures", o.Pictures)))
		for _, f := range o.Refused {
			fmt.Fprintln(w.stderr, "sapwell: "+f.Error())
		}
		faults += len(o.Refused)
	}
	if faults > 0 {
		return partly{faults}
	}
	return nil
}
