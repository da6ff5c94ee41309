package entries

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"sapwell/engine/quantity"
	"sapwell/journal"
)

// What one member says of another; doc/entry-kinds.md has it in words.
func TestChecks(t *testing.T) {
	day := quantity.NewDate(2026, 6, 9)
	dev := journal.Hash{1}
	at := func(n int64) *int64 { return &n }
	ring := func(s Stem) Measurement { s.Girth.Around = 1000; return Measurement{Tree: id(1), Stems: []Stem{s}} }
	plan := func(s PlanStem) Plan {
		return Plan{Tree: id(1), Label: id(2), Measurement: id(3), Day: day, Overall: "ask", Stems: []PlanStem{s}, Engine: "1"}
	}
	cert := func(from, until Date) Certificate {
		return Certificate{Person: id(1), Sort: "training", Authority: "x", From: from, Until: until}
	}
	lot := func(low, high *int64) Lot {
		return Lot{Label: "x", Number: "x", Size: 1, Coldest: low, Warmest: high}
	}
	closed := func(x Treated) VisitClosed {
		x.Tree, x.Label = id(1), id(2)
		return VisitClosed{Visit: id(1), Trees: []Treated{x}, Signature: Signature{"x", "y"}}
	}
	note := func(kind SubjectKind, id string) Note { return Note{On: Subject{kind, id}, Text: "x"} }
	org := Org{Name: "x", Country: "US", Zone: "UTC", KeepYears: 2}
	with := func(change func(*Org)) Org { o := org; change(&o); return o }

	for _, c := range []struct {
		body  Body
		fault string // "" where there is none
	}{
		{org, ""},
		{with(func(o *Org) { o.Country = "USA" }), `country: "USA", want 2 capital letters`},
		{with(func(o *Org) { o.Country = "us" }), `country: "us", want 2 capital letters`},
		{with(func(o *Org) { o.Zone = "America/Indiana/Indianapolis" }), ""},
		{with(func(o *Org) { o.Zone = "Etc/GMT+5" }), ""},
		{with(func(o *Org) { o.Zone = "Chicago time" }), `zone: "Chicago time", want the name of a time zone`},
		{with(func(o *Org) { o.Name = "\xff" }), `name: "\xff" is not UTF-8`},
		{with(func(o *Org) { o.Org = journal.ID{1} }), "org: 01000000-0000-0000-0000-000000000000, want a UUID version 7"},
		{Person{Name: "x", Roles: []Role{Office, Inspector}}, ""},
		{Person{Name: "x"}, "roles: empty, want at least one"},
		{Person{Name: "x", Roles: []Role{"boss"}}, `roles[0]: "boss", want one of office, applicator, trainee, inspector`},
		{Person{Name: "x", Roles: []Role{Office, Office}}, `roles[1]: "office" a second time`},
		{Person{Person: id(1), Name: "x", Roles: []Role{Trainee}, Supervisor: id(1)}, "supervisor: "},
		{with(func(o *Org) { o.Org, o.Over = id(1), id(1) }), ""},
		{with(func(o *Org) { o.Over = id(1) }), "over: " + id(1).String() + ", want it left out where org is"},
		{with(func(o *Org) { o.Org, o.Over = id(1), journal.ID{1} }), "over: 01000000-0000-0000-0000-000000000000, want a UUID version 7"},
		{Person{Over: id(1), Name: "x", Roles: []Role{Office}}, "over: "},
		{Certificate{Over: id(1), Person: id(1), Sort: "training", Authority: "x", From: day}, "over: "},
		{Grounds{Over: id(1), Name: "x", Context: "forest"}, "over: "},
		{Tree{Over: id(1), Grounds: id(1), Tag: "x", Species: "Acer"}, "over: "},
		{Lot{Over: id(1), Label: "x", Number: "x", Size: 1}, "over: "},
		{Tally{Visit: id(1), Over: id(2)}, ""},
		{plan(PlanStem{P50: 1, P90: 1}), ""},
		{plan(PlanStem{P50: 2, P90: 1}), "stems[0].p50_ms: 2, want at most that of p90_ms, 1"},
		{plan(PlanStem{P90: 1 << 53}), "stems[0].p90_ms: "},
		{cert(day, day), ""},
		{cert(day, Date{}), ""},
		{cert(day, day.AddDate(0, 0, -1)), "until: 2026-06-08, want a day not before 2026-06-09"},
		{cert(Date{}, day), `from: "", want a day`},
		{cert(quantity.NewDate(1899, 12, 31), day), `from: "1899-12-31", want a day from 1900`},
		{cert(quantity.NewDate(2200, 1, 1), Date{}), `from: "2200-01-01", want a day from 1900 to 2199`},
		{cert(Date{Time: day.Add(1)}, Date{}), "want midnight UTC"},
		{DeviceEnrolled{Name: "x"}, "device: all zeros, want a SHA-256"},
		{DeviceRevoked{Device: dev, Why: ""}, "why: "},
		{ring(Stem{Arcs: []Arc{{0, 1000, "crack"}}, Fissures: []int64{1000}, Bark: []Bark{{1000, 1}}}), ""},
		{ring(Stem{Arcs: []Arc{{1001, 0, "crack"}}}), "stems[0].arcs[0].from_nm: 1001, want 0 to 1000"},
		{ring(Stem{Arcs: []Arc{{0, 1001, "crack"}}}), "stems[0].arcs[0].to_nm: 1001, want 0 to 1000"},
		{ring(Stem{Fissures: []int64{1, -1}}), "stems[0].fissures_nm[1]: -1, want 0 to 1000"},
		{ring(Stem{Bark: []Bark{{1001, 1}}}), "stems[0].bark[0].at_nm: 1001"},
		{ring(Stem{Breast: &Girth{}}), "stems[0].breast.around_nm: 0, want 1 to 30000000000"},
		{Measurement{Tree: id(1)}, "stems: empty"},
		{Measurement{Tree: id(1), Stems: make([]Stem, maxList+1)}, "stems: 5001 items, want at most 5000"},
		{lot(at(280_000), at(280_000)), ""},
		{lot(at(290_000), nil), ""},
		{lot(at(280_001), at(280_000)), "coldest_mk: 280001, want at most that of warmest_mk, 280000"},
		{lot(nil, at(1)), "warmest_mk: 1, want 150000 to 400000"},
		{Stock{Lot: id(1), Sort: "counted", Units: -1}, "units: -1, want 0 to"},
		{Stock{Lot: id(1), Sort: "sold", Units: -1}, ""},
		{Stock{Lot: id(1), Sort: "received", Cents: 5}, `money: "", want 3 capital letters as ISO 4217 has them`},
		{plan(PlanStem{Marks: []int64{1, 2}, Heights: []int64{1, 2}, DepthMin: 3, DepthMax: 3}), ""},
		{plan(PlanStem{DepthMin: 3}), ""},
		{plan(PlanStem{DepthMin: 4, DepthMax: 3}), "stems[0].depth_min_nm: 4, want at most that of depth_max_nm, 3"},
		{plan(PlanStem{Marks: []int64{1, 2}, Heights: []int64{1}}), "stems[0].heights_nm: 1 items, want one for each of 2 marks"},
		{plan(PlanStem{Marks: []int64{-1}}), "stems[0].marks_nm[0]: -1"},
		{Plan{Tree: id(1), Label: id(2), Measurement: id(3), Day: day, Overall: "ask", Engine: "1", Full: "{"}, `full: "{", want JSON`},
		{VisitOpened{Grounds: id(1), Day: day, Certified: id(2), Jobs: []Job{{id(1), journal.ID{}}}}, "jobs[0].plan: 0000"},
		{VisitOpened{Grounds: id(1), Day: day, Certified: id(2), Crew: []journal.ID{{}}}, "crew[0]: 0000"},
		{VisitOpened{Grounds: id(1), Day: day, Certified: id(2), Weather: &Weather{Rain: "some"}}, `weather.rain: "some", want one of yes, no`},
		{UnitLost{Visit: id(1), Unit: id(2), Why: "gone"}, "signed: "},
		{UnitLost{Visit: id(1), Unit: id(2), Signed: "x"}, "why: "},
		{closed(Treated{Units: 2, Lifted: 1, Lost: 1, Start: 5, End: 5}), ""},
		{closed(Treated{Units: 2, Lifted: 2, Lost: 1}), "trees[0].units: 2, want at least those lifted and lost, 3"},
		{closed(Treated{Start: 6, End: 5}), "trees[0].start: 6, want at most that of end, 5"},
		{VisitClosed{Visit: id(1), Signature: Signature{Name: "x"}}, "signature.meaning: "},
		{Tally{Visit: id(1), Lots: []TallyLot{{Lot: id(1), Broken: -1}}}, "lots[0].broken: -1, want 0 to 1000000"},
		{BagSealed{Visits: []journal.ID{id(1)}, Mark: "x", LeftLow: 2, LeftHigh: 1}, "left_low_nl: 2, want at most that of left_high_nl, 1"},
		{BagSealed{Mark: "x"}, "visits: empty"},
		{note(OfDevice, dev.String()), ""},
		{note(OfDevice, id(1).String()), "on.id: "},
		{note(OfTree, id(1).String()), ""},
		{note(OfTree, strings.ToUpper(id(1).String())), "on.id: "},
		{note(OfTree, dev.String()), "on.id: "},
		{note("dog", id(1).String()), `on.kind: "dog", want one of org, person,`},
		{Photo{On: Subject{OfOrg, id(1).String()}, SHA256: dev, Type: "image/svg+xml", Bytes: 1, Width: 1, Height: 1}, "type: "},
		{Tree{Grounds: id(1), Tag: "1", Species: "x", Place: &Place{Lat: 900_000_001}}, "place.lat_e7: 900000001, want -900000000 to 900000000"},
		{Tree{Grounds: id(1), Tag: "1", Species: "x", Place: &Place{Lon: -1_800_000_001}}, "place.lon_e7: "},
	} {
		err := c.body.Check()
		if c.fault == "" && err != nil || c.fault != "" && (err == nil || !strings.Contains(err.Error(), c.fault)) {
			t.Errorf("%+v\n gives %v\n want %s", c.body, err, c.fault)
		}
		if _, draftErr := Draft(id(1), 1, c.body); (draftErr == nil) != (err == nil) {
			t.Errorf("%+v: Check says %v, Draft says %v", c.body, err, draftErr)
		}
	}
}

