//go:build !js

package accounts

import (
	"cmp"
	"encoding/base64"
	"fmt"
	"strconv"
	"strings"

	"golang.org/x/crypto/argon2"
)

// cost is what a guess costs.
type cost struct {
	memory uint32 // KiB
	passes uint32
	lanes  uint8
}

// today is what OWASP's Password Storage Cheat Sheet gives for argon2id: 19 MiB,
// two passes, one lane.
var today = cost{memory: 19 << 10, passes: 2, lanes: 1}

// Costs beyond these are not read: a damaged store shall not make us take all
// the memory there is.
const (
	maxMemory = 256 << 10
	maxPasses = 16
	maxLanes  = 16
)

// phc is a kept password in the form of the Password Hashing Competition,
// $argon2id$v=19$m=19456,t=2,p=1$salt$hash, in which other programs keep them too.
type phc struct {
	cost
	salt, sum []byte
}

var phcBase64 = base64.RawStdEncoding.Strict()

func (p phc) String() string {
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version, p.memory, p.passes, p.lanes,
		phcBase64.EncodeToString(p.salt), phcBase64.EncodeToString(p.sum))
}

// parsePHC reads it. Its errors do not show what was read.
func parsePHC(kept string) (phc, error) {
	parts := strings.Split(kept, "$")
	if len(parts) != 6 || parts[0] != "" || parts[1] != "argon2id" || parts[2] != "v=19" {
		return phc{}, fmt.Errorf("kept password of %d bytes: want $argon2id$v=19$m=,t=,p=$salt$hash", len(kept))
	}
	var p phc
	costs := strings.Split(parts[3], ",")
	if len(costs) != 3 {
		return phc{}, fmt.Errorf("kept password: %d costs, want m, t and p", len(costs))
	}
	memory, err := phcNumber(costs[0], "m=", maxMemory)
	passes, err2 := phcNumber(costs[1], "t=", maxPasses)
	lanes, err3 := phcNumber(costs[2], "p=", maxLanes)
	if err := cmp.Or(err, err2, err3); err != nil {
		return phc{}, err
	}
	if memory < 8*lanes {
		return phc{}, fmt.Errorf("kept password: m=%d, want at least 8 for each of %d lanes", memory, lanes)
	}
	p.cost = cost{memory: memory, passes: passes, lanes: uint8(lanes)}
	if p.salt, err = phcBytes(parts[4], "salt", 8, 64); err != nil {
		return phc{}, err
	}
	p.sum, err = phcBytes(parts[5], "hash", 16, 64)
	return p, err
}

func phcNumber(text, name string, most uint64) (uint32, error) {
	digits, ok := strings.CutPrefix(text, name)
	n, err := strconv.ParseUint(digits, 10, 32)
	if !ok || err != nil || n < 1 || n > most || digits[0] == '0' || digits[0] == '+' {
		return 0, fmt.Errorf("kept password: want %s1 to %d", name, most)
	}
	return uint32(n), nil
}

func phcBytes(text, name string, least, most int) ([]byte, error) {
	if len(text) > base64.RawStdEncoding.EncodedLen(most) {
		return nil, fmt.Errorf("kept password: %s of %d characters, want at most %d bytes", name, len(text), most)
	}
	b, err := phcBase64.DecodeString(text)
	if err != nil || len(b) < least || phcBase64.EncodeToString(b) != text { // line feeds are skipped when decoding
		return nil, fmt.Errorf("kept password: %s: want base64 of %d to %d bytes", name, least, most)
	}
	return b, nil
}
