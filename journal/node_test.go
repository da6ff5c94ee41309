package journal

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"sapwell/internal/outside"
)

// oddBody draws a body whose keys and texts hold what serialisers differ on:
// controls, quotes, HTML, surrogate pairs, U+2028, what is not normalised.
func oddBody(r *rand.Rand, depth int) map[string]any {
	text := func() string {
		odd := []rune("aé\u0301\x00\x01\b\t\n\f\r\x1f\"\\/<>&\x7f\u0080\u2028\ud7ff\ue000\ufeff\ufb33\uffff😂𝄞\U0010ffff19")
		var b strings.Builder
		for range r.IntN(6) {
			b.WriteRune(odd[r.IntN(len(odd))])
		}
		return b.String()
	}
	body := map[string]any{}
	for range r.IntN(8) {
		switch r.IntN(5) {
		case 0:
			body[text()] = r.Int64N(2*maxWhole+1) - maxWhole
		case 1:
			body[text()] = []any{nil, true, false, 0, r.IntN(10), text()}
		case 2:
			if depth < 4 {
				body[text()] = oddBody(r, depth+1)
			}
		default:
			body[text()] = text()
		}
	}
	return body
}

// oddExport is a log of entries with odd bodies, a fork, receipts and heads.
func oddExport(t *testing.T) []byte {
	r := rand.New(rand.NewPCG(1, 2))
	var j, copied Journal
	var tree Tree
	var out bytes.Buffer
	for i := range 60 {
		body, err := json.Marshal(oddBody(r, 0))
		if err != nil {
			t.Fatal(err)
		}
		writer := &j
		if i%10 == 9 { // a phone restored from an old copy
			writer = &copied
		}
		d := draft(i, string(body))
		d.Kind = fmt.Sprint("größe 😂 ", i)
		e, err := writer.Append(testKey(i%3), d)
		if err != nil {
			t.Fatal(err)
		}
		if i < 10 {
			take(&copied, []Entry{e})
		}
		out.Write(append(e.Line, '\n'))
		receipt := Receipt{Entry: e.Hash(), N: int64(i), Time: int64(i)}.Line()
		tree.Append(HashLine(receipt))
		out.Write(append(receipt, '\n'))
		if i%7 == 6 || i == 59 {
			root, _ := tree.Root(tree.Size())
			head, err := SignTreeHead(TreeHead{Root: root, Size: tree.Size(), Time: int64(i)}, testKey(3))
			if err != nil {
				t.Fatal(err)
			}
			out.Write(append(head, '\n'))
		}
	}
	return out.Bytes()
}

// A checker in another language, written from the page alone, agrees on sound
// logs, and on which line of a damaged one is the first bad.
func TestNodeAgrees(t *testing.T) {
	node := outside.Tool(t, "node")
	check := func(export []byte) string {
		cmd := exec.Command(node, filepath.Join("testdata", "check.mjs"))
		cmd.Stdin = bytes.NewReader(export)
		said, _ := cmd.CombinedOutput()
		return strings.TrimSpace(string(said))
	}
	sound := oddExport(t)
	rep, err := Verify(bytes.NewReader(sound))
	if err != nil {
		t.Fatal(err)
	}
	if len(rep.Forks) == 0 {
		t.Error("the export was to have a fork")
	}
	if got, want := check(sound), fmt.Sprintf("%d entries, %d receipts, head of %d", rep.Entries, rep.Receipts, rep.Head.Size); got != want {
		t.Errorf("node says %q, want %q", got, want)
	}
	r := rand.New(rand.NewPCG(3, 4))
	for range 12 {
		bad := bytes.Clone(sound)
		at := r.IntN(len(bad))
		bad[at] ^= 1 << r.IntN(8)
		_, err := Verify(bytes.NewReader(bad))
		f, ok := err.(*Fault)
		if said := check(bad); !ok || !strings.HasPrefix(said, fmt.Sprintf("bad line %d:", f.Line)) {
			t.Errorf("byte %d: node says %q, we say %v", at, said, err)
		}
	}
	outside.Ran(t, "Node.js JSON.stringify, sort and crypto (testdata/check.mjs)", "an export of 60 odd entries with forks, and 12 damaged ones")
}
