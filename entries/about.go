package entries

import (
	"slices"

	"sapwell/journal"
)

// The kinds by name.

// Kind is "org".
func (Org) Kind() string { return "org" }

// Kind is "person".
func (Person) Kind() string { return "person" }

// Kind is "certificate".
func (Certificate) Kind() string { return "certificate" }

// Kind is "device.enrolled".
func (DeviceEnrolled) Kind() string { return "device.enrolled" }

// Kind is "device.revoked".
func (DeviceRevoked) Kind() string { return "device.revoked" }

// Kind is "grounds".
func (Grounds) Kind() string { return "grounds" }

// Kind is "tree".
func (Tree) Kind() string { return "tree" }

// Kind is "measurement".
func (Measurement) Kind() string { return "measurement" }

// Kind is "condition".
func (Condition) Kind() string { return "condition" }

// Kind is "wound".
func (Wound) Kind() string { return "wound" }

// Kind is "closure".
func (Closure) Kind() string { return "closure" }

// Kind is "label".
func (Label) Kind() string { return "label" }

// Kind is "lot".
func (Lot) Kind() string { return "lot" }

// Kind is "stock".
func (Stock) Kind() string { return "stock" }

// Kind is "plan".
func (Plan) Kind() string { return "plan" }

// Kind is "visit.opened".
func (VisitOpened) Kind() string { return "visit.opened" }

// Kind is "hole".
func (Hole) Kind() string { return "hole" }

// Kind is "unit.seated".
func (UnitSeated) Kind() string { return "unit.seated" }

// Kind is "unit.pressurised".
func (UnitPressurised) Kind() string { return "unit.pressurised" }

// Kind is "unit.drained".
func (UnitDrained) Kind() string { return "unit.drained" }

// Kind is "unit.stuck".
func (UnitStuck) Kind() string { return "unit.stuck" }

// Kind is "unit.lifted".
func (UnitLifted) Kind() string { return "unit.lifted" }

// Kind is "unit.lost".
func (UnitLost) Kind() string { return "unit.lost" }

// Kind is "tally".
func (Tally) Kind() string { return "tally" }

// Kind is "visit.closed".
func (VisitClosed) Kind() string { return "visit.closed" }

// Kind is "bag.sealed".
func (BagSealed) Kind() string { return "bag.sealed" }

// Kind is "bag.handed".
func (BagHanded) Kind() string { return "bag.handed" }

// Kind is "note".
func (Note) Kind() string { return "note" }

// Kind is "photo".
func (Photo) Kind() string { return "photo" }

// Kind is "record.fact".
func (RecordFact) Kind() string { return "record.fact" }

// Kind is "amendment".
func (Amendment) Kind() string { return "amendment" }

// Kind is "retired".
func (Retired) Kind() string { return "retired" }

func of(kind SubjectKind, id journal.ID) Subject { return Subject{kind, id.String()} }

// named is a thing that may be new: then the entry itself names it.
func named(kind SubjectKind, id, self journal.ID) Subject {
	if id == (journal.ID{}) {
		id = self
	}
	return of(kind, id)
}

// About names what it speaks of.
func (b Org) About(self journal.ID) []Subject {
	return []Subject{named(OfOrg, b.Org, self)}
}

// About names what it speaks of.
func (b Person) About(self journal.ID) []Subject {
	return []Subject{named(OfPerson, b.Person, self)}
}

// About names what it speaks of.
func (b Certificate) About(journal.ID) []Subject {
	return []Subject{of(OfPerson, b.Person)}
}

// About names what it speaks of.
func (b DeviceEnrolled) About(journal.ID) []Subject {
	return []Subject{{OfDevice, b.Device.String()}}
}

// About names what it speaks of.
func (b DeviceRevoked) About(journal.ID) []Subject {
	return []Subject{{OfDevice, b.Device.String()}}
}

// About names what it speaks of.
func (b Grounds) About(self journal.ID) []Subject {
	return []Subject{named(OfGrounds, b.Grounds, self)}
}

// About names what it speaks of.
func (b Tree) About(self journal.ID) []Subject {
	return []Subject{named(OfTree, b.Tree, self)}
}

