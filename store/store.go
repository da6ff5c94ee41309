// Package store answers: what does a place that keeps journals promise?
//
// It holds the contract only. store/sqlstore keeps journals in SQLite or
// PostgreSQL, store/mem in memory; store/storetest is the suite that all pass.
// A Ledger is bound to one organisation: no method of it can reach another's.
package store

import (
	"context"
	"crypto"
	"errors"
	"fmt"
	"io"

	"sapwell/accounts"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

// Errors that callers tell apart with errors.Is.
var (
	ErrNotFound = accounts.ErrNotFound
	ErrExists   = accounts.ErrExists
	ErrFull     = errors.New("no room left to write")
	ErrReadOnly = errors.New("the store can only be read")
)

// Store keeps the journals of several organisations.
type Store interface {
	// Found begins an organisation with its first entries, which must be a sound
	// journal whose first entry is an entries.Org; its id names the organisation.
	Found(ctx context.Context, lines [][]byte, at int64) (journal.ID, error)
	// Import takes an export (see Ledger.Export) of an organisation that is not here
	// yet, receipts and heads as they are; entries without a receipt get one. It
	// checks every line as journal.Verify does and takes all or nothing.
	Import(ctx context.Context, r io.Reader, at int64) (journal.ID, error)
	// Orgs lists the organisations by id.
	Orgs(ctx context.Context) ([]journal.ID, error)
	// Ledger is the journal of one organisation; ErrNotFound if there is none.
	Ledger(ctx context.Context, org journal.ID) (Ledger, error)
	// Accounts is who may come in.
	accounts.Keeper
	// Check looks for what is wrong: reachable, writable, whole, of the right
	// schema version. The answer names what it looked at.
	Check(ctx context.Context) []Finding
	// Describe says which engine and version keeps it, for people.
	Describe(ctx context.Context) (string, error)
	Close() error
}

// Finding is one thing Check looked at. Err is nil where all is well.
type Finding struct {
	What string
	Err  error
}

// Ledger is the journal of one organisation with its views. All methods may be
// called by several goroutines. What a method has acknowledged is on the disk.
type Ledger interface {
	// Org is whose it is.
	Org() journal.ID

	// Write lets decide look at the present and say what to write; the device
	// whose key the signer holds writes it, and it is on the disk and in the views
	// when Write returns. No other Write of this organisation comes between the
	// look and the ink. When decide fails nothing is written and its error is
	// returned. at is the office's clock.
	Write(ctx context.Context, signer crypto.Signer, at int64, decide func(Reader) ([]journal.Draft, error)) ([]journal.Entry, error)
	// Merge takes a gift of entry lines, in any order, some of them there already.
	// admit is asked of each new one, with the present before the gift, and says why
	// an entry is to be set aside, or ""; nil admits all. What follows an entry set
	// aside in its chain is set aside too ("after"). It may be sent again later.
	Merge(ctx context.Context, lines [][]byte, at int64, admit Admit) (Merged, error)
	// Offer says what is here, as doc/journal-format.md section 8 has it.
	Offer(ctx context.Context) ([]journal.Known, error)
	// Missing lists lines the side with this offer lacks, each after the one before
	// it in its chain, at most limit bytes of them but at least one; more tells
	// that there are others: merge these, then ask again with a new offer.
	Missing(ctx context.Context, offer []journal.Known, limit int) (lines [][]byte, more bool, err error)

	// Read gives look a Reader of one moment.
	Read(ctx context.Context, look func(Reader) error) error

	// Size is the number of entries that have a receipt, which is all.
	Size(ctx context.Context) (int64, error)
	// Changed lists the subjects that entries from number n on speak of, each once,
	// and the size now; at most limit entries are looked at.
	Changed(ctx context.Context, n int64, limit int) ([]entries.Subject, int64, error)

	// Head is a signed head over all receipts. The last one kept is returned if
	// nothing came in since; otherwise a new one is made and kept.
	Head(ctx context.Context, signer crypto.Signer, at int64) (line []byte, err error)
	// Proof is all that shows that an entry is in the log under the head of the
	// given size (0: all there is).
	Proof(ctx context.Context, id journal.ID, size int64) (Proof, error)
	// Consistency proves that the first m of n receipts are those of the head of m.
	Consistency(ctx context.Context, m, n int64) ([]journal.Hash, error)

	// Export writes entries by device, number and hash, then receipts with the
	// heads where they belong. The same journal gives the same bytes.
	Export(ctx context.Context, w io.Writer) error
	// Rebuild throws the views away and folds them again from the journal.
	Rebuild(ctx context.Context) error
	// Aside lists what Merge set aside.
	Aside(ctx context.Context) ([]Aside, error)

	// PutBlob keeps bytes under their SHA-256. Blob returns them.
	PutBlob(ctx context.Context, data []byte, at int64) (journal.Hash, error)
	Blob(ctx context.Context, sum journal.Hash) ([]byte, error)
	// Blobs lists what is kept.
	Blobs(ctx context.Context) ([]journal.Hash, error)
}

// Reader looks at the journal and the views of one organisation at one moment.
type Reader interface {
	// View is the row of a subject; ok is false if nothing speaks of it.
	View(s entries.Subject) (row views.Row, ok bool, err error)
	// List lists rows of a kind whose key is at least from and below to ("": no
	// end), by key and then id, at most limit. To go on, ask from the last row's
	// key with after set to its id.
	List(kind entries.SubjectKind, from, to, after string, limit int) ([]views.Row, error)
	// Entry is the entry with this id; of several (a fork) the one that came first.
	Entry(id journal.ID) (journal.Entry, bool, error)
	// Entries lists what speaks of a subject, in the order of folding.
	Entries(s entries.Subject) ([]journal.Entry, error)
	// Tip is the entry after which a device writes on.
	Tip(device journal.Hash) (journal.Entry, bool, error)
	// Held is Entries, and what the store knows of each: for lending them.
	Held(s entries.Subject) ([]Held, error)
	// Since lists the entries from number n on, as they came in, at most limit.
	Since(n int64, limit int) ([]Held, error)
}

// Held is an entry with the number of its receipt, and the time of its place in the
// order of folding, which follows from the whole chain before it.
type Held struct {
	journal.Entry
	N    int64
	Held int64 // ms since 1970
}

// Admit says why an entry may not stand in the journal, or "".
type Admit func(Reader, journal.Entry) (why string, err error)

// Merged is what became of a gift.
type Merged struct {
	Added   []journal.Entry
	Known   int     // lines that were there already
	Aside   []Aside // sound but of a device that may not write: kept apart
	Refused []*journal.Fault
	Size    int64
}

// Aside is a line that was not taken into the journal and not thrown away.
type Aside struct {
	Device journal.Hash
	Seq    int64
	Line   []byte
	Why    string // what admit said, or "after"
	Time   int64
}

// Proof shows that an entry is in the log.
type Proof struct {
	Line      []byte // the entry
	Receipt   []byte
	N         int64 // of the receipt
	Size      int64 // of the tree the proof is for
	Root      journal.Hash
	Inclusion []journal.Hash
}

// OpenError says which store could not be opened and why.
type OpenError struct {
	What string
	Err  error
}

func (e *OpenError) Error() string { return fmt.Sprintf("open %s: %v", e.What, e.Err) }
func (e *OpenError) Unwrap() error { return e.Err }
