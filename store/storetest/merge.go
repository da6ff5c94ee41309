package storetest

import (
	"bytes"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"sapwell/entries"
	"sapwell/journal"
	"sapwell/store"
	"sapwell/views"
)

// phone is a device of the crew at work on what the office has.
const phone = `
office: ann person applicator
office: phone enrolled phone ann
phone: day2 visit park ann oak plan
phone: h8 hole day2 oak 400
phone: u8 seated day2 h8 lot
phone: l8 lifted day2 u8
`

var mergeChecks = []check{
	{"Merge takes a gift in any order, in any parts, twice", mergesInAnyOrder},
	{"Merge names what is not sound and takes the rest", mergeNamesFaults},
	{"Merge needs the one before", func(t *testing.T, w *world) {
		w.take(grove)
		w.tell(phone)
		m := w.give("ann phone h8")
		if len(m.Added) != 2 || len(m.Refused) != 1 || m.Refused[0].Line != 3 || m.Refused[0].ID != w.ID("h8").String() {
			t.Errorf("added %v, refused %v", w.called(m.Added), m.Refused)
		}
		if m := w.give("h8 day2"); len(m.Added) != 2 || w.Name(m.Added[0].Hash()) != "day2" {
			t.Errorf("added %v, want day2 and then h8", w.called(m.Added))
		}
		Sound(t, w.l)
	}},
	{"Merge counts what is there already", func(t *testing.T, w *world) {
		w.tell(grove)
		if m := w.give("boss park park oak"); m.Known != 2 || len(m.Added) != 2 || m.Size != 5 {
			t.Errorf("known %d, added %v, size %d; want 2, two and 5", m.Known, w.called(m.Added), m.Size)
		}
		before := w.export()
		if m := w.give("oak park firm"); m.Known != 3 || len(m.Added) != 0 || m.Size != 5 || !bytes.Equal(w.export(), before) {
			t.Errorf("a second time: known %d, added %v, size %d", m.Known, w.called(m.Added), m.Size)
		}
		if m := w.merge(nil, nil); m.Size != 5 {
			t.Errorf("nothing: size %d", m.Size)
		}
	}},
	{"Merge keeps kinds that are not known here", func(t *testing.T, w *world) {
		w.take(grove)
		before := Rows(t, w.l)
		w.tell(`office: moon unknown
			office: newer raw tree {"v":2,"bark":"new"}
			office: bad raw tree {"tag":7,"v":1}`)
		if m := w.give("moon newer bad"); len(m.Added) != 3 {
			t.Errorf("added %v, refused %v", w.called(m.Added), m.Refused)
		}
		if after := Rows(t, w.l); after != before {
			t.Error("what cannot be read changed the views")
		}
		for _, name := range []string{"moon", "newer", "bad"} {
			if !bytes.Contains(w.export(), w.Entry(name).Line) {
				t.Errorf("%s is not in the export", name)
			}
		}
		w.take("office: elm tree park")
		Sound(t, w.l)
	}},
	{"Merge keeps both sides of a fork", mergeKeepsForks},
	{"Merge keeps two entries of one id", mergeKeepsTwins},
	{"An amendment may come before what it amends", func(t *testing.T, w *world) {
		w.take(grove)
		w.tell(phone)
		w.tell("clock: slow -24h\nslow: fix amended h8 at_nm=250000000\noffice: fix2 amended l8 left_nl=7")
		w.give("ann phone fix fix2")
		w.give("day2 h8")
		w.give("u8 l8")
		Sound(t, w.l)
	}},
	{"Clocks a day apart and set back do not depend on the order", func(t *testing.T, w *world) {
		w.take(grove)
		w.tell(`
			office: ann person applicator
			clock: phone 24h
			clock: slow -24h
			phone: a measured oak 1700
			slow: b measured oak 1600
			clock: phone -24h
			phone: c measured oak 1500
			slow: d note tree oak`)
		for _, names := range []string{"ann", "a", "b", "c d"} {
			w.give(names)
			Sound(t, w.l)
		}
	}},
	{"admit sees the present before the gift", admitSeesBefore},
	{"An error of admit takes nothing", func(t *testing.T, w *world) {
		before := w.export()
		w.tell(grove)
		broken := errors.New("broken")
		asked := 0
		_, err := w.l.Merge(w.ctx, w.Lines("park oak tape"), w.Now(), func(store.Reader, journal.Entry) (string, error) {
			if asked++; asked == 2 {
				return "", broken
			}
			return "", nil
		})
		if !errors.Is(err, broken) || !bytes.Equal(w.export(), before) {
			t.Errorf("error %v, or something was taken", err)
		}
		w.give("park oak tape")
		Sound(t, w.l)
	}},
}

