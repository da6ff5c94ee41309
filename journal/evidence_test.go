package journal

import (
	"crypto/ed25519"
	"encoding/json"
	"slices"
	"strings"
	"testing"
)

// evidence proves the first n entries of a device under a head of all of them.
func evidence(t testing.TB, n int) Evidence {
	t.Helper()
	key := ed25519.NewKeyFromSeed(make([]byte, 32))
	var j Journal
	var tree Tree
	var lines, receipts [][]byte
	var last ID
	for i := range n {
		var err error
		if last, err = NewID(last, 1_780_000_000_000, [10]byte{9: byte(i)}); err != nil {
			t.Fatal(err)
		}
		e, err := j.Append(key, Draft{ID: last, Time: 1_780_000_000_000, Kind: "note", Body: []byte(`{}`)})
		if err != nil {
			t.Fatal(err)
		}
		r := Receipt{Entry: e.Hash(), N: int64(i), Time: e.Time}.Line()
		tree.Append(HashLine(r))
		lines, receipts = append(lines, e.Line), append(receipts, r)
	}
	root, err := tree.Root(int64(n))
	if err != nil {
		t.Fatal(err)
	}
	head, err := SignTreeHead(TreeHead{Root: root, Size: int64(n), Time: 1_780_000_000_000}, key)
	if err != nil {
		t.Fatal(err)
	}
	all := Evidence{Head: string(head)}
	for i := range lines {
		way, err := tree.Inclusion(int64(i), int64(n))
		if err != nil {
			t.Fatal(err)
		}
		all.Proofs = append(all.Proofs, Proof{string(lines[i]), string(receipts[i]), append([]Hash{}, way...)})
	}
	return all
}

func TestEvidence(t *testing.T) {
	whole := evidence(t, 5)
	data, err := json.Marshal(whole)
	if err != nil {
		t.Fatal(err)
	}
	read, err := ReadEvidence(data)
	if err != nil {
		t.Fatal(err)
	}
	if head, err := read.Check(); err != nil || head.Size != 5 {
		t.Errorf("%+v, %v", head, err)
	}
	for name, spoil := range map[string]func(*Evidence){
		"head: ":               func(e *Evidence) { e.Head = strings.Replace(e.Head, `"size":5`, `"size":6`, 1) },
		"proof 2 of 5: receip": func(e *Evidence) { e.Proofs[1].Entry = strings.Replace(e.Proofs[1].Entry, "note", "mote", 1) },
		"proof 3 of 5: receip": func(e *Evidence) { e.Proofs[2].Receipt = e.Proofs[1].Receipt },
		"proof 5 of 5: inclus": func(e *Evidence) { e.Proofs[4].Inclusion = e.Proofs[3].Inclusion },
	} {
		bad := Evidence{whole.Head, slices.Clone(whole.Proofs)}
		spoil(&bad)
		if _, err := bad.Check(); err == nil || !strings.HasPrefix(err.Error(), name) {
			t.Errorf("%s: %v", name, err)
		}
	}
	for _, text := range []string{``, `{}`, `{"head":"","proofs":[]}`, string(data) + `x`, `{"more":1,` + string(data[1:])} {
		if _, err := ReadEvidence([]byte(text)); err == nil {
			t.Errorf("%.60q is taken for evidence", text)
		}
	}
}

func FuzzReadEvidence(f *testing.F) {
	data, err := json.Marshal(evidence(f, 2))
	if err != nil {
		f.Fatal(err)
	}
	f.Add(data)
	f.Fuzz(func(t *testing.T, data []byte) {
		e, err := ReadEvidence(data)
		if err != nil {
			return
		}
		if _, err := e.Check(); err == nil && e.Head == "" {
			t.Errorf("%q holds without a head", data)
		}
	})
}
