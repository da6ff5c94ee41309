package history

import (
	"crypto/sha256"
	"fmt"
	"strconv"
	"time"

	"sapwell/engine/quantity"
	"sapwell/entries"
	"sapwell/journal"
)

// word makes the body of an entry from the names that follow it. Bodies are as
// short as they can be; key=value adds what a test is about.
type word struct {
	takes string // what it wants after it; "..." for any number more
	body  func(w writing) entries.Body
}

// writing is one entry on its way: its name, who says it, and what the words name.
type writing struct {
	*History
	name string
	head entries.Head
	args []string
}

// of is the id of the i-th thing named.
func (w writing) of(i int) journal.ID { return w.ID(w.args[i]) }

// ofAll are the ids from the i-th on.
func (w writing) ofAll(i int) []journal.ID {
	var ids []journal.ID
	for _, name := range w.args[i:] {
		ids = append(ids, w.ID(name))
	}
	return ids
}

// count is the i-th argument as a number.
func (w writing) count(i int) int {
	n, err := strconv.Atoi(w.args[i])
	if err != nil {
		panic(fmt.Sprintf("history: %s: %q, want a number", w.name, w.args[i]))
	}
	return n
}

var day = quantity.NewDate(2026, time.June, 9)

var words = map[string]word{
	"org": {"", func(w writing) entries.Body {
		return entries.Org{Head: w.head, Name: w.name, Country: "US", Zone: "America/New_York", KeepYears: 3}
	}},
	"person": {"role ...", func(w writing) entries.Body {
		var roles []entries.Role
		for _, r := range w.args {
			roles = append(roles, entries.Role(r))
		}
		return entries.Person{Head: w.head, Name: w.name, Roles: roles}
	}},
	"certificate": {"person", func(w writing) entries.Body {
		return entries.Certificate{Head: w.head, Person: w.of(0), Sort: "certificate", Authority: "the state", From: day}
	}},
	"enrolled": {"device person", func(w writing) entries.Body {
		w.owners[w.args[0]] = w.args[1]
		return entries.DeviceEnrolled{Head: w.head, Device: w.Device(w.args[0]), Name: w.args[0], Person: w.of(1)}
	}},
	"revoked": {"device number", func(w writing) entries.Body {
		return entries.DeviceRevoked{Head: w.head, Device: w.Device(w.args[0]), Through: int64(w.count(1)), Why: "lost"}
	}},
	"grounds": {"", func(w writing) entries.Body {
		return entries.Grounds{Head: w.head, Name: w.name, Context: "amenity"}
	}},
	"tree": {"grounds", func(w writing) entries.Body {
		return entries.Tree{Head: w.head, Grounds: w.of(0), Tag: w.name, Species: "Quercus robur"}
	}},
	"measured": {"tree mm", func(w writing) entries.Body {
		girth := entries.Girth{Around: int64(w.count(1)) * 1_000_000, Height: 300_000_000}
		return entries.Measurement{Head: w.head, Tree: w.of(0), Stems: []entries.Stem{{Girth: girth}}}
	}},
	"condition": {"tree", func(w writing) entries.Body {
		return entries.Condition{Head: w.head, Tree: w.of(0), Eaten: "no"}
	}},
	"wound": {"tree mm", func(w writing) entries.Body {
		return entries.Wound{Head: w.head, Tree: w.of(0), Around: int64(w.count(1)) * 1_000_000}
	}},
	"closure": {"tree hole state", func(w writing) entries.Body {
		return entries.Closure{Head: w.head, Tree: w.of(0), Hole: w.of(1), State: w.args[2]}
	}},
	"label": {"", func(w writing) entries.Body {
		return entries.Label{Head: w.head, Name: "boltane", Version: day, Product: "Boltane (fictional)", RegNo: "0-0", Fictional: true, File: "name: boltane\n"}
	}},
	"lot": {"", func(w writing) entries.Body {
		return entries.Lot{Head: w.head, Label: "boltane", Number: w.name, Size: 3_000_000}
	}},
	"stock": {"lot units", func(w writing) entries.Body {
		return entries.Stock{Head: w.head, Lot: w.of(0), Units: w.count(1), Sort: "received"}
	}},
	"plan": {"tree label measurement units", func(w writing) entries.Body {
		n := w.count(3)
		stem := entries.PlanStem{Units: n, PerUnit: 3_000_000, Total: int64(n) * 3_000_000}
		return entries.Plan{Head: w.head, Tree: w.of(0), Label: w.of(1), Measurement: w.of(2), Day: day, Overall: "nothing_found", Stems: []entries.PlanStem{stem}, Engine: "1"}
	}},
	"visit": {"grounds person tree plan", func(w writing) entries.Body {
		job := entries.Job{Tree: w.of(2), Plan: w.of(3)}
		return entries.VisitOpened{Head: w.head, Grounds: w.of(0), Day: day, Certified: w.of(1), Jobs: []entries.Job{job}}
	}},
	"hole": {"visit tree mm", func(w writing) entries.Body {
		return entries.Hole{Head: w.head, Visit: w.of(0), Tree: w.of(1), Around: int64(w.count(2)) * 1_000_000, Height: 300_000_000}
	}},
	"seated": {"visit hole lot", func(w writing) entries.Body {
		return entries.UnitSeated{Head: w.head, Visit: w.of(0), Hole: w.of(1), Lot: w.of(2), Fill: 3_000_000}
	}},
	"pressurised": {"visit unit", func(w writing) entries.Body {
		return entries.UnitPressurised{Head: w.head, Visit: w.of(0), Unit: w.of(1), Gauge: 69_000}
	}},
	"drained": {"visit unit", func(w writing) entries.Body {
		return entries.UnitDrained{Head: w.head, Visit: w.of(0), Unit: w.of(1)}
	}},
	"stuck": {"visit unit", func(w writing) entries.Body {
		return entries.UnitStuck{Head: w.head, Visit: w.of(0), Unit: w.of(1), Left: 1_000_000}
	}},
	"lifted": {"visit unit", func(w writing) entries.Body {
		return entries.UnitLifted{Head: w.head, Visit: w.of(0), Unit: w.of(1)}
	}},
	"lost": {"visit unit", func(w writing) entries.Body {
		return entries.UnitLost{Head: w.head, Visit: w.of(0), Unit: w.of(1), Why: "fell in the pond", Signed: "A. Invented"}
	}},
	"tally": {"visit lot units", func(w writing) entries.Body {
		n := w.count(2)
		return entries.Tally{Head: w.head, Visit: w.of(0), Lots: []entries.TallyLot{{Lot: w.of(1), Taken: n, Seated: n, Lifted: n}}}
	}},
	"closed": {"visit tree label units", func(w writing) entries.Body {
		n := w.count(3)
		given := entries.Treated{Tree: w.of(1), Label: w.of(2), Holes: n, Units: n, Lifted: n, Given: int64(n) * 3_000_000, Start: start, End: w.now}
		return entries.VisitClosed{Head: w.head, Visit: w.of(0), Trees: []entries.Treated{given}, Signature: entries.Signature{Name: "A. Invented", Meaning: "done as written"}}
	}},
	"bagged": {"visit ...", func(w writing) entries.Body {
		return entries.BagSealed{Head: w.head, Visits: w.ofAll(0), Mark: w.name, Units: 1}
	}},
	"handed": {"bag", func(w writing) entries.Body {
		return entries.BagHanded{Head: w.head, Bag: w.of(0), To: "the depot"}
	}},
	"note": {"kind thing", func(w writing) entries.Body {
		on := entries.Subject{Kind: entries.SubjectKind(w.args[0]), ID: w.of(1).String()}
		return entries.Note{Head: w.head, On: on, Text: w.name}
	}},
	"photo": {"kind thing", func(w writing) entries.Body {
		on := entries.Subject{Kind: entries.SubjectKind(w.args[0]), ID: w.of(1).String()}
		return entries.Photo{Head: w.head, On: on, SHA256: sha256.Sum256([]byte(w.name)), Type: "image/jpeg", Bytes: 1, Width: 1, Height: 1}
	}},
	"fact": {"kind thing", func(w writing) entries.Body {
		on := entries.Subject{Kind: entries.SubjectKind(w.args[0]), ID: w.of(1).String()}
		return entries.RecordFact{Head: w.head, On: on, Field: "contract.ref", Text: w.name}
	}},
	"retired": {"visit", func(w writing) entries.Body {
		return entries.Retired{Head: w.head, Visit: w.of(0), Why: "the years are over"}
	}},
}