// mergesInAnyOrder gives the same entries to ever new organisations of the same
// history: whole and shuffled, in parts, one by one in the order of the chains
// mixed at random, each twice.
func mergesInAnyOrder(t *testing.T, w *world) {
	w.take(grove + round + phone)
	want := entryLines(w.export())
	rows := Rows(t, w.l)
	var all [][]byte
	for _, name := range w.Names() {
		all = append(all, w.Entry(name).Line)
	}
	for seed := range uint64(4) {
		random := rand.New(rand.NewPCG(seed, 0))
		other := found(t, w.s, fmt.Sprint("order", seed))
		given := slices.Clone(all)
		random.Shuffle(len(given), func(i, j int) { given[i], given[j] = given[j], given[i] })
		if seed%2 == 0 {
			other.merge(given, nil)
		}
		for range len(all) { // each round takes at least the lowest that is missing
			part := given[:random.IntN(len(given))+1]
			other.merge(part, nil)
			random.Shuffle(len(given), func(i, j int) { given[i], given[j] = given[j], given[i] })
		}
		other.merge(given, nil)
		got := entryLines(other.export())
		for _, line := range want {
			if !slices.Contains(got, line) {
				t.Fatalf("order %d: %.80s is missing", seed, line)
			}
		}
		for row := range strings.Lines(rows) {
			if !strings.Contains(Rows(t, other.l), row) {
				t.Fatalf("order %d: another view than\n%s", seed, row)
			}
		}
		Sound(t, other.l)
	}
}

// entryLines are the lines of entries in an export.
func entryLines(export []byte) []string {
	var all []string
	for line := range strings.Lines(string(export)) {
		if strings.HasPrefix(line, `{"entry":`) {
			all = append(all, line)
		}
	}
	return all
}

func mergeNamesFaults(t *testing.T, w *world) {
	w.tell(grove)
	altered := bytes.Replace(w.Entry("oak").Line, []byte("Quercus robur"), []byte("Quercus rubra"), 1)
	forged := forge(w.Entry("tape"))
	m := w.merge([][]byte{
		altered, w.Entry("park").Line, []byte("{"), forged, w.Entry("oak").Line, nil,
		append(bytes.Clone(w.Entry("text").Line), ' '), []byte(`{"head":{}}`),
	}, nil)
	var at []int
	for _, f := range m.Refused {
		at = append(at, f.Line)
		if f.Reason == nil {
			t.Errorf("line %d without a reason", f.Line)
		}
	}
	if want := []int{1, 3, 4, 6, 7, 8}; !slices.Equal(at, want) {
		t.Errorf("refused %v, want lines %v", m.Refused, want)
	}
	if got := w.called(m.Added); !slices.Equal(got, []string{"park", "oak"}) || m.Size != 5 || m.Known != 0 {
		t.Errorf("added %v, size %d, known %d; want park and oak", got, m.Size, m.Known)
	}
	Sound(t, w.l)
}

// forge puts another digit in the place of the last of a signature: the line keeps
// its form.
func forge(e journal.Entry) []byte {
	line := bytes.Clone(e.Line)
	last := len(line) - len(`"}`) - 1
	if line[last] != '0' {
		line[last] = '0'
	} else {
		line[last] = '1'
	}
	return line
}

