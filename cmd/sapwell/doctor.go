package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"runtime"
	"strings"
	"time"

	"sapwell/engine/why"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/store"
	"sapwell/views"
)

type doctorCmd struct {
	where
	Listen string `default:"127.0.0.1:8787" help:"Address of this machine at which sapwell serve listens or would listen."`
	Deep   bool   `help:"Also check every byte of every journal (a minute or more for a million entries)."`
}

// symptom is one thing the doctor looked at.
type symptom struct {
	what, found, remedy string
	bad                 bool
}

// doctor is one visit of it.
type doctor struct {
	doctorCmd
	world
	ctx  context.Context
	seen []symptom
}

// Run looks at this installation and says what is wrong and what to do.
func (c doctorCmd) Run(w world) error {
	d := &doctor{doctorCmd: c, world: w, ctx: context.Background()}
	d.machine()
	d.door()
	s, err := c.read(d.ctx, w)
	if err != nil {
		d.seen = append(d.seen, symptom{what: w.say.Say("doctor.store"), found: err.Error(), bad: true}) // it says what to do
		return d.report()
	}
	defer s.Close() //nolint:errcheck // it was only read
	d.store(s)
	if c.Postgres == "" {
		d.folderOf()
	}
	if err := d.journals(s); err != nil {
		d.wrong("doctor.journal", err.Error(), "doctor.check_remedy")
	}
	return d.report()
}

// well notes what is as it should be.
func (d *doctor) well(what, found string) {
	d.seen = append(d.seen, symptom{what: d.say.Say(what), found: found})
}

// wrong notes what is not, and what to do about it.
func (d *doctor) wrong(what, found, remedy string, terms ...why.Term) {
	d.seen = append(d.seen, symptom{d.say.Say(what), found, d.say.Say(remedy, terms...), true})
}

// machine looks at what is the same for every store. A clock from before this
// program was thought of is wrong.
func (d *doctor) machine() {
	d.well("doctor.program", fmt.Sprintf("sapwell %s, %s, %s/%s", version(), runtime.Version(), runtime.GOOS, runtime.GOARCH))
	now := d.now()
	if found := now.Format(time.RFC3339) + ", " + zoneHere(); now.Year() < 2026 {
		d.wrong("doctor.clock", found, "doctor.clock_remedy")
	} else {
		d.well("doctor.clock", found)
	}
}

// checks are what a store looks at, in words for people.
var checks = map[string]string{
	"database answers":           "doctor.answers",
	"schema version":             "doctor.schema",
	"organisations":              "doctor.orgs",
	"PRAGMA quick_check(1)":      "doctor.file_whole",
	"PRAGMA journal_mode":        "doctor.wal",
	"PRAGMA foreign_keys":        "doctor.references",
	"PRAGMA synchronous":         "doctor.synced",
	"setting fsync":              "doctor.synced",
	"setting full_page_writes":   "doctor.whole_pages",
	"setting synchronous_commit": "doctor.waits",
}

// store asks the store itself.
func (d *doctor) store(s store.Store) {
	engine, err := s.Describe(d.ctx)
	if err != nil {
		d.wrong("doctor.store", err.Error(), "doctor.check_remedy")
	} else {
		d.well("doctor.store", engine+", "+d.name())
	}
	for _, f := range s.Check(d.ctx) {
		x := symptom{what: f.What, found: d.say.Say("doctor.well")}
		if key, ok := checks[f.What]; ok {
			x.what = d.say.Say(key)
		}
		if org, ok := strings.CutPrefix(f.What, "journal of "); ok {
			x.what = d.say.Say("doctor.kept", why.T("org", org))
		}
		if f.What == "opened for reading only" { // as the doctor asked
			continue
		}
		if f.Err != nil {
			x.found, x.remedy, x.bad = f.Err.Error(), d.say.Say("doctor.check_remedy"), true
			if d.Postgres != "" {
				x.remedy = d.say.Say("doctor.postgres_remedy")
			}
		}
		d.seen = append(d.seen, x)
	}
}

// folderOf looks at the folder of an embedded store.
func (d *doctor) folderOf() {
	d.private()
	d.room()
	if beside, err := os.Stat(d.file() + "-wal"); err == nil && beside.Size() > 0 {
		d.well("doctor.beside", d.say.Say("doctor.beside_found", why.T("size", size(beside.Size()))))
	}
	at, file, ok := d.notedBackup()
	switch age := d.now().Sub(at); {
	case !ok:
		d.well("doctor.backup", d.say.Say("doctor.backup_none"))
	case age > staleBackup:
		d.wrong("doctor.backup", moment(at.UnixMilli())+", "+file, "doctor.backup_remedy", count("n", int(staleBackup.Hours()/24)))
	default:
		d.well("doctor.backup", moment(at.UnixMilli())+", "+file)
	}
}

// staleBackup is when a backup is called old (own convention).
const staleBackup = 30 * 24 * time.Hour

// private finds a store that others on the machine can read: it holds keys.
func (d *doctor) private() {
	info, err := os.Stat(d.file())
	switch {
	case err != nil:
		d.wrong("doctor.private", err.Error(), "doctor.check_remedy")
	case runtime.GOOS != "windows" && info.Mode().Perm()&0o077 != 0:
		d.wrong("doctor.private", d.file()+" "+info.Mode().Perm().String(), "doctor.private_remedy", why.T("file", d.file()))
	default:
		d.well("doctor.private", d.say.Say("doctor.well"))
	}
}

