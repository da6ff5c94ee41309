package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"sapwell/backup"
	"sapwell/engine/why"
)

type backupCmd struct {
	File string `arg:"" help:"Where to write the backup. It holds signing keys: keep it as you keep a key."`
	where
}

// Run writes a backup, also while the server runs.
func (c backupCmd) Run(w world) error {
	if err := c.isStore(c.File); err != nil {
		return err
	}
	ctx := context.Background()
	s, err := c.read(ctx, w)
	if err != nil {
		return err
	}
	defer s.Close() //nolint:errcheck // it was only read
	err = writeSecret(c.File, func(out io.Writer) error { return backup.Write(ctx, s, out, w.now()) })
	if err != nil {
		return err
	}
	c.noteBackup(w.now(), c.File)
	wrapTo(w.stdout, "", w.say.Say("backup.written", why.T("file", c.File)))
	return nil
}

// lastBackup is the file beside the store that says when the last backup was made,
// and where to. The doctor reads it.
func (c where) lastBackup() string { return filepath.Join(c.folder(), "last-backup.txt") }

// noteBackup leaves the note. A backup is good without it.
func (c where) noteBackup(now time.Time, file string) {
	if c.Postgres != "" {
		return
	}
	if whole, err := filepath.Abs(file); err == nil {
		_ = os.WriteFile(c.lastBackup(), []byte(now.UTC().Format(time.RFC3339)+" "+whole+"\n"), 0o600)
	}
}

// notedBackup reads it.
func (c where) notedBackup() (at time.Time, file string, ok bool) {
	text, err := os.ReadFile(c.lastBackup())
	if err != nil || c.Postgres != "" {
		return at, "", false
	}
	day, file, _ := strings.Cut(strings.TrimSpace(string(text)), " ")
	at, err = time.Parse(time.RFC3339, day)
	return at, file, err == nil
}

type restoreCmd struct {
	File string `arg:"" help:"A file that sapwell backup wrote."`
	where
}

// Run brings a backup back, also while the server runs. What is in the store stays.
func (c restoreCmd) Run(w world) error {
	f, err := os.Open(c.File)
	if err != nil {
		return err
	}
	defer f.Close() //nolint:errcheck // it was only read
	ctx, fresh := context.Background(), !c.there()
	s, err := c.create(ctx, w)
	if err != nil {
		return err
	}
	report, err := backup.Restore(ctx, s, f, w.now())
	if err = c.leave(ctx, s, fresh, err); err != nil {
		return inFile(c.File, err)
	}
	return w.tellRestored(report)
}

// tellRestored says of each organisation what was brought back.
func (w world) tellRestored(r backup.Report) error {
	wrapTo(w.stdout, "", w.say.Say("backup.made", why.T("time", moment(r.Made)), why.T("store", r.From)))
	faults := 0
	for _, o := range r.Orgs {
		w.tellOrg(o)
		for _, f := range o.Refused {
			fmt.Fprintln(w.stderr, "sapwell: "+f.Error())
		}
		faults += len(o.Refused)
	}
	if faults > 0 {
		return partly{faults, "backup.partly"}
	}
	return nil
}

func (w world) tellOrg(o backup.OrgReport) {
	say := func(key string, terms ...why.Term) { wrapTo(w.stdout, "", w.say.Say(key, terms...)) }
	key := "backup.joined"
	if o.New {
		key = "backup.brought_back"
	}
	say(key, why.T("org", o.Org.String()), count("entries", int(o.Entries)), count("added", int(o.Added)), count("pictures", o.Pictures), count("accounts", o.Accounts))
	if o.Aside > 0 {
		say("backup.aside", count("n", o.Aside))
	}
	if len(o.LoginsTaken) > 0 {
		say("backup.logins_taken", why.T("names", strings.Join(o.LoginsTaken, ", ")))
	}
	if o.OtherKey {
		say("backup.other_key")
	}
}
