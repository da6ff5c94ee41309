package actions

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"sapwell/engine/bole"
	"sapwell/engine/host"
	"sapwell/engine/place"
	"sapwell/engine/quantity"
	"sapwell/engine/verdict"
	"sapwell/engine/why"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

// past is what only the entries of a tree tell: when its condition was seen, and
// on which measurement each hole's place was read.
type past struct {
	seen  quantity.Date // day (UTC) of the last condition
	rings map[journal.ID][]entries.Stem
}

func (d *desk) past(tree journal.ID) (past, error) {
	p := past{rings: map[journal.ID][]entries.Stem{}}
	list, err := d.Entries(entries.Subject{Kind: entries.OfTree, ID: tree.String()})
	if err != nil {
		return p, err
	}
	var stems []entries.Stem
	for _, e := range list {
		switch e.Kind {
		case entries.Hole{}.Kind(), entries.Wound{}.Kind():
			p.rings[e.ID] = stems
			continue
		case entries.Measurement{}.Kind(), entries.Condition{}.Kind():
		default:
			continue
		}
		s, _, err := current(d, e.ID)
		if err != nil {
			return p, err
		}
		switch b := s.Body.(type) {
		case entries.Measurement:
			stems = b.Stems
		case entries.Condition:
			p.seen = d.dayOf(s.When())
		}
	}
	return p, nil
}

// boleOf is a tree as the engine wants it: the last measurement, with every hole
// that was ever bored or found in it, where it lies on the ring of today.
func (d *desk) boleOf(t *views.Tree, p past, species host.Species) bole.Tree {
	tree := bole.Tree{Tag: t.Facts.Tag, Species: species}
	now := t.Measurement.Facts.Stems
	for _, w := range now {
		tree.Stems = append(tree.Stems, engineStem(w))
	}
	lost, moved := 0, 0
	for _, h := range t.Holes {
		i := stemNamed(now, h.Stem)
		if i < 0 {
			lost++
			continue
		}
		at, sure := quantity.Length(h.Around), true
		if j := stemNamed(p.rings[h.ID], h.Stem); j >= 0 {
			at, sure = placeNow(h.Around, p.rings[h.ID][j], now[i])
		}
		if !sure {
			moved++
		}
		ring := &tree.Stems[i].Ring
		ring.Wounds = append(ring.Wounds, bole.Wound{
			At: min(at, ring.Girth.Around), Width: quantity.Length(h.Width), Height: quantity.Length(h.Height), Made: h.Made,
		})
	}
	d.askHoles("plan.holes_lost", lost)
	d.askHoles("plan.zero_moved", moved)
	return tree
}

// askHoles tells that the places of some old holes are in doubt.
func (d *desk) askHoles(code string, n int) {
	if n > 0 {
		d.note(why.Finding{Code: code, Severity: why.Ask, Place: "tree", Source: why.Own, Terms: []why.Term{why.T("old_holes", n)}})
	}
}

// stemNamed finds a stem by its name; the only one answers to any.
func stemNamed(stems []entries.Stem, name string) int {
	if len(stems) == 1 {
		return 0
	}
	return slices.IndexFunc(stems, func(s entries.Stem) bool { return s.Name == name })
}

// placeNow is where a place read on one measurement lies on a later one: a hole
// keeps its direction from the middle of the stem while the girth grows. It is not
// sure when the tape was begun on another face.
func placeNow(around int64, then, now entries.Stem) (at quantity.Length, sure bool) {
	if then.Girth.Around <= 0 {
		return quantity.Length(around), false
	}
	turn := float64(around) / float64(then.Girth.Around)
	if then.CounterClockwise != now.CounterClockwise && turn > 0 {
		turn = 1 - turn
	}
	return quantity.Length(math.Round(turn * float64(now.Girth.Around))), then.ZeroFace == now.ZeroFace
}

