package main

import (
	"context"
	"fmt"
	"os"
	"runtime"
	"time"

	"sapwell/engine/why"
	"sapwell/store"
	"sapwell/store/sqlstore"
)

type doctorCmd struct {
	where
	Deep bool `help:"Also check every entry of every journal (minutes for a million)."`
}

// symptom is one thing the doctor looked at.
type symptom struct {
	what, found, remedy string
	bad                 bool
}

// Run looks at this installation and says what is wrong and what to do.
func (c doctorCmd) Run(w world) error {
	ctx := context.Background()
	seen := []symptom{c.machine(w), c.clock(w)}
	s, err := c.open(ctx, sqlstore.Options{ReadOnly: true})
	if err != nil {
		seen = append(seen, symptom{w.say.Say("doctor.store"), err.Error(), w.say.Say("doctor.store_remedy"), true})
		return w.tellSymptoms(seen)
	}
	defer s.Close()
	seen = append(seen, c.store(ctx, w, s)...)
	journals, err := c.journals(ctx, w, s)
	if err != nil {
		return err
	}
	return w.tellSymptoms(append(seen, journals...))
}

func (c doctorCmd) machine(w world) symptom {
	return symptom{what: w.say.Say("doctor.program"), found: fmt.Sprintf("sapwell %s, %s, %s/%s", version(), runtime.Version(), runtime.GOOS, runtime.GOARCH)}
}

// clock finds the clocks that are plainly wrong: before this program was thought of.
func (c doctorCmd) clock(w world) symptom {
	now := w.now()
	s := symptom{what: w.say.Say("doctor.clock"), found: now.Format(time.RFC3339)}
	if now.Year() < 2026 {
		s.bad, s.remedy = true, w.say.Say("doctor.clock_remedy")
	}
	return s
}

func (c doctorCmd) store(ctx context.Context, w world, s store.Store) []symptom {
	where, err := s.Describe(ctx)
	if err != nil {
		where = err.Error()
	}
	seen := []symptom{{what: w.say.Say("doctor.store"), found: where, bad: err != nil}}
	if c.Postgres == "" {
		seen = append(seen, c.private(w))
	}
	for _, f := range s.Check(ctx) {
		x := symptom{what: f.What, found: w.say.Say("doctor.well")}
		if f.Err != nil {
			x.found, x.remedy, x.bad = f.Err.Error(), w.say.Say("doctor.check_remedy"), true
		}
		seen = append(seen, x)
	}
	return seen
}

// private finds a store that others on the machine can read: it holds keys.
func (c doctorCmd) private(w world) symptom {
	s := symptom{what: w.say.Say("doctor.private"), found: w.say.Say("doctor.well")}
	info, err := os.Stat(c.file())
	if err != nil {
		s.found, s.bad = err.Error(), true
	} else if runtime.GOOS != "windows" && info.Mode().Perm()&0o077 != 0 {
		s.bad = true
		s.found = fmt.Sprintf("%s %s", c.file(), info.Mode().Perm())
		s.remedy = w.say.Say("doctor.private_remedy", why.T("file", c.file()))
	}
	return s
}

// journals looks at each organisation: its size, what was set aside, and with
// --deep every byte.
func (c doctorCmd) journals(ctx context.Context, w world, s store.Store) ([]symptom, error) {
	orgs, err := s.Orgs(ctx)
	if err != nil {
		return nil, err
	}
	var seen []symptom
	for _, org := range orgs {
		l, err := s.Ledger(ctx, org)
		if err != nil {
			return nil, err
		}
		of, err := c.journalOf(ctx, w, l)
		if err != nil {
			return nil, err
		}
		seen = append(seen, of...)
	}
	if len(orgs) == 0 {
		seen = append(seen, symptom{what: w.say.Say("doctor.journal"), found: w.say.Say("doctor.no_journal"), remedy: w.say.Say("doctor.no_journal_remedy"), bad: true})
	}
	return seen, nil
}

func (c doctorCmd) journalOf(ctx context.Context, w world, l store.Ledger) ([]symptom, error) {
	size, err := l.Size(ctx)
	if err != nil {
		return nil, err
	}
	aside, err := l.Aside(ctx)
	if err != nil {
		return nil, err
	}
	name := w.say.Say("doctor.journal") + " " + l.Org().String()
	seen := []symptom{{what: name, found: w.say.Say("doctor.entries", count("n", int(size)))}}
	if len(aside) > 0 {
		seen = append(seen, symptom{what: name, found: w.say.Say("doctor.aside", count("n", len(aside))), remedy: w.say.Say("doctor.aside_remedy"), bad: true})
	}
	if !c.Deep {
		return seen, nil
	}
	report, err := verifyLedger(ctx, l)
	switch {
	case err != nil:
		seen = append(seen, symptom{what: name, found: err.Error(), remedy: w.say.Say("doctor.broken_remedy"), bad: true})
	case len(report.Forks) > 0:
		seen = append(seen, symptom{what: name, found: w.say.Say("doctor.forks", count("n", len(report.Forks))), remedy: w.say.Say("doctor.forks_remedy"), bad: true})
	default:
		seen = append(seen, symptom{what: name, found: w.say.Say("doctor.every_byte")})
	}
	return seen, nil
}

// tellSymptoms prints what was looked at; what is wrong with its remedy below.
func (w world) tellSymptoms(seen []symptom) error {
	bad := 0
	for _, s := range seen {
		if !s.bad {
			wrapTo(w.stdout, "", s.what+": "+s.found)
			continue
		}
		bad++
		wrapTo(w.stdout, "! ", s.what+": "+s.found)
		wrapTo(w.stdout, "    ", s.remedy)
	}
	if bad > 0 {
		return refused{fmt.Errorf("%s", w.say.Say("doctor.bad", count("n", bad)))}
	}
	return nil
}
