package views

import (
	"sapwell/entries"
	"sapwell/journal"
)

// Flag says that something in a view does not fit together, and by which entry.
// "Before", "after" and "later" are by place. The codes, each said to people as
// "flag.<code>" of the words:
//
//	begin.missing         nothing here tells how the subject began
//	begin.twice           two entries with one id began the subject
//	amendment.crossed     it corrects another text than the one that stood then
//	amendment.kind        what it names is of another kind
//	amendment.no_target   what it corrects has not come in
//	amendment.unreadable  its texts are not known to this program
//	facts.crossed         it replaces other facts than those that stood then
//	device.after_revoke   a revoked device was enrolled; it stays revoked
//	device.revoked_twice  the first time stands
//	tree.gone             a hole in a tree that is felled or dead
//	closure.no_hole       of a hole or wound of which nothing tells
//	plan.measurement      it rests on another measurement than the last
//	lot.below_zero        more went than there was
//	hole.off_jobs         in a tree that is no job of the visit
//	hole.mark_twice       two holes at one mark, and the later not knowing of it
//	hole.same_id          two holes with one id; the later is kept
//	hole.two_units        a second unit in one hole, while the first was in it or not knowing of it
//	hole.after_close      bored after the visit was closed
//	unit.no_hole          seated in a hole of which nothing tells yet
//	unit.same_id          two units with one id; the later is kept
//	unit.before_seat      seen, lifted or lost before it was seated
//	unit.after_close      seated, seen, lifted or lost after the visit was closed
//	unit.after_lift       pressurised, drained or stuck after it was lifted or lost
//	unit.lifted_twice     the first time stands
//	unit.lost_twice       the first time stands
//	unit.lifted_and_lost  it counts as lifted
//	unit.stuck_drained    stuck after it was seen empty
//	unit.left_over_fill   more was left than was in it
//	tally.sum             it does not add up by itself
//	tally.units           it adds up, but the units known by then say otherwise
//	tally.again           it replaces another tally than the one that stood then; the last counts
//	tally.after_close     tallied after the visit was closed
//	visit.units_out       closed with units out
//	visit.no_tally        closed without a tally
//	visit.sums            closed with other counts than its holes and units
//	visit.closed_twice    the later stands
//	visit.retired_open    taken off the lists before it was closed
//	bag.handed_twice      the later stands
type Flag struct {
	Code  string     `json:"code"`
	Entry journal.ID `json:"entry"`
}

func (c *Common) flag(code string, e entries.Entry) {
	c.Flags = append(c.Flags, Flag{Code: code, Entry: e.ID})
}
