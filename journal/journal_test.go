package journal

import (
	"crypto"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"encoding/json"
	"errors"
	"io"
	"slices"
	"strings"
	"testing"
)

// draft is the nth thing written.
func draft(n int, body string) Draft {
	id := makeID(1700000000000+int64(n), 0, uint64(n))
	return Draft{ID: id, Time: 1700000000000 + int64(n), Kind: "note", Body: []byte(body)}
}

func TestAppendAndReadBack(t *testing.T) {
	var j Journal
	first, err := j.Append(testKey(0), draft(1, `{"b":1,"a":"\u00e9"}`))
	if err != nil {
		t.Fatal(err)
	}
	second, err := j.Append(testKey(0), draft(2, `{}`))
	if err != nil {
		t.Fatal(err)
	}
	if string(first.Body) != `{"a":"é","b":1}` || first.Kind != "note" || first.Time != 1700000000001 || first.Key == nil {
		t.Errorf("%+v", first)
	}
	if second.Seq != 2 || second.Prev != first.Hash() || second.Key != nil || second.Device != first.Device {
		t.Errorf("%+v", second)
	}
	if got, ok := j.Entry(second.Hash()); !ok || !slices.Equal(got.Line, second.Line) {
		t.Error("the second is not there")
	}
	if again, err := j.Add(first.Line); err != nil || again.Hash() != first.Hash() || len(j.Entries()) != 2 {
		t.Errorf("taken twice: %v", err)
	}
}

// What was read does not change when the caller's buffer does.
func TestEntryOwnsItsBytes(t *testing.T) {
	var j Journal
	e, _ := j.Append(testKey(0), draft(1, `{"a":1}`))
	buffer := slices.Clone(e.Line)
	read, err := ReadEntry(buffer)
	if err != nil {
		t.Fatal(err)
	}
	clear(buffer)
	if !slices.Equal(read.Line, e.Line) || string(read.Body) != `{"a":1}` {
		t.Error("the entry changed with the buffer")
	}
}

// faulty signs wrongly or not at all.
type faulty struct {
	crypto.Signer
	sig []byte
	err error
}

func (f faulty) Sign(io.Reader, []byte, crypto.SignerOpts) ([]byte, error) { return f.sig, f.err }

func TestAppendRefuses(t *testing.T) {
	p256, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	broken := errors.New("no key today")
	sound := draft(1, `{}`)
	with := func(change func(*Draft)) Draft {
		d := sound
		change(&d)
		return d
	}
	for name, c := range map[string]struct {
		signer crypto.Signer
		draft  Draft
		want   string
	}{
		"other key":        {p256, sound, "want Ed25519"},
		"wrong signature":  {faulty{testKey(0), make([]byte, 64), nil}, sound, "signature does not fit"},
		"short signature":  {faulty{testKey(0), make([]byte, 63), nil}, sound, "want 128 hex digits"},
		"no signature":     {faulty{testKey(0), nil, broken}, sound, "no key today"},
		"float":            {testKey(0), with(func(d *Draft) { d.Body = []byte(`{"a":1.5}`) }), "body: JSON, byte 7: want an integer"},
		"array":            {testKey(0), with(func(d *Draft) { d.Body = []byte(`[]`) }), "want an object"},
		"nothing":          {testKey(0), with(func(d *Draft) { d.Body = nil }), "want a value"},
		"no kind":          {testKey(0), with(func(d *Draft) { d.Kind = "" }), "kind of 0 bytes"},
		"kind not UTF-8":   {testKey(0), with(func(d *Draft) { d.Kind = "\xff" }), "invalid UTF-8"},
		"no id":            {testKey(0), with(func(d *Draft) { d.ID = ID{} }), "UUID version 7"},
		"time before 1970": {testKey(0), with(func(d *Draft) { d.Time = -1 }), "want a number from 0"},
		"too deep":         {testKey(0), with(func(d *Draft) { d.Body = []byte(strings.Repeat(`{"a":`, 63) + "0" + strings.Repeat("}", 63)) }), "more than 64 levels"},
	} {
		var j Journal
		if _, err := j.Append(c.signer, c.draft); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", name, err, c.want)
		}
		if len(j.Entries()) > 0 {
			t.Errorf("%s left something behind", name)
		}
	}
}

