package certs

import (
	"crypto/ecdsa"
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"net"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"time"
)

// Given shows the certificate in a file, PEM with whatever stands between it and
// its authority, whose key is in another. They are read again when they change.
func Given(certFile, keyFile string, clock func() time.Time) (*Source, error) {
	var seen [2]stamp
	renew := func(time.Time) (*tls.Certificate, error) {
		stamps, err := stampsOf(certFile, keyFile)
		if err != nil || stamps == seen {
			return nil, err
		}
		c, err := tls.LoadX509KeyPair(certFile, keyFile)
		if err != nil {
			return nil, fmt.Errorf("certificate %s with key %s: %w", certFile, keyFile, err)
		}
		seen = stamps
		return &c, nil
	}
	s := &Source{clock: clock, renew: renew}
	return s, s.first()
}

// first gets the certificate to begin with.
func (s *Source) first() error {
	now := s.clock()
	shown, err := s.renew(now)
	s.shown, s.looked = shown, now
	return err
}

// stamp tells whether a file was changed.
type stamp struct {
	at   time.Time
	size int64
}

func stampsOf(files ...string) (list [2]stamp, err error) {
	for i, name := range files {
		info, err := os.Stat(name)
		if err != nil {
			return list, fmt.Errorf("certificate: %w", err)
		}
		list[i] = stamp{info.ModTime(), info.Size()}
	}
	return list, nil
}

// The files of an authority of our own, in a folder for them.
const (
	authorityFile    = "authority.crt"
	authorityKeyFile = "authority.key"
	leafFile         = "server.crt"
	leafKeyFile      = "server.key"
)

// Own shows a certificate of our own making for these host names and addresses.
// Its authority is kept in the folder, or made there if there is none.
func Own(folder string, list []string, clock func() time.Time) (*Source, error) {
	n, err := sortNames(list)
	if err != nil {
		return nil, err
	}
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return nil, err
	}
	key, authority, err := readPair(folder, authorityFile, authorityKeyFile)
	if errors.Is(err, fs.ErrNotExist) {
		key, authority, err = foundAuthority(folder, n, clock())
	}
	if err != nil {
		return nil, err
	}
	if err := vouches(authority, n, folder, clock()); err != nil {
		return nil, err
	}
	s := &Source{clock: clock, authority: authority}
	s.renew = func(now time.Time) (*tls.Certificate, error) {
		return renewLeaf(s.shown, folder, n, authority, key, now)
	}
	return s, s.first()
}

// foundAuthority makes an authority and keeps it. The key is written first: a key
// without its certificate is made anew, a certificate that phones have installed
// must not be without its key.
func foundAuthority(folder string, n names, now time.Time) (*ecdsa.PrivateKey, *x509.Certificate, error) {
	if _, err := os.Stat(filepath.Join(folder, authorityFile)); err == nil {
		return nil, nil, fmt.Errorf("%s: %s is there but its key %s is not: restore the key, or remove %s to make a new authority, which phones must then install", folder, authorityFile, authorityKeyFile, authorityFile)
	}
	key, c, err := newAuthority(n, now)
	if err != nil {
		return nil, nil, err
	}
	return key, c, writePair(folder, authorityFile, authorityKeyFile, c.Raw, key)
}

// vouches says whether an authority may speak for these names now.
func vouches(authority *x509.Certificate, n names, folder string, now time.Time) error {
	again := fmt.Sprintf("remove %s and %s there to make a new authority, which phones must then install", authorityFile, authorityKeyFile)
	if now.After(authority.NotAfter) {
		return fmt.Errorf("the authority in %s ended on %s: %s", folder, day(authority.NotAfter), again)
	}
	for _, host := range n.hosts {
		if !slices.ContainsFunc(authority.PermittedDNSDomains, func(d string) bool { return host == d || strings.HasSuffix(host, "."+d) }) {
			return fmt.Errorf("the authority in %s may not vouch for %s: %s", folder, host, again)
		}
	}
	for _, addr := range n.addrs {
		if !slices.ContainsFunc(authority.PermittedIPRanges, func(r *net.IPNet) bool { return r.Contains(addr) }) {
			return fmt.Errorf("the authority in %s may not vouch for %s: %s", folder, addr, again)
		}
	}
	return nil
}

