//go:build !js

package accounts

import (
	"errors"
	"fmt"
	"net/netip"
	"net/url"
	"strings"

	"sapwell/journal"
)

// Link is what a QR code holds for whoever is invited. As text it is
//
//	https://server/enrol#secret.fingerprint
//
// with everything secret behind the #, which a browser never sends.
type Link struct {
	Site        string       // scheme, host and port
	Sort        string       // ForDevice or ForAccount
	Secret      string       // of the invite
	Fingerprint journal.Hash // SHA-256 of one of the certificates that the server shows; zero where a public authority vouches for it
}

const (
	devicePath  = "/enrol"
	accountPath = "/join"
)

func (l Link) String() string {
	text := l.Site + devicePath
	if l.Sort == ForAccount {
		text = l.Site + accountPath
	}
	text += "#" + l.Secret
	if l.Fingerprint != (journal.Hash{}) {
		text += "." + l.Fingerprint.String()
	}
	return text
}

// ReadLink reads the text of a Link. Its errors do not show the secret.
func ReadLink(text string) (Link, error) {
	u, err := url.Parse(text)
	if err != nil || u.Host == "" || u.User != nil || u.RawQuery != "" || u.ForceQuery {
		return Link{}, errors.New("link: want https://server/enrol#secret.fingerprint")
	}
	l := Link{Site: u.Scheme + "://" + u.Host}
	if err := CheckSite(u); err != nil {
		return Link{}, err
	}
	switch u.EscapedPath() {
	case devicePath:
		l.Sort = ForDevice
	case accountPath:
		l.Sort = ForAccount
	default:
		return Link{}, fmt.Errorf("link: want the path %s or %s", devicePath, accountPath)
	}
	secret, sum, pinned := strings.Cut(u.EscapedFragment(), ".")
	if _, err := TokenHash(secret); err != nil {
		return Link{}, fmt.Errorf("link: secret: %w", err)
	}
	l.Secret = secret
	if pinned {
		if err := l.Fingerprint.UnmarshalText([]byte(sum)); err != nil {
			return Link{}, fmt.Errorf("link: fingerprint: %w", err)
		}
	}
	return l, nil
}

// CheckSite says whether a server may be reached at this address: by https, or
// by plain http where nothing leaves the machine.
func CheckSite(u *url.URL) error {
	if u.Scheme == "https" && u.Hostname() != "" {
		return nil
	}
	if u.Scheme == "http" && isLoopback(u.Hostname()) {
		return nil
	}
	return fmt.Errorf("address of the server %q: want https://, or http:// with localhost", u.Scheme+"://"+u.Host)
}

// isLoopback reports whether a host name or address is that of this machine.
func isLoopback(host string) bool {
	addr, err := netip.ParseAddr(host)
	return host == "localhost" || err == nil && addr.IsLoopback()
}
