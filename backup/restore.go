package backup

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"sapwell/accounts"
	"sapwell/journal"
	"sapwell/store"
)

// Report says what became of a backup.
type Report struct {
	Made int64  // when it was written, ms since 1970
	From string // the store it was made of
	Orgs []OrgReport
}

// OrgReport says what was brought back of one organisation.
type OrgReport struct {
	Org         journal.ID
	New         bool  // it was not there before
	Entries     int64 // in the backup
	Added       int64 // of them, what the store did not have
	Refused     []*journal.Fault
	Aside       int      // set aside before and again now
	Pictures    int      // in the backup
	Accounts    int      // made
	LoginsTaken []string // accounts left out: somebody else signs in by that name
	OtherKey    bool     // the store signs with another key than the backup, and keeps it
}

// Restore brings a backup back. First it reads all of it and refuses a damaged
// one before anything is written. An organisation that is not there is imported,
// receipts and heads as they were; with one that is there the journal is merged,
// accounts and key stay as they are in the store. Doing it again changes nothing.
func Restore(ctx context.Context, s store.Store, r io.Reader, now time.Time) (Report, error) {
	file, done, err := twice(r)
	if err != nil {
		return Report{}, err
	}
	defer done()
	start, err := file.Seek(0, io.SeekCurrent)
	if err != nil {
		return Report{}, fmt.Errorf("read the backup: %w", err)
	}
	m, err := checked(ctx, file)
	if err != nil {
		return Report{}, err
	}
	if _, err := file.Seek(start, io.SeekStart); err != nil {
		return Report{}, fmt.Errorf("read the backup again: %w", err)
	}
	back := restorer{ctx: ctx, s: s, at: now.UnixMilli(), m: m}
	err = walk(ctx, file, back.part)
	return Report{Made: m.Made, From: m.Store, Orgs: back.orgs}, err
}

// twice makes of a reader one that can be read again, through a file where it
// must. done takes that away.
func twice(r io.Reader) (file io.ReadSeeker, done func(), err error) {
	if file, ok := r.(io.ReadSeeker); ok {
		if _, err := file.Seek(0, io.SeekCurrent); err == nil { // a pipe has the method and not the gift
			return file, func() {}, nil
		}
	}
	f, err := os.CreateTemp("", "sapwell-restore-*")
	if err != nil {
		return nil, nil, fmt.Errorf("make room for the backup: %w", err)
	}
	_, err = io.Copy(f, r)
	if err == nil {
		_, err = f.Seek(0, io.SeekStart)
	}
	if err != nil {
		discard(f)
		return nil, nil, fmt.Errorf("read the backup: %w", err)
	}
	return f, func() { discard(f) }, nil
}

// restorer takes in one part after the other; the journal of an organisation
// comes before its other parts.
type restorer struct {
	ctx  context.Context
	s    store.Store
	at   int64
	m    manifest
	l    store.Ledger // of the organisation whose parts come now
	orgs []OrgReport
}

func (b *restorer) now() *OrgReport { return &b.orgs[len(b.orgs)-1] }

func (b *restorer) part(p part) error {
	if p.name == manifestName {
		return nil
	}
	if p.part == journalName {
		return b.journal(p)
	}
	if b.l == nil || b.l.Org() != p.org {
		return errors.New("does not follow the journal of its organisation")
	}
	switch p.part {
	case asideName:
		return b.aside(p)
	case accountsName:
		return b.accounts(p)
	case keyName:
		return b.key(p)
	}
	return b.blob(p)
}

func (b *restorer) journal(p part) (err error) {
	rep := OrgReport{Org: p.org}
	for _, o := range b.m.Orgs {
		if o.ID == p.org {
			rep.Entries = o.Entries
		}
	}
	b.l, err = b.s.Ledger(b.ctx, p.org)
	rep.New = errors.Is(err, store.ErrNotFound)
	if err != nil && !rep.New {
		return err
	}
	b.orgs = append(b.orgs, rep)
	if !rep.New {
		return b.merge(p)
	}
	org, err := b.s.Import(b.ctx, p, b.at)
	if err != nil {
		return err
	}
	if org != p.org {
		return fmt.Errorf("the journal is that of organisation %s", org)
	}
	b.now().Added = rep.Entries
	b.l, err = b.s.Ledger(b.ctx, org)
	return err
}

