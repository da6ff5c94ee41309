package journal

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
)

// Proof is an entry as it is stored and the way from its receipt to the root of a
// signed head.
type Proof struct {
	Entry     string `json:"entry"`
	Receipt   string `json:"receipt"`
	Inclusion []Hash `json:"inclusion"`
}

// Under follows the proof to a head. The error names the part that does not hold.
func (p Proof) Under(head TreeHead) (Entry, Receipt, error) {
	entry, err := ReadEntry([]byte(p.Entry))
	if err != nil {
		return entry, Receipt{}, fmt.Errorf("entry: %w", err)
	}
	receipt, err := ReadReceipt([]byte(p.Receipt))
	if err != nil {
		return entry, receipt, fmt.Errorf("receipt: %w", err)
	}
	if receipt.Entry != entry.Hash() {
		return entry, receipt, fmt.Errorf("receipt: it is for the entry with hash %s, this one has %s", receipt.Entry, entry.Hash())
	}
	if err := VerifyInclusion(head.Root, head.Size, receipt.N, HashLine([]byte(p.Receipt)), p.Inclusion); err != nil {
		return entry, receipt, fmt.Errorf("inclusion: %w", err)
	}
	return entry, receipt, nil
}

// Evidence is proofs under one head, as they are handed to somebody. It holds for
// ever: later entries change nothing of it.
type Evidence struct {
	Head   string  `json:"head"`
	Proofs []Proof `json:"proofs"`
}

// ReadEvidence reads one JSON object, strictly.
func ReadEvidence(data []byte) (e Evidence, err error) {
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&e); err != nil {
		return e, fmt.Errorf("this is no evidence: %w", err)
	}
	if rest := bytes.TrimSpace(data[dec.InputOffset():]); len(rest) > 0 {
		return e, fmt.Errorf("something follows the evidence: %.20q", rest)
	}
	if len(e.Proofs) == 0 {
		return e, errors.New("this is no evidence: it proves no entry")
	}
	return e, nil
}

// Check follows every proof to the head and returns it. The error names the first
// proof that does not hold, from 1.
func (e Evidence) Check() (TreeHead, error) {
	head, err := ReadTreeHead([]byte(e.Head))
	if err != nil {
		return head, fmt.Errorf("head: %w", err)
	}
	for i, p := range e.Proofs {
		if _, _, err := p.Under(head); err != nil {
			return head, fmt.Errorf("proof %d of %d: %w", i+1, len(e.Proofs), err)
		}
	}
	return head, nil
}
