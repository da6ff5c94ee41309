package actions

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"sapwell/engine/bole"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/entries"
	"sapwell/journal"
)

type treeMeasure struct {
	Tree  journal.ID  `json:"tree" doc:"which"`
	At    int64       `json:"at,omitempty" doc:"when it was measured, where not now; ms since 1970"`
	Stems []bole.Stem `json:"stems" doc:"each stem as measured, without old holes: these are written by wound.record"`
	Again bool        `json:"again,omitempty" doc:"what was measured before and is not given here stays, each place at the same face"`
}

// measureTree writes a measurement. What cannot be is refused; what is merely
// unlikely is told and written, for it is what the tape said.
func measureTree(d *desk, in treeMeasure) (Made, error) {
	t, err := d.standing(in.Tree, "tree")
	if err != nil {
		return Made{}, err
	}
	head, err := d.head(in.At)
	if err != nil {
		return Made{}, err
	}
	if in.Again && t.Measurement != nil {
		in.Stems = d.again(t.Measurement.Facts.Stems, in.Stems)
	}
	for i, s := range in.Stems {
		if len(s.Ring.Wounds) > 0 {
			return Made{}, refuse(BadInput, "tree.wounds_apart", fmt.Sprintf("stems[%d].ring.wounds", i),
				fmt.Sprintf("stems[%d].ring.wounds: old holes are written one by one, by wound.record", i))
		}
	}
	found := bole.Tree{Stems: in.Stems}.Check()
	if i := slices.IndexFunc(found, func(f why.Finding) bool { return f.Severity == why.Block }); i >= 0 {
		return Made{}, impossible(found[i])
	}
	d.note(found...)
	return d.made(entries.Measurement{Head: head, Tree: in.Tree, Stems: wireStems(in.Stems)})
}

// again completes what was measured anew by what was measured before. Arcs, fissures
// and readings of bark keep their direction from the middle of the stem; where the tape
// begins on another face than before, it is asked where the arcs are.
func (d *desk) again(before []entries.Stem, fresh []bole.Stem) []bole.Stem {
	var all []bole.Stem
	taken := make([]bool, len(fresh))
	for _, then := range before {
		i := slices.IndexFunc(fresh, func(s bole.Stem) bool { return s.Name == then.Name || len(before) == 1 && len(fresh) == 1 })
		if i < 0 {
			all = append(all, engineStem(then))
			continue
		}
		taken[i] = true
		s, sure := stemAgain(then, fresh[i])
		if !sure {
			d.note(why.Finding{Code: "tree.zero_moved", Severity: why.Ask, Place: fmt.Sprintf("stems[%d].ring.zero.face", i), Source: why.Own,
				Terms: []why.Term{why.T("face", s.Ring.Zero.Face), why.T("before", then.ZeroFace)}})
		}
		all = append(all, s)
	}
	for i, s := range fresh {
		if !taken[i] {
			all = append(all, s)
		}
	}
	return all
}

// stemAgain is a stem as measured now, with what is only known from then; not sure
// where an arc may lie elsewhere.
func stemAgain(then entries.Stem, now bole.Stem) (s bole.Stem, sure bool) {
	old := engineStem(then)
	if now.Ring.Zero == (bole.Zero{}) {
		now.Ring.Zero = old.Ring.Zero
	}
	now.Name, sure = then.Name, true
	wire := wireStems([]bole.Stem{now})[0]
	place := func(at quantity.Length) quantity.Length {
		moved, same := placeNow(int64(at), then, wire)
		sure = sure && same
		return moved
	}
	if now.Ring.Arcs == nil {
		for _, a := range old.Ring.Arcs {
			a.From, a.To = place(a.From), place(a.To)
			if old.Ring.Zero.CounterClockwise != now.Ring.Zero.CounterClockwise {
				a.From, a.To = a.To, a.From
			}
			now.Ring.Arcs = append(now.Ring.Arcs, a)
		}
	}
	known := sure // a fissure or a reading of bark on another side does no harm
	if now.Ring.Fissures == nil {
		for _, at := range old.Ring.Fissures {
			now.Ring.Fissures = append(now.Ring.Fissures, place(at))
		}
	}
	if now.Bark == nil {
		for _, b := range old.Bark {
			now.Bark = append(now.Bark, bole.BarkReading{At: place(b.At), Thickness: b.Thickness})
		}
	}
	now.Breast = cmp.Or(now.Breast, old.Breast)
	return now, known
}