const (
	giftBytes = 4 << 20 // merged in one step
	maxLine   = 1 << 20 // of a journal, as doc/journal-format.md has it
)

// merge gives the entries of an export to a journal that is there already. In an
// export each follows the one before it, so it can be given in pieces. Receipts
// and heads are left out: the store has its own.
func (b *restorer) merge(r io.Reader) error {
	lines := bufio.NewScanner(r)
	lines.Buffer(make([]byte, 64<<10), maxLine+1)
	var gift [][]byte
	size, first := 0, 0
	for lines.Scan() {
		if !bytes.HasPrefix(lines.Bytes(), []byte(`{"entry":`)) {
			continue
		}
		gift, size = append(gift, bytes.Clone(lines.Bytes())), size+len(lines.Bytes())
		if size < giftBytes {
			continue
		}
		if err := b.give(gift, first); err != nil {
			return err
		}
		first += len(gift)
		gift, size = nil, 0
	}
	if err := lines.Err(); err != nil {
		return fmt.Errorf("read entry %d: %w", first+len(gift)+1, err)
	}
	return b.give(gift, first)
}

// give merges some entries; first is how many came before them.
func (b *restorer) give(gift [][]byte, first int) error {
	merged, err := b.l.Merge(b.ctx, gift, b.at, nil)
	if err != nil {
		return err
	}
	b.now().Added += int64(len(merged.Added))
	for _, f := range merged.Refused {
		b.now().Refused = append(b.now().Refused, &journal.Fault{Line: first + f.Line, ID: f.ID, Reason: f.Reason})
	}
	return nil
}

// aside sets aside again what was, each with its reason and time.
func (b *restorer) aside(r io.Reader) error {
	var all []aside
	if err := strict(r, &all); err != nil {
		return err
	}
	for _, a := range all {
		admit := func(store.Reader, journal.Entry) (string, error) { return a.Why, nil }
		merged, err := b.l.Merge(b.ctx, [][]byte{[]byte(a.Line)}, a.Time, admit)
		if err != nil {
			return err
		}
		b.now().Aside += len(merged.Aside)
		b.now().Refused = append(b.now().Refused, merged.Refused...)
	}
	return nil
}

func (b *restorer) blob(p part) error {
	data, err := io.ReadAll(p)
	if err != nil {
		return fmt.Errorf("read: %w", err)
	}
	b.now().Pictures++
	_, err = b.l.PutBlob(b.ctx, data, b.at)
	return err
}

// accounts makes those that are not there. One that is there may have a newer
// password, and stays.
func (b *restorer) accounts(r io.Reader) error {
	var all people
	if err := strict(r, &all); err != nil {
		return err
	}
	for _, one := range all.Accounts {
		_, err := b.s.AccountByID(b.ctx, one.ID)
		if err == nil {
			continue
		}
		if !errors.Is(err, store.ErrNotFound) {
			return err
		}
		if err := b.account(one); err != nil {
			return fmt.Errorf("account %s: %w", one.ID, err)
		}
	}
	return nil
}

func (b *restorer) account(one account) error {
	a, keys := fromAccount(one, b.l.Org())
	err := b.s.PutAccount(b.ctx, a)
	if errors.Is(err, store.ErrExists) {
		b.now().LoginsTaken = append(b.now().LoginsTaken, a.Login)
		return nil
	}
	if err != nil {
		return err
	}
	b.now().Accounts++
	for _, k := range keys {
		if err := b.s.PutPasskey(b.ctx, k); err != nil && !errors.Is(err, store.ErrExists) {
			return err
		}
	}
	return nil
}

// key brings the signing key back where the organisation has none.
func (b *restorer) key(r io.Reader) error {
	key, err := readKey(r)
	if err != nil {
		return err
	}
	there, err := b.s.KeyOf(b.ctx, b.l.Org())
	if err == nil {
		b.now().OtherKey = !bytes.Equal(there.Private, key)
		return nil
	}
	if !errors.Is(err, store.ErrNotFound) {
		return err
	}
	return b.s.PutKey(b.ctx, accounts.Key{Org: b.l.Org(), Private: key})
}
