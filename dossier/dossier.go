// Package dossier answers: is this folder what was handed over, to the byte?
//
// A folder for an inspector holds papers, data, label texts and proofs. Its
// manifest names every file with its SHA-256 and is signed with the office's key,
// the one that signed the head of the journal; each file of evidence proves its
// entries under that very head. So a folder on a stick can be checked years later
// by whoever has this package, with no server: doc/dossier.md has the form.
package dossier

import (
	"bytes"
	"crypto"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"path"
	"slices"
	"strings"

	"sapwell/journal"
)

// Name is what the manifest's file is called.
const Name = "manifest.json"

// evidence is the folder whose files prove entries.
const evidence = "proofs/"

// Manifest is what a folder holds and who says so.
type Manifest struct {
	V         int    `json:"v"`
	Org       string `json:"org"`
	From      string `json:"from"` // first and last day
	To        string `json:"to"`
	Made      string `json:"made"` // RFC 3339
	Head      string `json:"head"` // of the journal, a signed line
	Files     []File `json:"files"`
	Key       string `json:"key"`       // the office's public key, hex
	Signature string `json:"signature"` // over all else, hex; see signed
}

// File is one file of the folder.
type File struct {
	Path   string       `json:"path"` // with / between, never upwards
	Bytes  int64        `json:"bytes"`
	SHA256 journal.Hash `json:"sha256"`
}

// Of describes a file.
func Of(name string, data []byte) File {
	return File{name, int64(len(data)), sha256.Sum256(data)}
}

// opening stands before what is signed, so that the key's word on a manifest can be
// taken for nothing else.
const opening = "sapwell dossier 1\n"

// signed is what the signature is over: the manifest without it, in canonical form
// (RFC 8785).
func (m Manifest) signed() ([]byte, error) {
	m.Signature = ""
	plain, err := json.Marshal(m)
	if err != nil {
		return nil, err
	}
	canonical, err := journal.Canonical(plain)
	return append([]byte(opening), canonical...), err
}

// Seal signs a manifest and writes it. Files are listed by their paths.
func Seal(m Manifest, signer crypto.Signer) ([]byte, error) {
	key, ok := signer.Public().(ed25519.PublicKey)
	if !ok {
		return nil, errors.New("the signer has no Ed25519 key")
	}
	m.V, m.Key = 1, hex.EncodeToString(key)
	m.Files = slices.Clone(m.Files)
	slices.SortFunc(m.Files, func(a, b File) int { return strings.Compare(a.Path, b.Path) })
	if err := m.check(); err != nil {
		return nil, err
	}
	text, err := m.signed()
	if err != nil {
		return nil, err
	}
	signature, err := signer.Sign(nil, text, crypto.Hash(0))
	if err != nil {
		return nil, err
	}
	m.Signature = hex.EncodeToString(signature)
	return json.MarshalIndent(m, "", " ")
}

// Open reads a manifest and checks its signature, that it was made with the key of
// the journal's head, and its list.
func Open(data []byte) (Manifest, error) {
	var m Manifest
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&m); err != nil {
		return m, fmt.Errorf("%s: %w", Name, err)
	}
	if err := m.check(); err != nil {
		return m, fmt.Errorf("%s: %w", Name, err)
	}
	key, errKey := hex.DecodeString(m.Key)
	signature, errSig := hex.DecodeString(m.Signature)
	text, err := m.signed()
	sound := errKey == nil && errSig == nil && err == nil && hex.EncodeToString(signature) == m.Signature
	if !sound || !ed25519.Verify(key, text, signature) {
		return m, fmt.Errorf("%s: the signature does not fit: something in it was changed", Name)
	}
	return m, nil
}

func (m Manifest) check() error {
	if m.V != 1 {
		return fmt.Errorf("v: %d, want 1", m.V)
	}
	if key, err := hex.DecodeString(m.Key); err != nil || len(key) != ed25519.PublicKeySize {
		return fmt.Errorf("key: %.80q, want %d hex digits", m.Key, 2*ed25519.PublicKeySize)
	}
	head, err := journal.ReadTreeHead([]byte(m.Head))
	if err != nil {
		return fmt.Errorf("head: %w", err)
	}
	if hex.EncodeToString(head.Key) != m.Key {
		return errors.New("key: it is not the one that signed the head of the journal")
	}
	for i, f := range m.Files {
		if f.Path == "." || f.Path != path.Clean(f.Path) || path.IsAbs(f.Path) || strings.HasPrefix(f.Path, "..") || f.Path == Name {
			return fmt.Errorf("files[%d].path: %.80q, want a path within the folder", i, f.Path)
		}
		if i > 0 && m.Files[i-1].Path >= f.Path {
			return fmt.Errorf("files[%d].path: %.80q, want each file once, in the order of the paths", i, f.Path)
		}
	}
	return nil
}

// Proves tells of a file whose content CheckFile must be shown.
func Proves(name string) bool { return strings.HasPrefix(name, evidence) }

// CheckFile says what is wrong with a file that lies in the folder, or nothing.
// data is looked at only where Proves says so, and may be nil elsewhere.
func (m Manifest) CheckFile(is File, data []byte) error {
	i, listed := slices.BinarySearchFunc(m.Files, is.Path, func(f File, name string) int { return strings.Compare(f.Path, name) })
	switch {
	case !listed && litter(path.Base(is.Path)):
		return nil
	case !listed:
		return fmt.Errorf("%s: it is not in the manifest", is.Path)
	case m.Files[i] != is:
		return fmt.Errorf("%s: it is not what was handed over: %d bytes with SHA-256 %s, want %d with %s",
			is.Path, is.Bytes, is.SHA256, m.Files[i].Bytes, m.Files[i].SHA256)
	case !Proves(is.Path):
		return nil
	}
	e, err := journal.ReadEvidence(data)
	if err == nil && e.Head != m.Head {
		err = errors.New("it proves its entries under another head than that of the manifest")
	}
	if err == nil {
		_, err = e.Check()
	}
	if err != nil {
		return fmt.Errorf("%s: %w", is.Path, err)
	}
	return nil
}

// litter is what systems leave on every stick they see.
func litter(name string) bool {
	return strings.HasPrefix(name, "._") || slices.Contains([]string{".DS_Store", "Thumbs.db", "desktop.ini"}, name)
}

// Gone lists what the manifest names and is not among these paths.
func (m Manifest) Gone(there []string) []string {
	var gone []string
	for _, f := range m.Files {
		if !slices.Contains(there, f.Path) {
			gone = append(gone, f.Path)
		}
	}
	return gone
}
