package dossier

import (
	"crypto/ed25519"
	"encoding/hex"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"sapwell/internal/history"
	"sapwell/internal/outside"
	"sapwell/journal"
)

// handed is a folder with one file and one proof, and the key that sealed it.
type handed struct {
	key   ed25519.PrivateKey
	raw   []byte
	files map[string][]byte
}

func hand(t testing.TB) handed {
	t.Helper()
	key := ed25519.NewKeyFromSeed(make([]byte, 32))
	h := history.New("dossier")
	if err := h.Tell("office: ann person applicator\noffice: park grounds\noffice: oak tree park\n"); err != nil {
		t.Fatal(err)
	}
	var log journal.Journal
	var entries []journal.Entry
	var receipts []journal.Receipt
	var tree journal.Tree
	for i, name := range h.Names() {
		e := h.Entry(name)
		if _, err := log.Add(e.Line); err != nil {
			t.Fatal(err)
		}
		r := journal.Receipt{Entry: e.Hash(), N: int64(i), Time: e.Time}
		tree.Append(journal.HashLine(r.Line()))
		entries, receipts = append(entries, e), append(receipts, r)
	}
	n := int64(len(entries))
	root, err := tree.Root(n)
	if err != nil {
		t.Fatal(err)
	}
	head, err := journal.SignTreeHead(journal.TreeHead{Root: root, Size: n, Time: 1_780_000_000_000}, key)
	if err != nil {
		t.Fatal(err)
	}
	evidence := journal.Evidence{Head: string(head)}
	for i := range entries {
		way, err := tree.Inclusion(int64(i), n)
		if err != nil {
			t.Fatal(err)
		}
		evidence.Proofs = append(evidence.Proofs, journal.Proof{Entry: string(entries[i].Line), Receipt: string(receipts[i].Line()), Inclusion: append([]journal.Hash{}, way...)})
	}
	proofs, err := json.Marshal(evidence)
	if err != nil {
		t.Fatal(err)
	}
	files := map[string][]byte{"proofs/oak.json": proofs, "records/año.pdf": []byte("a paper")}
	m := Manifest{Org: "x", From: "2026-01-01", To: "2026-12-31", Made: "2026-12-31T12:00:00Z", Head: string(head)}
	for name, data := range files {
		m.Files = append(m.Files, Of(name, data))
	}
	raw, err := Seal(m, key)
	if err != nil {
		t.Fatal(err)
	}
	return handed{key, raw, files}
}

// faults are what is wrong with the folder.
func (h handed) faults() []string {
	m, err := Open(h.raw)
	if err != nil {
		return []string{err.Error()}
	}
	var faults, there []string
	for name, data := range h.files {
		there = append(there, name)
		if err := m.CheckFile(Of(name, data), data); err != nil {
			faults = append(faults, err.Error())
		}
	}
	return append(faults, m.Gone(there)...)
}

func TestWhatIsChangedIsNamed(t *testing.T) {
	if faults := hand(t).faults(); len(faults) > 0 {
		t.Fatal(faults)
	}
	for name := range hand(t).files {
		h := hand(t)
		for i := range h.files[name] {
			old := h.files[name][i]
			h.files[name][i] ^= 1
			if faults := h.faults(); len(faults) != 1 || !strings.HasPrefix(faults[0], name+": ") {
				t.Fatalf("byte %d of %s: %q", i, name, faults)
			}
			h.files[name][i] = old
		}
		delete(h.files, name)
		if faults := h.faults(); len(faults) != 1 || faults[0] != name {
			t.Errorf("without %s: %q", name, faults)
		}
	}
	h := hand(t)
	h.files["records/more.pdf"] = []byte("x")
	if faults := h.faults(); len(faults) != 1 || !strings.Contains(faults[0], "not in the manifest") {
		t.Errorf("a file more: %q", faults)
	}
}

// A manifest of which a byte that counts is changed is refused.
func TestEveryByteOfTheManifest(t *testing.T) {
	h := hand(t)
	want, err := Open(h.raw)
	if err != nil {
		t.Fatal(err)
	}
	same, _ := json.Marshal(want)
	for i := range h.raw {
		for _, flip := range []byte{1, 0x20, 0x80} {
			changed := slices.Clone(h.raw)
			changed[i] ^= flip
			if m, err := Open(changed); err == nil {
				if got, _ := json.Marshal(m); string(got) != string(same) {
					t.Fatalf("byte %d: %q is taken for %q", i, changed[i], h.raw[i])
				}
			}
		}
	}
}

// Whoever seals the folder anew with a key of their own is found out by the head,
// and one who takes evidence from elsewhere by its head.
func TestAnotherHand(t *testing.T) {
	h := hand(t)
	m, err := Open(h.raw)
	if err != nil {
		t.Fatal(err)
	}
	other := ed25519.NewKeyFromSeed([]byte(strings.Repeat("x", 32)))
	if _, err := Seal(m, other); err == nil || !strings.Contains(err.Error(), "head") {
		t.Errorf("sealed with another key: %v", err)
	}
	var e journal.Evidence
	if err := json.Unmarshal(h.files["proofs/oak.json"], &e); err != nil {
		t.Fatal(err)
	}
	e.Proofs[0].Inclusion = nil
	data, _ := json.Marshal(e)
	m.Files[0] = Of("proofs/oak.json", data)
	raw, err := Seal(m, h.key)
	if err != nil {
		t.Fatal(err)
	}
	if again, err := Open(raw); err != nil || again.CheckFile(m.Files[0], data) == nil {
		t.Errorf("a proof without its way: %v", err)
	}
	for _, name := range []string{"../x", "/x", "a//b", "", ".", "..", Name} {
		bad := m
		bad.Files = []File{{Path: name}}
		if _, err := Seal(bad, h.key); err == nil {
			t.Errorf("path %q is taken", name)
		}
	}
}

// The signature is an Ed25519 signature over the canonical manifest, as a stranger
// with the page and openssl would check it.
func TestSignatureByOpenSSL(t *testing.T) {
	openssl := outside.Tool(t, "openssl")
	h := hand(t)
	m, err := Open(h.raw)
	if err != nil {
		t.Fatal(err)
	}
	text, err := m.signed()
	if err != nil {
		t.Fatal(err)
	}
	signature, _ := hex.DecodeString(m.Signature)
	spki := append([]byte{0x30, 0x2a, 0x30, 0x05, 0x06, 0x03, 0x2b, 0x65, 0x70, 0x03, 0x21, 0x00}, h.key.Public().(ed25519.PublicKey)...) // RFC 8410
	dir := t.TempDir()
	in := func(name string, data []byte) string {
		file := filepath.Join(dir, name)
		if err := os.WriteFile(file, data, 0o600); err != nil {
			t.Fatal(err)
		}
		return file
	}
	out, err := exec.Command(openssl, "pkeyutl", "-verify", "-pubin", "-keyform", "DER", "-inkey", in("key", spki),
		"-rawin", "-in", in("text", text), "-sigfile", in("signature", signature)).CombinedOutput()
	if err != nil || !strings.Contains(string(out), "Verified Successfully") {
		t.Errorf("%v: %s", err, out)
	}
	outside.Ran(t, "openssl", "signature of a dossier's manifest (RFC 8032)")
}

func FuzzOpen(f *testing.F) {
	f.Add(hand(f).raw)
	f.Fuzz(func(t *testing.T, raw []byte) {
		if _, err := Open(raw); err != nil && !strings.HasPrefix(err.Error(), Name) {
			t.Errorf("%q: %v", raw, err)
		}
	})
}
