package journal

import (
	"bytes"
	"crypto/ed25519"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/iotest"

	"pgregory.net/rapid"

	"sapwell/internal/outside"
)

// The secrets, public keys, messages and signatures of RFC 8032, section 7.1,
// tests 1 to 3.
var rfc8032 = [][4]string{
	{"9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60", "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a", "",
		"e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b"},
	{"4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb", "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c", "72",
		"92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00"},
	{"c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7", "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025", "af82",
		"6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a"},
}

// testKey is the nth of a row of keys; the first three are those of the RFC.
func testKey(n int) ed25519.PrivateKey {
	seed := make([]byte, ed25519.SeedSize)
	if n < len(rfc8032) {
		_, _ = hex.Decode(seed, []byte(rfc8032[n][0]))
	} else {
		seed[0], seed[1] = byte(n), byte(n>>8)
	}
	return ed25519.NewKeyFromSeed(seed)
}

func TestRFC8032(t *testing.T) {
	for i, v := range rfc8032 {
		key, message := testKey(i), unhex(t, v[2])
		if got := hex.EncodeToString(key.Public().(ed25519.PublicKey)); got != v[1] {
			t.Errorf("test %d: public key %s, want %s", i+1, got, v[1])
		}
		line, err := sign(key, string(message), "", nil)
		if want := `,"sig":"` + v[3] + `"}`; err != nil || string(line) != want {
			t.Errorf("test %d: %s, %v, want %s", i+1, line, err, want)
		}
	}
	outside.Ran(t, "RFC 8032, section 7.1", "keys and signatures of tests 1 to 3")
}

