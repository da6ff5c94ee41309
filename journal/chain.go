package journal

import (
	"crypto"
	"crypto/ed25519"
	"errors"
	"fmt"
)

// What a store needs that keeps the entries elsewhere than in a Journal: the
// same checks and the same writing, one entry at a time.

// DeviceOf names the device whose key the signer holds.
func DeviceOf(signer crypto.Signer) (Hash, error) {
	key, err := publicKey(signer)
	return fingerprint(key), err
}

func publicKey(signer crypto.Signer) (ed25519.PublicKey, error) {
	key, ok := signer.Public().(ed25519.PublicKey)
	if !ok {
		return nil, fmt.Errorf("signer: key of type %T, want Ed25519", signer.Public())
	}
	return key, nil
}

// Next writes the entry that follows last in the chain of the signer's device;
// last is the zero Known where it has written nothing. A signer may be faulty:
// before the entry is kept, SignedBy has to be asked.
func Next(signer crypto.Signer, last Known, d Draft) (Entry, error) {
	key, err := publicKey(signer)
	if err != nil {
		return Entry{}, err
	}
	e := Entry{ID: d.ID, Device: fingerprint(key), Seq: last.Seq + 1, Prev: last.Hash, Time: d.Time, Kind: d.Kind, Body: d.Body}
	if last.Seq == 0 {
		e.Key = key
	}
	line, err := seal(e, signer)
	if err != nil {
		return Entry{}, err
	}
	return ReadEntry(line)
}

// Follows checks an entry's place in its chain. before is the entry that it
// names as prev, ok whether that is there; number 1 follows none.
func (e Entry) Follows(before Known, ok bool) error {
	switch {
	case e.Seq == 1:
		return nil
	case !ok:
		return errNoPrev
	case before.Device != e.Device || before.Seq != e.Seq-1:
		return fmt.Errorf("prev is number %d of device %s, want number %d of %s", before.Seq, before.Device, e.Seq-1, e.Device)
	}
	return nil
}

// SignedBy checks the signature by the public key of the first entry of the
// chain.
func (e Entry) SignedBy(key []byte) error {
	if len(key) != ed25519.PublicKeySize || !ed25519.Verify(key, e.message(), e.sig[:]) {
		return errSig
	}
	return nil
}

var (
	errNoPrev = errors.New("the entry before it in its chain is missing (prev)")
	errSig    = errors.New("the signature does not fit the entry and its device's key (sig)")
)
