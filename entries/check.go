package entries

import (
	"bytes"
	"errors"
	"fmt"
	"slices"

	"sapwell/journal"
)

// Check: see Body.
func (b Org) Check() error {
	var c checker
	c.head(b.Head)
	c.maybeID("org", b.Org)
	c.over(b.Over, "org", b.Org)
	c.line("name", b.Name, nameLen)
	c.country("country", b.Country)
	c.maybeLine("region", b.Region, nameLen)
	c.zone("zone", b.Zone)
	c.maybeLine("phone", b.Phone, wordLen)
	c.maybeLine("reg_no", b.RegNo, wordLen)
	c.within("keep_years", int64(b.KeepYears), 1, 100)
	return c.err
}

// Check: see Body.
func (b Person) Check() error {
	var c checker
	c.head(b.Head)
	c.maybeID("person", b.Person)
	c.over(b.Over, "person", b.Person)
	c.line("name", b.Name, nameLen)
	c.some("roles", len(b.Roles))
	for i, r := range b.Roles {
		var role checker
		role.oneOf("", string(r), string(Office), string(Applicator), string(Trainee), string(Inspector))
		if slices.Contains(b.Roles[:i], r) {
			role.fault("", "%q a second time, want each role once", r)
		}
		c.item("roles", i, role.err)
	}
	c.maybeLine("phone", b.Phone, wordLen)
	c.maybeID("supervisor", b.Supervisor)
	if b.Supervisor != (journal.ID{}) && b.Supervisor == b.Person {
		c.fault("supervisor", "%s is the person, want another", b.Supervisor)
	}
	return c.err
}

// Check: see Body.
func (b Certificate) Check() error {
	var c checker
	c.head(b.Head)
	c.maybeID("certificate", b.Certificate)
	c.over(b.Over, "certificate", b.Certificate)
	c.id("person", b.Person)
	c.oneOf("sort", b.Sort, "certificate", "training")
	c.maybeLine("number", b.Number, wordLen)
	c.line("authority", b.Authority, nameLen)
	c.lines("categories", b.Categories)
	c.day("from", b.From)
	c.maybeDay("until", b.Until)
	if !b.Until.IsZero() && b.Until.Before(b.From) {
		c.fault("until", "%s, want a day not before %s", b.Until, b.From)
	}
	return c.err
}

// Check: see Body.
func (b DeviceEnrolled) Check() error {
	var c checker
	c.head(b.Head)
	c.hash("device", b.Device)
	c.line("name", b.Name, nameLen)
	c.maybeID("person", b.Person)
	return c.err
}

// Check: see Body.
func (b DeviceRevoked) Check() error {
	var c checker
	c.head(b.Head)
	c.hash("device", b.Device)
	c.within("through", b.Through, 0, maxWhole)
	c.line("why", b.Why, nameLen)
	return c.err
}

// Check: see Body.
func (b Label) Check() error {
	var c checker
	c.head(b.Head)
	c.line("name", b.Name, nameLen)
	c.day("version", b.Version)
	c.line("product", b.Product, nameLen)
	c.line("reg_no", b.RegNo, wordLen)
	c.text("file", b.File, fileLen, "\n\r\t")
	return c.err
}

// Check: see Body.
func (b Lot) Check() error {
	var c checker
	c.head(b.Head)
	c.maybeID("lot", b.Lot)
	c.over(b.Over, "lot", b.Lot)
	c.line("label", b.Label, nameLen)
	c.line("number", b.Number, wordLen)
	c.within("size_nl", b.Size, 1, maxVolume)
	c.maybeDay("expires", b.Expires)
	c.maybeLine("supplier", b.Supplier, nameLen)
	maybeWithin(&c, "coldest_mk", b.Coldest, coldest, warmest)
	maybeWithin(&c, "warmest_mk", b.Warmest, coldest, warmest)
	if b.Coldest != nil && b.Warmest != nil {
		c.ordered("coldest_mk", *b.Coldest, "warmest_mk", *b.Warmest)
	}
	return c.err
}

// Check: see Body.
func (b Stock) Check() error {
	var c checker
	c.head(b.Head)
	c.id("lot", b.Lot)
	c.within("units", int64(b.Units), -maxUnits, maxUnits)
	c.oneOf("sort", b.Sort, "received", "returned", "discarded", "sold", "counted")
	if b.Sort == "counted" {
		c.count("units", b.Units)
	}
	c.maybeLine("store", b.Store, nameLen)
	c.within("cents", b.Cents, -maxCents, maxCents)
	if b.Money != "" || b.Cents != 0 {
		c.capitals("money", b.Money, 3, "ISO 4217")
	}
	c.remark("note", b.Note)
	return c.err
}

