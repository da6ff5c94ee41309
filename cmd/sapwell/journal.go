package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"sapwell/engine/why"
	"sapwell/journal"
	"sapwell/store"
	"sapwell/store/sqlstore"
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
	ctx := context.Background()
	s, err := c.open(ctx, sqlstore.Options{ReadOnly: true})
	if err != nil {
		return err
	}
	defer s.Close()
	l, err := c.ledger(ctx, s)
	if err != nil {
		return err
	}
	report, err := verifyLedger(ctx, l)
	return w.tellVerified(l.Org().String(), report, err)
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
	out := w.stdout
	fmt.Fprintln(out, w.say.Say("journal.sound", count("entries", int(r.Entries)), count("devices", len(r.Tips))))
	if r.Head != nil {
		fmt.Fprintln(out, w.say.Say("journal.head", count("size", int(r.Head.Size)), why.T("root", r.Head.Root.String()),
			why.T("time", time.UnixMilli(r.Head.Time).UTC().Format(time.RFC3339))))
	}
	if n := r.Receipts; r.Head != nil && n > r.Head.Size {
		fmt.Fprintln(out, w.say.Say("journal.after_head", count("n", int(n-r.Head.Size))))
	}
	for _, f := range r.Forks {
		fmt.Fprintln(out, w.say.Say("journal.fork", why.T("device", f.Device.String()), count("seq", int(f.Seq))))
	}
	fmt.Fprintln(out, w.say.Say("journal.not_shown"))
}

type journalExportCmd struct {
	Out string `short:"o" placeholder:"FILE" help:"Where to write it; stdout if not given."`
	where
	whose
}

// Run writes the journal: entries, receipts and heads.
func (c journalExportCmd) Run(w world) error {
	ctx := context.Background()
	s, err := c.open(ctx, sqlstore.Options{ReadOnly: true})
	if err != nil {
		return err
	}
	defer s.Close()
	l, err := c.ledger(ctx, s)
	if err != nil {
		return err
	}
	export := func(out io.Writer) error { return l.Export(ctx, out) }
	if c.Out == "" {
		return export(w.stdout)
	}
	return writeFile(c.Out, export)
}

type journalImportCmd struct {
	File string `arg:"" help:"An exported journal."`
	where
}

// Run takes an organisation that is not in the store yet, as it is, or what is new
// of one that is.
func (c journalImportCmd) Run(w world) error {
	ctx := context.Background()
	f, err := os.Open(c.File)
	if err != nil {
		return err
	}
	defer f.Close()
	if _, err := journal.Verify(f); err != nil {
		return refused{fmt.Errorf("%s: %w", c.File, err)}
	}
	if _, err := f.Seek(0, io.SeekStart); err != nil {
		return err
	}
	s, err := c.create(ctx)
	if err != nil {
		return err
	}
	defer s.Close()
	org, err := s.Import(ctx, f, w.now().UnixMilli())
	if errors.Is(err, store.ErrExists) {
		return refused{fmt.Errorf("%s: its organisation is in the store already; nothing was taken. sapwell restore joins a backup with what is there", c.File)}
	}
	if err != nil {
		return fmt.Errorf("%s: %w", c.File, err)
	}
	fmt.Fprintln(w.stdout, w.say.Say("journal.imported", why.T("org", org.String())))
	return nil
}

type journalProofCmd struct {
	Entry string `arg:"" help:"Id of an entry; with --check a file that holds a proof."`
	Check bool   `help:"Check a proof instead of making one. Needs no store."`
	where
	whose
}

// proofFile is a proof as it is handed to somebody: the lines as they are stored,
// and the way from the receipt to the root of the signed head.
type proofFile struct {
	Entry     string         `json:"entry"`
	Receipt   string         `json:"receipt"`
	Head      string         `json:"head"`
	Inclusion []journal.Hash `json:"inclusion"`
}

// Run makes a proof as JSON, or checks one.
func (c journalProofCmd) Run(w world) error {
	if c.Check {
		return c.check(w)
	}
	var id journal.ID
	if err := id.UnmarshalText([]byte(c.Entry)); err != nil {
		return usage{fmt.Errorf("entry: %w", err)}
	}
	ctx := context.Background()
	s, err := c.open(ctx, sqlstore.Options{})
	if err != nil {
		return err
	}
	defer s.Close()
	l, err := c.ledger(ctx, s)
	if err != nil {
		return err
	}
	signer, err := signerOf(ctx, s, l.Org())
	if err != nil {
		return err
	}
	head, err := l.Head(ctx, signer, w.now().UnixMilli())
	if err != nil {
		return err
	}
	read, err := journal.ReadTreeHead(head)
	if err != nil {
		return err
	}
	p, err := l.Proof(ctx, id, read.Size)
	if errors.Is(err, store.ErrNotFound) {
		return refused{fmt.Errorf("entry %s: not in this journal", id)}
	}
	if err != nil {
		return err
	}
	out := json.NewEncoder(w.stdout)
	out.SetEscapeHTML(false)
	out.SetIndent("", "  ")
	return out.Encode(proofFile{string(p.Line), string(p.Receipt), string(head), p.Inclusion})
}

func (c journalProofCmd) check(w world) error {
	data, err := os.ReadFile(c.Entry)
	if err != nil {
		return err
	}
	p, err := readProof(data)
	if err == nil {
		err = p.verify(w)
	}
	if err != nil {
		return refused{fmt.Errorf("%s: %w", c.Entry, err)}
	}
	return nil
}

func readProof(data []byte) (p proofFile, err error) {
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.DisallowUnknownFields()
	err = dec.Decode(&p)
	return p, err
}

// verify follows the proof from the entry to the head, and says what it shows.
func (p proofFile) verify(w world) error {
	entry, err := journal.ReadEntry([]byte(p.Entry))
	if err != nil {
		return fmt.Errorf("entry: %w", err)
	}
	receipt, err := journal.ReadReceipt([]byte(p.Receipt))
	if err != nil {
		return fmt.Errorf("receipt: %w", err)
	}
	if receipt.Entry != entry.Hash() {
		return fmt.Errorf("receipt: it is for the entry with hash %s, this one has %s", receipt.Entry, entry.Hash())
	}
	head, err := journal.ReadTreeHead([]byte(p.Head))
	if err != nil {
		return fmt.Errorf("head: %w", err)
	}
	if err := journal.VerifyInclusion(head.Root, head.Size, receipt.N, journal.HashLine([]byte(p.Receipt)), p.Inclusion); err != nil {
		return err
	}
	fmt.Fprintln(w.stdout, w.say.Say("journal.proven", why.T("entry", entry.ID.String()), why.T("kind", entry.Kind),
		why.T("time", time.UnixMilli(receipt.Time).UTC().Format(time.RFC3339)), why.T("key", fmt.Sprintf("%x", head.Key))))
	return nil
}
