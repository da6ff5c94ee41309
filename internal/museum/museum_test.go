package museum

import (
	"bytes"
	"errors"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"sapwell/internal/outside"
	"sapwell/journal"
	"sapwell/store/mem"
)

var update = flag.Bool("update", false, "write testdata anew")

const preface = `# Broken journals

Each file is one small journal that was whole but for one thing. The table says what was done to it, at which line a checker must stop, and words of the reason. *sound* are those that a checker alone cannot find anything in; ` + "`doc/journal-format.md`" + `, section 9, says what to hold them against. ` + "`go test ./internal/museum -update`" + ` writes files and table from ` + "`exhibits_test.go`" + `, where the lines follow from what was done, not from what a checker says.

| exhibit | what is broken | line | the reason says |
|---|---|---|---|
`

// The files are what exhibits_test.go makes, so that nobody has to trust them.
func TestFilesAreMadeFromTheModel(t *testing.T) {
	table := preface
	want := map[string]string{}
	for _, x := range exhibits {
		m := makeModel(t)
		line := fmt.Sprint(x.make(m))
		if line == "0" {
			line = "sound"
		}
		table += fmt.Sprintf("| `%s` | %s | %s | `%s` |\n", x.name, x.broken, line, x.says)
		want[x.name+".jsonl"] = strings.Join(m.lines, "")
	}
	want["README.md"] = table
	for name, text := range want {
		path := filepath.Join("testdata", name)
		if *update {
			must(t, os.WriteFile(path, []byte(text), 0o644))
		}
		if got, err := os.ReadFile(path); err != nil || string(got) != text {
			t.Errorf("%s is not what the model makes (go test -update writes it): %v", name, err)
		}
	}
}

func TestVerifyNamesEveryFault(t *testing.T) {
	all, err := Exhibits()
	if err != nil || len(all) != len(exhibits) {
		t.Fatalf("%d exhibits %v, want %d", len(all), err, len(exhibits))
	}
	for _, x := range all {
		_, err := journal.Verify(bytes.NewReader(x.Export))
		var fault *journal.Fault
		switch {
		case x.Line == 0 && err != nil:
			t.Errorf("%s: %v, want it sound", x.Name, err)
		case x.Line > 0 && !errors.As(err, &fault):
			t.Errorf("%s: %v, want a fault at line %d", x.Name, err, x.Line)
		case x.Line > 0 && (fault.Line != x.Line || !strings.Contains(fault.Reason.Error(), x.Says)):
			t.Errorf("%s: %v, want line %d and %q", x.Name, err, x.Line, x.Says)
		}
	}
}

// What a checker cannot see shows where the format's page says that it does.
func TestSoundOnesShowElsewhere(t *testing.T) {
	all, err := Exhibits()
	must(t, err)
	m := makeModel(t)
	kept, err := journal.ReadTreeHead([]byte(strings.TrimSuffix(m.lines[m.head(1)], "\n")))
	must(t, err)
	for _, x := range all {
		rep, err := journal.Verify(bytes.NewReader(x.Export))
		if x.Line > 0 {
			continue
		}
		must(t, err)
		shows := false
		switch x.Name {
		case "head-of-a-stranger":
			shows = !bytes.Equal(rep.Head.Key, kept.Key)
		case "end-gone", "nothing":
			shows = rep.Receipts < kept.Size
		case "forked":
			shows = len(rep.Forks) == 1 && len(rep.Tips) == 3
		}
		if !shows {
			t.Errorf("%s does not show: %+v", x.Name, rep)
		}
	}
}

// The checker in JavaScript, written from the format's page, stops at the same
// lines.
func TestNodeAgrees(t *testing.T) {
	node := outside.Tool(t, "node")
	all, err := Exhibits()
	must(t, err)
	for _, x := range all {
		cmd := exec.Command(node, filepath.Join("..", "..", "journal", "testdata", "check.mjs"))
		cmd.Stdin = bytes.NewReader(x.Export)
		said, err := cmd.CombinedOutput()
		if want := fmt.Sprintf("bad line %d:", x.Line); x.Line > 0 && !bytes.HasPrefix(said, []byte(want)) {
			t.Errorf("%s: %s, want %s", x.Name, said, want)
		}
		if x.Line == 0 && err != nil {
			t.Errorf("%s: %s, want it sound", x.Name, said)
		}
	}
	outside.Ran(t, "node: JSON.parse, node:crypto (SHA-256, Ed25519)", fmt.Sprintf("%d broken journals stop at the same lines", len(all)))
}

