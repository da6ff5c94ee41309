package storetest

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"testing"

	"sapwell/internal/history"
	"sapwell/journal"
	"sapwell/store"
)

var exportChecks = []check{
	{"Export is sound, in its order, and always the same", func(t *testing.T, w *world) {
		w.take(grove)
		w.head()
		w.take(phone)
		w.take("phone/day2: h9 hole day2 oak 900")
		export := Sound(t, w.l)
		if !bytes.Equal(export, w.export()) {
			t.Error("two exports differ")
		}
		j := w.journal()
		var want []string
		for _, e := range j.Entries() {
			want = append(want, string(e.Line)+"\n")
		}
		if !slices.Equal(entryLines(export), want) {
			t.Error("the entries are not by device, number and hash")
		}
		if !bytes.HasPrefix(export, []byte(want[0])) || !bytes.HasPrefix(bytes.TrimPrefix(export, []byte(joined(want))), []byte(`{"receipt":`)) {
			t.Error("want the entries first and then the receipts")
		}
	}},
	{"An error of the writer comes out of Export", func(t *testing.T, w *world) {
		w.take(grove + round)
		for _, room := range []int{0, 1, 5000} {
			if err := w.l.Export(w.ctx, &narrow{room}); !errors.Is(err, errNarrow) {
				t.Errorf("room for %d bytes: %v", room, err)
			}
		}
	}},
	{"Import refuses what is there", func(t *testing.T, w *world) {
		w.take(grove)
		export := w.export()
		if _, err := w.s.Import(w.ctx, bytes.NewReader(export), 1); !errors.Is(err, store.ErrExists) {
			t.Errorf("error %v, want ErrExists", err)
		}
		if !bytes.Equal(w.export(), export) {
			t.Error("the import changed what was there")
		}
	}},
}

func joined(lines []string) string {
	var all bytes.Buffer
	for _, l := range lines {
		all.WriteString(l)
	}
	return all.String()
}

var errNarrow = errors.New("no room")

type narrow struct{ room int }

func (n *narrow) Write(b []byte) (int, error) {
	if len(b) > n.room {
		return 0, errNarrow
	}
	n.room -= len(b)
	return len(b), nil
}

// importChecks carry an organisation from one store to another, an empty one.
var importChecks = []moving{
	{"Export, Import, Export is byte-equal", func(t *testing.T, w *world, empty store.Store) {
		w.head()
		w.take(grove)
		w.head()
		w.take(round + phone)
		w.take("phone/day2: h9 hole day2 oak 900")
		w.take("office: fix amended h1 at_nm=5\noffice: moon unknown")
		w.head()
		w.take("office: ash tree park")
		export := Sound(t, w.l)
		other := w.carried(empty, export)
		if got := Sound(t, other.l); !bytes.Equal(got, export) {
			t.Error("the export of what was imported is another")
		}
		if Rows(t, other.l) != Rows(t, w.l) {
			t.Error("the views of what was imported are others")
		}
		if line, want := other.head(), w.head(); line.Size != want.Size || line.Root != want.Root {
			t.Error("the heads part")
		}
		if e := other.write("office", "elm tree park"); e.Seq <= w.Entry("ash").Seq {
			t.Error("the office does not go on from its tip")
		}
		Sound(t, other.l)
	}},
	{"Import gives receipts to entries without one, the founding one first", func(t *testing.T, w *world, empty store.Store) {
		for i := 0; bytes.Compare(w.deviceBytes("phone"), w.deviceBytes("office")) > 0; i++ {
			w = found(t, w.s, fmt.Sprint("other", i)) // one whose phone comes first in an export
		}
		w.take(grove + phone)
		var bare bytes.Buffer
		for _, line := range entryLines(w.export()) {
			bare.WriteString(line)
		}
		other := w.carried(empty, bare.Bytes())
		if !bytes.HasPrefix(Sound(t, other.l), bare.Bytes()) || Rows(t, other.l) != Rows(t, w.l) {
			t.Error("entries or views changed on the way")
		}
		p, err := other.l.Proof(w.ctx, w.ID("firm"), 0)
		w.must(err)
		if r, err := journal.ReadReceipt(p.Receipt); err != nil || r.Time != importedAt || r.N != 0 {
			t.Errorf("receipt %+v %v, want number 0 and the time of the import", r, err)
		}
	}},
	{"Import gives receipts to the last ones only", func(t *testing.T, w *world, empty store.Store) {
		w.take(grove)
		h := w.head()
		export := w.export()
		w.take(phone)
		lines := joined(entryLines(w.export())) + string(export[len(joined(entryLines(export))):])
		other := w.carried(empty, []byte(lines))
		Sound(t, other.l)
		proof, err := other.l.Consistency(w.ctx, h.Size, other.head().Size)
		w.must(err)
		w.must(journal.VerifyConsistency(h.Root, h.Size, other.head().Root, other.head().Size, proof))
	}},
	{"Import refuses a damaged export and leaves nothing", importRefuses},
	{"Import of a reader that fails leaves nothing", func(t *testing.T, w *world, empty store.Store) {
		w.take(grove)
		export := w.export()
		broken := errors.New("broken")
		_, err := empty.Import(w.ctx, io.MultiReader(bytes.NewReader(export), failing{broken}), 1)
		if !errors.Is(err, broken) {
			t.Errorf("error %v, want the reader's", err)
		}
		leftNothing(t, empty)
		w.carried(empty, export)
	}},
}

