package pocket

import (
	"context"
	"crypto/ed25519"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"os"
	"slices"
	"strings"
	"testing"

	"sapwell/accounts"
	"sapwell/journal"
	"sapwell/store"
	"sapwell/store/mem"
)

// A day on a phone that has no office. Of common practice, no source: 96 in of girth
// at one unit for every 6 in are 16 units of 4 mL; 64 mL go in where none is left, and
// of 40 units 24 remain.
func TestADayAlone(t *testing.T) {
	d := newDay(t)
	d.begin()
	d.work()
	var visit struct {
		Key   string
		State struct {
			Closed struct {
				Trees []struct {
					Units int
					Given int64 `json:"given_nl"`
				}
			}
		}
	}
	d.into(&visit, "row", `{"kind":"visit","id":"$visit"}`)
	if trees := visit.State.Closed.Trees; !strings.HasPrefix(visit.Key, "closed|2026-06-09|") || len(trees) != 1 || trees[0].Units != 16 || trees[0].Given != 64_000_000 {
		t.Errorf("visit %+v", visit)
	}
	var lot struct {
		State struct {
			OnHand int `json:"on_hand"`
		}
	}
	if d.into(&lot, "row", `{"kind":"lot","id":"$lot"}`); lot.State.OnHand != 24 {
		t.Errorf("%d units on hand, want 24", lot.State.OnHand)
	}
	// What was written is a sound journal: another ledger takes it line by line.
	var lines [][]byte
	for _, k := range d.kept {
		lines = append(lines, []byte(k.Line))
	}
	office := mem.New()
	if _, err := office.Found(context.Background(), lines, 1); err != nil {
		t.Fatal(err)
	}
}

// A phone that starts again from what it kept knows what it knew, and goes on in its
// chain.
func TestStartAgain(t *testing.T) {
	d := newDay(t)
	d.begin()
	before := d.ok("round", `{"now":1781020000000}`)
	var offer offered
	d.into(&offer, "offer", `{}`)

	again := &day{t: t, p: New(), now: d.now, names: d.names, kept: slices.Clone(d.kept)}
	again.ok("start", `{"lang":"en","units":"imperial","chance":"`+chance+`","seed":"`+seed+`","org":"$org","person":"$person"}`)
	slices.Reverse(again.kept) // the order does not matter
	kept, _ := json.Marshal(loadInput{again.kept})
	for range 2 { // nor does loading twice
		var l loaded
		if again.into(&l, "load", string(kept)); l.Own != int64(len(d.kept)) || len(l.Refused) > 0 {
			t.Fatalf("%+v, want %d of its own", l, len(d.kept))
		}
	}
	if after := again.ok("round", `{"now":1781020000000}`); string(after) != string(before) {
		t.Errorf("round %s, was %s", after, before)
	}
	again.kept = slices.Clone(d.kept)
	again.now -= 3_600_000 // the clock was set back by an hour
	again.work()
	if _, err := journal.ReadEntry([]byte(again.kept[len(d.kept)].Line)); err != nil {
		t.Fatal(err)
	}
	var all journal.Journal
	for i, k := range again.kept {
		e, err := all.Add([]byte(k.Line))
		if err != nil || e.Seq != int64(i)+1 {
			t.Fatalf("line %d has number %d: %v", i+1, e.Seq, err)
		}
	}
	if forks := all.Forks(); len(forks) > 0 {
		t.Errorf("forks: %v", forks)
	}
	if len(offer.Offer) != 1 || offer.Offer[0].Seq != int64(len(d.kept)) {
		t.Errorf("offer %+v", offer)
	}
	sameAsOffice(t, again)
}