// A store takes none of them, and nothing of them.
func TestImportRefusesThem(t *testing.T) {
	all, err := Exhibits()
	must(t, err)
	for _, x := range all {
		s := mem.New()
		_, err := s.Import(t.Context(), bytes.NewReader(x.Export), 1)
		orgs, errOrgs := s.Orgs(t.Context())
		if bad := x.Line > 0 || x.Name == "nothing"; (err != nil) != bad || errOrgs != nil || (len(orgs) == 0) != bad {
			t.Errorf("%s: %v, organisations %v %v", x.Name, err, orgs, errOrgs)
		}
	}
}

// torture tells whether the long form is asked for.
func torture() bool { return os.Getenv("SAPWELL_TORTURE") == "1" }

// One byte of any stored entry, or of any head, set to any other value is found
// and named by its line; one of a receipt at the latest by the next head.
func TestEveryFlipIsNamed(t *testing.T) {
	flips := 600
	if torture() {
		flips = 20_000
	}
	m := makeModel(t)
	whole := []byte(strings.Join(m.lines, ""))
	if _, err := journal.Verify(bytes.NewReader(whole)); err != nil {
		t.Fatal(err)
	}
	random := rand.New(rand.NewPCG(2026, 6))
	entries := 0
	for range flips {
		n := random.IntN(len(m.lines))
		at, by := random.IntN(len(m.lines[n])-1), byte(random.IntN(255)+1) // not the line feed
		flipped := bytes.Clone(whole)
		flipped[len(strings.Join(m.lines[:n], ""))+at] ^= by
		latest := n
		if strings.HasPrefix(m.lines[n], `{"receipt":`) {
			for !strings.HasPrefix(m.lines[latest], `{"head":`) {
				latest++
			}
		} else if strings.HasPrefix(m.lines[n], `{"entry":`) {
			entries++
		}
		_, err := journal.Verify(bytes.NewReader(flipped))
		var fault *journal.Fault
		if !errors.As(err, &fault) || fault.Line < n+1 || fault.Line > latest+1 {
			t.Fatalf("byte %d of line %d xor %#x: %v, want line %d to %d", at+1, n+1, by, err, n+1, latest+1)
		}
	}
	t.Logf("%d flips, %d of them in entries: all found and named", flips, entries)
	if entries < 200 {
		t.Errorf("%d flips in entries, want 200", entries)
	}
}

// A file that ends anywhere is either faulty where it ends, or ends between lines.
func TestEveryTruncationIsNamed(t *testing.T) {
	m := makeModel(t)
	whole := strings.Join(m.lines, "")
	step := 13
	if torture() {
		step = 1
	}
	for size := 0; size < len(whole); size += step {
		cut := whole[:size]
		_, err := journal.Verify(strings.NewReader(cut))
		line := strings.Count(cut, "\n") + 1
		var fault *journal.Fault
		switch between := cut == "" || strings.HasSuffix(cut, "\n"); {
		case between && err != nil:
			t.Errorf("cut after line %d: %v", line-1, err)
		case !between && (!errors.As(err, &fault) || fault.Line != line):
			t.Errorf("cut at byte %d: %v, want line %d", size, err, line)
		}
	}
}

// Whatever bytes come, they are refused and leave nothing, or they are a journal
// whose export is sound.
func FuzzImport(f *testing.F) {
	all, err := Exhibits()
	if err != nil {
		f.Fatal(err)
	}
	for _, x := range all {
		f.Add(x.Export)
	}
	f.Fuzz(func(t *testing.T, export []byte) {
		s := mem.New()
		org, err := s.Import(t.Context(), bytes.NewReader(export), 1)
		if err != nil {
			if orgs, _ := s.Orgs(t.Context()); len(orgs) > 0 {
				t.Fatalf("refused (%v) and there", err)
			}
			return
		}
		l, err := s.Ledger(t.Context(), org)
		must(t, err)
		var again bytes.Buffer
		must(t, l.Export(t.Context(), &again))
		if _, err := journal.Verify(&again); err != nil {
			t.Fatalf("what was taken is not sound: %v", err)
		}
	})
}
