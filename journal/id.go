package journal

import (
	"bytes"
	"encoding/binary"
	"encoding/hex"
	"fmt"
)

// ID is a UUID version 7 (RFC 9562, section 5.7): the name of an entry.
type ID [16]byte

// maxTime is what 48 bits of milliseconds hold.
const maxTime = 1<<48 - 1

// NewID makes the id that follows the writer's last one (the zero ID for the
// first), from its clock in milliseconds since 1970 and ten random bytes. It is
// always greater than the last: in the same millisecond, or when the clock went
// back, it counts on from the last by a random step (RFC 9562, section 6.2,
// method 2).
func NewID(last ID, ms int64, random [10]byte) (ID, error) {
	if ms < 0 || ms > maxTime {
		return ID{}, fmt.Errorf("time %d ms: want 0 to %d", ms, int64(maxTime))
	}
	if last == (ID{}) || ms > last.ms() {
		return makeID(ms, binary.BigEndian.Uint16(random[:]), binary.BigEndian.Uint64(random[2:])), nil
	}
	a, b := last.parts()
	step := uint64(binary.BigEndian.Uint32(random[6:])) + 1
	if b += step; b >= 1<<62 {
		a, b = a+1, b-1<<62
	}
	if a < 1<<12 {
		return makeID(last.ms(), a, b), nil
	}
	return NewID(last, last.ms()+1, random)
}

// makeID sets version and variant over 12 and 62 bits.
func makeID(ms int64, a uint16, b uint64) ID {
	var id ID
	binary.BigEndian.PutUint64(id[:], uint64(ms)<<16|7<<12|uint64(a)&0xfff)
	binary.BigEndian.PutUint64(id[8:], 1<<63|b&(1<<62-1))
	return id
}

func (id ID) ms() int64 { return int64(binary.BigEndian.Uint64(id[:]) >> 16) }

// parts are the 12 and the 62 bits beside time, version and variant.
func (id ID) parts() (uint16, uint64) {
	return binary.BigEndian.Uint16(id[6:]) & 0xfff, binary.BigEndian.Uint64(id[8:]) & (1<<62 - 1)
}

// valid tells whether version and variant are those of version 7.
func (id ID) valid() bool { return id[6]>>4 == 7 && id[8]>>6 == 2 }

func (id ID) compare(o ID) int { return bytes.Compare(id[:], o[:]) }

func (id ID) String() string {
	h := hex.EncodeToString(id[:])
	return h[:8] + "-" + h[8:12] + "-" + h[12:16] + "-" + h[16:20] + "-" + h[20:]
}

// MarshalText writes 36 characters in lower case.
func (id ID) MarshalText() ([]byte, error) { return []byte(id.String()), nil }

// UnmarshalText reads a UUID version 7 of 36 characters in lower case.
func (id *ID) UnmarshalText(text []byte) error {
	var read ID
	ok, at := len(text) == 36, 0
	for i, part := range [...][]byte{read[:4], read[4:6], read[6:8], read[8:10], read[10:]} {
		if !ok {
			break
		}
		end := at + hex.EncodedLen(len(part))
		ok = fromHex(part, text[at:end]) == nil && (i == 4 || text[end] == '-')
		at = end + 1
	}
	if !ok || !read.valid() {
		return fmt.Errorf("%q, want a UUID version 7 in lower case", text)
	}
	*id = read
	return nil
}