// Entries of one device that name an entry of another, or the wrong number.
func TestPrevMustBeTheOneBefore(t *testing.T) {
	var j Journal
	a, _ := j.Append(testKey(0), draft(1, `{}`))
	b, _ := j.Append(testKey(1), draft(2, `{}`))
	for name, e := range map[string]Entry{
		"another's":   {Device: b.Device, Seq: 2, Prev: a.Hash()},
		"skips one":   {Device: b.Device, Seq: 3, Prev: b.Hash()},
		"no chain":    {Device: HashLine(nil), Seq: 2, Prev: b.Hash()},
		"not there":   {Device: b.Device, Seq: 2, Prev: HashLine(nil)},
		"its own key": {Device: b.Device, Seq: 2, Prev: b.Hash(), Key: testKey(1)[32:]},
	} {
		e.ID, e.Kind, e.Body = draft(3, "").ID, "note", []byte("{}")
		line, err := seal(e, testKey(1))
		if err != nil {
			t.Fatal(err)
		}
		if _, err := j.Add(line); err == nil {
			t.Errorf("%s was taken", name)
		}
	}
}

// A signature over an entry is none over a head with the same bytes, and the
// other way round.
func TestDomainsAreApart(t *testing.T) {
	root := HashLine(nil)
	key := testKey(0)
	line, err := SignTreeHead(TreeHead{Root: root, Size: 3, Time: 5}, key)
	if err != nil {
		t.Fatal(err)
	}
	inner := string(line[len(headOpen) : len(line)-tailLen])
	forged, _ := sign(key, entryDomain, headOpen, []byte(headOpen+inner))
	if _, err := ReadTreeHead(forged); err == nil || !strings.Contains(err.Error(), "sig") {
		t.Errorf("a signature for an entry passed for a head: %v", err)
	}
	if h, err := ReadTreeHead(line); err != nil || h.Root != root || h.Size != 3 || h.Time != 5 {
		t.Errorf("%+v, %v", h, err)
	}
	if _, err := SignTreeHead(TreeHead{}, faulty{key, make([]byte, 64), nil}); err == nil {
		t.Error("a head with a wrong signature was written")
	}
}

// A phone asks whether its entry arrived: receipt, proof and head, nothing else.
func TestReceiptProvesArrival(t *testing.T) {
	var j Journal
	var tree Tree
	var lines [][]byte
	for i := range 7 {
		e, _ := j.Append(testKey(i%2), draft(i, `{}`))
		lines = append(lines, Receipt{Entry: e.Hash(), N: int64(i), Time: int64(i)}.Line())
		tree.Append(HashLine(lines[i]))
	}
	root, _ := tree.Root(7)
	head, err := SignTreeHead(TreeHead{Root: root, Size: 7}, testKey(2))
	if err != nil {
		t.Fatal(err)
	}
	proof, _ := tree.Inclusion(4, 7)

	h, err := ReadTreeHead(head)
	if err != nil {
		t.Fatal(err)
	}
	r, err := ReadReceipt(lines[4])
	if err != nil || r.N != 4 || r.Time != 4 {
		t.Fatalf("%+v, %v", r, err)
	}
	if err := VerifyInclusion(h.Root, h.Size, r.N, HashLine(lines[4]), proof); err != nil {
		t.Error(err)
	}
	if _, ok := j.Entry(r.Entry); !ok {
		t.Error("the receipt is for another entry")
	}
}

// Names go over the wire as text.
func TestWireOfAnOffer(t *testing.T) {
	var j Journal
	if _, err := j.Append(testKey(0), draft(1, `{}`)); err != nil {
		t.Fatal(err)
	}
	sent, err := json.Marshal(j.Offer())
	if err != nil {
		t.Fatal(err)
	}
	var got []Known
	if err := json.Unmarshal(sent, &got); err != nil || !slices.Equal(got, j.Offer()) {
		t.Errorf("%s came as %v, %v", sent, got, err)
	}
	if canonical, err := Canonical(sent); err != nil || string(canonical) != string(sent) {
		t.Errorf("%s is not canonical: %v", sent, err)
	}
	if err := json.Unmarshal([]byte(`[{"device":"AB"}]`), &got); err == nil {
		t.Error("a short hash passed")
	}
}
