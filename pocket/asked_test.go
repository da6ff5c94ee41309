package pocket

import (
	"slices"
	"strings"
	"testing"
)

// asked is what is missing of the tree, by field; a finding must be said, and lead to
// where it is mended.
func (d *day) missing() map[string]askedFact {
	d.t.Helper()
	var list askedList
	d.into(&list, "asked", `{"visit":"$visit","tree":"$tree","now":1781020000000}`)
	found := map[string]askedFact{}
	for _, f := range list.Facts {
		if _, twice := found[f.Field]; twice && f.Field != "" {
			d.t.Errorf("%s stands twice", f.Code)
		}
		if f.Sentence == "" || strings.Contains(f.Sentence, "⟨") || strings.Contains(f.Sentence, "generic") || len(f.Profiles) == 0 || f.Field != "" && (f.Step == "") == (f.On == nil) {
			d.t.Errorf("%+v: want a sentence, profiles, and a step or something to tell it of", f)
		}
		found[f.Field] = f
	}
	return found
}

// A phone in Oregon: the federal rules and good practice ask. While nothing is done the
// phone asks what only people can tell; what boring, seating and lifting will bring is
// not missing yet.
func TestWhatTheRecordMissesAsTheWorkGoesOn(t *testing.T) {
	d := newDay(t)
	d.begin()
	before := d.missing()
	for field, kind := range map[string]string{"client.name": "grounds", "client.address": "grounds", "business.phone": "org", "weather.wind": "visit"} {
		if f := before[field]; f.On == nil || string(f.On.Kind) != kind || !slices.Contains(f.Profiles, "generic") {
			t.Errorf("%s: %+v, want something that is told of the %s", field, f, kind)
		}
	}
	for _, field := range []string{"time.start", "units.installed", "amount.total", "signature", "recorded_at", "waste.batch", "product.name"} {
		if f, there := before[field]; there {
			t.Errorf("missing before the work: %+v", f)
		}
	}

	var whole askedList
	d.into(&whole, "asked", `{"visit":"$visit","now":1781020000000}`)
	if len(whole.Facts) != len(before) {
		t.Errorf("the visit of one tree misses %d things, its tree %d", len(whole.Facts), len(before))
	}

	told := before["client.name"].On
	d.do("record.tell", `{"on":{"kind":"`+string(told.Kind)+`","id":"`+told.ID+`"},"field":"client.name","text":"Invented Estate"}`)
	if f, there := d.missing()["client.name"]; there {
		t.Errorf("it was told, and is missing: %+v", f)
	}

	d.work()
	after := d.missing()
	if after["waste.batch"].Step != "bags" {
		t.Errorf("the visit is closed and no bag is sealed: %+v", after)
	}
	if _, there := after["time.start"]; there || len(after) != len(before) {
		t.Errorf("after the work %v, before %v", after, before)
	}
}

// What was told and cannot be is told again, where it was told.
func TestAFactThatCannotBeIsToldAgain(t *testing.T) {
	d := newDay(t)
	d.begin()
	d.do("record.tell", `{"on":{"kind":"grounds","id":"$grounds"},"field":"site.zip","text":"97O01"}`)
	f := d.missing()["site.zip"]
	if f.Code != "INVALID:site.zip" || f.On == nil || f.On.ID != d.with("$grounds") {
		t.Errorf("%+v, want the ZIP code told of the grounds again", f)
	}
	d.refused("asked", `{"visit":"$tree","tree":"$tree","now":1}`, "pocket.unknown")
}

// What a profile says is said in the reader's language.
func TestWhatIsMissedIsSaidInTheReadersLanguage(t *testing.T) {
	d := newDay(t)
	d.begin()
	d.do("record.tell", `{"on":{"kind":"grounds","id":"$grounds"},"field":"site.zip","text":"97O01"}`)
	english := d.missing()["site.zip"].Sentence
	d.ok("speak", `{"lang":"es","units":"metric"}`)
	spanish := d.missing()["site.zip"].Sentence
	if english == spanish || !strings.Contains(english, "5 digits") || !strings.Contains(spanish, "5 dígitos") {
		t.Errorf("%q and %q", english, spanish)
	}
}

// A phone keeps a record as long as the profiles have it kept: 40 CFR 171.303(b)(7) wants
// two years, the longest of all three, and this firm would keep it for one.
func TestAPhoneKeepsARecordAsLongAsItsPlaceAsks(t *testing.T) {
	d := newDay(t)
	d.begin()
	d.do("org.update", `{"keep_years":1}`)
	d.work()
	const day = 86_400_000
	d.refused("deed", deedOf("visit.retire", d.with(`{"visit":"$visit","why":"no longer needed"}`), morning+500*day), "visit.keep_until")
	d.ok("deed", deedOf("visit.retire", d.with(`{"visit":"$visit","why":"no longer needed"}`), morning+1100*day))
}
