package backup

import (
	"archive/tar"
	"bufio"
	"bytes"
	"cmp"
	"compress/gzip"
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"time"

	"sapwell/accounts"
	"sapwell/journal"
	"sapwell/store"
)

// Write puts everything of the store into one file, while others go on writing:
// of each organisation it has the journal of one moment, and pictures and
// accounts of the same moment or later. Sessions and invitations are not in it;
// after a restore people sign in again.
func Write(ctx context.Context, s store.Store, w io.Writer, now time.Time) error {
	where, err := s.Describe(ctx)
	if err != nil {
		return fmt.Errorf("ask the store what it is: %w", err)
	}
	orgs, err := s.Orgs(ctx)
	if err != nil {
		return fmt.Errorf("list the organisations: %w", err)
	}
	packed := gzip.NewWriter(w)
	out := &writer{ctx: ctx, s: s, tar: tar.NewWriter(packed), now: now}
	out.sum = manifest{Format: format, Made: now.UnixMilli(), Store: where, Orgs: []orgSum{}, Members: []fileSum{}}
	for _, org := range orgs {
		if err := out.org(org); err != nil {
			return fmt.Errorf("organisation %s: %w", org, err)
		}
	}
	if err := out.json(manifestName, out.sum); err != nil {
		return err
	}
	return errors.Join(out.tar.Close(), packed.Close())
}

// writer adds one member after the other and keeps their sums.
type writer struct {
	ctx context.Context
	s   store.Store
	tar *tar.Writer
	now time.Time
	sum manifest
}

func (w *writer) org(org journal.ID) error {
	l, err := w.s.Ledger(w.ctx, org)
	if err != nil {
		return err
	}
	// The journal comes first: a picture is kept before the entry that names it, so
	// every picture of the journal as it stands here is there afterwards.
	for _, part := range []func(store.Ledger) error{w.journal, w.aside, w.blobs, w.accounts, w.key} {
		if err := part(l); err != nil {
			return err
		}
	}
	return nil
}

// journal writes the export to a file first, for a tar wants to know the size.
func (w *writer) journal(l store.Ledger) error {
	f, err := os.CreateTemp("", "sapwell-backup-*")
	if err != nil {
		return fmt.Errorf("make room for the journal: %w", err)
	}
	defer discard(f)
	count := counter{org: orgSum{ID: l.Org()}}
	if err := l.Export(w.ctx, io.MultiWriter(f, &count)); err != nil {
		return fmt.Errorf("export the journal: %w", err)
	}
	w.sum.Orgs = append(w.sum.Orgs, count.org)
	size, err := f.Seek(0, io.SeekCurrent)
	if err == nil {
		_, err = f.Seek(0, io.SeekStart)
	}
	if err != nil {
		return fmt.Errorf("read the journal back: %w", err)
	}
	return w.member(member{l.Org(), journalName}.name(), size, f)
}

// discard closes a file that was only in passing and takes it away.
func discard(f *os.File) {
	_ = f.Close()
	_ = os.Remove(f.Name())
}

// counter counts the entries of an export that is written to it, and keeps the
// last head.
type counter struct {
	org  orgSum
	line []byte // begun
}

func (c *counter) Write(b []byte) (int, error) {
	n := len(b)
	for {
		end := bytes.IndexByte(b, '\n')
		if end < 0 {
			c.line = append(c.line, b...)
			return n, nil
		}
		c.take(append(c.line, b[:end]...))
		b, c.line = b[end+1:], c.line[:0]
	}
}

func (c *counter) take(line []byte) {
	switch {
	case bytes.HasPrefix(line, []byte(`{"entry":`)):
		c.org.Entries++
	case bytes.HasPrefix(line, []byte(`{"head":`)):
		c.org.Head = string(line)
	}
}

func (w *writer) aside(l store.Ledger) error {
	all, err := l.Aside(w.ctx)
	if err != nil {
		return fmt.Errorf("list what was set aside: %w", err)
	}
	if len(all) == 0 {
		return nil
	}
	var out []aside
	for _, a := range all {
		out = append(out, aside{Line: string(a.Line), Why: a.Why, Time: a.Time})
	}
	return w.json(member{l.Org(), asideName}.name(), out)
}

func (w *writer) blobs(l store.Ledger) error {
	sums, err := l.Blobs(w.ctx)
	if err != nil {
		return fmt.Errorf("list the pictures: %w", err)
	}
	for _, sum := range sums {
		data, err := l.Blob(w.ctx, sum)
		if err != nil {
			return fmt.Errorf("picture %s: %w", sum, err)
		}
		name := member{l.Org(), blobDir + sum.String()}.name()
		if err := w.member(name, int64(len(data)), bytes.NewReader(data)); err != nil {
			return err
		}
	}
	return nil
}

func (w *writer) accounts(l store.Ledger) error {
	all, err := w.s.Accounts(w.ctx, l.Org())
	if err != nil {
		return fmt.Errorf("list the accounts: %w", err)
	}
	slices.SortFunc(all, func(a, b accounts.Account) int { return cmp.Compare(a.ID, b.ID) })
	var out people
	for _, a := range all {
		keys, err := w.s.Passkeys(w.ctx, a.ID)
		if err != nil {
			return fmt.Errorf("list the passkeys of account %s: %w", a.ID, err)
		}
		out.Accounts = append(out.Accounts, toAccount(a, keys))
	}
	if len(out.Accounts) == 0 {
		return nil
	}
	return w.json(member{l.Org(), accountsName}.name(), out)
}

func (w *writer) key(l store.Ledger) error {
	k, err := w.s.KeyOf(w.ctx, l.Org())
	if errors.Is(err, store.ErrNotFound) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("fetch the signing key: %w", err)
	}
	return w.json(member{l.Org(), keyName}.name(), signingKey{k.Private})
}

func (w *writer) json(name string, v any) error {
	raw, err := json.MarshalIndent(v, "", " ")
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	return w.member(name, int64(len(raw)), bytes.NewReader(raw))
}

// member writes one part and sums it up.
func (w *writer) member(name string, size int64, r io.Reader) error {
	if err := w.ctx.Err(); err != nil {
		return err
	}
	err := w.tar.WriteHeader(&tar.Header{Typeflag: tar.TypeReg, Name: name, Mode: 0o600, Size: size, ModTime: w.now.UTC().Truncate(time.Second)})
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	sum := sha256.New()
	if _, err := io.Copy(io.MultiWriter(w.tar, sum), bufio.NewReader(r)); err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	w.sum.Members = append(w.sum.Members, fileSum{name, size, journal.Hash(sum.Sum(nil))})
	return nil
}
