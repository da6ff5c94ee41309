package journal

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// history is a drawing of testdata/histories, read: every entry by its name,
// and the journals that hold some of them.
type history struct {
	entries  map[string]Entry
	names    map[Hash]string
	devices  []string
	journals map[string]*Journal
}

func newHistory() *history {
	return &history{entries: map[string]Entry{}, names: map[Hash]string{}, journals: map[string]*Journal{}}
}

// write lets a device go on from a named entry, or from nothing.
func (h *history) write(device, from string, names []string) error {
	n := slices.Index(h.devices, device)
	if n < 0 {
		n, h.devices = len(h.devices), append(h.devices, device)
	}
	j, err := h.upTo(from)
	if err != nil {
		return err
	}
	for _, name := range names {
		if _, ok := h.entries[name]; ok {
			return fmt.Errorf("%s is written twice", name)
		}
		e, err := j.Append(testKey(n), draft(len(h.entries), `{"name":"`+name+`"}`))
		if err != nil {
			return err
		}
		h.entries[name], h.names[e.Hash()] = e, name
	}
	return nil
}

// upTo is the journal of the named entries and all below them.
func (h *history) upTo(names ...string) (*Journal, error) {
	var lines [][]byte
	for _, name := range names {
		e, ok := h.entries[name]
		if name != "" && !ok {
			return nil, fmt.Errorf("no entry %q", name)
		}
		for ; e.Seq > 0; e = h.entries[h.names[e.Prev]] {
			lines = append(lines, e.Line)
		}
	}
	var j Journal
	_, refused := j.Merge(lines)
	if len(refused) > 0 {
		return nil, refused[0]
	}
	return &j, nil
}

// named lists entries by name, in order.
func (h *history) named(all []Entry) string {
	var names []string
	for _, e := range all {
		names = append(names, h.names[e.Hash()])
	}
	slices.Sort(names)
	return cmp.Or(strings.Join(names, " "), "nothing")
}

func (h *history) forks(j *Journal) string {
	var all []string
	for _, f := range j.Forks() {
		var names []string
		for _, e := range f.Entries {
			names = append(names, h.names[e])
		}
		slices.Sort(names)
		all = append(all, strings.Join(names, ","))
	}
	slices.Sort(all)
	return cmp.Or(strings.Join(all, " "), "nothing")
}

// line obeys or checks one line of a drawing.
func (h *history) line(line string) error {
	switch {
	case strings.Contains(line, " = "):
		name, has, _ := strings.Cut(line, " = ")
		if has == "nothing" {
			has = ""
		}
		j, err := h.upTo(strings.Fields(has)...)
		h.journals[name] = j
		return err
	case strings.Contains(line, " > "):
		pair, want, _ := strings.Cut(line, ": ")
		from, to, _ := strings.Cut(pair, " > ")
		return h.gift(h.journals[from], h.journals[to], want)
	case strings.Contains(line, " forks: "):
		name, want, _ := strings.Cut(line, " forks: ")
		j := h.journals[name]
		if name == "joined" {
			j = h.joined(slices.Sorted(maps.Keys(h.journals)))
		}
		if got := h.forks(j); got != want {
			return fmt.Errorf("%s", got)
		}
		return nil
	}
	who, names, ok := strings.Cut(line, ": ")
	if !ok {
		return fmt.Errorf("want a colon or an equals sign")
	}
	device, from, _ := strings.Cut(who, "/")
	return h.write(device, from, strings.Fields(names))
}

// gift checks what one sends to the other: all that is lacking, and beyond it
// only what is marked ~.
func (h *history) gift(from, to *Journal, want string) error {
	gift := from.Missing(to.Offer())
	var needless []string
	for _, e := range gift {
		if _, ok := to.Entry(e.Hash()); ok {
			needless = append(needless, h.names[e.Hash()])
		}
	}
	got := strings.Fields(h.named(gift))
	for i, name := range got {
		if slices.Contains(needless, name) {
			got[i] = "~" + name
		}
	}
	wanted := strings.Fields(want)
	slices.Sort(wanted)
	slices.Sort(got)
	if !slices.Equal(got, wanted) {
		return fmt.Errorf("%s", strings.Join(got, " "))
	}
	return nil
}

// joined lets journals meet in turn until each has met each.
func (h *history) joined(order []string) *Journal {
	var all Journal
	for _, name := range order {
		meet(&all, h.journals[name])
	}
	return &all
}

// meet is the whole protocol: two offers and two gifts. The other's gift is
// worked out before ours is taken; ours after theirs.
func meet(a, b *Journal) {
	offerA, offerB := a.Offer(), b.Offer()
	take(a, b.Missing(offerA))
	take(b, a.Missing(offerB))
}

