package storetest

import (
	"bytes"
	"slices"
	"testing"

	"sapwell/journal"
	"sapwell/store"
)

// notBy sets aside what a device writes from a number on.
func (w *world) notBy(device string, from int64) store.Admit {
	return func(_ store.Reader, e journal.Entry) (string, error) {
		if e.Device == w.Device(device) && e.Seq == from {
			return "revoked", nil
		}
		return "", nil
	}
}

// aside lists what is aside, by name and why.
func (w *world) aside() (names, whys []string) {
	w.Helper()
	all, err := w.l.Aside(w.ctx)
	w.must(err)
	for _, a := range all {
		names = append(names, w.Name(journal.HashLine(a.Line)))
		whys = append(whys, a.Why)
		if e := w.Entry(names[len(names)-1]); a.Device != e.Device || a.Seq != e.Seq || a.Time == 0 {
			w.Errorf("aside %+v is not %s", a, names[len(names)-1])
		}
	}
	return names, whys
}

var asideChecks = []check{
	{"What may not stand is set aside, and what follows it", func(t *testing.T, w *world) {
		w.take(grove)
		w.tell(phone)
		m := w.merge(w.Lines("l8 u8 h8 day2 phone ann"), w.notBy("phone", 2))
		if got := w.called(m.Added); len(got) != 3 || slices.Contains(got, "h8") {
			t.Errorf("added %v, want ann, phone and day2", got)
		}
		if len(m.Aside) != 3 || len(m.Refused) != 0 {
			t.Errorf("%d aside, refused %v", len(m.Aside), m.Refused)
		}
		names, whys := w.aside()
		if !slices.Equal(names, []string{"h8", "u8", "l8"}) || !slices.Equal(whys, []string{"revoked", "after", "after"}) {
			t.Errorf("aside %v for %v", names, whys)
		}
		for _, name := range names {
			if bytes.Contains(w.export(), w.Entry(name).Line) {
				t.Errorf("%s is in the export", name)
			}
		}
		w.read(func(r store.Reader) {
			if _, ok, err := r.Entry(w.ID("h8")); ok || err != nil {
				t.Errorf("h8 is in the journal, %v", err)
			}
			if tip, _, err := r.Tip(w.Device("phone")); err != nil || w.Name(tip.Hash()) != "day2" {
				t.Errorf("tip %s %v, want day2", w.Name(tip.Hash()), err)
			}
		})
		Sound(t, w.l)
	}},
	{"What is aside may be sent again", asideSentAgain},
	{"What follows one aside is aside in a later gift too", func(t *testing.T, w *world) {
		w.take(grove)
		w.tell(phone)
		w.merge(w.Lines("ann phone day2 h8"), w.notBy("phone", 2))
		if m := w.give("u8"); len(m.Aside) != 1 || m.Aside[0].Why != "after" || len(m.Refused)+len(m.Added) > 0 {
			t.Errorf("u8: %+v", m)
		}
		if m := w.give("l8"); len(m.Aside) != 1 || m.Aside[0].Why != "after" {
			t.Errorf("l8: %+v", m)
		}
		if m := w.give("h8 l8"); len(m.Added) != 1 || len(m.Aside) != 1 {
			t.Errorf("h8 and l8 while u8 is aside: added %v, aside %d", w.called(m.Added), len(m.Aside))
		}
		if m := w.give("u8 l8"); len(m.Added) != 2 {
			t.Errorf("u8 and l8 at last: added %v", w.called(m.Added))
		}
		if names, _ := w.aside(); len(names) != 0 {
			t.Errorf("still aside: %v", names)
		}
		Sound(t, w.l)
	}},
	{"A whole chain of an unknown device is aside", func(t *testing.T, w *world) {
		w.take(grove)
		w.tell("stray: a note tree oak\nstray: b note tree oak\nstray: c note tree oak")
		m := w.merge(w.Lines("b a"), w.notBy("stray", 1))
		if len(m.Aside) != 2 || len(m.Added)+len(m.Refused) > 0 {
			t.Errorf("aside %d, refused %v", len(m.Aside), m.Refused)
		}
		if m := w.give("c"); len(m.Aside) != 1 || m.Aside[0].Why != "after" {
			t.Errorf("c: %+v", m)
		}
		offer, err := w.l.Offer(w.ctx)
		w.must(err)
		if slices.ContainsFunc(offer, func(k journal.Known) bool { return k.Device == w.Device("stray") }) {
			t.Error("what is aside is offered")
		}
		if m := w.give("a b c"); len(m.Added) != 3 {
			t.Errorf("admitted: added %v, refused %v", w.called(m.Added), m.Refused)
		}
		Sound(t, w.l)
	}},
	{"Only what is sound is kept aside", func(t *testing.T, w *world) {
		w.take(grove)
		w.tell("stray: a note tree oak\nstray: b note tree oak\nstray: c note tree oak")
		m := w.merge([][]byte{w.Entry("a").Line, forge(w.Entry("b")), w.Entry("c").Line}, w.notBy("stray", 1))
		if len(m.Aside) != 1 || len(m.Refused) != 2 || m.Refused[0].Line != 2 || m.Refused[1].Line != 3 {
			t.Errorf("aside %d, refused %v; want a aside, b forged, c without its prev", len(m.Aside), m.Refused)
		}
		if names, _ := w.aside(); !slices.Equal(names, []string{"a"}) {
			t.Errorf("aside %v", names)
		}
		w.tell(phone)
		w.give("ann phone day2")
		if m := w.merge(w.Lines("u8"), w.notBy("phone", 3)); len(m.Refused) != 1 || len(m.Aside) > 0 {
			t.Errorf("u8 without h8, which it follows: %+v, want refused", m)
		}
	}},
}

func asideSentAgain(t *testing.T, w *world) {
	w.take(grove)
	w.tell(phone)
	all := w.Lines("ann phone day2 h8 u8 l8")
	w.merge(all, w.notBy("phone", 2))
	export := w.export()
	m := w.merge(all, w.notBy("phone", 2))
	if m.Known != 3 || len(m.Aside) != 3 || len(m.Added)+len(m.Refused) > 0 || !bytes.Equal(w.export(), export) {
		t.Errorf("again: known %d, aside %d, added %v", m.Known, len(m.Aside), w.called(m.Added))
	}
	if names, _ := w.aside(); len(names) != 3 {
		t.Errorf("aside %v, want each once", names)
	}
	m = w.merge(all, w.notBy("phone", 3))
	if got := w.called(m.Added); !slices.Equal(got, []string{"h8"}) || len(m.Aside) != 2 {
		t.Errorf("admission changed: added %v, aside %d", got, len(m.Aside))
	}
	if names, whys := w.aside(); !slices.Equal(names, []string{"u8", "l8"}) || !slices.Equal(whys, []string{"revoked", "after"}) {
		t.Errorf("aside %v for %v", names, whys)
	}
	if m = w.merge(all, nil); len(m.Added) != 2 || len(m.Aside) != 0 {
		t.Errorf("all admitted: added %v, aside %d", w.called(m.Added), len(m.Aside))
	}
	if names, _ := w.aside(); len(names) != 0 {
		t.Errorf("still aside: %v", names)
	}
	Sound(t, w.l)
}