func stranger(t testing.TB) []byte {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("testdata", "stranger.jsonl"))
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// A journal that a program of another language wrote from the page alone
// (testdata/stranger.py) is sound, and the same facts written here give the
// same bytes.
func TestStranger(t *testing.T) {
	text := stranger(t)
	rep, err := Verify(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	if rep.Entries != 5 || rep.Receipts != 5 || len(rep.Tips) != 2 || len(rep.Forks) != 0 || rep.Head == nil || rep.Head.Size != 5 {
		t.Errorf("%+v", rep)
	}
	if hex.EncodeToString(rep.Head.Key) != rfc8032[2][1] {
		t.Errorf("head by %x", rep.Head.Key)
	}
	if again := rewrite(t, text); !bytes.Equal(again, text) {
		t.Errorf("written here:\n%s\nwritten there:\n%s", again, text)
	}
	outside.Ran(t, "Python 3 json, hashlib and cryptography 38 (testdata/stranger.py)", "a journal of 5 entries, 5 receipts and 2 heads, byte for byte")
}

// The example on the page is the beginning of the stranger's journal, and its
// hashes are right.
func TestExampleOnThePage(t *testing.T) {
	page, err := os.ReadFile(filepath.Join("..", "doc", "journal-format.md"))
	if err != nil {
		t.Fatal(err)
	}
	lines := bytes.SplitN(stranger(t), []byte("\n"), 3)[:2]
	for _, want := range []string{string(lines[0]), string(lines[1]), HashLine(lines[0]).String(), HashLine(lines[1]).String()} {
		if !strings.Contains(string(page), "\n    "+want+"\n") {
			t.Errorf("the page has no line %s", want)
		}
	}
}

// rewrite takes only facts from an export and writes it anew.
func rewrite(t *testing.T, text []byte) []byte {
	var j Journal
	var tree Tree
	var out bytes.Buffer
	signers := map[Hash]ed25519.PrivateKey{}
	for i := range rfc8032 {
		signers[fingerprint(testKey(i).Public().(ed25519.PublicKey))] = testKey(i)
	}
	for line := range bytes.Lines(text) {
		var said struct {
			Entry *struct {
				Body   json.RawMessage
				Device Hash
				ID     ID
				Kind   string
				Time   int64
			}
			Receipt *struct {
				Entry   Hash
				N, Time int64
			}
			Head *struct{ Time int64 }
		}
		if err := json.Unmarshal(line, &said); err != nil {
			t.Fatal(err)
		}
		var made []byte
		var err error
		switch {
		case said.Entry != nil:
			var e Entry
			e, err = j.Append(signers[said.Entry.Device], Draft{ID: said.Entry.ID, Time: said.Entry.Time, Kind: said.Entry.Kind, Body: said.Entry.Body})
			made = e.Line
		case said.Receipt != nil:
			made = Receipt{Entry: said.Receipt.Entry, N: said.Receipt.N, Time: said.Receipt.Time}.Line()
			tree.Append(HashLine(made))
		case said.Head != nil:
			root, _ := tree.Root(tree.Size())
			made, err = SignTreeHead(TreeHead{Root: root, Size: tree.Size(), Time: said.Head.Time}, testKey(2))
		}
		if err != nil {
			t.Fatal(err)
		}
		out.Write(append(made, '\n'))
	}
	return out.Bytes()
}

// Any single byte of any line, changed to any other, is found. The fault names
// that line; a receipt, which bears no signature of its own, may be found out
// only by the head below it.
func TestEveryFlipIsFound(t *testing.T) {
	text := stranger(t)
	check := func(t interface{ Fatalf(string, ...any) }, at int, to byte) {
		bad := bytes.Clone(text)
		bad[at] = to
		_, err := Verify(bytes.NewReader(bad))
		var f *Fault
		want := bytes.Count(text[:at], []byte("\n")) + 1
		receipt := bytes.HasPrefix(bytes.Split(text, []byte("\n"))[want-1], []byte(receiptOpen))
		if !errors.As(err, &f) || f.Line != want && !(receipt && f.Line > want) {
			t.Fatalf("byte %d from %q to %q: %v, want a fault in line %d", at, text[at], to, err, want)
		}
	}
	for at := range text { // one bit of every byte
		check(t, at, text[at]^1<<(at%8))
	}
	rapid.Check(t, func(t *rapid.T) {
		at := rapid.IntRange(0, len(text)-1).Draw(t, "at")
		to := rapid.Byte().Filter(func(b byte) bool { return b != text[at] }).Draw(t, "to")
		check(t, at, to)
	})
}

// A museum: a sound export, broken in one known way each.
func TestBrokenExports(t *testing.T) {
	all := strings.SplitAfter(string(stranger(t)), "\n")
	all = all[:len(all)-1]
	const e0, r0, e1, r1, e2, r2, h3, e3, r3 = 0, 1, 2, 3, 4, 5, 6, 7, 8
	pick := func(at ...int) string {
		var b strings.Builder
		for _, i := range at {
			b.WriteString(all[i])
		}
		return b.String()
	}
	whole := strings.Join(all, "")
	for name, c := range map[string]struct {
		text string
		line int
		want string
	}{
		"entry left out of a chain":   {pick(e0, e3), 2, "prev"},
		"two entries changed places":  {pick(e1, e0), 1, "prev"},
		"first entry left out":        {pick(e1), 1, "018bcfe5-6800-7001-8000-000000000001"},
		"an entry twice":              {pick(e0, e2, e0), 3, "above already"},
		"receipt before its entry":    {pick(e0, r0, r1), 3, "no entry"},
		"receipt left out":            {pick(e0, e1, r1), 3, "receipt 1, want 0"},
		"receipt of the same again":   {pick(e0, r0) + strings.Replace(all[r0], `"n":0`, `"n":1`, 1), 3, "has one already"},
		"receipt with another time":   {strings.Replace(pick(e0, r0, e1, r1, e2, r2, h3), "1700000001000", "1700000001001", 1), 7, "root"},
		"head too early":              {pick(e0, r0, h3), 3, "head of size 3 below 1 receipts"},
		"head too late":               {pick(e0, r0, e1, r1, e2, r2, e3, r3, h3), 9, "head of size 3 below 4 receipts"},
		"cut within a line":           {whole[:len(whole)-1], 12, "line feed"},
		"blank line":                  {pick(e0) + "\n" + pick(e1), 2, "at the beginning"},
		"CRLF":                        {strings.ReplaceAll(whole, "\n", "\r\n"), 1, "not in canonical form"},
		"byte order mark":             {"\ufeff" + whole, 1, "at the beginning"},
		"space within a line":         {strings.Replace(whole, `"body":{`, `"body": {`, 1), 1, "not in canonical form"},
		"members in another order":    {swapped(all[e2]), 1, "at the beginning"},
		"member too many":             {strings.Replace(all[e0], `"v":1}`, `"v":1,"w":0}`, 1), 1, `want ,"v":1},"sig":`},
		"later version":               {strings.Replace(all[e0], `"v":1}`, `"v":2}`, 1), 1, `want ,"v":1},"sig":`},
		"number 0":                    {strings.Replace(all[e0], `"seq":1`, `"seq":0`, 1), 1, "want a number from 1"},
		"first without its key":       {cut(all[e0], `,"key":"`, `","kind`, `,"kind`), 1, `want ,"prev":`},
		"second with a key":           {strings.Replace(all[e1], `,"kind"`, `,"key":"`+rfc8032[0][1]+`","kind"`, 1), 1, `want ,"seq":`},
		"a key further on":            {strings.Replace(all[e0], `"seq":1`, `"seq":2`, 1), 1, "only number 1 has one"},
		"second without prev":         {cut(all[e1], `,"prev":"`, `","seq`, `,"seq`), 1, `want ,"prev":`},
		"another's key":               {strings.Replace(all[e0], rfc8032[0][1], rfc8032[1][1], 1), 1, "not the SHA-256 of its key"},
		"hash in upper case":          {strings.Replace(all[e0], "d75a", "D75A", 1), 1, "lower-case hex"},
		"empty kind":                  {strings.Replace(all[e1], `"note"`, `""`, 1), 1, "kind of 0 bytes"},
		"kind of 65 bytes":            {strings.Replace(all[e1], `"note"`, `"`+strings.Repeat("k", 65)+`"`, 1), 1, "kind of 65 bytes"},
		"kind that is no text":        {strings.Replace(all[e1], `"note"`, `7`, 1), 1, "want a text"},
		"body that is no object":      {strings.Replace(all[e0], `"body":{}`, `"body":[]`, 1), 1, "want an object"},
		"time beyond 48 bits":         {strings.Replace(all[e0], `"time":1700000000000`, `"time":281474976710656`, 1), 1, "want a number from 0 to 281474976710655"},
		"time that is no number":      {strings.Replace(all[e0], `"time":1700000000000`, `"time":"x"`, 1), 1, "want a number"},
		"id of another version":       {strings.Replace(all[e0], "-7000-", "-4000-", 1), 1, "UUID version 7"},
		"device that is none":         {strings.Replace(all[e0], `"device":"21`, `"device":"`, 1), 1, "want 64 hex digits"},
		"signature of the other kind": {strings.Replace(all[e0], `"sig":"`, `"sig":"00`, 1), 1, "want 128 hex digits"},
		"long line":                   {`{"entry":{"body":{"` + strings.Repeat("x", maxLine) + "\"\n", 1, "more than 1048576 bytes"},
		"unknown line":                {`{"note":1}` + "\n", 1, "at the beginning"},
	} {
		_, err := Verify(strings.NewReader(c.text))
		var f *Fault
		if !errors.As(err, &f) || f.Line != c.line || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want line %d and %q", name, err, c.line, c.want)
		}
	}
}

