package journal

import (
	"crypto"
	"crypto/ed25519"
	"errors"
	"fmt"
)

const receiptOpen = `{"receipt":`

// Receipt says when an entry came in and as which arrival.
type Receipt struct {
	Entry Hash
	N     int64 // from 0: the leaf of the receipt tree
	Time  int64 // milliseconds since 1970 by the office's clock
}

// Line is the receipt as stored. Its hash is a leaf of the receipt tree.
func (r Receipt) Line() []byte {
	return fmt.Appendf(nil, `%s{"entry":"%s","n":%d,"time":%d,"v":1}}`, receiptOpen, r.Entry, r.N, r.Time)
}

// ReadReceipt reads a stored receipt.
func ReadReceipt(line []byte) (Receipt, error) {
	var r Receipt
	if err := checkCanonical(line); err != nil {
		return r, err
	}
	t := taker{line: line, rest: line}
	t.literal(receiptOpen + `{"entry":`)
	t.unmarshal(&r.Entry)
	t.literal(`,"n":`)
	r.N = t.whole(0, maxWhole)
	t.literal(`,"time":`)
	r.Time = t.whole(0, maxTime)
	t.literal(`,"v":1}}`)
	return r, t.end()
}

// end refuses what stands after the last member.
func (t *taker) end() error {
	if len(t.rest) > 0 {
		t.fail(errors.New("want the end here"))
	}
	return t.err
}

// TreeHead is an office's signed word on its first Size receipts.
type TreeHead struct {
	Root Hash
	Size int64
	Time int64  // milliseconds since 1970 by the office's clock
	Key  []byte // the office's public key; whose it is the reader must know
}

// SignTreeHead writes the line of a head. Its Key is taken from the signer.
func SignTreeHead(h TreeHead, signer crypto.Signer) ([]byte, error) {
	key, err := publicKey(signer)
	if err != nil {
		return nil, err
	}
	b := fmt.Appendf(nil, `%s{"key":"%x","root":"%s","size":%d,"time":%d,"v":1}`, headOpen, key, h.Root, h.Size, h.Time)
	line, err := sign(signer, headDomain, headOpen, b)
	if err != nil {
		return nil, err
	}
	_, err = ReadTreeHead(line)
	return line, err
}

// ReadTreeHead reads the line of a head and checks its signature by the key it
// names.
func ReadTreeHead(line []byte) (TreeHead, error) {
	if err := checkCanonical(line); err != nil {
		return TreeHead{}, err
	}
	h := TreeHead{Key: make([]byte, ed25519.PublicKeySize)}
	var sig [ed25519.SignatureSize]byte
	t := taker{line: line, rest: line}
	t.literal(headOpen + `{"key":`)
	t.hex(h.Key)
	t.literal(`,"root":`)
	t.unmarshal(&h.Root)
	t.literal(`,"size":`)
	h.Size = t.whole(0, maxWhole)
	t.literal(`,"time":`)
	h.Time = t.whole(0, maxTime)
	t.literal(`,"v":1},"sig":`)
	t.hex(sig[:])
	t.literal("}")
	if err := t.end(); err != nil {
		return TreeHead{}, err
	}
	if !ed25519.Verify(h.Key, message(headDomain, headOpen, line), sig[:]) {
		return TreeHead{}, errors.New("the signature does not fit the head and its key (sig)")
	}
	return h, nil
}