// About names what it speaks of.
func (b Measurement) About(journal.ID) []Subject {
	return []Subject{of(OfTree, b.Tree)}
}

// About names what it speaks of.
func (b Condition) About(journal.ID) []Subject {
	return []Subject{of(OfTree, b.Tree)}
}

// About names what it speaks of.
func (b Wound) About(journal.ID) []Subject {
	return []Subject{of(OfTree, b.Tree)}
}

// About names what it speaks of.
func (b Closure) About(journal.ID) []Subject {
	return []Subject{of(OfTree, b.Tree)}
}

// About names what it speaks of.
func (Label) About(self journal.ID) []Subject {
	return []Subject{of(OfLabel, self)}
}

// About names what it speaks of.
func (b Lot) About(self journal.ID) []Subject {
	return []Subject{named(OfLot, b.Lot, self)}
}

// About names what it speaks of.
func (b Stock) About(journal.ID) []Subject {
	return []Subject{of(OfLot, b.Lot)}
}

// About names what it speaks of.
func (b Plan) About(journal.ID) []Subject {
	return []Subject{of(OfTree, b.Tree)}
}

// About names what it speaks of.
func (VisitOpened) About(self journal.ID) []Subject {
	return []Subject{of(OfVisit, self)}
}

// About names what it speaks of.
func (b Hole) About(journal.ID) []Subject {
	return []Subject{of(OfVisit, b.Visit), of(OfTree, b.Tree)}
}

// About names what it speaks of.
func (b UnitSeated) About(journal.ID) []Subject {
	return []Subject{of(OfVisit, b.Visit)}
}

// About names what it speaks of.
func (b UnitPressurised) About(journal.ID) []Subject {
	return []Subject{of(OfVisit, b.Visit)}
}

// About names what it speaks of.
func (b UnitDrained) About(journal.ID) []Subject {
	return []Subject{of(OfVisit, b.Visit)}
}

// About names what it speaks of.
func (b UnitStuck) About(journal.ID) []Subject {
	return []Subject{of(OfVisit, b.Visit)}
}

// About names what it speaks of.
func (b UnitLifted) About(journal.ID) []Subject {
	return []Subject{of(OfVisit, b.Visit)}
}

// About names what it speaks of.
func (b UnitLost) About(journal.ID) []Subject {
	return []Subject{of(OfVisit, b.Visit)}
}

// About names what it speaks of.
func (b Tally) About(journal.ID) []Subject {
	about := []Subject{of(OfVisit, b.Visit)}
	for _, l := range b.Lots {
		about = append(about, of(OfLot, l.Lot))
	}
	return about
}

// About names what it speaks of.
func (b VisitClosed) About(journal.ID) []Subject {
	about := []Subject{of(OfVisit, b.Visit)}
	for _, t := range b.Trees {
		about = append(about, of(OfTree, t.Tree))
	}
	return about
}

// About names what it speaks of.
func (b BagSealed) About(self journal.ID) []Subject {
	about := []Subject{of(OfBag, self)}
	for _, v := range b.Visits {
		about = append(about, of(OfVisit, v))
	}
	return about
}

// About names what it speaks of.
func (b BagHanded) About(journal.ID) []Subject {
	return []Subject{of(OfBag, b.Bag)}
}

// About names what it speaks of.
func (b Note) About(journal.ID) []Subject {
	return []Subject{b.On}
}

// About names what it speaks of.
func (b Photo) About(journal.ID) []Subject {
	return []Subject{b.On}
}

// About names what it speaks of.
func (b RecordFact) About(journal.ID) []Subject {
	return []Subject{b.On}
}

// About names what it speaks of.
func (b Retired) About(journal.ID) []Subject {
	return []Subject{of(OfVisit, b.Visit)}
}

// About names what the body before and the body after speak of.
func (b Amendment) About(journal.ID) []Subject {
	var about []Subject
	for _, side := range [...][]byte{b.Before, b.After} {
		body, _, err := b.side("", side)
		if err != nil {
			continue // what cannot be read speaks of nothing; Check says why
		}
		for _, s := range body.About(b.Of) {
			if !slices.Contains(about, s) {
				about = append(about, s)
			}
		}
	}
	return about
}
