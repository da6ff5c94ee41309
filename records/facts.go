package records

import (
	"crypto/sha256"
	"encoding/json"
	"slices"
	"strconv"
	"strings"
	"time"

	"sapwell/engine/label"
	"sapwell/engine/quantity"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

// Facts are the views that the records of one visit are made of. What is left out
// is not known: the record then misses what it tells.
type Facts struct {
	Today   quantity.Date  // by which the record is judged: its "as_of"
	Zone    *time.Location // of the organisation; nil is UTC
	Org     *views.Org
	Grounds *views.Grounds
	Visit   *views.Visit
	Trees   []*views.Tree
	Labels  []LabelVersion
	Lots    []*views.Lot
	People  []*views.Person
	Bags    []*views.Bag
	Plans   map[journal.ID]entries.Plan
	Amended []entries.Entry // amendments of what any of these says
}

// LabelVersion is a version of a label and what its file says.
type LabelVersion struct {
	View  *views.Label
	Label label.Label
}

// Of makes the records of a visit: one a tree and label, in the order in which the
// visit has them. What was planned and not begun has none.
func Of(f Facts) (list []Record) {
	for _, w := range f.works() {
		if w.given.Holes > 0 || w.given.Units > 0 {
			list = append(list, Record{facts: w.record(), Amendments: w.amendments()})
		}
	}
	return list
}

// Coming makes the records of a visit as they stand, with those of trees on which
// nobody has begun, and without their amendments.
func Coming(f Facts) (list []Record) {
	for _, w := range f.works() {
		list = append(list, Record{facts: w.record()})
	}
	return list
}

func (f Facts) works() (list []*work) {
	f = f.whole()
	for _, t := range f.treated() {
		list = append(list, f.work(t))
	}
	return list
}

// whole puts empty views in the place of those that are not there.
func (f Facts) whole() Facts {
	if f.Zone == nil {
		f.Zone = time.UTC
	}
	if f.Org == nil {
		f.Org = &views.Org{}
	}
	if f.Grounds == nil {
		f.Grounds = &views.Grounds{}
	}
	if f.Visit == nil {
		f.Visit = &views.Visit{}
	}
	return f
}

// treated is what each tree was given by each label: as it was signed for, or while
// the visit is open as it stands.
func (f Facts) treated() []entries.Treated {
	if f.Visit.Closed != nil {
		return f.Visit.Closed.Trees
	}
	var list []entries.Treated
	for _, j := range f.Visit.Facts.Jobs {
		t := entries.Treated{Tree: j.Tree, Label: f.Plans[j.Plan].Label}
		for _, h := range f.Visit.Holes {
			if h.Facts.Tree == j.Tree {
				t.Holes++
			}
		}
		for _, u := range f.units(t) {
			count(&t, u)
		}
		list = append(list, t)
	}
	return list
}

// count adds a unit to what its tree was given.
func count(t *entries.Treated, u views.Unit) {
	t.Units++
	if t.Start == 0 || u.Seated < t.Start {
		t.Start = u.Seated
	}
	switch {
	case u.Lifted != 0:
		t.Lifted++
		t.End = max(t.End, u.Lifted)
	case u.Lost != 0:
		t.Lost++
	}
	if u.Left != nil {
		t.Given += u.Fill - *u.Left
	}
}

// units are those of a tree and label: by their lots or, where a lot is not known,
// by the tree alone.
func (f Facts) units(t entries.Treated) []views.Unit {
	var list []views.Unit
	name := f.label(t.Label).Label.ID
	for _, u := range f.Visit.Units {
		lot := byID(f.Lots, u.Lot)
		if u.Tree == t.Tree && u.Seated != 0 && (lot == nil || name == "" || lot.Facts.Label == name) {
			list = append(list, u)
		}
	}
	return list
}

func (f Facts) label(id journal.ID) LabelVersion {
	for _, l := range f.Labels {
		if l.View != nil && l.View.ID == id.String() {
			return l
		}
	}
	return LabelVersion{View: &views.Label{}}
}

// state is a view that knows its id.
type state interface {
	*views.Tree | *views.Lot | *views.Person | *views.Bag
}

// byID finds a view, or nil.
func byID[S state](list []S, id journal.ID) S {
	text := id.String()
	for _, s := range list {
		if common(s).ID == text {
			return s
		}
	}
	return nil
}

func common(s any) *views.Common {
	switch s := s.(type) {
	case *views.Tree:
		return &s.Common
	case *views.Lot:
		return &s.Common
	case *views.Person:
		return &s.Common
	case *views.Bag:
		return &s.Common
	}
	return &views.Common{}
}

// work is the treatment of one tree by one label, with everything that tells of it.
type work struct {
	Facts
	given   entries.Treated
	tree    *views.Tree
	version LabelVersion
	plan    entries.Plan
	seated  []views.Unit
	lots    []*views.Lot
	bags    []*views.Bag
	day     quantity.Date
	doers   []*views.Person
}

func (f Facts) work(t entries.Treated) *work {
	w := &work{Facts: f, given: t, tree: byID(f.Trees, t.Tree), version: f.label(t.Label), seated: f.units(t)}
	if w.tree == nil {
		w.tree = &views.Tree{}
	}
	for _, j := range f.Visit.Facts.Jobs {
		if p := f.Plans[j.Plan]; j.Tree == t.Tree && p.Label == t.Label {
			w.plan = p
		}
	}
	for _, u := range w.seated {
		if lot := byID(f.Lots, u.Lot); lot != nil && !slices.Contains(w.lots, lot) {
			w.lots = append(w.lots, lot)
		}
	}
	for _, id := range f.Visit.Bags {
		if bag := byID(f.Bags, id); bag != nil {
			w.bags = append(w.bags, bag)
		}
	}
	w.day = f.Visit.Facts.Day
	if t.Start != 0 {
		w.day = quantity.DateOf(f.at(t.Start))
	}
	w.doers = w.whoseHands()
	return w
}

func (f Facts) at(ms int64) time.Time { return time.UnixMilli(ms).In(f.Zone) }

// moment is a time as RFC 3339 with its offset; nil where it is not known.
func (f Facts) moment(ms int64) any {
	if ms == 0 {
		return nil
	}
	return f.at(ms).Format(time.RFC3339)
}

// whoseHands are the people whose hands were on this tree's holes and units, by what
// they wrote, and those who bagged the units of the visit: taking back and bagging is
// use of the product as well (40 CFR 171.3, as a glossary tells it).
func (w *work) whoseHands() []*views.Person {
	var list []*views.Person
	add := func(ids ...journal.ID) {
		for _, id := range ids {
			if who := byID(w.People, id); who != nil && !slices.Contains(list, who) {
				list = append(list, who)
			}
		}
	}
	for _, h := range w.Visit.Holes {
		if h.Facts.Tree == w.given.Tree {
			add(h.Facts.By)
		}
	}
	for _, u := range w.seated {
		add(u.Hands...)
	}
	for _, b := range w.bags {
		add(b.Facts.By)
	}
	return list
}

// id names the record for good: a UUID of version 8 (RFC 9562, 5.8), the first 122
// bits of SHA-256 over the ids of visit, tree and label.
func (w *work) id() string {
	sum := sha256.Sum256([]byte("sapwell record\n" + w.Visit.ID + "\n" + w.given.Tree.String() + "\n" + w.given.Label.String()))
	var id journal.ID
	copy(id[:], sum[:])
	id[6], id[8] = id[6]&0x0f|0x80, id[8]&0x3f|0x80
	return id.String()
}

// scaled is a whole number of a small unit as a decimal of a greater one, exact:
// scaled(4500000, 6) is 4.5.
func scaled(n int64, places int) json.Number {
	sign := ""
	if n < 0 {
		sign, n = "-", -n
	}
	digits := strconv.FormatInt(n, 10)
	if len(digits) <= places {
		digits = strings.Repeat("0", places-len(digits)+1) + digits
	}
	whole, part := digits[:len(digits)-places], strings.TrimRight(digits[len(digits)-places:], "0")
	if part == "" {
		return json.Number(sign + whole)
	}
	return json.Number(sign + whole + "." + part)
}

func amount(n json.Number, unit string) map[string]any {
	return map[string]any{"value": n, "unit": unit}
}

// millilitres of a volume in nL.
func millilitres(nl int64) any {
	if nl <= 0 {
		return nil
	}
	return amount(scaled(nl, 6), "mL")
}