// sameAsOffice merges what the phone kept as an office would, whole chains, and holds
// all rows against those of the phone. So the times of the places are right too.
func sameAsOffice(t *testing.T, d *day) {
	t.Helper()
	ctx := context.Background()
	office := mem.NewLedger(journal.ID{})
	var lines [][]byte
	for _, k := range d.kept {
		lines = append(lines, []byte(k.Line))
	}
	if merged, err := office.Merge(ctx, lines, 1, nil); err != nil || len(merged.Refused) > 0 {
		t.Fatal(merged.Refused, err)
	}
	err := office.Read(ctx, func(v store.Reader) error {
		held, err := v.Since(0, len(lines))
		for i, h := range held {
			if h.Held != d.kept[i].Time {
				t.Errorf("line %d is held at %d, the phone says %d", i+1, h.Held, d.kept[i].Time)
			}
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range []string{`{"kind":"visit","id":"$visit"}`, `{"kind":"tree","id":"$tree"}`, `{"kind":"lot","id":"$lot"}`} {
		var got row
		d.into(&got, "row", s)
		err := office.Read(ctx, func(v store.Reader) error {
			want, ok, err := v.View(got.Subject.wire())
			if !ok || string(want.State) != string(got.State) {
				t.Errorf("%s: %s, want %s", s, got.State, want.State)
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
}

// What is tried leaves nothing behind.
func TestTry(t *testing.T) {
	d := newDay(t)
	d.begin()
	before := d.ok("rows", `{"kind":"tree","limit":9}`)
	var r did
	d.into(&r, "try", deedOf("tree.measure", `{"tree":"$tree","stems":[{"ring":{"girth":{"around":"700 in","height":"12 in"}}}]}`, d.now))
	if len(r.IDs) != 1 || r.Lines == nil || len(r.Lines) > 0 || len(r.Findings) == 0 || r.Findings[0].Sentence == "" {
		t.Errorf("%+v, want an id, no line, and that 700 in is unlikely", r)
	}
	if after := d.ok("rows", `{"kind":"tree","limit":9}`); string(after) != string(before) {
		t.Errorf("the tree changed: %s, was %s", after, before)
	}
}

// Refusals are said in the language that was chosen, measures in the units.
func TestSpeak(t *testing.T) {
	d := newDay(t)
	d.begin()
	bad := deedOf("unit.drain", `{"visit":"$visit","units":["$tree"]}`, d.now)
	english, problem := "", Problem{}
	for _, lang := range []string{"en", "es"} {
		d.ok("speak", `{"lang":"`+lang+`","units":"metric","decimal_comma":true}`)
		_, p := d.call("deed", bad)
		if p == nil || p.Text == english || strings.Contains(p.Text, "⟨") {
			t.Errorf("%s: %+v", lang, p)
			continue
		}
		english, problem = p.Text, *p
	}
	if problem.Code == "" || problem.Field == "" {
		t.Errorf("%+v: want code and field", problem)
	}
	var said struct {
		Findings []struct{ Sentence string }
		Reason   []string
		Keys     []string
	}
	d.into(&said, "say", `{
		"findings":[{"code":"marks.pin_off_ring","severity":"block","terms":[{"name":"at","value":{"value":2463.8,"unit":"mm"}},{"name":"girth","value":{"value":2438.4,"unit":"mm"}}],"source":"own"}],
		"reason":{"rule":"marks.spread","result":{"name":"gap","value":{"value":152.4,"unit":"mm"}},"inputs":[{"name":"count","value":16}],"source":"own"},
		"keys":[{"key":"value.not_known"}]}`)
	if len(said.Findings) != 1 || !strings.Contains(said.Findings[0].Sentence, "246,4 cm") || !strings.Contains(said.Findings[0].Sentence, "243,8 cm") {
		t.Errorf("findings %+v, want the measures in centimetres with a comma", said.Findings)
	}
	if len(said.Reason) != 1 || !strings.Contains(said.Reason[0], "15,2 cm") || !strings.Contains(said.Reason[0], "16") {
		t.Errorf("reason %v", said.Reason)
	}
	if !slices.Equal(said.Keys, []string{"no se sabe"}) {
		t.Errorf("keys %v", said.Keys)
	}
	d.refused("speak", `{"lang":"fr","units":"metric"}`, "input.value")
	d.refused("speak", `{"lang":"en","units":"feet"}`, "pocket.input")
}

// An inch is 25.4 mm (the international yard and pound agreement, 1959): 8 ft are
// 2438.4 mm.
func TestQuantity(t *testing.T) {
	d := newDay(t)
	var m measure
	d.into(&m, "quantity", `{"text":"8 ft","kind":"length"}`)
	if m.Said != "96 in" || string(m.Value) != `{"value":2438.4,"unit":"mm"}` || m.Whole == nil || *m.Whole != 2_438_400_000 {
		t.Errorf("%s %s %v", m.Said, m.Value, m.Whole)
	}
	for kind, text := range map[string]string{"volume": "64 mL", "mass": "200 mg", "time": "25 min", "pressure": "10 psi", "temperature": "68 °F", "angle": "45°"} {
		d.ok("quantity", `{"text":"`+text+`","kind":"`+kind+`"}`)
	}
	var all measureList
	d.into(&all, "quantities", `{"list":[{"text":"8 ft","kind":"length"},{"text":"1","kind":"volume","bare":"mL"}]}`)
	if len(all.List) != 2 || all.List[0].Said != "96 in" || *all.List[1].Whole != 1_000_000 {
		t.Errorf("%+v", all.List)
	}
	// In a language with a decimal comma both what is read and what is said have one.
	d.ok("speak", `{"lang":"es","units":"metric","decimal_comma":true}`)
	d.into(&all, "quantities", `{"list":[{"text":"90,5","kind":"length","bare":"cm"},{"made":{"value":905,"unit":"mm"}},{"made":{"value":90,"unit":"min"}}]}`)
	if all.List[0].Said != "90,5 cm" || all.List[1].Said != "90,5 cm" || *all.List[0].Whole != 905_000_000 {
		t.Errorf("%+v", all.List)
	}
	// A tape is marked in centimetres, also near its zero, and read to half of one: 53 mm are 5,5 cm.
	d.into(&all, "quantities", `{"list":[{"made":{"value":53,"unit":"mm"}},{"made":{"value":53,"unit":"mm"},"tape":true}]}`)
	if all.List[0].Said != "53 mm" || all.List[1].Said != "5,5 cm" {
		t.Errorf("%+v", all.List)
	}
	d.refused("quantity", `{"text":"90.5","kind":"length","bare":"cm"}`, "quantity.unread")
	d.refused("quantities", `{"list":[{"text":"8 ft","kind":"length"},{"text":"much","kind":"length"}]}`, "quantity.unread")
	d.refused("quantity", `{"text":"much","kind":"length"}`, "quantity.unread")
	d.refused("quantity", `{"text":"1","kind":"love"}`, "pocket.no_kind")
}

// The office that made the invite takes what the phone signs.
func TestEnrol(t *testing.T) {
	d := newDay(t)
	var e enrolment
	d.into(&e, "enrol", `{"secret":"c2VjcmV0","name":"phone of Bo"}`)
	key, err1 := hex.DecodeString(e.Key)
	sig, err2 := hex.DecodeString(e.Signature)
	own, err3 := base64.StdEncoding.DecodeString(seed)
	if err1 != nil || err2 != nil || err3 != nil || e.Secret != "c2VjcmV0" || e.Name != "phone of Bo" {
		t.Fatal(e, err1, err2, err3)
	}
	if want := ed25519.NewKeyFromSeed(own).Public().(ed25519.PublicKey); !want.Equal(ed25519.PublicKey(key)) {
		t.Errorf("key %x, want %x", key, want)
	}
	if !ed25519.Verify(key, accounts.EnrolMessage(e.Secret, key), sig) {
		t.Error("the signature is not of the message")
	}
}

func TestRefused(t *testing.T) {
	bare := &day{t: t, p: New()}
	bare.refused("deed", `{"name":"note.add","input":{},"now":1}`, "pocket.not_started")
	bare.refused("fly", `{}`, "pocket.no_call")
	bare.refused("start", `{"lang":"en","units":"metric","chance":"AAAA"}`, "pocket.bytes")
	bare.refused("start", `{"lang":"en","units":"metric","chance":"`+chance+`","wings":2}`, "pocket.input")
	bare.ok("start", `{"lang":"en","units":"metric","chance":"`+chance+`"}`)
	bare.refused("deed", `{"name":"note.add","input":{},"now":1}`, "pocket.looks_only")
	bare.refused("enrol", `{"secret":"AAAA","name":"x"}`, "pocket.looks_only")
	bare.refused("row", `{"kind":"tree","id":"none"}`, "pocket.unknown")

	d := newDay(t)
	d.begin()
	d.refused("found", `{"name":"x","country":"US","zone":"UTC","keep_years":3,"person":"x","device":"x","now":1}`, "pocket.founded")
	d.refused("deed", deedOf("fly", `{}`, d.now), "pocket.no_deed")
	d.refused("offer", `{}{}`, "pocket.input")
	if l := d.ok("load", `{"lines":[{"line":"{}","time":1}]}`); !strings.Contains(string(l), `"n":1`) {
		t.Errorf("a line that is none: %s", l)
	}
}

// After a fault of ours nothing is done but to start again.
func TestBroken(t *testing.T) {
	d := newDay(t)
	d.begin()
	d.p.calls["break"] = func(*Pocket, []byte) (any, error) { panic("a fault") }
	d.refused("break", `{}`, "pocket.broken")
	d.refused("offer", `{}`, "pocket.broken")
	d.ok("start", `{"lang":"en","units":"imperial","chance":"`+chance+`","seed":"`+seed+`"}`)
	d.ok("offer", `{}`)
}

// FuzzCall: nothing that is asked makes a Pocket panic, and every answer is one of the
// two.
func FuzzCall(f *testing.F) {
	d := newDay(f)
	d.begin()
	d.look()
	for _, a := range d.asked {
		f.Add(a.Name, a.Input)
	}
	f.Fuzz(func(t *testing.T, name, input string) {
		if name == "start" || name == "found" || name == "deed" || name == "load" {
			name = "try"
		}
		var a struct {
			OK    json.RawMessage
			Error *Problem
		}
		if err := json.Unmarshal(d.p.Call(name, []byte(input)), &a); err != nil || (a.OK == nil) == (a.Error == nil) {
			t.Fatalf("%s %q: %v", name, input, err)
		}
		if d.p.outcome != "" {
			t.Fatalf("%s %q: %s", name, input, d.p.outcome)
		}
	})
}

// From the girth typed to the marks drawn: measure, plan, ring.
func BenchmarkGirthToMarks(b *testing.B) {
	d := newDay(b)
	d.begin()
	for b.Loop() {
		d.asked = nil
		plan := d.do("tree.measure", `{"tree":"$tree","stems":[{"ring":{"girth":{"around":"97 in","height":"12 in"}}}]}`)
		plan = d.do("tree.plan", `{"tree":"$tree","day":"2026-06-09","certified":"yes"}`)
		d.ok("ring", `{"tree":"$tree","plan":"`+plan.Result.ID+`"}`)
	}
}

// What is foreseen is what comes when the measure is kept, and nothing of it is there
// before. By the label 61 in take one unit for each 6 in, rounded up: 11.
func TestForesee(t *testing.T) {
	d := newDay(t)
	d.begin()
	const measure = `{"tree":"$tree","stems":[{"ring":{"girth":{"around":"61 in","height":"12 in"}}}]}`
	const plan = `{"tree":"$tree","day":"2026-06-09","certified":"yes"}`
	before := d.ok("history", `{"kind":"tree","id":"$tree"}`)
	var seen foreseen
	d.into(&seen, "foresee", `{"tree":"$tree","measure":`+measure+`,"plan":`+plan+`,"now":1781020000000}`)
	if seen.Units != 11 || len(seen.Ring.Marks) != 11 || len(seen.Ring.Readings) != 11 {
		t.Errorf("%d units, %d marks, want 11 of each", seen.Units, len(seen.Ring.Marks))
	}
	if after := d.ok("history", `{"kind":"tree","id":"$tree"}`); string(after) != string(before) {
		t.Error("something was kept")
	}
	d.do("tree.measure", measure)
	made := d.do("tree.plan", plan)
	var ring ringShown
	d.into(&ring, "ring", `{"tree":"$tree","plan":"`+made.Result.ID+`"}`)
	for i, m := range ring.Marks {
		if m.At != seen.Ring.Marks[i].At {
			t.Errorf("mark %d at %v, was foreseen at %v", m.Number, m.At, seen.Ring.Marks[i].At)
		}
	}
	d.refused("foresee", `{"tree":"$tree","measure":{"tree":"$tree","stems":[]},"plan":`+plan+`,"now":1}`, "tree.measure_impossible")
}

// While somebody types: measure, plan, ring, and nothing kept.
func BenchmarkForesee(b *testing.B) {
	d := newDay(b)
	d.begin()
	for b.Loop() {
		d.asked = nil
		d.ok("foresee", `{"tree":"$tree","measure":{"tree":"$tree","stems":[{"ring":{"girth":{"around":"97 in","height":"12 in"}}}]},"plan":{"tree":"$tree","day":"2026-06-09","certified":"yes"},"now":1781020000000}`)
	}
}

// The page names every call.
func TestThePageOfCalls(t *testing.T) {
	page, err := os.ReadFile("../doc/pocket.md")
	if err != nil {
		t.Fatal(err)
	}
	for name := range New().calls {
		if !strings.Contains(string(page), "| `"+name+"` |") {
			t.Errorf("doc/pocket.md has no row for %s", name)
		}
	}
}
