package history

import (
	"bytes"
	"testing"

	"sapwell/entries"
	"sapwell/journal"
)

const whole = `
office: firm org
office: boss person office applicator
office: desk enrolled office boss
office: ann person applicator
office: phone enrolled phone ann
office: paper certificate ann
office: park grounds
office: oak tree park
office: oak2 again oak note=leans
office: tape measured oak 1800
office: eaten condition oak
office: scar wound oak 700
office: text label
office: lot lot
office: in stock lot 12
office: plan plan oak text tape 2
clock: phone -24h
phone: day visit park ann oak plan
phone: h1 hole day oak 100 mark=1
phone: u1 seated day h1 lot
phone: p1 pressurised day u1
phone: d1 drained day u1
phone/h1: s1 stuck day u1
phone: l1 lifted day u1
phone: gone lost day u1
phone: count tally day lot 1
phone: end closed day oak text 1
office: bag bagged day
office: given handed bag
office: seen closure oak h1 closing
office: word note tree oak
office: ref fact visit day
office: shot photo visit day
office: fix amended h1 at_nm=250000000
office: fix2 amended fix at_nm=260000000
office: moon unknown
office: lost revoked phone 9
office: old retired day
`

// Every kind there is has its word, every body can be read, and the same text
// gives the same bytes.
func TestEveryKindHasItsWord(t *testing.T) {
	h, again, other := New("a"), New("a"), New("b")
	for _, h := range []*History{h, again, other} {
		if err := h.Tell(whole); err != nil {
			t.Fatal(err)
		}
	}
	told := map[string]bool{}
	var j journal.Journal
	for _, name := range h.Names() {
		e := h.Entry(name)
		if _, err := entries.Read(e); err != nil && name != "moon" {
			t.Errorf("%s: %v", name, err)
		}
		if _, err := j.Add(e.Line); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if !bytes.Equal(e.Line, again.Entry(name).Line) || bytes.Equal(e.Line, other.Entry(name).Line) {
			t.Errorf("%s: the bytes do not follow from text and seed alone", name)
		}
		told[e.Kind] = true
	}
	for _, kind := range entries.Kinds() {
		if !told[kind] {
			t.Errorf("no word tells a %s", kind)
		}
	}
	if forks := j.Forks(); len(forks) != 3 || len(forks[0].Entries) != 2 { // places 3, 4 and 5 of its chain
		t.Errorf("forks %v, want those of the phone", forks)
	}
	if e := h.Entry("day"); e.Time >= h.Entry("firm").Time {
		t.Error("the phone's clock is not a day back")
	}
}

func TestSlipsAreNamed(t *testing.T) {
	for _, text := range []string{"office", "office: firm", "office: firm orgy", "office: oak tree", "office: a org\noffice: a org", "phone/x: a org", "clock: ann soon"} {
		if err := New("a").Tell(text); err == nil {
			t.Errorf("%q: no error", text)
		}
	}
}
