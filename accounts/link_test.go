package accounts_test

import (
	"encoding/base64"
	"net/url"
	"strings"
	"testing"

	"sapwell/accounts"
	"sapwell/journal"
)

var rawURL = base64.RawURLEncoding

func rawBase64(b []byte) string { return base64.RawStdEncoding.EncodeToString(b) }

func TestLink(t *testing.T) {
	secret, _ := accounts.NewToken()
	for _, l := range []accounts.Link{
		{Site: "https://office.example", Sort: accounts.ForDevice, Secret: secret},
		{Site: "https://192.168.1.20:8443", Sort: accounts.ForDevice, Secret: secret, Fingerprint: journal.Hash{1, 2, 3}},
		{Site: "http://localhost:8080", Sort: accounts.ForAccount, Secret: secret},
		{Site: "http://[::1]:8080", Sort: accounts.ForAccount, Secret: secret},
	} {
		read, err := accounts.ReadLink(l.String())
		if err != nil || read != l {
			t.Errorf("%s: %+v, %v", l, read, err)
		}
		// What a browser sends is what stands before the #.
		u, err := url.Parse(l.String())
		if err != nil || strings.Contains(u.RequestURI()+u.Host, secret) || u.Fragment == "" {
			t.Errorf("%s: the secret would be sent to whoever answers", l)
		}
	}
}

func TestLinksThatAreNone(t *testing.T) {
	secret, _ := accounts.NewToken()
	for _, text := range []string{
		"", "https://office.example/enrol", "https://office.example/enrol#", "https://office.example/enrol#short",
		"http://office.example/enrol#" + secret,
		"https://office.example/enrol?s=" + secret, "https://office.example/" + secret, "https://office.example/enrol?#" + secret,
		"https://user@office.example/enrol#" + secret, "https://office.example/other#" + secret,
		"https://office.example/enrol#" + secret + ".", "https://office.example/enrol#" + secret + ".abc",
		"javascript:alert(1)#" + secret, "//office.example/enrol#" + secret, "https:///enrol#" + secret,
	} {
		l, err := accounts.ReadLink(text)
		if err == nil {
			t.Errorf("%q was read as %+v", text, l)
		} else if strings.Contains(err.Error(), secret) {
			t.Errorf("%q: the error shows the secret: %v", text, err)
		}
	}
}

func FuzzReadLink(f *testing.F) {
	f.Add("https://office.example/enrol#AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA")
	f.Add("http://[::1]:80/join#AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA." + strings.Repeat("0a", 32))
	f.Fuzz(func(t *testing.T, text string) {
		l, err := accounts.ReadLink(text)
		if err != nil {
			return
		}
		again, err := accounts.ReadLink(l.String())
		if err != nil || again != l {
			t.Errorf("%q: %+v, then %+v, %v", text, l, again, err)
		}
	})
}