func mergeKeepsForks(t *testing.T, w *world) {
	w.take(grove)
	w.tell(phone)
	w.tell(`phone/day2: h9 hole day2 oak 900
		phone: u9 seated day2 h9 lot`)
	w.give("ann phone day2 h8 u8 l8")
	if m := w.give("h9 u9"); len(m.Added) != 2 {
		t.Fatalf("added %v, refused %v", w.called(m.Added), m.Refused)
	}
	Sound(t, w.l)
	rep, err := journal.Verify(bytes.NewReader(w.export()))
	if err != nil || len(rep.Forks) != 2 { // at numbers 2 and 3
		t.Errorf("forks %v %v, want two", rep.Forks, err)
	}
	w.read(func(r store.Reader) {
		told, err := r.Entries(entries.Subject{Kind: entries.OfVisit, ID: w.ID("day2").String()})
		if err != nil || len(told) != 6 {
			t.Errorf("the visit has %v %v, want all six", w.called(told), err)
		}
		if tip, ok, err := r.Tip(w.Device("phone")); err != nil || !ok || w.Name(tip.Hash()) != "l8" {
			t.Errorf("tip %s %v, want the longer branch, l8", w.Name(tip.Hash()), err)
		}
	})
	// Now both branches are of one length: the one with the lesser hash goes on.
	w.tell("phone: l9 lifted day2 u9")
	w.give("l9")
	want := w.Entry("l8")
	if other := w.Entry("l9"); bytes.Compare(hashOf(other), hashOf(want)) < 0 {
		want = other
	}
	w.read(func(r store.Reader) {
		if tip, _, err := r.Tip(w.Device("phone")); err != nil || tip.Hash() != want.Hash() {
			t.Errorf("tip %s %v, want %s", w.Name(tip.Hash()), err, w.Name(want.Hash()))
		}
	})
	d, err := w.Draft("phone", "more note tree oak")
	w.must(err)
	written, err := w.l.Write(w.ctx, w.Signer("phone"), w.Now(), func(store.Reader) ([]journal.Draft, error) {
		return []journal.Draft{d}, nil
	})
	if err != nil || written[0].Prev != want.Hash() || written[0].Seq != 5 {
		t.Errorf("the device goes on as %+v %v, want number 5 after %s", written, err, w.Name(want.Hash()))
	}
	Sound(t, w.l)
}

func hashOf(e journal.Entry) []byte { h := e.Hash(); return h[:] }

func mergeKeepsTwins(t *testing.T, w *world) {
	w.take(grove)
	d, err := w.Draft("phone", "elm tree park")
	w.must(err)
	var first, second journal.Journal
	a, err := first.Append(w.Signer("phone"), d)
	w.must(err)
	d.Time++
	b, err := second.Append(w.Signer("other"), d)
	w.must(err)
	for _, e := range []journal.Entry{a, b} {
		if m := w.merge([][]byte{e.Line}, nil); len(m.Added) != 1 {
			t.Fatalf("added %v, refused %v", m.Added, m.Refused)
		}
	}
	w.read(func(r store.Reader) {
		if e, ok, err := r.Entry(d.ID); err != nil || !ok || e.Hash() != a.Hash() {
			t.Errorf("entry %v %v %v, want the one that came first", e.ID, ok, err)
		}
		told, err := r.Entries(entries.Subject{Kind: entries.OfTree, ID: d.ID.String()})
		if err != nil || len(told) != 2 {
			t.Errorf("%d entries %v, want both", len(told), err)
		}
	})
	Sound(t, w.l)
}

func admitSeesBefore(t *testing.T, w *world) {
	w.take("office: park grounds")
	w.tell("office: oak tree park\noffice: elm tree park")
	var asked []string
	w.merge(w.Lines("park oak elm boss"), func(r store.Reader, e journal.Entry) (string, error) {
		asked = append(asked, w.Name(e.Hash()))
		rows, err := r.List(entries.OfTree, "", "", "", 9)
		w.must(err)
		_, there, err := r.Entry(w.ID("oak"))
		if err != nil || len(rows) != 0 || there {
			t.Errorf("asked of %s: %d trees, oak %v, %v; want the present before the gift", w.Name(e.Hash()), len(rows), there, err)
		}
		_, ok, err := r.View(entries.Subject{Kind: entries.OfGrounds, ID: w.ID("park").String()})
		if err != nil || !ok {
			t.Errorf("the grounds: %v %v", ok, err)
		}
		return "", nil
	})
	if slices.Sort(asked); !slices.Equal(asked, []string{"elm", "oak"}) {
		t.Errorf("asked of %v, want of the new ones", asked)
	}
	w.read(func(r store.Reader) {
		rows, err := r.List(entries.OfTree, "", "", "", 9)
		if err != nil || len(rows) != 2 {
			t.Errorf("%d trees afterwards, %v", len(rows), err)
		}
		for _, row := range rows {
			if _, err := views.Read(row); err != nil {
				t.Error(err)
			}
		}
	})
}
