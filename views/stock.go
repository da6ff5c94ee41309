package views

import (
	"slices"

	"sapwell/entries"
)

// Key is the name, "|", the version.
func (l *Label) Key() string { return l.Facts.Name + "|" + l.Facts.Version.String() }

func (l *Label) take(e entries.Entry) {
	if b, ok := e.Body.(entries.Label); ok {
		l.Facts = b
	}
}

// Key is the label, "|", the expiry, "|", the number: what expires first stands
// first.
func (l *Lot) Key() string {
	expires := "9999"
	if !l.Facts.Expires.IsZero() {
		expires = l.Facts.Expires.String()
	}
	return l.Facts.Label + "|" + expires + "|" + l.Facts.Number
}

func (l *Lot) take(e entries.Entry) {
	before := l.OnHand
	switch b := e.Body.(type) {
	case entries.Lot:
		l.replace(&l.FactsBy, e, b.Over)
		l.Facts = b
	case entries.Stock:
		l.move(b)
	case entries.Tally:
		l.draw(b)
	}
	if l.OnHand < 0 && l.OnHand < before {
		l.flag("lot.below_zero", e)
	}
}

// move: a count settles all that came before it. A note that something went is
// read as gone, with or without a minus.
func (l *Lot) move(s entries.Stock) {
	switch s.Sort {
	case "counted":
		l.OnHand = s.Units
		for i := range l.Drawn {
			l.Drawn[i].Counted = true
		}
	case "discarded", "sold":
		l.OnHand -= max(s.Units, -s.Units)
	default:
		l.OnHand += s.Units
	}
}

// draw: the last tally of a visit replaces those before it. What the visit took
// before the store was counted is not taken off the count, however often it is
// tallied again.
func (l *Lot) draw(t entries.Tally) {
	self := l.self()
	n := Draw{Visit: t.Visit}
	for _, lot := range t.Lots {
		if lot.Lot == self {
			n.Gone += lot.Taken - lot.Unused
			n.Seated += lot.Seated
		}
	}
	i := slices.IndexFunc(l.Drawn, func(d Draw) bool { return d.Visit == t.Visit })
	if i < 0 {
		i = len(l.Drawn)
		l.Drawn = append(l.Drawn, Draw{Visit: t.Visit})
	}
	was := l.Drawn[i]
	n.Counted = was.Counted
	if !n.Counted {
		l.OnHand -= n.Gone - was.Gone
	}
	l.Used += n.Seated - was.Seated
	l.Drawn[i] = n
}

// Key is "sealed" or "handed", "|", the id.
func (b *Bag) Key() string {
	if b.Handed != nil {
		return "handed|" + b.ID
	}
	return "sealed|" + b.ID
}

func (b *Bag) take(e entries.Entry) {
	switch body := e.Body.(type) {
	case entries.BagSealed:
		b.Facts, b.SealedAt = body, moment(e)
	case entries.BagHanded:
		if b.Handed != nil {
			b.flag("bag.handed_twice", e)
		}
		b.Handed, b.HandedAt = &body, moment(e)
	}
}