// Check: see Body.
func (b Tally) Check() error {
	var c checker
	c.head(b.Head)
	c.id("visit", b.Visit)
	c.maybeID("over", b.Over)
	c.atMost("lots", len(b.Lots))
	for i, l := range b.Lots {
		c.item("lots", i, l.check())
	}
	c.remark("note", b.Note)
	return c.err
}

func (l TallyLot) check() error {
	var c checker
	c.id("lot", l.Lot)
	c.count("taken", l.Taken)
	c.count("seated", l.Seated)
	c.count("lifted", l.Lifted)
	c.count("lost", l.Lost)
	c.count("broken", l.Broken)
	c.count("unused", l.Unused)
	return c.err
}

// Check: see Body.
func (b BagSealed) Check() error {
	var c checker
	c.head(b.Head)
	c.some("visits", len(b.Visits))
	c.ids("visits", b.Visits)
	c.line("mark", b.Mark, wordLen)
	c.count("units", b.Units)
	c.volume("left_low_nl", b.LeftLow)
	c.volume("left_high_nl", b.LeftHigh)
	c.ordered("left_low_nl", b.LeftLow, "left_high_nl", b.LeftHigh)
	c.answer("hazardous", b.Hazardous)
	c.maybeLine("code", b.Code, wordLen)
	return c.err
}

// Check: see Body.
func (b BagHanded) Check() error {
	var c checker
	c.head(b.Head)
	c.id("bag", b.Bag)
	c.line("to", b.To, nameLen)
	c.maybeLine("proof", b.Proof, nameLen)
	return c.err
}

// Check: see Body.
func (b Note) Check() error {
	var c checker
	c.head(b.Head)
	c.subject("on", b.On)
	c.text("text", b.Text, remarkLen, "\n\t")
	return c.err
}

// Check: see Body.
func (b Photo) Check() error {
	var c checker
	c.head(b.Head)
	c.subject("on", b.On)
	c.hash("sha256", b.SHA256)
	c.oneOf("type", b.Type, "image/jpeg", "image/png")
	c.within("bytes", b.Bytes, 1, maxPhoto)
	c.within("width", int64(b.Width), 1, maxPixels)
	c.within("height", int64(b.Height), 1, maxPixels)
	if b.Taken != 0 {
		c.moment("taken", b.Taken)
	}
	c.place("place", b.Place)
	c.remark("note", b.Note)
	return c.err
}

// Check: see Body.
func (b RecordFact) Check() error {
	var c checker
	c.head(b.Head)
	c.subject("on", b.On)
	c.maybeID("over", b.Over)
	c.dotted("field", b.Field)
	c.remark("text", b.Text)
	c.remark("why", b.Why)
	return c.err
}

// Check: see Body. An amendment of a kind or version that is not known here is
// not known either.
func (b Amendment) Check() error {
	var c checker
	c.head(b.Head)
	c.id("of", b.Of)
	if b.OfKind == b.Kind() {
		c.fault("of_kind", "%q, want the kind of what it corrects: to correct a correction amend the first entry again", b.OfKind)
	}
	c.text("why", b.Why, remarkLen, "\n\t")
	if c.err != nil {
		return c.err
	}
	_, before, err := b.side("before", b.Before)
	if err != nil {
		return err
	}
	_, after, err := b.side("after", b.After)
	if err != nil {
		return err
	}
	if bytes.Equal(before, after) {
		return fault("after", "the same as before, want what should be read instead")
	}
	return nil
}

// side reads one of the two bodies and returns its canonical form with it.
func (b Amendment) side(name string, raw []byte) (Body, []byte, error) {
	canonical, err := journal.Canonical(raw)
	if err != nil {
		return nil, nil, within(name, err)
	}
	body, err := ReadBody(b.OfKind, canonical)
	var u unread
	if errors.As(err, &u) {
		return nil, nil, fmt.Errorf("%s: %w", name, err)
	}
	if err != nil {
		return nil, nil, within(name, err)
	}
	return body, canonical, nil
}

// Check: see Body.
func (b Retired) Check() error {
	var c checker
	c.head(b.Head)
	c.id("visit", b.Visit)
	c.line("why", b.Why, nameLen)
	return c.err
}
