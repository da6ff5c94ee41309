// Package certs answers: which certificate does this server show?
//
// Either one that was given as files, read again when they change, or one of its
// own making: a private authority that is kept in the data folder and vouches for
// the server's own names and addresses only. People compare the fingerprint, and
// phones install the authority.
package certs

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"errors"
	"fmt"
	"net"
	"net/netip"
	"slices"
	"strings"
	"sync"
	"time"
)

// How long certificates of our own making hold (own conventions). Phones take none
// that holds for more than 825 days from an authority that was installed by hand.
const (
	authorityYears = 10
	leafLasts      = 90 * 24 * time.Hour
	renewBefore    = 30 * 24 * time.Hour
	backdated      = 24 * time.Hour // for clocks that are behind
)

// Source is where the server's certificate comes from. It is safe for use by many
// at once.
type Source struct {
	clock func() time.Time
	renew func(now time.Time) (*tls.Certificate, error) // nil, nil: nothing newer

	mu        sync.Mutex
	shown     *tls.Certificate
	fault     error     // why the last renewal failed
	looked    time.Time // when it was last asked whether there is a newer one
	authority *x509.Certificate
}

// lookEvery is how often a handshake looks for something newer.
const lookEvery = 10 * time.Second

// TLS is a configuration that shows the certificate.
func (s *Source) TLS() *tls.Config {
	return &tls.Config{
		MinVersion:     tls.VersionTLS12,
		NextProtos:     []string{"h2", "http/1.1"},
		GetCertificate: func(*tls.ClientHelloInfo) (*tls.Certificate, error) { return s.current(), nil },
	}
}

// current is the certificate to show now. If a newer one cannot be had the old one
// goes on being shown: see Fault.
func (s *Source) current() *tls.Certificate {
	s.mu.Lock()
	defer s.mu.Unlock()
	now := s.clock()
	if now.Sub(s.looked) < lookEvery && !now.Before(s.looked) {
		return s.shown
	}
	s.looked = now
	newer, err := s.renew(now)
	if s.fault = err; newer != nil {
		s.shown = newer
	}
	return s.shown
}

// Fault is why a newer certificate could not be had at the last try, or that the
// one shown has ended, or that the authority soon will; nil where all is well.
func (s *Source) Fault() error {
	shown := s.current().Leaf
	s.mu.Lock()
	defer s.mu.Unlock()
	now := s.clock()
	switch {
	case s.fault != nil:
		return s.fault
	case now.After(shown.NotAfter) || now.Before(shown.NotBefore):
		return fmt.Errorf("certificate: holds from %s to %s, now is %s", day(shown.NotBefore), day(shown.NotAfter), day(now))
	case s.authority != nil && now.Add(leafLasts).After(s.authority.NotAfter):
		return fmt.Errorf("certificate: the server's own authority ends on %s; make a new one in good time, which phones must then install", day(s.authority.NotAfter))
	}
	return nil
}

// Fingerprint is the SHA-256 of the certificate that the server shows now, which is
// what a browser shows of it.
func (s *Source) Fingerprint() [sha256.Size]byte { return sha256.Sum256(s.current().Leaf.Raw) }

// Ends is when the certificate that the server shows ends.
func (s *Source) Ends() time.Time { return s.current().Leaf.NotAfter }

// Authority is the certificate of the server's own authority, DER, and its SHA-256,
// which a phone shows that installs it and which stays; nil where the certificate
// was given.
func (s *Source) Authority() (der []byte, fingerprint [sha256.Size]byte) {
	if s.authority == nil {
		return nil, fingerprint
	}
	return slices.Clone(s.authority.Raw), sha256.Sum256(s.authority.Raw)
}

// Print writes a fingerprint as people compare it: AB:CD:… as browsers and openssl
// show it.
func Print(fingerprint [sha256.Size]byte) string {
	return strings.ReplaceAll(fmt.Sprintf("% X", fingerprint), " ", ":")
}

func day(t time.Time) string { return t.UTC().Format(time.DateOnly) }

// names are the host names and addresses a certificate is for, sorted.
type names struct {
	hosts []string
	addrs []net.IP
}