// swapped puts the signature before the entry.
func swapped(line string) string {
	line = strings.TrimSuffix(line, "\n")
	at := len(line) - tailLen + 1
	return "{" + line[at:len(line)-1] + "," + line[1:at-1] + "}\n"
}

// cut takes out what stands from one text to before the end of another.
func cut(s, from, to, instead string) string {
	before, rest, _ := strings.Cut(s, from)
	_, after, _ := strings.Cut(rest, to)
	return before + instead + after
}

func TestLongestLine(t *testing.T) {
	var j Journal
	empty, err := j.Append(testKey(0), draft(1, `{"x":""}`))
	if err != nil {
		t.Fatal(err)
	}
	var k Journal
	fits := fmt.Sprintf(`{"x":"%s"}`, strings.Repeat("x", maxLine-len(empty.Line)))
	e, err := k.Append(testKey(0), draft(1, fits))
	if err != nil || len(e.Line) != maxLine {
		t.Fatalf("%d bytes, %v", len(e.Line), err)
	}
	if rep, err := Verify(bytes.NewReader(append(e.Line[:maxLine:maxLine], '\n'))); err != nil || rep.Entries != 1 {
		t.Error(err)
	}
	var l Journal
	if _, err := l.Append(testKey(0), draft(1, strings.Replace(fits, "x", "xy", 1))); err == nil {
		t.Error("a line too long was written")
	}
}