// impossible refuses a measure for what the engine found in it. The code in the
// terms leads to the sentence for it.
func impossible(f why.Finding) *Refusal {
	return refuse(BadInput, "tree.measure_impossible", f.Place,
		fmt.Sprintf("%s: %s: this cannot be (%s)", f.Place, f.Code, termList(f.Terms)),
		append([]why.Term{why.T("finding", f.Code)}, f.Terms...)...)
}

// termList prints what a finding knows, for a sentence without a catalogue.
func termList(terms []why.Term) string {
	var facts []string
	for _, t := range terms {
		facts = append(facts, t.Name+" "+plainly(t.Value))
	}
	return strings.Join(facts, ", ")
}

// plainly prints a value in SI units.
func plainly(v any) string {
	if l, ok := v.(quantity.Length); ok {
		return fmt.Sprintf("%v mm", l.Millimetres())
	}
	return fmt.Sprint(v)
}

// wireStems writes stems for the journal.
func wireStems(stems []bole.Stem) []entries.Stem {
	wire := make([]entries.Stem, len(stems))
	for i, s := range stems {
		w := entries.Stem{
			Name: s.Name, Girth: wireGirth(s.Ring.Girth), ZeroFace: s.Ring.Zero.Face, CounterClockwise: s.Ring.Zero.CounterClockwise,
		}
		if s.Breast != nil {
			g := wireGirth(*s.Breast)
			w.Breast = &g
		}
		for _, a := range s.Ring.Arcs {
			w.Arcs = append(w.Arcs, entries.Arc{From: int64(a.From), To: int64(a.To), Sort: string(a.Kind)})
		}
		for _, at := range s.Ring.Fissures {
			w.Fissures = append(w.Fissures, int64(at))
		}
		for _, b := range s.Bark {
			w.Bark = append(w.Bark, entries.Bark{At: int64(b.At), Thick: int64(b.Thickness)})
		}
		wire[i] = w
	}
	return wire
}

func wireGirth(g bole.Girth) entries.Girth {
	return entries.Girth{Around: int64(g.Around), Height: int64(g.Height), Ground: string(g.Ground)}
}

func engineStem(w entries.Stem) bole.Stem {
	s := bole.Stem{Name: w.Name, Ring: bole.Ring{
		Girth: girthOf(w.Girth), Zero: bole.Zero{Face: w.ZeroFace, CounterClockwise: w.CounterClockwise},
	}}
	if w.Breast != nil {
		g := girthOf(*w.Breast)
		s.Breast = &g
	}
	for _, a := range w.Arcs {
		s.Ring.Arcs = append(s.Ring.Arcs, bole.Arc{From: quantity.Length(a.From), To: quantity.Length(a.To), Kind: bole.ArcKind(a.Sort)})
	}
	for _, at := range w.Fissures {
		s.Ring.Fissures = append(s.Ring.Fissures, quantity.Length(at))
	}
	for _, b := range w.Bark {
		s.Bark = append(s.Bark, bole.BarkReading{At: quantity.Length(b.At), Thickness: quantity.Length(b.Thick)})
	}
	return s
}

func girthOf(g entries.Girth) bole.Girth {
	return bole.Girth{Around: quantity.Length(g.Around), Height: quantity.Length(g.Height), Ground: bole.Ground(g.Ground)}
}