func take(j *Journal, gift []Entry) {
	lines := make([][]byte, len(gift))
	for i, e := range gift {
		lines[i] = e.Line
	}
	if _, refused := j.Merge(lines); len(refused) > 0 {
		panic(refused[0])
	}
}

func TestHistories(t *testing.T) {
	files, err := filepath.Glob(filepath.Join("testdata", "histories", "*.txt"))
	if err != nil || len(files) < 7 {
		t.Fatal(files, err)
	}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		h := newHistory()
		for i, line := range strings.Split(string(text), "\n") {
			if line == "" || strings.HasPrefix(line, "#") {
				continue
			}
			if err := h.line(line); err != nil {
				t.Errorf("%s:%d: %s; got %v", file, i+1, line, err)
			}
		}
	}
}

// world draws one or two devices that were restored now and then, and journals
// that hold part of what they wrote.
func world(t *rapid.T, journals int) *history {
	h := newHistory()
	for i := range rapid.IntRange(1, 6).Draw(t, "branches") {
		device := fmt.Sprint("d", rapid.IntRange(0, 1).Draw(t, "device"))
		from := ""
		var own []string
		for name := range h.entries {
			if strings.HasPrefix(name, device) {
				own = append(own, name)
			}
		}
		slices.Sort(own)
		if len(own) > 0 && rapid.IntRange(0, 9).Draw(t, "anew") > 0 {
			from = rapid.SampledFrom(own).Draw(t, "from")
		}
		var names []string
		for k := range rapid.IntRange(1, 4).Draw(t, "length") {
			names = append(names, fmt.Sprintf("%s-%d-%d", device, i, k))
		}
		if err := h.write(device, from, names); err != nil {
			t.Fatal(err)
		}
	}
	all := slices.Sorted(maps.Keys(h.entries))
	for i := range journals {
		tips := rapid.SliceOfN(rapid.SampledFrom(all), 0, 4).Draw(t, "tips")
		j, err := h.upTo(tips...)
		if err != nil {
			t.Fatal(err)
		}
		h.journals[fmt.Sprint(i)] = j
	}
	return h
}

// export is what a journal holds as bytes: equal for equal sets.
func export(j *Journal) string {
	var b strings.Builder
	for _, e := range j.Entries() {
		b.Write(e.Line)
		b.WriteByte('\n')
	}
	return b.String()
}

// The union does not ask for order, pairing or repetition.
func TestMergeIsAUnion(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := world(t, 3)
		copyOf := func(i string) *Journal {
			var j Journal
			take(&j, h.journals[i].Entries())
			return &j
		}
		join := func(a, b *Journal) *Journal {
			var j Journal
			take(&j, a.Entries())
			take(&j, b.Entries())
			return &j
		}
		a, b, c := copyOf("0"), copyOf("1"), copyOf("2")
		if export(join(a, b)) != export(join(b, a)) {
			t.Fatal("not commutative")
		}
		if export(join(a, a)) != export(a) || export(join(join(a, b), b)) != export(join(a, b)) {
			t.Fatal("not idempotent")
		}
		if export(join(join(a, b), c)) != export(join(a, join(b, c))) {
			t.Fatal("not associative")
		}
		if fmt.Sprint(join(a, b).Forks()) != fmt.Sprint(join(b, a).Forks()) {
			t.Fatal("the forks depend on the order")
		}
		rep, err := Verify(strings.NewReader(export(join(join(a, b), c))))
		if err != nil {
			t.Fatalf("the export of a union is not sound: %v", err)
		}
		if fmt.Sprint(rep.Forks) != fmt.Sprint(join(join(a, b), c).Forks()) {
			t.Fatal("checker and journal see other forks")
		}
	})
}

// After two offers and two gifts both sides hold the union; what the second
// sends is never needless; a second meeting sends nothing.
func TestMeetingMakesEqual(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := world(t, 2)
		a, b := h.journals["0"], h.journals["1"]
		var union Journal
		take(&union, a.Entries())
		take(&union, b.Entries())
		offerA, offerB := a.Offer(), b.Offer()
		take(a, b.Missing(offerA))
		gift := a.Missing(offerB)
		for _, e := range gift {
			if _, ok := b.Entry(e.Hash()); ok {
				t.Fatal("the second gift holds what the other has")
			}
		}
		take(b, gift)
		if export(a) != export(&union) || export(b) != export(&union) {
			t.Fatal("a meeting did not make both equal to the union")
		}
		if len(a.Missing(b.Offer()))+len(b.Missing(a.Offer())) > 0 {
			t.Fatal("there is more to send after a meeting")
		}
	})
}