func TestAmendmentIsChecked(t *testing.T) {
	note := func(text string) []byte {
		return fmt.Appendf(nil, `{"on":{"id":"%s","kind":"tree"},"text":"%s","v":1}`, id(1), text)
	}
	sound := Amendment{Of: id(1), OfKind: "note", Why: "x", Before: note("a"), After: note("b")}
	if err := sound.Check(); err != nil {
		t.Fatal(err)
	}
	for want, change := range map[string]func(*Amendment){
		"of: ":                       func(a *Amendment) { a.Of = journal.ID{} },
		`why: "", want a text`:       func(a *Amendment) { a.Why = "" },
		`why: " ", want a text`:      func(a *Amendment) { a.Why = " " },
		`of_kind: "amendment", want`: func(a *Amendment) { a.OfKind = "amendment" },
		"after: the same as before":  func(a *Amendment) { a.After = a.Before },
		"after.text: ":               func(a *Amendment) { a.After = note("") },
		"before.on.id: ":             func(a *Amendment) { a.Before = []byte(strings.ReplaceAll(string(note("a")), "7001", "4001")) },
		"before: JSON, byte 1":       func(a *Amendment) { a.Before = nil },
		"after.v: missing":           func(a *Amendment) { a.After = []byte(strings.ReplaceAll(string(note("a")), `,"v":1`, "")) },
		"before.on: missing":         func(a *Amendment) { a.Before = []byte(`{"text":"x","v":1}`) },
	} {
		a := sound
		change(&a)
		var f *Fault
		if err := a.Check(); !errors.As(err, &f) || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("%v, want %s", err, want)
		}
	}
}