// room finds a disk that is nearly full: a backup, and merging what stands beside,
// take as much again as the store.
func (d *doctor) room() {
	free, err := freeBytes(d.folder())
	if errors.Is(err, errors.ErrUnsupported) {
		return
	}
	info, err2 := os.Stat(d.file())
	if err = errors.Join(err, err2); err != nil {
		d.wrong("doctor.room", err.Error(), "doctor.check_remedy")
		return
	}
	if found := d.say.Say("doctor.room_found", why.T("size", size(free))); free < max(leastRoom, info.Size()) {
		d.wrong("doctor.room", found, "doctor.room_remedy")
	} else {
		d.well("doctor.room", found)
	}
}

// leastRoom is what should always be free (own convention): a season of one crew
// with its photos.
const leastRoom = 1 << 30

// size is a number of bytes for people.
func size(bytes int64) string {
	if bytes < 1e9 {
		return fmt.Sprintf("%.1f MB", float64(bytes)/1e6)
	}
	return fmt.Sprintf("%.1f GB", float64(bytes)/1e9)
}

// journals looks at each organisation, and who may sign in.
func (d *doctor) journals(s store.Store) error {
	orgs, err := s.Orgs(d.ctx)
	if err != nil {
		return err
	}
	if len(orgs) == 0 {
		d.wrong("doctor.journal", d.say.Say("doctor.no_journal"), "doctor.no_journal_remedy")
	}
	for _, org := range orgs {
		if err := d.journal(s, org); err != nil {
			return err
		}
	}
	n, err := s.CountAccounts(d.ctx)
	if err != nil {
		return err
	}
	d.well("doctor.accounts", d.say.Say("doctor.accounts_found", count("n", n)))
	return nil
}

// journal looks at one: its size, time zone and key, what was set aside, and with
// --deep every byte.
func (d *doctor) journal(s store.Store, org journal.ID) error {
	l, err := s.Ledger(d.ctx, org)
	if err != nil {
		return err
	}
	size, err := l.Size(d.ctx)
	if err != nil {
		return err
	}
	facts, err := d.orgOf(l)
	if err != nil {
		return err
	}
	d.well("doctor.journal", d.say.Say("doctor.entries", why.T("name", facts.Name), why.T("org", org.String()), count("n", int(size))))
	if _, err := time.LoadLocation(facts.Zone); err != nil {
		d.wrong("doctor.zone", facts.Zone, "doctor.zone_remedy")
	} else {
		d.well("doctor.zone", facts.Zone)
	}
	if _, err := signerOf(d.ctx, s, org); errors.Is(err, store.ErrNotFound) {
		d.wrong("doctor.key", d.say.Say("doctor.key_none"), "doctor.key_remedy")
	} else if err != nil {
		return err
	}
	aside, err := l.Aside(d.ctx)
	if len(aside) > 0 {
		d.wrong("doctor.set_aside", d.say.Say("doctor.aside", count("n", len(aside))), "doctor.aside_remedy")
	}
	if err == nil && d.Deep {
		d.everyByte(l)
	}
	return err
}

// orgOf is what an organisation says of itself.
func (d *doctor) orgOf(l store.Ledger) (facts entries.Org, err error) {
	err = l.Read(d.ctx, func(r store.Reader) error {
		row, ok, err := r.View(entries.Subject{Kind: entries.OfOrg, ID: l.Org().String()})
		if err != nil || !ok {
			return err
		}
		state, err := views.Read(row)
		if org, is := state.(*views.Org); is {
			facts = org.Facts
		}
		return err
	})
	return facts, err
}

func (d *doctor) everyByte(l store.Ledger) {
	report, err := verifyLedger(d.ctx, l)
	switch {
	case err != nil:
		d.wrong("doctor.bytes", err.Error(), "doctor.broken_remedy")
	case len(report.Forks) > 0:
		d.wrong("doctor.bytes", d.say.Say("doctor.forks", count("n", len(report.Forks))), "doctor.forks_remedy")
	default:
		d.well("doctor.bytes", d.say.Say("doctor.well"))
	}
}

// report prints what was looked at; what is wrong with its remedy below.
func (d *doctor) report() error {
	bad := 0
	for _, s := range d.seen {
		mark := "  "
		if s.bad {
			mark = "! "
			bad++
		}
		hang(d.stdout, mark, s.what+": "+s.found)
		if s.bad {
			wrapTo(d.stdout, "    ", s.remedy)
		}
	}
	if bad > 0 {
		return refused{errors.New(d.say.Say("doctor.bad", count("n", bad)))}
	}
	wrapTo(d.stdout, "", d.say.Say("doctor.all_well"))
	return nil
}

// hang wraps a text whose first line bears a mark.
func hang(out io.Writer, mark, text string) {
	wrapTo(&marked{out, mark}, "  ", text)
}

// marked puts a mark in the place of the first indent.
type marked struct {
	out  io.Writer
	mark string
}

func (m *marked) Write(b []byte) (int, error) {
	if m.mark != "" {
		b = append([]byte(m.mark), b[min(len(b), len(m.mark)):]...)
		m.mark = ""
	}
	return m.out.Write(b)
}
