package synctest

import (
	"fmt"

	"sapwell/entries"
	"sapwell/store"
)

// deed says what somebody does who knows a ledger, in the words of package
// history; "" if what it takes is not known there.
func (w *world) deed(l store.Ledger) string {
	switch n := w.random.IntN(100); {
	case n < 4:
		return one[entries.Grounds](w, l, "tree %s")
	case n < 14:
		return w.onTree(l)
	case n < 18:
		return one[entries.Lot](w, l, "stock %s 6")
	case n < 24:
		return w.openVisit(l)
	case n < 38:
		return w.bore(l)
	case n < 52:
		return w.seat(l)
	case n < 72:
		return w.handle(l)
	case n < 78:
		return w.finish(l)
	case n < 96:
		return w.correct(l)
	}
	return "unknown"
}

// one is a deed on one thing.
func one[B entries.Body](w *world, l store.Ledger, format string) string {
	name, _, ok := known[B](w, l)
	if !ok {
		return ""
	}
	return fmt.Sprintf(format, name)
}

func (w *world) onTree(l store.Ledger) string {
	return one[entries.Tree](w, l, []string{
		fmt.Sprintf("measured %%s %d", 1500+w.random.IntN(500)),
		"condition %s",
		fmt.Sprintf("wound %%s %d", w.random.IntN(1500)),
		"note tree %s",
		"plan %s text tape 3",
		fmt.Sprintf("again %%s note=seen-%d", w.random.IntN(9)),
	}[w.random.IntN(6)])
}

func (w *world) openVisit(l store.Ledger) string {
	plan, body, ok := known[entries.Plan](w, l)
	if !ok {
		return ""
	}
	return fmt.Sprintf("visit park boss %s %s", w.nameOf(body.Tree), plan)
}

func (w *world) bore(l store.Ledger) string {
	visit, body, ok := known[entries.VisitOpened](w, l)
	if !ok {
		return ""
	}
	n := w.random.IntN(4)
	return fmt.Sprintf("hole %s %s %d mark=%d", visit, w.nameOf(body.Jobs[0].Tree), 100*n, n)
}

func (w *world) seat(l store.Ledger) string {
	hole, body, ok := known[entries.Hole](w, l)
	if !ok {
		return ""
	}
	return fmt.Sprintf("seated %s %s lot", w.nameOf(body.Visit), hole)
}

func (w *world) handle(l store.Ledger) string {
	unit, body, ok := known[entries.UnitSeated](w, l)
	if !ok {
		return ""
	}
	what := []string{"pressurised", "drained", "stuck", "lifted", "lifted", "lost"}[w.random.IntN(6)]
	return fmt.Sprintf("%s %s %s", what, w.nameOf(body.Visit), unit)
}

func (w *world) finish(l store.Ledger) string {
	visit, body, ok := known[entries.VisitOpened](w, l)
	if !ok {
		return ""
	}
	return []string{
		fmt.Sprintf("tally %s lot 2", visit),
		fmt.Sprintf("closed %s %s text 2", visit, w.nameOf(body.Jobs[0].Tree)),
		fmt.Sprintf("bagged %s", visit),
		fmt.Sprintf("note visit %s", visit),
		fmt.Sprintf("fact visit %s", visit),
	}[w.random.IntN(5)]
}

// correct amends an entry, whoever wrote it, or what an amendment made of one.
func (w *world) correct(l store.Ledger) string {
	n := 1000 + len(w.written) // another figure every time
	switch w.random.IntN(6) {
	case 0:
		return one[entries.Hole](w, l, fmt.Sprintf("amended %%s at_nm=%d", n))
	case 1:
		return one[entries.UnitSeated](w, l, fmt.Sprintf("amended %%s fill_nl=%d", n))
	case 2:
		return one[entries.UnitLifted](w, l, fmt.Sprintf("amended %%s left_nl=%d", n))
	case 3:
		return one[entries.Tree](w, l, fmt.Sprintf("amended %%s where=at-%d", n))
	case 4:
		return one[entries.Stock](w, l, fmt.Sprintf("amended %%s units=%d", n))
	}
	name, body, ok := known[entries.Amendment](w, l)
	member, has := map[string]string{"hole": "at_nm", "unit.seated": "fill_nl", "unit.lifted": "left_nl", "stock": "units"}[body.OfKind]
	if !ok || !has {
		return ""
	}
	return fmt.Sprintf("amended %s %s=%d", name, member, n)
}
