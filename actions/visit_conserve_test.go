package actions

import (
	"encoding/json"
	"errors"
	"fmt"
	"testing"

	"pgregory.net/rapid"

	"sapwell/entries"
	"sapwell/journal"
)

// worked is a visit at random: two crew members press anything, in any order, at
// any unit. What the deeds take is kept beside the journal in the plainest way.
type worked struct {
	*ashDay
	rt   *rapid.T
	out  map[journal.ID]bool // what the deeds that went through should have left out
	all  []journal.ID
	lift int
	lost int
}

// attempt does a deed; a refusal is as good as a success, any other error is not.
func (w *worked) attempt(deed, input string) (any, bool) {
	by := rapid.SampledFrom([]journal.ID{w.app, w.train}).Draw(w.rt, "by")
	out, err := w.try(by, deed, w.with(input))
	var r *Refusal
	if err != nil && !errors.As(err, &r) {
		w.rt.Fatalf("%s %s: %v", deed, input, err)
	}
	if err != nil && len(out.Drafts) > 0 {
		w.rt.Fatalf("%s was refused (%v) and wrote %d entries", deed, err, len(out.Drafts))
	}
	return out.Result, err == nil
}

// some are units at random, perhaps one twice, as JSON.
func (w *worked) some() ([]journal.ID, string) {
	if len(w.all) == 0 {
		return nil, `[]`
	}
	units := rapid.SliceOfN(rapid.SampledFrom(w.all), 1, 4).Draw(w.rt, "units")
	text, err := json.Marshal(units)
	if err != nil {
		w.rt.Fatal(err)
	}
	return units, string(text)
}

func (w *worked) press() {
	units, list := w.some()
	on := `{"visit":"$visit","units":` + list
	switch deed := rapid.SampledFrom([]string{
		"tree.install", "hole.bore", "unit.pressurise", "unit.drain", "unit.stick", "unit.lift", "unit.lift", "unit.lose", "visit.tally", "visit.close",
	}).Draw(w.rt, "deed"); deed {
	case "tree.install":
		mark := rapid.IntRange(1, 16).Draw(w.rt, "mark")
		if made, ok := w.attempt(deed, fmt.Sprintf(`{"visit":"$visit","tree":"$tree","lot":"$lot","marks":[%d]}`, mark)); ok {
			for _, u := range made.(treeInstalled).Units {
				w.all, w.out[u] = append(w.all, u), true
			}
		}
	case "hole.bore":
		w.attempt(deed, fmt.Sprintf(`{"visit":"$visit","tree":"$tree","mark":%d}`, rapid.IntRange(0, 17).Draw(w.rt, "mark")))
	case "unit.pressurise", "unit.drain":
		w.attempt(deed, on+`}`)
	case "unit.stick":
		w.attempt(deed, on+`,"left":"2 mL"}`)
	case "unit.lift":
		if _, ok := w.attempt(deed, on+rapid.SampledFrom([]string{`}`, `,"left":"1 mL"}`}).Draw(w.rt, "left")); ok {
			for _, u := range units {
				if !w.out[u] { // it was lost, and found
					w.lost--
				}
				delete(w.out, u)
				w.lift++
			}
		}
	case "unit.lose":
		if _, ok := w.attempt(deed, on+`,"why":"gone","signed":"Bo Muster"}`); ok {
			for _, u := range units {
				delete(w.out, u)
				w.lost++
			}
		}
	case "visit.tally":
		n := len(w.all)
		off := rapid.SampledFrom([]int{0, 0, 0, 1}).Draw(w.rt, "off")
		w.attempt(deed, fmt.Sprintf(`{"visit":"$visit","lots":[{"lot":"$lot","taken":%d,"seated":%d,"lifted":%d,"lost":%d,"unused":0}]}`, n, n, w.lift+off, w.lost))
	case "visit.close":
		w.close()
	}
}

// close tries to end the visit, which must not go while the plain count has a unit
// out; and if it goes, the trees add up to that count.
func (w *worked) close() {
	made, ok := w.attempt("visit.close", closing)
	if !ok {
		return
	}
	if len(w.out) > 0 {
		w.rt.Fatalf("closed with %d units out", len(w.out))
	}
	var sum entries.Treated
	for _, t := range made.(visitIsClosed).Trees {
		sum.Units, sum.Lifted, sum.Lost = sum.Units+t.Units, sum.Lifted+t.Lifted, sum.Lost+t.Lost
		if t.Given < 0 || t.Given > int64(t.Units)*4_000_000 {
			w.rt.Fatalf("%d units of 4 mL gave %d nL", t.Units, t.Given)
		}
	}
	if sum.Units != len(w.all) || sum.Lifted != w.lift || sum.Lost != w.lost {
		w.rt.Fatalf("closed with %+v, want %d seated, %d lifted, %d lost", sum, len(w.all), w.lift, w.lost)
	}
}

// Whatever is pressed: no visit is closed with a unit out; each unit that was
// seated is lifted, lost or out, and nowhere twice; and deeds done one after the
// other on one device leave nothing to flag but what they told of.
func TestUnitsAreConserved(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		w := &worked{ashDay: newAshDay(t), rt: rt, out: map[journal.ID]bool{}}
		for range rapid.IntRange(5, 40).Draw(rt, "presses") {
			w.press()
		}
		v := w.view()
		out, lifted, lost := 0, 0, 0
		for _, u := range v.Units {
			switch {
			case u.Lifted != 0:
				lifted++
			case u.Lost != 0:
				lost++
			default:
				out++
			}
			if u.Out() != w.out[u.ID] {
				rt.Fatalf("unit %s: out %t, want %t", u.ID, u.Out(), w.out[u.ID])
			}
		}
		if len(v.Units) != len(w.all) || len(v.Units) != lifted+lost+out || lifted != w.lift || lost != w.lost {
			rt.Fatalf("%d seated, %d lifted, %d lost, %d out; want %d, %d, %d, %d", len(v.Units), lifted, lost, out, len(w.all), w.lift, w.lost, len(w.out))
		}
		for _, f := range v.Flags {
			if f.Code != "unit.lifted_and_lost" {
				rt.Fatalf("flag %s", f.Code)
			}
		}
	})
}
