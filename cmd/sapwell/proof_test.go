package main

import (
	"bytes"
	"encoding/json"
	"io"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// A byte of a proof that is changed is noticed, wherever it stands, unless what is
// read is the same as before.
func TestEveryByteOfAProof(t *testing.T) {
	dir := t.TempDir()
	data := filepath.Join(dir, "day/data")
	if s := call(t, nil, "demo", "--no-serve", "--out", filepath.Join(dir, "day")); s.code != exitDone {
		t.Fatal(s.errors)
	}
	export := call(t, nil, "journal", "export", "--data", data)
	first, _, _ := strings.Cut(export.out, "\n")
	var line struct{ Entry struct{ ID string } }
	if err := json.Unmarshal([]byte(first), &line); err != nil {
		t.Fatal(err)
	}
	proof := call(t, nil, "journal", "proof", line.Entry.ID, "--data", data)
	if proof.code != exitDone {
		t.Fatal(proof.errors)
	}
	w := world{stdout: io.Discard, now: time.Now, say: english(t)}
	right, err := readProof([]byte(proof.out))
	if err != nil || right.verify(w) != nil {
		t.Fatalf("%v, %v", err, right.verify(w))
	}
	want, _ := json.Marshal(right)
	refused := 0
	for i := range len(proof.out) {
		for _, flip := range []byte{1, 0x20, 0x80} {
			changed := []byte(proof.out)
			changed[i] ^= flip
			p, err := readProof(changed)
			if err == nil {
				err = p.verify(w)
			}
			if err != nil {
				refused++
			} else if got, _ := json.Marshal(p); !bytes.Equal(got, want) {
				t.Fatalf("byte %d: %q is taken for %q", i, changed[i], proof.out[i])
			}
		}
	}
	if refused < 2*len(proof.out) {
		t.Errorf("of %d changes only %d were refused", 3*len(proof.out), refused)
	}
}
