package certs_test

import (
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"sapwell/certs"
	"sapwell/internal/outside"
)

// clock is a clock that a test turns.
type clock struct{ now time.Time }

func (c *clock) tell() time.Time      { return c.now }
func (c *clock) wait(d time.Duration) { c.now = c.now.Add(d) }

func own(t *testing.T, folder string, c *clock, names ...string) *certs.Source {
	t.Helper()
	s, err := certs.Own(folder, names, c.tell)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// shown is the certificate that a client gets that trusts the authority and asks
// for a name.
func shown(t *testing.T, s *certs.Source, name string, now time.Time) (*x509.Certificate, error) {
	t.Helper()
	roots := x509.NewCertPool()
	if der, _ := s.Authority(); der != nil {
		authority, err := x509.ParseCertificate(der)
		if err != nil {
			t.Fatal(err)
		}
		roots.AddCert(authority)
	}
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer listener.Close()
	go func() {
		there, err := listener.Accept()
		if err != nil {
			return
		}
		_ = tls.Server(there, s.TLS()).Handshake()
		_ = there.Close()
	}()
	here, err := net.Dial("tcp", listener.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	defer here.Close()
	client := tls.Client(here, &tls.Config{RootCAs: roots, ServerName: name, Time: func() time.Time { return now }})
	if err := client.Handshake(); err != nil {
		return nil, err
	}
	return client.ConnectionState().PeerCertificates[0], nil
}

func TestOwn(t *testing.T) {
	folder, c := filepath.Join(t.TempDir(), "tls"), &clock{time.Now()}
	s := own(t, folder, c, "Office.example", "192.168.1.20", "localhost", "fd00::1", "203.0.113.9")
	for _, name := range []string{"office.example", "192.168.1.20", "localhost", "fd00::1", "203.0.113.9"} {
		leaf, err := shown(t, s, name, c.now)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if sum := s.Fingerprint(); sum != sha256.Sum256(leaf.Raw) {
			t.Errorf("%s: shown is not what the fingerprint says", name)
		}
	}
	for _, name := range []string{"other.example", "sub.office.example", "192.168.1.21"} {
		if _, err := shown(t, s, name, c.now); err == nil {
			t.Errorf("%s: vouched for", name)
		}
	}
	if err := s.Fault(); err != nil {
		t.Error(err)
	}
	// Started again, it is the same certificate.
	_, before := s.Authority()
	again := own(t, folder, c, "office.example", "192.168.1.20", "localhost", "fd00::1", "203.0.113.9")
	if _, after := again.Authority(); after != before || again.Fingerprint() != s.Fingerprint() {
		t.Error("another certificate after a restart")
	}
	// Another address of a private network: a new certificate, the same authority.
	moved := own(t, folder, c, "office.example", "10.1.2.3")
	if _, after := moved.Authority(); after != before || moved.Fingerprint() == s.Fingerprint() {
		t.Error("after a move: want the same authority and another certificate")
	}
	if _, err := shown(t, moved, "10.1.2.3", c.now); err != nil {
		t.Error(err)
	}
}

func TestKeysAreTheOwnersOnly(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("no such modes")
	}
	folder, c := filepath.Join(t.TempDir(), "tls"), &clock{time.Now()}
	own(t, folder, c, "localhost")
	files, err := os.ReadDir(folder)
	if err != nil || len(files) != 4 {
		t.Fatal(files, err)
	}
	for _, f := range files {
		info, err := f.Info()
		if err != nil || info.Mode().Perm() != 0o600 {
			t.Errorf("%s: mode %v, %v", f.Name(), info.Mode(), err)
		}
	}
	if info, _ := os.Stat(folder); info.Mode().Perm() != 0o700 {
		t.Errorf("folder: mode %v", info.Mode())
	}
	if err := os.Chmod(filepath.Join(folder, "authority.key"), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := certs.Own(folder, []string{"localhost"}, c.tell); err == nil || !strings.Contains(err.Error(), "0644") {
		t.Errorf("a key that others can read: %v", err)
	}
}

func TestRenewal(t *testing.T) {
	folder, c := t.TempDir(), &clock{time.Now()}
	s := own(t, folder, c, "localhost")
	first := s.Fingerprint()
	c.wait(59 * 24 * time.Hour)
	if s.Fingerprint() != first {
		t.Error("renewed long before it ends")
	}
	c.wait(2 * 24 * time.Hour)
	if s.Fingerprint() == first || !s.Ends().After(c.now.Add(89*24*time.Hour)) {
		t.Errorf("not renewed; ends %v", s.Ends())
	}
	if _, err := shown(t, s, "localhost", c.now); err != nil {
		t.Error(err)
	}
	c.wait(-100 * 24 * time.Hour) // the clock was set back: what is shown must hold now
	if _, err := shown(t, s, "localhost", c.now); err == nil {
		t.Error("an authority that does not hold yet was trusted by the client")
	}
	c.wait(100 * 24 * time.Hour)
	// Near its end the authority says so, and certificates do not outlive it.
	c.wait(10*365*24*time.Hour - 80*24*time.Hour)
	if err := s.Fault(); err == nil || !strings.Contains(err.Error(), "authority ends") {
		t.Errorf("80 days before the authority ends: %v", err)
	}
	c.wait(100 * 24 * time.Hour)
	if _, err := certs.Own(folder, []string{"localhost"}, c.tell); err == nil || !strings.Contains(err.Error(), "ended") {
		t.Errorf("after the authority ended: %v", err)
	}
}

// What a person must decide is not decided for them: a new authority would lock out
// every phone that trusts the old one.
func TestAuthorityIsNotReplacedSilently(t *testing.T) {
	folder, c := t.TempDir(), &clock{time.Now()}
	own(t, folder, c, "office.example")
	for _, name := range []string{"other.example", "203.0.113.9"} {
		if _, err := certs.Own(folder, []string{name}, c.tell); err == nil || !strings.Contains(err.Error(), "may not vouch for "+name) {
			t.Errorf("%s: %v", name, err)
		}
	}
	own(t, folder, c, "www.office.example") // below a name it may vouch for
	key := filepath.Join(folder, "authority.key")
	if err := os.Remove(key); err != nil {
		t.Fatal(err)
	}
	if _, err := certs.Own(folder, []string{"office.example"}, c.tell); err == nil || !strings.Contains(err.Error(), "authority.key is not") {
		t.Errorf("with the key gone: %v", err)
	}
	if err := os.WriteFile(key, []byte("not a key"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := certs.Own(folder, []string{"office.example"}, c.tell); err == nil {
		t.Error("with a damaged key it started")
	}
}

// A crash between two files of the server's certificate heals itself.
func TestHalfWrittenLeafIsMadeAnew(t *testing.T) {
	folder, c := t.TempDir(), &clock{time.Now()}
	own(t, folder, c, "localhost")
	if err := os.WriteFile(filepath.Join(folder, "server.crt"), nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := shown(t, own(t, folder, c, "localhost"), "localhost", c.now); err != nil {
		t.Error(err)
	}
	// The same while the authority is founded: a key without its certificate.
	half := t.TempDir()
	if err := os.WriteFile(filepath.Join(half, "authority.key"), nil, 0o600); err != nil {
		t.Fatal(err)
	}
	own(t, half, c, "localhost")
}

func TestNames(t *testing.T) {
	c := &clock{time.Now()}
	for _, bad := range []string{"", "*.example", "a b", "-a.example", "a..example", "a_b", "http://office.example", "office.example:8443", strings.Repeat("a", 64), "ñ.example", strings.Repeat("a.", 127) + "aa"} {
		if _, err := certs.Own(t.TempDir(), []string{bad}, c.tell); err == nil {
			t.Errorf("%q was taken", bad)
		}
	}
	if _, err := certs.Own(t.TempDir(), nil, c.tell); err == nil {
		t.Error("a certificate for nobody was made")
	}
	own(t, t.TempDir(), c, "xn--rbol-5na.example", "localhost.", "::ffff:192.168.1.20")
}

// writeGiven puts a certificate for a name in two files, as somebody else's
// authority would give it.
func writeGiven(t *testing.T, dir, name string, c *clock) (certFile, keyFile string) {
	t.Helper()
	made := t.TempDir()
	own(t, made, c, name)
	certFile, keyFile = filepath.Join(dir, "given.crt"), filepath.Join(dir, "given.key")
	for from, to := range map[string]string{"server.crt": certFile, "server.key": keyFile} {
		b, err := os.ReadFile(filepath.Join(made, from))
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(to, b, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return certFile, keyFile
}

func TestGiven(t *testing.T) {
	dir, c := t.TempDir(), &clock{time.Now()}
	certFile, keyFile := writeGiven(t, dir, "first.example", c)
	s, err := certs.Given(certFile, keyFile, c.tell)
	if err != nil {
		t.Fatal(err)
	}
	if der, _ := s.Authority(); der != nil {
		t.Error("a given certificate has no authority of ours")
	}
	first := s.Fingerprint()
	writeGiven(t, dir, "second-and-longer.example", c)
	if s.Fingerprint() != first {
		t.Error("looked at again within ten seconds")
	}
	c.wait(11 * time.Second)
	second := s.Fingerprint()
	if second == first {
		t.Error("the new files are not shown")
	}
	// Half-copied files change nothing but are told of.
	if err := os.WriteFile(keyFile, []byte("-----BEGIN"), 0o600); err != nil {
		t.Fatal(err)
	}
	c.wait(11 * time.Second)
	if s.Fingerprint() != second || s.Fault() == nil || !strings.Contains(s.Fault().Error(), "given.key") {
		t.Errorf("with a damaged key: %v", s.Fault())
	}
	writeGiven(t, dir, "third.example", c)
	c.wait(11 * time.Second)
	if s.Fault() != nil || s.Fingerprint() == second {
		t.Errorf("mended: %v", s.Fault())
	}
	c.wait(91 * 24 * time.Hour)
	if err := s.Fault(); err == nil || !strings.Contains(err.Error(), "holds from") {
		t.Errorf("a certificate that ended: %v", err)
	}
	if _, err := certs.Given(certFile, filepath.Join(dir, "nowhere"), c.tell); err == nil {
		t.Error("without a key it started")
	}
}

// openssl takes our authority and certificate, refuses a name they are not for, and
// has the same fingerprint.
func TestOpenSSLAgrees(t *testing.T) {
	tool := outside.Tool(t, "openssl")
	folder, c := t.TempDir(), &clock{time.Now()}
	s := own(t, folder, c, "office.example", "192.168.1.20")
	der, sum := s.Authority()
	authority, leaf := filepath.Join(folder, "authority.crt"), filepath.Join(folder, "server.crt")
	run := func(args ...string) (string, error) {
		out, err := exec.Command(tool, args...).CombinedOutput()
		return string(out), err
	}
	for _, args := range [][]string{{"-verify_hostname", "office.example"}, {"-verify_ip", "192.168.1.20"}} {
		args = append(append([]string{"verify", "-x509_strict", "-purpose", "sslserver", "-CAfile", authority}, args...), leaf)
		if out, err := run(args...); err != nil || !strings.Contains(out, "OK") {
			t.Errorf("openssl %v: %s", args, out)
		}
	}
	if out, err := run("verify", "-verify_hostname", "other.example", "-CAfile", authority, leaf); err == nil {
		t.Errorf("openssl takes another name: %s", out)
	}
	for file, want := range map[string][32]byte{authority: sum, leaf: s.Fingerprint()} {
		out, err := run("x509", "-noout", "-fingerprint", "-sha256", "-in", file)
		if _, got, _ := strings.Cut(strings.TrimSpace(out), "="); err != nil || got != certs.Print(want) {
			t.Errorf("%s: openssl has %s, we have %s", file, out, certs.Print(want))
		}
	}
	download := filepath.Join(folder, "download.crt")
	if err := os.WriteFile(download, der, 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := run("x509", "-noout", "-text", "-inform", "DER", "-in", download)
	for _, want := range []string{"CA:TRUE, pathlen:0", "Certificate Sign", "Name Constraints: critical", "DNS:office.example", "prime256v1", "ecdsa-with-SHA256"} {
		if err != nil || !strings.Contains(out, want) {
			t.Errorf("openssl does not see %q in the authority: %s", want, out)
		}
	}
	outside.Ran(t, "openssl verify, x509 (strict)", "authority and certificate verify for the name and address, not for another; fingerprints equal; the download reads")
}

// The authority cannot vouch for a name outside of its constraints, whoever signs
// with its key: openssl refuses such a certificate.
func TestStolenAuthorityIsOfLittleUse(t *testing.T) {
	tool := outside.Tool(t, "openssl")
	folder, c := t.TempDir(), &clock{time.Now()}
	own(t, folder, c, "office.example")
	forged := filepath.Join(folder, "forged.crt")
	script := `set -e; cd "$1"
openssl req -new -newkey ec -pkeyopt ec_paramgen_curve:prime256v1 -nodes -keyout forged.key -subj "/CN=bank.example" -out forged.csr
printf 'subjectAltName=DNS:bank.example\nextendedKeyUsage=serverAuth\n' > ext
openssl x509 -req -in forged.csr -CA authority.crt -CAkey authority.key -CAcreateserial -days 30 -extfile ext -out forged.crt`
	if out, err := exec.Command("sh", "-c", script, "sh", folder).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	out, err := exec.Command(tool, "verify", "-CAfile", filepath.Join(folder, "authority.crt"), forged).CombinedOutput()
	if err == nil || !strings.Contains(string(out), "permitted subtree violation") {
		t.Errorf("openssl: %s", out)
	}
	b, err := os.ReadFile(forged)
	if err != nil {
		t.Fatal(err)
	}
	block, _ := pem.Decode(b)
	leaf, err := x509.ParseCertificate(block.Bytes)
	if err != nil {
		t.Fatal(err)
	}
	roots := x509.NewCertPool()
	root, _ := os.ReadFile(filepath.Join(folder, "authority.crt"))
	roots.AppendCertsFromPEM(root)
	if _, err := leaf.Verify(x509.VerifyOptions{Roots: roots, DNSName: "bank.example"}); err == nil {
		t.Error("crypto/x509 takes it")
	}
	outside.Ran(t, "openssl verify (RFC 5280, name constraints)", "a certificate for a bank signed with our authority's key is refused")
}

func BenchmarkHandshakeLookup(b *testing.B) {
	c := &clock{time.Now()}
	s, err := certs.Own(b.TempDir(), []string{"localhost"}, c.tell)
	if err != nil {
		b.Fatal(err)
	}
	get := s.TLS().GetCertificate
	for b.Loop() {
		if _, err := get(nil); err != nil {
			b.Fatal(err)
		}
	}
}