// renewLeaf is the certificate to show instead of shown, or nil if that is good
// for a while yet.
func renewLeaf(shown *tls.Certificate, folder string, n names, authority *x509.Certificate, by *ecdsa.PrivateKey, now time.Time) (*tls.Certificate, error) {
	fresh := func(c *x509.Certificate) bool {
		return n.equal(c) && !now.Before(c.NotBefore) && now.Add(renewBefore).Before(c.NotAfter) && c.CheckSignatureFrom(authority) == nil
	}
	if shown != nil && fresh(shown.Leaf) {
		return nil, nil
	}
	key, leaf, err := readPair(folder, leafFile, leafKeyFile)
	if err == nil && fresh(leaf) {
		return chain(leaf, authority, key), nil
	}
	key, der, err := newLeaf(n, authority, by, now)
	if err != nil {
		return nil, err
	}
	if leaf, err = x509.ParseCertificate(der); err != nil {
		return nil, err
	}
	return chain(leaf, authority, key), writePair(folder, leafFile, leafKeyFile, der, key)
}

// chain is what is shown. The authority is in it although clients must know it
// already: whoever was told its fingerprint finds it there.
func chain(leaf, authority *x509.Certificate, key *ecdsa.PrivateKey) *tls.Certificate {
	return &tls.Certificate{Certificate: [][]byte{leaf.Raw, authority.Raw}, PrivateKey: key, Leaf: leaf}
}

// readPair reads a certificate and its key, which nobody else may read.
func readPair(folder, certFile, keyFile string) (*ecdsa.PrivateKey, *x509.Certificate, error) {
	keyPath := filepath.Join(folder, keyFile)
	info, err := os.Stat(keyPath)
	if err != nil {
		return nil, nil, err
	}
	if runtime.GOOS != "windows" && info.Mode().Perm()&0o077 != 0 {
		return nil, nil, fmt.Errorf("%s can be read by others (mode %04o): want 0600; if others may have read it, remove it and %s to make new ones", keyPath, info.Mode().Perm(), certFile)
	}
	c, err := tls.LoadX509KeyPair(filepath.Join(folder, certFile), keyPath)
	if err != nil {
		return nil, nil, fmt.Errorf("%s in %s: %w", certFile, folder, err)
	}
	key, ok := c.PrivateKey.(*ecdsa.PrivateKey)
	if !ok {
		return nil, nil, fmt.Errorf("%s: want an ECDSA key", keyPath)
	}
	return key, c.Leaf, nil
}

func writePair(folder, certFile, keyFile string, der []byte, key *ecdsa.PrivateKey) error {
	secret, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return err
	}
	if err := writeFile(filepath.Join(folder, keyFile), "PRIVATE KEY", secret); err != nil {
		return err
	}
	return writeFile(filepath.Join(folder, certFile), "CERTIFICATE", der)
}

// writeFile writes PEM whole or not at all, for its owner only.
func writeFile(path, kind string, der []byte) error {
	f, err := os.CreateTemp(filepath.Dir(path), ".new-*") // mode 0600
	if err != nil {
		return err
	}
	defer os.Remove(f.Name())
	err = pem.Encode(f, &pem.Block{Type: kind, Bytes: der})
	err = errors.Join(err, f.Sync(), f.Close())
	if err != nil {
		return err
	}
	if err := os.Rename(f.Name(), path); err != nil {
		return err
	}
	if folder, err := os.Open(filepath.Dir(path)); err == nil {
		_ = folder.Sync() // not every system can
		_ = folder.Close()
	}
	return nil
}
