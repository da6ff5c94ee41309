// Package softkey answers, for tests: what does a browser with a passkey say?
package softkey

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/binary"
	"encoding/json"
	"testing"
)

// Key is a passkey in software, with the browser round it, as W3C Web
// Authentication, level 3, sections 6.1 and 6.5 has them: ES256, attestation
// "none". Tests bend its fields to make it lie.
type Key struct {
	Origin string // of the page
	RPID   string // host name it is bound to
	Flags  byte
	Count  uint32
	Secret *ecdsa.PrivateKey
	ID     []byte
	Handle []byte // of the user

	t testing.TB
}

// Flags of the authenticator data (section 6.1).
const (
	UserPresent  = 0x01
	UserVerified = 0x04
	attested     = 0x40
)

// New makes one for https://office.example.
func New(t testing.TB) *Key {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	id := make([]byte, 16)
	rand.Read(id) // never fails
	return &Key{t: t, Origin: "https://office.example", RPID: "office.example", Flags: UserPresent | UserVerified, Secret: key, ID: id}
}

func b64(b []byte) string { return base64.RawURLEncoding.EncodeToString(b) }

// Create answers the options of a registration.
func (a *Key) Create(options []byte) []byte {
	var asked struct {
		PublicKey struct {
			Challenge string
			User      struct{ ID string }
		}
	}
	a.read(options, &asked)
	a.Handle, _ = base64.RawURLEncoding.DecodeString(asked.PublicKey.User.ID)
	data := a.data(a.Flags | attested)
	data = append(data, make([]byte, 16)...) // no model
	data = binary.BigEndian.AppendUint16(data, uint16(len(a.ID)))
	data = append(append(data, a.ID...), a.coseKey()...)
	object := []byte("\xa3\x63fmt\x64none\x67attStmt\xa0\x68authData\x59") // RFC 8949: a map of three
	object = append(binary.BigEndian.AppendUint16(object, uint16(len(data))), data...)
	return a.answer(map[string]string{
		"clientDataJSON":    b64(a.client("webauthn.create", asked.PublicKey.Challenge)),
		"attestationObject": b64(object),
	})
}

// Get answers the options of a sign-in.
func (a *Key) Get(options []byte) []byte {
	var asked struct{ PublicKey struct{ Challenge string } }
	a.read(options, &asked)
	a.Count++
	data, client := a.data(a.Flags), a.client("webauthn.get", asked.PublicKey.Challenge)
	sum := sha256.Sum256(client)
	signed := sha256.Sum256(append(data[:len(data):len(data)], sum[:]...))
	signature, err := ecdsa.SignASN1(rand.Reader, a.Secret, signed[:])
	if err != nil {
		a.t.Fatal(err)
	}
	return a.answer(map[string]string{
		"clientDataJSON":    b64(client),
		"authenticatorData": b64(data),
		"signature":         b64(signature),
		"userHandle":        b64(a.Handle),
	})
}

func (a *Key) read(options []byte, to any) {
	a.t.Helper()
	if err := json.Unmarshal(options, to); err != nil {
		a.t.Fatal(err)
	}
}

// data is the authenticator data up to the counter.
func (a *Key) data(flags byte) []byte {
	sum := sha256.Sum256([]byte(a.RPID))
	return binary.BigEndian.AppendUint32(append(sum[:], flags), a.Count)
}

// client is what the browser says of the page that asked.
func (a *Key) client(kind, challenge string) []byte {
	b, _ := json.Marshal(map[string]any{"type": kind, "challenge": challenge, "origin": a.Origin, "crossOrigin": false}) // texts always can
	return b
}

// coseKey is the public key as RFC 9053, section 7.1.1 has it: {1: 2, 3: -7, -1: 1,
// -2: x, -3: y}.
func (a *Key) coseKey() []byte {
	point, err := a.Secret.PublicKey.Bytes() // 4, x, y
	if err != nil {
		a.t.Fatal(err)
	}
	b := append([]byte("\xa5\x01\x02\x03\x26\x20\x01\x21\x58\x20"), point[1:33]...)
	return append(append(b, "\x22\x58\x20"...), point[33:]...)
}

func (a *Key) answer(response map[string]string) []byte {
	b, _ := json.Marshal(map[string]any{ // texts always can
		"id": b64(a.ID), "rawId": b64(a.ID), "type": "public-key", "response": response, "clientExtensionResults": map[string]any{},
	})
	return b
}