func (w *world) deviceBytes(name string) []byte { h := w.Device(name); return h[:] }

const importedAt = 1_800_000_000_000

type failing struct{ err error }

func (f failing) Read([]byte) (int, error) { return 0, f.err }

// moving is a check that needs a second store.
type moving struct {
	name string
	run  func(t *testing.T, w *world, empty store.Store)
}

// carried imports an export of this history into another store.
func (w *world) carried(to store.Store, export []byte) *world {
	w.Helper()
	org, err := to.Import(w.ctx, bytes.NewReader(export), importedAt)
	w.must(err)
	l, err := to.Ledger(w.ctx, org)
	w.must(err)
	if org != w.ID("firm") || l.Org() != org {
		w.Errorf("imported organisation %s, want %s", org, w.ID("firm"))
	}
	return &world{T: w.T, History: w.History, s: to, l: l, ctx: w.ctx}
}

func importRefuses(t *testing.T, w *world, empty store.Store) {
	w.take(grove)
	w.head()
	w.take("office: elm tree park")
	w.head()
	export := w.export()
	lines := bytes.SplitAfter(export, []byte("\n"))
	lines = lines[:len(lines)-1]
	without := func(i int) []byte { return bytes.Join(slices.Delete(slices.Clone(lines), i, i+1), nil) }
	flipped := bytes.Clone(export)
	flipped[len(export)/3] ^= 1
	for name, damaged := range map[string][]byte{
		"nothing":               nil,
		"a flipped bit":         flipped,
		"the first line gone":   without(0),
		"a receipt gone":        without(len(lines) - 2),
		"cut off within a line": export[:len(export)-7],
		"a line twice":          append(bytes.Clone(export), lines[0]...),
		"no organisation":       []byte(joined(entryLinesOf(t, "stray: a unknown"))),
	} {
		if _, err := empty.Import(w.ctx, bytes.NewReader(damaged), 1); err == nil {
			t.Errorf("%s: no error", name)
		}
		leftNothing(t, empty)
	}
	w.carried(empty, export)
}

func leftNothing(t *testing.T, s store.Store) {
	t.Helper()
	if orgs, err := s.Orgs(context.Background()); err != nil || len(orgs) > 0 {
		t.Fatalf("organisations %v %v, want none", orgs, err)
	}
}

// entryLinesOf tells a history of its own and gives its lines.
func entryLinesOf(t *testing.T, text string) []string {
	t.Helper()
	h := history.New("stray")
	if err := h.Tell(text); err != nil {
		t.Fatal(err)
	}
	var lines []string
	for _, name := range h.Names() {
		lines = append(lines, string(h.Entry(name).Line)+"\n")
	}
	return lines
}