func TestVerifyNothingAndBrokenReader(t *testing.T) {
	if rep, err := Verify(strings.NewReader("")); err != nil || rep.Entries != 0 || rep.Head != nil {
		t.Errorf("%+v, %v", rep, err)
	}
	_, err := Verify(io.MultiReader(bytes.NewReader(stranger(t)), iotest.ErrReader(io.ErrClosedPipe)))
	var f *Fault
	if !errors.Is(err, io.ErrClosedPipe) || errors.As(err, &f) {
		t.Errorf("%v is not the reader's error", err)
	}
}

// What passes has no byte to spare: the same export comes from its own facts.
func FuzzVerify(f *testing.F) {
	f.Add(stranger(f))
	for line := range bytes.Lines(stranger(f)) {
		f.Add(line)
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		rep, err := Verify(bytes.NewReader(text))
		var bad *Fault
		if err != nil && !errors.As(err, &bad) {
			t.Fatalf("an error that is no fault: %v", err)
		}
		if err == nil && rep.Entries+rep.Receipts > int64(bytes.Count(text, []byte("\n"))) {
			t.Fatalf("more than there are lines: %+v", rep)
		}
	})
}

// A line that one reader takes is canonical, and no other reader takes it.
func FuzzLines(f *testing.F) {
	for line := range bytes.Lines(stranger(f)) {
		f.Add(bytes.TrimSuffix(line, []byte("\n")))
	}
	f.Fuzz(func(t *testing.T, line []byte) {
		taken := 0
		if e, err := ReadEntry(line); err == nil {
			taken++
			if !bytes.Equal(e.Line, line) || e.Hash() != HashLine(line) || (e.Seq == 1) != (e.Key != nil) {
				t.Fatalf("%q read as %+v", line, e)
			}
		}
		if r, err := ReadReceipt(line); err == nil {
			taken++
			if !bytes.Equal(r.Line(), line) {
				t.Fatalf("%q read as %+v", line, r)
			}
		}
		if _, err := ReadTreeHead(line); err == nil {
			taken++
		}
		if taken > 1 || taken == 1 && checkCanonical(line) != nil {
			t.Fatalf("%d readers took %q", taken, line)
		}
	})
}

func BenchmarkVerify100000(b *testing.B) {
	var j Journal
	var out bytes.Buffer
	for i := range 100_000 {
		e, err := j.Append(testKey(i%10), draft(i, `{"girth":2438400000,"note":"invented","units":16}`))
		if err != nil {
			b.Fatal(err)
		}
		out.Write(append(e.Line, '\n'))
	}
	b.SetBytes(int64(out.Len()))
	for b.Loop() {
		if _, err := Verify(bytes.NewReader(out.Bytes())); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkAppend(b *testing.B) {
	var j Journal
	for i := 0; b.Loop(); i++ {
		if _, err := j.Append(testKey(0), draft(i, `{"girth":2438400000,"note":"invented","units":16}`)); err != nil {
			b.Fatal(err)
		}
	}
}
