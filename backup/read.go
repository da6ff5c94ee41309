package backup

import (
	"archive/tar"
	"bufio"
	"bytes"
	"compress/gzip"
	"context"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"sapwell/journal"
)

// part is one member of the file on its way in.
type part struct {
	member
	name string
	size int64
	io.Reader
}

// walk reads the file from one end to the other and shows every part. Nothing
// may follow the tar in the packed stream, and nothing the stream.
func walk(ctx context.Context, r io.Reader, show func(part) error) error {
	whole := bufio.NewReader(r)
	packed, err := gzip.NewReader(whole)
	if err != nil {
		return fmt.Errorf("no backup of Sapwell: %w", err)
	}
	packed.Multistream(false)
	in := tar.NewReader(packed)
	for {
		h, err := in.Next()
		if err == io.EOF {
			break
		}
		if err != nil {
			return fmt.Errorf("read the backup: %w", err)
		}
		if err := ctx.Err(); err != nil {
			return err
		}
		p, err := opened(h, in)
		if err == nil {
			err = show(p)
		}
		if err != nil {
			return fmt.Errorf("%.200s: %w", h.Name, err)
		}
	}
	if _, err := io.CopyN(io.Discard, packed, maxPadding); err != io.EOF {
		return errors.Join(errors.New("something else follows the backup, or its end is damaged"), err)
	}
	if _, err := whole.ReadByte(); err != io.EOF {
		return errors.New("something else follows the backup")
	}
	return nil
}

// maxPadding is what a tar may have in zeros behind its end.
const maxPadding = 1 << 20

// opened checks what the header says.
func opened(h *tar.Header, r io.Reader) (part, error) {
	if h.Typeflag != tar.TypeReg {
		return part{}, fmt.Errorf("of type %q, want a plain file", h.Typeflag)
	}
	p := part{name: h.Name, size: h.Size, Reader: r}
	limit := int64(maxJSON)
	if h.Name != manifestName {
		var err error
		if p.member, err = readName(h.Name); err != nil {
			return part{}, err
		}
		limit = p.limit()
	}
	if h.Size < 0 || h.Size > limit {
		return part{}, fmt.Errorf("%d bytes, want at most %d", h.Size, limit)
	}
	return p, nil
}

// checked reads the whole file and holds it against its manifest, before a store
// is touched.
func checked(ctx context.Context, r io.Reader) (manifest, error) {
	var m *manifest
	var seen []fileSum
	names := make(map[string]bool)
	err := walk(ctx, r, func(p part) error {
		if m != nil {
			return errors.New("stands behind the manifest, which is the last part")
		}
		if names[p.name] {
			return errors.New("is there twice")
		}
		names[p.name] = true
		if p.name == manifestName {
			m = new(manifest)
			return strict(p, m)
		}
		sum, err := p.check()
		seen = append(seen, sum)
		return err
	})
	if err != nil {
		return manifest{}, err
	}
	if m == nil {
		return manifest{}, errors.New("the backup has no manifest: it was cut off")
	}
	return *m, m.holds(seen)
}

// check sums a part up and tries whether it can be read.
func (p part) check() (fileSum, error) {
	hash := sha256.New()
	content := io.TeeReader(p, hash)
	var err error
	switch p.part {
	case asideName:
		var all []aside
		err = strict(content, &all)
	case accountsName:
		var all people
		err = strict(content, &all)
	case keyName:
		_, err = readKey(content)
	}
	if err != nil {
		return fileSum{}, err
	}
	if _, err := io.Copy(io.Discard, content); err != nil {
		return fileSum{}, fmt.Errorf("read: %w", err)
	}
	sum := journal.Hash(hash.Sum(nil))
	if named, ok := p.blob(); ok && named != sum {
		return fileSum{}, fmt.Errorf("its SHA-256 is %s", sum)
	}
	return fileSum{p.name, p.size, sum}, nil
}

// holds compares what is there with what should be.
func (m manifest) holds(seen []fileSum) error {
	if m.Format != format {
		return fmt.Errorf("%s: format %d, want %d: a newer Sapwell made this backup", manifestName, m.Format, format)
	}
	if len(seen) != len(m.Members) {
		return fmt.Errorf("%d parts, and the manifest names %d", len(seen), len(m.Members))
	}
	journals := make(map[journal.ID]bool)
	for i, want := range m.Members {
		if seen[i] != want {
			return fmt.Errorf("%s: %d bytes with SHA-256 %s, and the manifest says %s, %d bytes, %s",
				seen[i].Name, seen[i].Size, seen[i].SHA256, want.Name, want.Size, want.SHA256)
		}
		where, err := readName(want.Name)
		if err != nil {
			return err
		}
		if where.part == journalName {
			journals[where.org] = true
		} else if !journals[where.org] {
			return fmt.Errorf("%s stands before the journal of its organisation", want.Name)
		}
	}
	for _, o := range m.Orgs {
		if !journals[o.ID] {
			return fmt.Errorf("organisation %s has no journal", o.ID)
		}
	}
	if len(journals) != len(m.Orgs) {
		return fmt.Errorf("%d journals, and the manifest names %d organisations", len(journals), len(m.Orgs))
	}
	return nil
}

// strict reads one JSON value with no member that is not known, and nothing
// behind it.
func strict(r io.Reader, to any) error {
	d := json.NewDecoder(r)
	d.DisallowUnknownFields()
	if err := d.Decode(to); err != nil {
		return fmt.Errorf("read: %w", err)
	}
	if _, err := d.Token(); err != io.EOF {
		return errors.New("something else follows the JSON")
	}
	return nil
}

func readKey(r io.Reader) (ed25519.PrivateKey, error) {
	var k signingKey
	if err := strict(r, &k); err != nil {
		return nil, err
	}
	if len(k.Private) != ed25519.PrivateKeySize {
		return nil, fmt.Errorf("a key of %d bytes, want %d", len(k.Private), ed25519.PrivateKeySize)
	}
	if key := ed25519.NewKeyFromSeed(k.Private[:ed25519.SeedSize]); !bytes.Equal(key, k.Private) {
		return nil, errors.New("the public half of the key does not fit its secret")
	}
	return k.Private, nil
}
