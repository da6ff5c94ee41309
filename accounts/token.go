//go:build !js

package accounts

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"fmt"

	"sapwell/journal"
)

// tokenSize is in bytes: 256 bits, which nobody guesses.
const tokenSize = 32

var tokenBase64 = base64.RawURLEncoding.Strict()

// NewToken draws a token or secret, 43 characters that can stand in a URL, and
// the hash under which it is kept. A plain SHA-256 is enough: there is nothing
// to guess in 256 random bits.
func NewToken() (string, journal.Hash) {
	b := make([]byte, tokenSize)
	rand.Read(b) // never fails: crypto/rand ends the program instead
	return tokenBase64.EncodeToString(b), sha256.Sum256(b)
}

// TokenHash reads a token and gives the hash under which it is kept. Its error
// does not show what was read.
func TokenHash(token string) (journal.Hash, error) {
	if len(token) != tokenBase64.EncodedLen(tokenSize) {
		return journal.Hash{}, fmt.Errorf("token of %d characters, want %d", len(token), tokenBase64.EncodedLen(tokenSize))
	}
	b, err := tokenBase64.DecodeString(token)
	if err != nil || len(b) != tokenSize {
		return journal.Hash{}, fmt.Errorf("token: want base64url")
	}
	return sha256.Sum256(b), nil
}
