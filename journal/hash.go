package journal

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
)

// Hash is a SHA-256. As text it is 64 lower-case hex digits.
type Hash [sha256.Size]byte

// HashLine is the hash of a stored line without its line feed: the leaf hash of
// RFC 6962, section 2.1.
func HashLine(line []byte) Hash {
	h := sha256.New()
	h.Write([]byte{0})
	h.Write(line)
	return Hash(h.Sum(nil))
}

// hashPair is the hash of a node of the tree (RFC 6962, section 2.1).
func hashPair(left, right Hash) Hash {
	var b [1 + 2*sha256.Size]byte
	b[0] = 1
	copy(b[1:], left[:])
	copy(b[1+sha256.Size:], right[:])
	return sha256.Sum256(b[:])
}

// fingerprint names a device by its public key.
func fingerprint(key []byte) Hash { return sha256.Sum256(key) }

func (h Hash) String() string { return hex.EncodeToString(h[:]) }

func (h Hash) compare(o Hash) int { return bytes.Compare(h[:], o[:]) }

// MarshalText writes 64 hex digits.
func (h Hash) MarshalText() ([]byte, error) { return []byte(h.String()), nil }

// UnmarshalText reads 64 lower-case hex digits and nothing else.
func (h *Hash) UnmarshalText(text []byte) error { return fromHex(h[:], text) }

// fromHex fills to from exactly as many lower-case digits.
func fromHex(to, text []byte) error {
	if len(text) != hex.EncodedLen(len(to)) {
		return fmt.Errorf("%d characters, want %d hex digits", len(text), hex.EncodedLen(len(to)))
	}
	for i := range to {
		hi, lo := digit(text[2*i]), digit(text[2*i+1])
		if hi > 15 || lo > 15 {
			return fmt.Errorf("%q, want lower-case hex digits", text)
		}
		to[i] = hi<<4 | lo
	}
	return nil
}

// digit is the value of a lower-case hex digit, above 15 where c is none.
func digit(c byte) byte {
	switch {
	case '0' <= c && c <= '9':
		return c - '0'
	case 'a' <= c && c <= 'f':
		return c - 'a' + 10
	}
	return 255
}
