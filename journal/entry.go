package journal

import (
	"bytes"
	"cmp"
	"crypto"
	"crypto/ed25519"
	"errors"
	"fmt"
	"strconv"
)

// What is signed begins with these, so that no signature can be taken for one
// over something else.
const (
	entryDomain = "sapwell journal 1 entry\n"
	headDomain  = "sapwell journal 1 head\n"
	entryOpen   = `{"entry":`
	headOpen    = `{"head":`
)

// Entry is one line of a journal, read. Line is what counts; the other fields
// are what it says. Callers must not change the slices.
type Entry struct {
	ID     ID
	Device Hash  // SHA-256 of the device's public key
	Seq    int64 // from 1
	Prev   Hash  // zero where Seq is 1
	Time   int64 // milliseconds since 1970 by the device's clock
	Kind   string
	Body   []byte // a JSON object in canonical form
	Key    []byte // the device's public key where Seq is 1, otherwise nil
	Line   []byte // the stored bytes, without line feed

	sig  [ed25519.SignatureSize]byte
	hash Hash
}

// Hash is the hash of the entry's line.
func (e Entry) Hash() Hash { return e.hash }

// message is what the device signed.
func (e Entry) message() []byte { return message(entryDomain, entryOpen, e.Line) }

// message takes the signed part out of a stored line, byte for byte.
func message(domain, opening string, line []byte) []byte {
	return append([]byte(domain), line[len(opening):len(line)-tailLen]...)
}

// ReadEntry reads a line and checks its form. Whether the signature is right
// only its chain can tell: Journal.Add checks that.
func ReadEntry(line []byte) (Entry, error) {
	if err := checkCanonical(line); err != nil {
		return Entry{}, err
	}
	return ReadKept(line, HashLine(line))
}

// ReadKept reads a line that ReadEntry has passed before, and of which the hash is
// known. It takes a third of the time.
func ReadKept(line []byte, hash Hash) (Entry, error) {
	line = bytes.Clone(line)
	e := Entry{Line: line, hash: hash}
	t := taker{line: line, rest: line}
	t.literal(entryOpen + `{"body":`)
	e.Body = t.object()
	t.literal(`,"device":`)
	t.unmarshal(&e.Device)
	t.literal(`,"id":`)
	t.unmarshal(&e.ID)
	first := bytes.HasPrefix(t.rest, []byte(`,"key":`))
	if first {
		e.Key = make([]byte, ed25519.PublicKeySize)
		t.literal(`,"key":`)
		t.hex(e.Key)
	}
	t.literal(`,"kind":`)
	e.Kind = string(t.text())
	if !first {
		t.literal(`,"prev":`)
		t.unmarshal(&e.Prev)
	}
	t.literal(`,"seq":`)
	e.Seq = t.whole(1, maxWhole)
	t.literal(`,"time":`)
	e.Time = t.whole(0, maxTime)
	t.literal(`,"v":1},"sig":`)
	t.hex(e.sig[:])
	t.literal("}")
	if err := cmp.Or(t.end(), e.check()); err != nil {
		return Entry{}, err
	}
	return e, nil
}

// check holds the fields against one another.
func (e Entry) check() error {
	switch {
	case len(e.Kind) == 0 || len(e.Kind) > 64:
		return fmt.Errorf("kind of %d bytes, want 1 to 64", len(e.Kind))
	case e.Key == nil && e.Seq == 1:
		return errors.New("number 1 of a chain without its key")
	case e.Key != nil && e.Seq != 1:
		return fmt.Errorf("number %d of a chain with a key; only number 1 has one", e.Seq)
	case e.Key != nil && fingerprint(e.Key) != e.Device:
		return fmt.Errorf("device %s is not the SHA-256 of its key", e.Device)
	}
	return nil
}

// seal writes the entry's line and has it signed.
func seal(e Entry, signer crypto.Signer) ([]byte, error) {
	body, err := Canonical(e.Body)
	if err != nil {
		return nil, fmt.Errorf("body: %w", err)
	}
	b := fmt.Appendf(nil, `%s{"body":%s,"device":"%s","id":"%s"`, entryOpen, body, e.Device, e.ID)
	if e.Key != nil {
		b = fmt.Appendf(b, `,"key":"%x"`, e.Key)
	}
	b = appendText(append(b, `,"kind":`...), []byte(e.Kind))
	if e.Key == nil {
		b = fmt.Appendf(b, `,"prev":"%s"`, e.Prev)
	}
	b = fmt.Appendf(b, `,"seq":%d,"time":%d,"v":1}`, e.Seq, e.Time)
	return sign(signer, entryDomain, entryOpen, b)
}

// sign closes a line, of which the part to be signed follows the opening.
func sign(signer crypto.Signer, domain, opening string, b []byte) ([]byte, error) {
	sig, err := signer.Sign(nil, append([]byte(domain), b[len(opening):]...), crypto.Hash(0))
	if err != nil {
		return nil, fmt.Errorf("sign: %w", err)
	}
	return fmt.Appendf(b, `,"sig":"%x"}`, sig), nil
}

// taker takes a line of known form apart from left to right. The line is known
// to be canonical, so members come in their order and nothing else fits. The
// first error stays.
type taker struct {
	line, rest []byte
	err        error
}

func (t *taker) fail(err error) {
	if t.err == nil {
		t.err = fmt.Errorf("byte %d: %w", len(t.line)-len(t.rest)+1, err)
	}
}

func (t *taker) literal(want string) {
	rest, ok := bytes.CutPrefix(t.rest, []byte(want))
	if !ok {
		t.fail(fmt.Errorf("want %s here", want))
		return
	}
	t.rest = rest
}

// object takes a whole object.
func (t *taker) object() []byte {
	if t.err != nil || len(t.rest) == 0 || t.rest[0] != '{' {
		t.fail(errors.New("want an object"))
		return nil
	}
	depth, quoted := 0, false
	for i := 0; i < len(t.rest); i++ {
		switch c := t.rest[i]; {
		case quoted && c == '\\':
			i++
		case c == '"':
			quoted = !quoted
		case !quoted && c == '{':
			depth++
		case !quoted && c == '}':
			depth--
		}
		if depth == 0 {
			object := t.rest[: i+1 : i+1]
			t.rest = t.rest[i+1:]
			return object
		}
	}
	return nil // not reached: the line is sound JSON
}

func (t *taker) text() []byte {
	if t.err != nil || len(t.rest) == 0 || t.rest[0] != '"' {
		t.fail(errors.New("want a text"))
		return nil
	}
	r := reader{src: t.rest}
	text, err := r.text()
	if err != nil {
		t.fail(err)
	}
	t.rest = t.rest[r.pos:]
	return text
}

func (t *taker) unmarshal(to interface{ UnmarshalText([]byte) error }) {
	if text := t.text(); t.err == nil {
		if err := to.UnmarshalText(text); err != nil {
			t.fail(err)
		}
	}
}

func (t *taker) hex(to []byte) {
	if text := t.text(); t.err == nil {
		if err := fromHex(to, text); err != nil {
			t.fail(err)
		}
	}
}

func (t *taker) whole(least, most int64) int64 {
	n := bytes.IndexAny(t.rest, ",}")
	if t.err != nil || n < 0 {
		t.fail(errors.New("want a number"))
		return 0
	}
	v, err := strconv.ParseInt(string(t.rest[:n]), 10, 64)
	if err != nil || v < least || v > most {
		t.fail(fmt.Errorf("%s, want a number from %d to %d", t.rest[:n], least, most))
	}
	t.rest = t.rest[n:]
	return v
}