// Bad lines are named, and sound ones in the same gift are taken, in any order.
func TestMergeNamesTheBad(t *testing.T) {
	var j Journal
	var lines [][]byte
	for i := range 4 {
		e, _ := j.Append(testKey(0), draft(i, `{}`))
		lines = append(lines, e.Line)
	}
	other, _ := j.Append(testKey(1), draft(9, `{}`))
	bad := slices.Clone(lines[2])
	bad[len(bad)-3] ^= 1 // the last digit of the signature: another digit or none
	slices.Reverse(lines)
	gift := [][]byte{lines[0], bad, []byte("{"), lines[2], lines[3], other.Line, lines[3]}
	var k Journal
	added, refused := k.Merge(gift)
	if len(added) != 3 || added[0].Seq != 1 || added[2].Seq != 2 && added[1].Seq != 2 {
		t.Errorf("added %d", len(added))
	}
	var at []int
	for _, f := range refused {
		at = append(at, f.Line)
	}
	if !slices.Equal(at, []int{1, 2, 3}) {
		t.Errorf("refused %v", refused)
	}
	if !errors.Is(refused[0], errNoPrev) || !strings.Contains(refused[0].Error(), "line 1: entry 018bcfe5-6803-7000-8000-000000000003: the entry before it") {
		t.Error(refused[0])
	}
}

// Two devices that gave the same id: both stay, and are reported.
func TestSameIDIsReported(t *testing.T) {
	var j Journal
	a, _ := j.Append(testKey(0), draft(1, `{}`))
	b, _ := j.Append(testKey(1), draft(1, `{}`))
	forks := j.Forks()
	if len(forks) != 1 || forks[0].ID != a.ID || forks[0].Seq != 0 || len(forks[0].Entries) != 2 || !slices.Contains(forks[0].Entries, b.Hash()) {
		t.Errorf("%+v", forks)
	}
}

// A restored device writes on from the longer branch; of equals from the one
// with the lesser hash, whichever came first.
func TestWhereAForkedDeviceWritesOn(t *testing.T) {
	h := newHistory()
	for _, line := range []string{"ann: a b c", "ann/b: x", "ann/a: p q r", "one = c x", "other = x c", "long = c r"} {
		if err := h.line(line); err != nil {
			t.Fatal(err)
		}
	}
	least := slices.MinFunc([]Hash{h.entries["c"].Hash(), h.entries["x"].Hash()}, Hash.compare)
	for name, want := range map[string]Hash{"one": least, "other": least, "long": h.entries["r"].Hash()} {
		e, err := h.journals[name].Append(testKey(0), draft(100, `{}`))
		if err != nil || e.Prev != want {
			t.Errorf("%s went on from %s, %v", name, h.names[e.Prev], err)
		}
	}
}

// A long chain costs an offer of a few names.
func TestOfferIsShort(t *testing.T) {
	var j Journal
	for i := range 1000 {
		if _, err := j.Append(testKey(0), draft(i, `{}`)); err != nil {
			t.Fatal(err)
		}
	}
	if n := len(j.Offer()); n > 12 {
		t.Errorf("%d names for one chain of 1000", n)
	}
}

func FuzzMerge(f *testing.F) {
	text := stranger(f)
	f.Add(text[:bytes.IndexByte(text, '\n')+1])
	f.Add(text)
	f.Fuzz(func(t *testing.T, text []byte) {
		var lines [][]byte
		for line := range strings.Lines(string(text)) {
			lines = append(lines, []byte(strings.TrimSuffix(line, "\n")))
		}
		var j Journal
		added, refused := j.Merge(lines)
		if len(added)+len(refused) > len(lines) || len(added) != len(j.Entries()) {
			t.Fatalf("%d added and %d refused of %d lines", len(added), len(refused), len(lines))
		}
		if _, err := Verify(strings.NewReader(export(&j))); err != nil {
			t.Fatal(err)
		}
	})
}

func BenchmarkMeeting(b *testing.B) {
	var office, phone Journal
	for i := range 10_000 {
		e, err := office.Append(testKey(i%5), draft(i, `{}`))
		if err == nil && i < 9_000 {
			_, err = phone.Add(e.Line)
		}
		if err != nil {
			b.Fatal(err)
		}
	}
	for b.Loop() {
		if n := len(office.Missing(phone.Offer())); n != 1000 {
			b.Fatal(n)
		}
	}
}
