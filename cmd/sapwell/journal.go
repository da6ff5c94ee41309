package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"time"

	"sapwell/engine/why"
	"sapwell/journal"
	"sapwell/store"
)

type journalCmd struct {
	Verify journalVerifyCmd `cmd:"" help:"Check every byte of a journal; names the first bad entry."`
	Export journalExportCmd `cmd:"" help:"Write the journal as text lines."`
	Import journalImportCmd `cmd:"" help:"Take an exported journal into this store."`
	Proof  journalProofCmd  `cmd:"" help:"Prove that an entry is in the journal, or check such a proof."`
}

type journalVerifyCmd struct {
	File string `arg:"" optional:"" help:"An exported journal; - for stdin. Without it: the journal of the store."`
	where
	whose
}

// Run checks an export, or the journal of the store. It trusts nothing but bytes.
func (c journalVerifyCmd) Run(w world) error {
	if c.File == "" {
		return c.stored(w)
	}
	in := w.stdin
	if c.File != "-" {
		f, err := os.Open(c.File)
		if err != nil {
			return err
		}
		defer f.Close()
		in = f
	}
	report, err := journal.Verify(in)
	return w.tellVerified(c.File, report, err)
}

func (c journalVerifyCmd) stored(w world) error {
	return c.look(w, c.where, func(ctx context.Context, l store.Ledger) error {
		report, err := verifyLedger(ctx, l)
		return w.tellVerified(l.Org().String(), report, err)
	})
}

// look opens the store for reading and shows the journal that is meant.
func (o whose) look(w world, at where, with func(context.Context, store.Ledger) error) error {
	ctx := context.Background()
	s, err := at.read(ctx, w)
	if err != nil {
		return err
	}
	defer s.Close() //nolint:errcheck // it was only read
	l, err := o.ledger(ctx, w, s)
	if err != nil {
		return err
	}
	return with(ctx, l)
}

// verifyLedger checks what a ledger exports, as it comes.
func verifyLedger(ctx context.Context, l store.Ledger) (journal.Report, error) {
	r, out := io.Pipe()
	exported := make(chan error, 1)
	go func() {
		err := l.Export(ctx, out)
		out.CloseWithError(err)
		exported <- err
	}()
	report, err := journal.Verify(r)
	r.Close()
	if late := <-exported; err == nil {
		err = late
	}
	return report, err
}

func (w world) tellVerified(name string, report journal.Report, err error) error {
	if _, ok := errors.AsType[*journal.Fault](err); ok {
		return refused{fmt.Errorf("%s: %w", name, err)}
	}
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	w.tellReport(report)
	return nil
}

// tellReport says what a sound journal holds, and what that does not show.
func (w world) tellReport(r journal.Report) {
	say := func(key string, terms ...why.Term) { wrapTo(w.stdout, "", w.say.Say(key, terms...)) }
	say("journal.sound", count("entries", int(r.Entries)), count("devices", devices(r.Tips)))
	if r.Head != nil {
		say("journal.head", count("size", int(r.Head.Size)), why.T("time", moment(r.Head.Time)))
		wrapTo(w.stdout, "  ", r.Head.Root.String())
	}
	if r.Head == nil && r.Receipts > 0 {
		say("journal.no_head")
	}
	if r.Head != nil && r.Receipts > r.Head.Size {
		say("journal.after_head", count("n", int(r.Receipts-r.Head.Size)))
	}
	for _, f := range r.Forks {
		say("journal.fork", count("seq", int(f.Seq)), why.T("device", f.Device.String()))
	}
	say("journal.not_shown")
}

// devices counts whose chains these are: a device whose chain is forked has two ends.
func devices(tips []journal.Known) int {
	seen := map[journal.Hash]bool{}
	for _, t := range tips {
		seen[t.Device] = true
	}
	return len(seen)
}

// moment is a time as it stands in journals and proofs.
func moment(ms int64) string { return time.UnixMilli(ms).UTC().Format(time.RFC3339) }

type journalExportCmd struct {
	Out string `short:"o" placeholder:"FILE" help:"Where to write it; stdout if not given."`
	where
	whose
}

// Run writes the journal: entries, receipts and heads.
func (c journalExportCmd) Run(w world) error {
	if err := c.isStore(c.Out); err != nil && c.Out != "" {
		return err
	}
	return c.look(w, c.where, func(ctx context.Context, l store.Ledger) error {
		export := func(out io.Writer) error { return l.Export(ctx, out) }
		if c.Out == "" {
			return export(w.stdout)
		}
		return writeFile(c.Out, export)
	})
}

type journalImportCmd struct {
	File string `arg:"" help:"An exported journal."`
	where
}

// Run takes in the journal of an organisation that is not in the store yet, as it is.
// All of it is checked before there is a store.
func (c journalImportCmd) Run(w world) error {
	f, err := os.Open(c.File)
	if err != nil {
		return err
	}
	defer f.Close() //nolint:errcheck // it was only read
	if _, err := journal.Verify(f); err != nil {
		return w.tellVerified(c.File, journal.Report{}, err)
	}
	if _, err := f.Seek(0, io.SeekStart); err != nil {
		return err
	}
	ctx, fresh := context.Background(), !c.there()
	s, err := c.create(ctx, w)
	if err != nil {
		return err
	}
	org, err := s.Import(ctx, f, w.now().UnixMilli())
	err = c.leave(ctx, s, fresh, err)
	if errors.Is(err, store.ErrExists) {
		return refused{fmt.Errorf("%s: %s", c.File, w.say.Say("journal.exists"))}
	}
	if err != nil {
		return inFile(c.File, err)
	}
	wrapTo(w.stdout, "", w.say.Say("journal.imported", why.T("org", org.String())))
	return nil
}

// inFile names the file that could not be taken in. Where neither it nor the store
// failed in reading or writing, its content is at fault.
func inFile(name string, err error) error {
	told := fmt.Errorf("%s: %w", name, err)
	if is[*fs.PathError](err) || errors.Is(err, store.ErrFull) || errors.Is(err, store.ErrReadOnly) {
		return told
	}
	return refused{told}
}
