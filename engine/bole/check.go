package bole

import (
	"fmt"
	"slices"
	"strconv"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// Bounds of what a tape and a person plausibly report. Own conventions: a
// reading outside them is not refused, it is asked for again, since most are a
// diameter, another unit or a slip of the finger.
const (
	leastGirth  = 4 * quantity.Inch
	mostGirth   = 600 * quantity.Inch
	leastHeight = 2 * quantity.Inch
	mostHeight  = 3 * quantity.Metre
)

// Check reports what in the ring cannot be, or is unlikely. Places are field
// names below the ring, such as "arcs[0].to".
//
//	bole.girth_not_positive     block
//	bole.girth_unlikely         ask    outside 4-600 in
//	bole.height_missing         ask    girth without its height
//	bole.height_unlikely        ask    outside 2 in - 3 m
//	bole.off_ring               block  a position below 0 or beyond the girth
//	bole.arc_nothing_or_all     block  an arc whose ends are the same place
//	bole.arc_kind_unknown       block
//	bole.wound_width            block  negative, or wider than the ring
//	bole.nothing_alive          block  dead arcs cover the ring
func (r Ring) Check() []why.Finding {
	fs := r.Girth.check("girth")
	if r.Girth.Around <= 0 {
		return fs // positions mean nothing without a ring
	}
	for i, a := range r.Arcs {
		fs = append(fs, r.checkArc(a, fmt.Sprintf("arcs[%d]", i))...)
	}
	for i, w := range r.Wounds {
		place := fmt.Sprintf("wounds[%d]", i)
		fs = append(fs, r.checkAt(w.At, place+".at")...)
		if w.Width < 0 || w.Width > r.Girth.Around {
			fs = append(fs, finding("bole.wound_width", why.Block, place+".width",
				why.T("width", w.Width), why.T("girth", r.Girth.Around)))
		}
	}
	for i, at := range r.Fissures {
		fs = append(fs, r.checkAt(at, fmt.Sprintf("fissures[%d]", i))...)
	}
	if r.LiveGirth() == 0 {
		fs = append(fs, finding("bole.nothing_alive", why.Block, "arcs", why.T("girth", r.Girth.Around)))
	}
	return fs
}

// check reports on a girth and its height.
func (g Girth) check(place string) (fs []why.Finding) {
	switch {
	case g.Around <= 0:
		fs = append(fs, finding("bole.girth_not_positive", why.Block, place+".around", why.T("girth", g.Around)))
	case g.Around < leastGirth || g.Around > mostGirth:
		fs = append(fs, finding("bole.girth_unlikely", why.Ask, place+".around",
			why.T("girth", g.Around), why.T("least", leastGirth), why.T("most", mostGirth)))
	}
	switch {
	case g.Height == 0:
		fs = append(fs, finding("bole.height_missing", why.Ask, place+".height", why.T("girth", g.Around)))
	case g.Height < leastHeight || g.Height > mostHeight:
		fs = append(fs, finding("bole.height_unlikely", why.Ask, place+".height",
			why.T("height", g.Height), why.T("least", leastHeight), why.T("most", mostHeight)))
	}
	return fs
}

// checkArc reports on one arc.
func (r Ring) checkArc(a Arc, place string) []why.Finding {
	fs := r.checkAt(a.From, place+".from")
	fs = append(fs, r.checkAt(a.To, place+".to")...)
	backwards := a.From == r.Girth.Around && a.To == 0 // the zero by its two names
	if len(fs) == 0 && (backwards || len(a.spans(r.Girth.Around)) == 0) {
		fs = append(fs, finding("bole.arc_nothing_or_all", why.Block, place,
			why.T("position", a.From), why.T("girth", r.Girth.Around)))
	}
	switch a.Kind {
	case Defect, DeadCambium, Canker, Cavity, Crack, Girdling:
	default:
		fs = append(fs, finding("bole.arc_kind_unknown", why.Block, place+".kind", why.T("kind", string(a.Kind))))
	}
	return fs
}

// checkAt reports a position that is not on the ring; the girth itself is the
// zero again and is on it.
func (r Ring) checkAt(at quantity.Length, place string) []why.Finding {
	if at >= 0 && at <= r.Girth.Around {
		return nil
	}
	return []why.Finding{finding("bole.off_ring", why.Block, place,
		why.T("position", at), why.T("girth", r.Girth.Around))}
}

// Check reports on the ring and on the stem's other readings. Places are field
// names below the stem.
//
//	bole.two_girths_one_height  block  they cannot both be right
//	bole.not_breast_height      ask    the breast girth was taken elsewhere
//	bole.tapers_upward          ask    thicker above than below
//	bole.bark_impossible        block  not positive, or no wood left inside
//	bole.off_ring               block  a bark reading off the ring
func (s Stem) Check() []why.Finding {
	fs := under("ring", s.Ring.Check())
	if s.Breast != nil {
		fs = append(fs, s.checkBreast(*s.Breast)...)
	}
	for i, b := range s.Bark {
		place := fmt.Sprintf("bark[%d]", i)
		if s.Ring.Girth.Around > 0 {
			fs = append(fs, s.Ring.checkAt(b.At, place+".at")...)
		}
		if b.Thickness <= 0 || 2*b.Thickness >= s.Ring.Girth.Diameter() {
			fs = append(fs, finding("bole.bark_impossible", why.Block, place+".thickness",
				why.T("bark", b.Thickness), why.T("diameter", s.Ring.Girth.Diameter())))
		}
	}
	return fs
}

// checkBreast compares the girth at breast height with the ring's.
func (s Stem) checkBreast(b Girth) []why.Finding {
	fs := b.check("breast")
	if b.Height > 0 && !b.AtBreastHeight() {
		fs = append(fs, finding("bole.not_breast_height", why.Ask, "breast.height", why.T("height", b.Height)))
	}
	ring := s.Ring.Girth
	both := []why.Term{why.T("girth", ring.Around), why.T("height", ring.Height),
		why.T("other_girth", b.Around), why.T("other_height", b.Height)}
	switch {
	case b.Height == ring.Height && b.Around != ring.Around:
		fs = append(fs, finding("bole.two_girths_one_height", why.Block, "breast", both...))
	case b.Height > ring.Height && b.Around > ring.Around && ring.Height > 0:
		fs = append(fs, finding("bole.tapers_upward", why.Ask, "breast", both...))
	}
	return fs
}

// Check reports on all stems and on their names. Places are field names below
// the tree.
//
//	bole.no_stem          block
//	bole.stem_name_twice  block  two stems that cannot be told apart
func (t Tree) Check() (fs []why.Finding) {
	if len(t.Stems) == 0 {
		return []why.Finding{finding("bole.no_stem", why.Block, "stems")}
	}
	seen := map[string]bool{}
	for i, s := range t.Stems {
		place := fmt.Sprintf("stems[%d]", i)
		if seen[s.Name] {
			fs = append(fs, finding("bole.stem_name_twice", why.Block, place+".name", why.T("stem", s.Name)))
		}
		seen[s.Name] = true
		for _, f := range under(place, s.Check()) {
			fs = append(fs, named(f, t.Stems, i))
		}
	}
	return fs
}

// OfStem says which of several stems a finding speaks of: in its place, and in a
// term "stem" that words puts in front of the sentence. One stem needs no name.
func OfStem(f why.Finding, stems []Stem, i int) why.Finding {
	if len(stems) < 2 || i >= len(stems) {
		return f
	}
	place := fmt.Sprintf("stems[%d]", i)
	if f.Place != "" {
		place += "." + f.Place
	}
	f.Place = place
	return named(f, stems, i)
}

// named adds the name of a stem of several, or its number where it has none.
func named(f why.Finding, stems []Stem, i int) why.Finding {
	if len(stems) < 2 {
		return f
	}
	name := stems[i].Name
	if name == "" {
		name = strconv.Itoa(i + 1)
	}
	f.Terms = append(slices.Clone(f.Terms), why.T("stem", name))
	return f
}

// finding makes a finding of this package; all its bounds are own conventions.
func finding(code string, severity why.Severity, place string, terms ...why.Term) why.Finding {
	return why.Finding{Code: code, Severity: severity, Place: place, Terms: terms, Source: why.Own}
}

// under moves findings to a place further up.
func under(place string, fs []why.Finding) []why.Finding {
	for i := range fs {
		fs[i].Place = place + "." + fs[i].Place
	}
	return fs
}
