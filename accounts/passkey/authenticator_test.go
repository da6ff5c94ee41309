package passkey_test

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

// authenticator is a passkey in software, with the browser round it, as W3C Web
// Authentication, level 3, sections 6.1 and 6.5 has them: ES256, attestation
// "none". Tests bend its fields to make it lie.
type authenticator struct {
	t      testing.TB
	origin string
	rpID   string
	flags  byte
	count  uint32

	key    *ecdsa.PrivateKey
	id     []byte
	handle []byte // of the user
}

// Flags of the authenticator data (section 6.1).
const (
	userPresent  = 0x01
	userVerified = 0x04
	attested     = 0x40
)

func newAuthenticator(t testing.TB) *authenticator {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	id := make([]byte, 16)
	rand.Read(id)
	return &authenticator{t: t, origin: "https://office.example", rpID: "office.example", flags: userPresent | userVerified, key: key, id: id}
}

func b64(b []byte) string { return base64.RawURLEncoding.EncodeToString(b) }

// create answers the options of a registration.
func (a *authenticator) create(options []byte) []byte {
	var asked struct {
		PublicKey struct {
			Challenge string
			User      struct{ ID string }
		}
	}
	a.read(options, &asked)
	a.handle, _ = base64.RawURLEncoding.DecodeString(asked.PublicKey.User.ID)
	data := a.data(a.flags | attested)
	data = append(data, make([]byte, 16)...) // no model
	data = binary.BigEndian.AppendUint16(data, uint16(len(a.id)))
	data = append(append(data, a.id...), a.coseKey()...)
	object := []byte("\xa3\x63fmt\x64none\x67attStmt\xa0\x68authData\x59") // RFC 8949: a map of three
	object = append(binary.BigEndian.AppendUint16(object, uint16(len(data))), data...)
	return a.answer(map[string]string{
		"clientDataJSON":    b64(a.client("webauthn.create", asked.PublicKey.Challenge)),
		"attestationObject": b64(object),
	})
}

// get answers the options of a sign-in.
func (a *authenticator) get(options []byte) []byte {
	var asked struct{ PublicKey struct{ Challenge string } }
	a.read(options, &asked)
	a.count++
	data, client := a.data(a.flags), a.client("webauthn.get", asked.PublicKey.Challenge)
	sum := sha256.Sum256(client)
	signed := sha256.Sum256(append(data[:len(data):len(data)], sum[:]...))
	signature, err := ecdsa.SignASN1(rand.Reader, a.key, signed[:])
	if err != nil {
		a.t.Fatal(err)
	}
	return a.answer(map[string]string{
		"clientDataJSON":    b64(client),
		"authenticatorData": b64(data),
		"signature":         b64(signature),
		"userHandle":        b64(a.handle),
	})
}

func (a *authenticator) read(options []byte, to any) {
	a.t.Helper()
	if err := json.Unmarshal(options, to); err != nil {
		a.t.Fatal(err)
	}
}

// data is the authenticator data up to the counter.
func (a *authenticator) data(flags byte) []byte {
	sum := sha256.Sum256([]byte(a.rpID))
	return binary.BigEndian.AppendUint32(append(sum[:], flags), a.count)
}

// client is what the browser says of the page that asked.
func (a *authenticator) client(kind, challenge string) []byte {
	b, _ := json.Marshal(map[string]any{"type": kind, "challenge": challenge, "origin": a.origin, "crossOrigin": false}) // texts always can
	return b
}

// coseKey is the public key as RFC 9053, section 7.1.1 has it: {1: 2, 3: -7, -1: 1,
// -2: x, -3: y}.
func (a *authenticator) coseKey() []byte {
	point, err := a.key.PublicKey.Bytes() // 4, x, y
	if err != nil {
		a.t.Fatal(err)
	}
	b := append([]byte("\xa5\x01\x02\x03\x26\x20\x01\x21\x58\x20"), point[1:33]...)
	return append(append(b, "\x22\x58\x20"...), point[33:]...)
}

func (a *authenticator) answer(response map[string]string) []byte {
	b, _ := json.Marshal(map[string]any{ // texts always can
		"id": b64(a.id), "rawId": b64(a.id), "type": "public-key", "response": response, "clientExtensionResults": map[string]any{},
	})
	return b
}
