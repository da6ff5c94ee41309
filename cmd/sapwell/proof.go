package main

import (
	"bytes"
	"context"
	"crypto"
	"encoding/json"
	"errors"
	"fmt"
	"os"

	"sapwell/engine/why"
	"sapwell/journal"
	"sapwell/store"
)

type journalProofCmd struct {
	Entry string `arg:"" help:"Id of an entry; with --check a file that holds a proof."`
	Check bool   `help:"Check a proof instead of making one. Needs no store."`
	where
	whose
}

// proofFile is a proof as it is handed to somebody: the lines as they are stored,
// and the way from the receipt to the root of the signed head.
type proofFile struct {
	journal.Proof
	Head string `json:"head"`
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
	return c.signing(w, c.where, func(ctx context.Context, l store.Ledger, signer crypto.Signer) error {
		p, err := prove(ctx, w, l, signer, id)
		if err != nil {
			return err
		}
		out := json.NewEncoder(w.stdout)
		out.SetEscapeHTML(false)
		out.SetIndent("", "  ")
		return out.Encode(p)
	})
}

// prove makes the proof of an entry under the head of all that is there now.
func prove(ctx context.Context, w world, l store.Ledger, signer crypto.Signer, id journal.ID) (proofFile, error) {
	head, err := l.Head(ctx, signer, w.now().UnixMilli())
	if err != nil {
		return proofFile{}, err
	}
	read, err := journal.ReadTreeHead(head)
	if err != nil {
		return proofFile{}, err
	}
	p, err := l.Proof(ctx, id, read.Size)
	if errors.Is(err, store.ErrNotFound) {
		return proofFile{}, refused{errors.New(w.say.Say("journal.no_entry", why.T("entry", id.String())))}
	}
	return proofFile{provenBy(p), string(head)}, err
}

// provenBy is a store's proof as it is handed out.
func provenBy(p store.Proof) journal.Proof {
	return journal.Proof{Entry: string(p.Line), Receipt: string(p.Receipt), Inclusion: append([]journal.Hash{}, p.Inclusion...)}
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
	if err := dec.Decode(&p); err != nil {
		return p, fmt.Errorf("this is no proof as sapwell journal proof writes it: %w", err)
	}
	if rest := bytes.TrimSpace(data[dec.InputOffset():]); len(rest) > 0 {
		return p, fmt.Errorf("something follows the proof: %.20q", rest)
	}
	return p, nil
}

// verify follows the proof from the entry to the head, and says what it shows.
func (p proofFile) verify(w world) error {
	head, err := journal.ReadTreeHead([]byte(p.Head))
	if err != nil {
		return fmt.Errorf("head: %w", err)
	}
	entry, receipt, err := p.Under(head)
	if err != nil {
		return err
	}
	wrapTo(w.stdout, "", w.say.Say("journal.proven", why.T("entry", entry.ID.String()), why.T("kind", entry.Kind), why.T("time", moment(receipt.Time))))
	wrapTo(w.stdout, "", w.say.Say("journal.proven_under", count("size", int(head.Size)), why.T("time", moment(head.Time))))
	fmt.Fprintf(w.stdout, "  %x\n", head.Key)
	return nil
}