// circumstances are the facts of a tree on a day: what the input says, else what
// was seen. What changes with the season counts only if it was seen in the year of
// the work, a growth stage only on the very day, and a canopy only within a year
// (own conventions): what is older is not known, and the verdict asks.
func (d *desk) circumstances(t *views.Tree, p past, in treePlan) (verdict.Circumstances, Settings, error) {
	g, err := d.grounds(t.Facts.Grounds, "tree")
	if err != nil {
		return verdict.Circumstances{}, Settings{}, err
	}
	org, err := d.org()
	if err != nil {
		return verdict.Circumstances{}, Settings{}, err
	}
	country, region := org.Facts.Country, org.Facts.Region
	if g.Facts.Country != "" && place.Code(g.Facts.Country) != place.Code(country) {
		country, region = g.Facts.Country, ""
	}
	var seen entries.Condition
	if t.Condition != nil {
		seen = *t.Condition
	}
	facts := verdict.Circumstances{
		Jurisdiction: cmp.Or(in.Jurisdiction, verdict.LawOf(country)), Region: cmp.Or(in.Region, g.Facts.Region, region),
		Date: in.Day, Pest: cmp.Or(in.Pest, seen.Pest), Certified: in.Certified, Air: in.Air,
		CanopyLoss: in.CanopyLoss, BloomOver: in.BloomOver, BBCH: in.BBCH, Drought: in.Drought,
		Eaten: cmp.Or(in.Eaten, verdict.Answer(seen.Eaten)), Tapped: cmp.Or(in.Tapped, verdict.Answer(seen.Tapped)),
		LiveWires: cmp.Or(in.LiveWires, verdict.Answer(seen.LiveWires)), Crop: in.Crop || g.Facts.Context == "orchard",
		Context: g.Facts.Context, Also: in.Also, Grazed: toldGrazed(in, t, g),
	}
	facts.Water, facts.Harvest = toldWater(in, t, g), toldHarvest(in, t, g)
	if facts.Operator, err = d.helper(in); err != nil {
		return verdict.Circumstances{}, Settings{}, err
	}
	stillTrue(&facts, seen, p.seen)
	facts.Earlier, err = d.earlier(t, in.Earlier)
	set := Settings{System: quantity.Metric, Altitude: in.Altitude, Size: in.Size}
	if place.Code(country) == place.US {
		set.System = quantity.Imperial
	}
	if in.System != nil {
		set.System = *in.System
	}
	return facts, set, err
}

// toldWater is how far water is: as somebody says now, or else as it was told of the
// tree or its grounds. What cannot be read is not known.
func toldWater(in treePlan, t *views.Tree, g *views.Grounds) *quantity.Length {
	if in.Water != nil {
		return in.Water
	}
	text := cmp.Or(t.Told["site.water"].Text, g.Told["site.water"].Text)
	if l, err := quantity.ParseLength(text, quantity.Reading{}); err == nil {
		return &l
	}
	return nil
}

// toldHarvest is the first harvest to come, likewise. One that is past is none.
func toldHarvest(in treePlan, t *views.Tree, g *views.Grounds) quantity.Date {
	if !in.Harvest.IsZero() {
		return in.Harvest
	}
	day, err := quantity.ParseDate(cmp.Or(t.Told["food.harvest"].Text, g.Told["food.harvest"].Text))
	if err != nil || day.Before(in.Day) {
		return quantity.Date{}
	}
	return day
}

// toldGrazed is whether livestock grazes there, likewise.
func toldGrazed(in treePlan, t *views.Tree, g *views.Grounds) verdict.Answer {
	told := strings.ToLower(strings.TrimSpace(cmp.Or(t.Told["site.grazed"].Text, g.Told["site.grazed"].Text)))
	switch verdict.Answer(told) {
	case verdict.Yes, "true":
		told = string(verdict.Yes)
	case verdict.No, "false":
		told = string(verdict.No)
	default:
		told = ""
	}
	return cmp.Or(in.Grazed, verdict.Answer(told))
}

// helper is who is to do the work without a certificate, with the day of their last
// training.
func (d *desk) helper(in treePlan) (*verdict.Operator, error) {
	if in.Helper == (journal.ID{}) {
		return nil, nil
	}
	p, err := d.person(in.Helper, "helper")
	if err != nil {
		return nil, err
	}
	o := &verdict.Operator{Age: in.HelperAge}
	for _, c := range p.Certificates {
		if c.Sort == "training" && !c.Withdrawn && o.Trained.Before(c.From) {
			o.Trained = c.From
		}
	}
	return o, nil
}

// stillTrue fills in what was seen and has not gone stale.
func stillTrue(facts *verdict.Circumstances, seen entries.Condition, on quantity.Date) {
	ago := on.DaysTo(facts.Date)
	if on.IsZero() || ago < 0 {
		return
	}
	if ago <= 365 {
		facts.CanopyLoss = cmp.Or(facts.CanopyLoss, seen.CanopyLoss)
	}
	if on.Year() == facts.Date.Year() {
		facts.BloomOver = cmp.Or(facts.BloomOver, verdict.Answer(seen.BloomOver))
		facts.Drought = cmp.Or(facts.Drought, verdict.Answer(seen.Drought))
	}
	if ago == 0 {
		facts.BBCH = cmp.Or(facts.BBCH, seen.BBCH)
	}
}