// sortNames takes host names and addresses apart.
func sortNames(list []string) (n names, err error) {
	for _, name := range list {
		if addr, err := netip.ParseAddr(name); err == nil {
			n.addrs = append(n.addrs, net.IP(addr.Unmap().WithZone("").AsSlice()))
			continue
		}
		host := strings.ToLower(strings.TrimSuffix(name, "."))
		if !isHost(host) {
			return names{}, fmt.Errorf("name %q for the certificate: want a host name such as office.example, or an address such as 192.168.1.20", name)
		}
		n.hosts = append(n.hosts, host)
	}
	slices.Sort(n.hosts)
	n.hosts = slices.Compact(n.hosts)
	slices.SortFunc(n.addrs, func(a, b net.IP) int { return slices.Compare(a, b) })
	n.addrs = slices.CompactFunc(n.addrs, net.IP.Equal)
	if len(n.hosts)+len(n.addrs) == 0 {
		return names{}, errors.New("a certificate needs at least one host name or address")
	}
	return n, nil
}

// isHost is the letters, digits and hyphens of RFC 1123, section 2.1; no wildcards.
func isHost(host string) bool {
	if len(host) == 0 || len(host) > 253 {
		return false
	}
	for label := range strings.SplitSeq(host, ".") {
		odd := strings.ContainsFunc(label, func(r rune) bool {
			return r != '-' && (r < 'a' || r > 'z') && (r < '0' || r > '9')
		})
		if len(label) == 0 || len(label) > 63 || odd || label[0] == '-' || label[len(label)-1] == '-' {
			return false
		}
	}
	return true
}

// equal reports whether a certificate is for exactly these names.
func (n names) equal(c *x509.Certificate) bool {
	same := func(a, b net.IP) bool { return a.Equal(b) }
	return slices.Equal(n.hosts, c.DNSNames) && slices.EqualFunc(n.addrs, c.IPAddresses, same)
}

// newAuthority makes an authority that can vouch for these host names, for
// addresses of private networks and of this machine, and for nothing else: if its
// key is stolen, nobody can pass for a bank with it.
func newAuthority(n names, now time.Time) (*ecdsa.PrivateKey, *x509.Certificate, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, nil, err
	}
	template := &x509.Certificate{
		Subject:                     pkix.Name{CommonName: "Sapwell, this office only, " + day(now)},
		NotBefore:                   now.Add(-backdated),
		NotAfter:                    now.AddDate(authorityYears, 0, 0),
		IsCA:                        true,
		BasicConstraintsValid:       true,
		MaxPathLenZero:              true,
		KeyUsage:                    x509.KeyUsageCertSign | x509.KeyUsageCRLSign,
		ExtKeyUsage:                 []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
		PermittedDNSDomainsCritical: true,
		PermittedDNSDomains:         append([]string{"localhost"}, n.hosts...),
		PermittedIPRanges:           append(privateRanges(), ranges(n.addrs)...),
	}
	der, err := x509.CreateCertificate(rand.Reader, template, template, key.Public(), key)
	if err != nil {
		return nil, nil, err
	}
	c, err := x509.ParseCertificate(der)
	return key, c, err
}

// privateRanges are the addresses that are not of the public network, which an
// office's router gives out anew now and then.
func privateRanges() (list []*net.IPNet) {
	for _, text := range []string{"10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "127.0.0.0/8", "fc00::/7", "fe80::/10", "::1/128"} {
		_, n, _ := net.ParseCIDR(text) // as written here
		list = append(list, n)
	}
	return list
}

func ranges(addrs []net.IP) (list []*net.IPNet) {
	for _, a := range addrs {
		if !slices.ContainsFunc(privateRanges(), func(n *net.IPNet) bool { return n.Contains(a) }) {
			list = append(list, &net.IPNet{IP: a, Mask: net.CIDRMask(8*len(a), 8*len(a))})
		}
	}
	return list
}

// newLeaf makes a certificate for these names.
func newLeaf(n names, authority *x509.Certificate, by *ecdsa.PrivateKey, now time.Time) (*ecdsa.PrivateKey, []byte, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, nil, err
	}
	template := &x509.Certificate{
		Subject:     pkix.Name{CommonName: "Sapwell"},
		NotBefore:   now.Add(-backdated),
		NotAfter:    earlier(now.Add(leafLasts), authority.NotAfter),
		KeyUsage:    x509.KeyUsageDigitalSignature,
		ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
		DNSNames:    n.hosts,
		IPAddresses: n.addrs,
	}
	der, err := x509.CreateCertificate(rand.Reader, template, authority, key.Public(), by)
	return key, der, err
}

func earlier(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}