// Whoever writes an amendment need not care for the form of the two bodies; on
// the wire they have one.
func TestAmendmentIsWrittenCanonically(t *testing.T) {
	on := fmt.Sprintf(`"on": {"kind": "tree", "id": "%s"}`, id(1))
	a := Amendment{Of: id(1), OfKind: "note", Why: "x",
		Before: []byte(`{"v": 1, "text": "a", ` + on + `}`), After: []byte(`{"text": "<b>", "v": 1, ` + on + `}`)}
	body, err := WriteBody(a)
	want := fmt.Sprintf(`{"after":{"on":{"id":"%[1]s","kind":"tree"},"text":"<b>","v":1},"before":{"on":{"id":"%[1]s","kind":"tree"},"text":"a","v":1},"of":"%[1]s","of_kind":"note","v":1,"why":"x"}`, id(1))
	if err != nil || string(body) != want {
		t.Fatalf("%s, %v\nwant %s", body, err, want)
	}
	spaced := strings.Replace(want, `"text":"a"`, `"text": "a"`, 1)
	if _, err := ReadBody("amendment", []byte(spaced)); err == nil {
		t.Error("a body within one was taken out of canonical form")
	}
	if about := a.About(id(9)); len(about) != 1 || about[0] != (Subject{OfTree, id(1).String()}) {
		t.Errorf("it speaks of %v", about)
	}
}

func TestAmendmentKeepsWhatBothSpeakOf(t *testing.T) {
	tree := func(grounds byte) []byte {
		body, err := WriteBody(Hole{Visit: id(grounds), Tree: id(1)})
		if err != nil {
			t.Fatal(err)
		}
		return body
	}
	a := Amendment{Of: id(3), OfKind: "hole", Why: "the other visit", Before: tree(7), After: tree(8)}
	want := []Subject{{OfVisit, id(7).String()}, {OfTree, id(1).String()}, {OfVisit, id(8).String()}}
	if got := a.About(id(9)); fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("it speaks of %v, want %v", got, want)
	}
	// What names itself is named by the entry amended, not by the amendment.
	first := func(tag string) []byte {
		body, err := WriteBody(Tree{Grounds: id(2), Tag: tag, Species: "x"})
		if err != nil {
			t.Fatal(err)
		}
		return body
	}
	a = Amendment{Of: id(3), OfKind: "tree", Why: "x", Before: first("1"), After: first("2")}
	if got := a.About(id(9)); len(got) != 1 || got[0] != (Subject{OfTree, id(3).String()}) {
		t.Errorf("it speaks of %v, want tree %s", got, id(3))
	}
}
